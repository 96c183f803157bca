"""Subcooling and superheat from the charge: their published sum, and who of the two pays for it.

Subcooling less 0.4 of superheat goes with the charge, 75.2 °F (41.8 K) for all of it, whatever else is wrong: the
default constants of the virtual charge sensor of Li and Braun (from memory, medium trust). An expansion valve keeps its
superheat and lets subcooling pay, until there is none; with an orifice superheat takes six tenths of the sum, so that
20 % less is 6 °F less of subcooling and 22 °F more of superheat.
"""

import math

from simulators.second_family.parameters import Metering

SUPERHEAT_WEIGHT = 0.4
ORIFICE_SUPERHEAT = 1.5
"""What superheat falls by for 1 °F of the sum: six tenths of it over its weight."""

_EDGE_F = 0.6
"""How softly a figure comes to nothing (no source): no probe tells a hard edge."""


def shared_out(metering: Metering, *, superheat_f: float, sum_f: float, by_charge_f: float) -> tuple[float, float]:
    """Give superheat and subcooling, neither below nothing.

    superheat: what the device would have with the right charge. sum: subcooling less 0.4 of superheat then.
    by_charge: what the charge makes the sum more.
    """
    asked_f = superheat_f if metering == "valve" else superheat_f - ORIFICE_SUPERHEAT * by_charge_f
    total_f = sum_f + by_charge_f
    subcooling_f = at_least_nothing(total_f + SUPERHEAT_WEIGHT * at_least_nothing(asked_f))
    return (subcooling_f - total_f) / SUPERHEAT_WEIGHT, subcooling_f


def at_least_nothing(value_f: float) -> float:
    """Keep a value that cannot be negative, smoothly."""
    return value_f if value_f > 30.0 * _EDGE_F else _EDGE_F * math.log1p(math.exp(value_f / _EDGE_F))
