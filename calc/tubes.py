"""Copper tube for air conditioning and refrigeration: sold by its outer diameter, and holding by its inner one.

Of 1/4 and 3/8 in the bore is as line-set charges in print have it; the others are those of ASTM B280, annealed coils up
to 3/4 in and straight lengths above (from memory).
"""

from calc.elementwise import within

_INCH_M = 0.0254
_BORES_IN = {
    0.25: 0.190,
    0.3125: 0.248,
    0.375: 0.311,
    0.5: 0.436,
    0.625: 0.555,
    0.75: 0.680,
    0.875: 0.785,
    1.125: 1.025,
    1.375: 1.265,
    1.625: 1.505,
    2.125: 1.985,
    2.625: 2.465,
    3.125: 2.945,
    3.625: 3.425,
    4.125: 3.905,
}
OUTER_DIAMETERS_M = (0.25 * _INCH_M, 4.125 * _INCH_M)
"""The least and the greatest by which tube is sold."""
_SIZES = "1/4, 5/16, 3/8, 1/2, 5/8, 3/4, 7/8, 1 1/8 in and so on"
_NEAR_M = 0.2e-3


def is_outer_diameter(diameter_m: float) -> bool:
    """Tell whether a diameter [m] is one by which tube is sold."""
    return any(abs(diameter_m - outer_in * _INCH_M) < _NEAR_M for outer_in in _BORES_IN)


def acr_bore_m(outer_diameter_m: float) -> float:
    """Give the inner diameter of tube for air conditioning and refrigeration.

    Args:
        outer_diameter_m: by which it is sold, 1/4 to 4 1/8 in [m].

    Returns:
        The inner diameter [m].

    Raises:
        CalcRangeError: no such size.

    >>> round(acr_bore_m(3 / 8 * 0.0254) / 0.0254, 3)  # as line-set charges in print have it
    0.311

    """
    within("outer_diameter_m", outer_diameter_m, *OUTER_DIAMETERS_M, "m", f"tube is sold as {_SIZES}")
    nearest_in = min(_BORES_IN, key=lambda outer_in: abs(outer_in * _INCH_M - outer_diameter_m))
    gap_m = abs(nearest_in * _INCH_M - outer_diameter_m)
    low_m, high_m = (nearest_in * _INCH_M - _NEAR_M, nearest_in * _INCH_M + _NEAR_M)
    if gap_m > _NEAR_M:
        within("outer_diameter_m", outer_diameter_m, low_m, high_m, "m", f"the nearest size; tube is sold as {_SIZES}")
    return _BORES_IN[nearest_in] * _INCH_M
