"""Devices that speak real protocols over real transports, with bytes made by hand from the standards.

Invariant: a device knows its protocol and nothing of a unit; what it measures is given to it (import contract).
"""
