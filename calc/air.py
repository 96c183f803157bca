"""Air: psychrometrics by the ASHRAE Handbook of Fundamentals, through psychrolib."""

import psychrolib

from calc.errors import CalcRangeError

psychrolib.SetUnitSystem(psychrolib.SI)

_LEAST_ELEVATION_M = -5000.0
_GREATEST_ELEVATION_M = 11000.0


def barometric_pressure(elevation_m: float) -> float:
    """Compute the pressure of the standard atmosphere at an elevation.

    Weather moves the true pressure by some 2 kPa about it; a barometer knows better.

    Args:
        elevation_m: above sea level, -5000 to 11000 [m].

    Returns:
        The absolute pressure [Pa].

    Raises:
        CalcRangeError: beyond that range, which is that of the formula.

    >>> round(barometric_pressure(1500.0))  # ASHRAE Handbook of Fundamentals, ch. 1, table 1, from memory
    84556

    """
    if not _LEAST_ELEVATION_M <= elevation_m <= _GREATEST_ELEVATION_M:
        raise CalcRangeError("elevation_m", elevation_m, _LEAST_ELEVATION_M, _GREATEST_ELEVATION_M, "m")
    return float(psychrolib.GetStandardAtmPressure(elevation_m))
