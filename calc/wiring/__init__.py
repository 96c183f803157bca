"""Wiring: the names by which it is known here. One file an idea; gathered here."""

from calc.wire_gauge import awg_area_m2, awg_diameter_m, awg_number
from calc.wiring.conductor import Metal, ampacity, overcurrent_limit, smallest_conductor
from calc.wiring.drop import VoltageDrop, voltage_drop
from calc.wiring.lug import Connector, hexagon_torque, socket_torque
from calc.wiring.terminal import Fit, Joint, Slot, joint, terminal_fit, torque
from calc.wiring.tightening import Torque
from calc.wiring.transformer import ControlTransformer, control_transformer, transformer_volts

__all__ = [
    "Connector",
    "ControlTransformer",
    "Fit",
    "Joint",
    "Metal",
    "Slot",
    "Torque",
    "VoltageDrop",
    "ampacity",
    "awg_area_m2",
    "awg_diameter_m",
    "awg_number",
    "control_transformer",
    "hexagon_torque",
    "joint",
    "overcurrent_limit",
    "smallest_conductor",
    "socket_torque",
    "terminal_fit",
    "torque",
    "transformer_volts",
    "voltage_drop",
]
