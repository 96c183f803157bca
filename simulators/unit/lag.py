"""What follows something else with a time constant."""

import math


def lagged(now: float, towards: float, time_constants: float) -> float:
    """Follow for this many time constants.

    >>> round(lagged(0.0, 1.0, 1.0), 3)
    0.632
    """
    return now + (towards - now) * -math.expm1(-time_constants)
