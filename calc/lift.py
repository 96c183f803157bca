"""Whether a compressor lifts the pressure, by the two pressures alone.

At rest they come to be one; so they are while it turns and pumps nothing, as a scroll that turns backwards.
"""

from calc.situation import Situation

_EQUALIZED_RATIO = 1.15
"""Liquid over suction pressure of a unit at rest, at most: common practice, no source."""


def is_equalized(now: Situation) -> bool:
    """Tell whether the liquid pressure is that of the suction, nearly enough, or below it."""
    suction_pa, liquid_pa = now.value("suction_pressure"), now.value("liquid_pressure")
    return suction_pa is not None and liquid_pa is not None and liquid_pa < _EQUALIZED_RATIO * suction_pa


def has_no_lift(now: Situation) -> bool:
    """Tell whether the two pressures are one, nearly enough: neither is clearly above the other."""
    suction_pa, liquid_pa = now.value("suction_pressure"), now.value("liquid_pressure")
    if suction_pa is None or liquid_pa is None:
        return False
    return is_equalized(now) and suction_pa < _EQUALIZED_RATIO * liquid_pa
