"""Readings that contradict each other, and the slip of a hand that would explain it."""
