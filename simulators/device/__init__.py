"""Devices that speak real protocols over real transports, with bytes made by hand from the standards."""
