"""Starts of simulated units, seen through instruments, against what was really the matter."""
