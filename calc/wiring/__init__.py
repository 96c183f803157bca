"""Wiring: the names by which it is known here. One file an idea; gathered here."""

from calc.wiring.conductor import (
    ampacity,
    awg_area_m2,
    awg_diameter_m,
    awg_number,
    overcurrent_limit,
    smallest_conductor,
)
from calc.wiring.drop import VoltageDrop, voltage_drop
from calc.wiring.terminal import Fit, Joint, Slot, Torque, joint, terminal_fit, torque

__all__ = [
    "Fit",
    "Joint",
    "Slot",
    "Torque",
    "VoltageDrop",
    "ampacity",
    "awg_area_m2",
    "awg_diameter_m",
    "awg_number",
    "joint",
    "overcurrent_limit",
    "smallest_conductor",
    "terminal_fit",
    "torque",
    "voltage_drop",
]
