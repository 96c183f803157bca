"""A physical model of a unit, and devices that speak the real protocols."""
