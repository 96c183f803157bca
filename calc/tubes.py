"""Copper tube for air conditioning and refrigeration: sold by its outer diameter, and holding by its inner one.

Bores are those of ASTM B280 up to 1 3/8 in, and of tube type L, which is the same, up to 2 1/8 in: both as references
in print quote them. The larger ones are from memory. Soft tube comes in coils, annealed; hard tube, drawn, in straight
lengths with walls that differ below 7/8 in.
"""

from enum import StrEnum

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError

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
_DRAWN_BORES_IN = {0.375: 0.315, 0.5: 0.430, 0.625: 0.545, 0.75: 0.666}
"""Of hard tube, where they differ."""
WALL_LIMIT_M = 0.003 * _INCH_M
"""How far a wall may be off: 0.0025 to 0.0035 in by ASTM B251, table of wall thickness tolerances."""
OUTER_DIAMETERS_M = (0.25 * _INCH_M, 4.125 * _INCH_M)
"""The least and the greatest by which tube is sold."""
_SIZES = "1/4, 5/16, 3/8, 1/2, 5/8, 3/4, 7/8, 1 1/8 in and so on"
_NEAR_M = 0.2e-3
_AS_WRITTEN_M = 0.03e-3
_BORE_NEAR_M = 0.005e-3


def is_outer_diameter(diameter_m: float) -> bool:
    """Tell whether a diameter [m] is one by which tube is sold, to what is lost where it is written in millimetres.

    The bore of 3/8 in tube, 0.311 in, is not: it lies 0.04 mm from 5/16 in.
    """
    return any(abs(diameter_m - outer_in * _INCH_M) < _AS_WRITTEN_M for outer_in in _BORES_IN)


class Temper(StrEnum):
    """How tube is made: soft, in coils; or hard, in straight lengths."""

    SOFT = "soft"
    HARD = "hard"


@takes_arrays
def acr_bore_m(outer_diameter_m: float, temper: Temper = Temper.SOFT) -> float:
    """Give the inner diameter of tube for air conditioning and refrigeration.

    Args:
        outer_diameter_m: by which it is sold, 1/4 to 4 1/8 in [m].
        temper: soft, as line sets are, or hard; from 7/8 in on it makes no difference.

    Returns:
        The inner diameter [m].

    Raises:
        ArgumentError: it is the bore of another size, as 0.311 in is, which lies nearest to 5/16 in.
        CalcRangeError: no such size.

    >>> round(acr_bore_m(3 / 8 * 0.0254) / 0.0254, 3)  # as line-set charges in print have it
    0.311

    """
    for outer_in, bore_in in _BORES_IN.items():
        if abs(outer_diameter_m - bore_in * _INCH_M) < _BORE_NEAR_M:
            raise ArgumentError(
                f"{bore_in:g} in ({outer_diameter_m * 1e3:.1f} mm) is the bore of {outer_in:g} in tube: write the "
                f"outer diameter by which it is sold, in inches: {_SIZES}"
            )
    nearest_in = min(_BORES_IN, key=lambda outer_in: abs(outer_in * _INCH_M - outer_diameter_m))
    low_m, high_m = nearest_in * _INCH_M - _NEAR_M, nearest_in * _INCH_M + _NEAR_M
    within("outer_diameter_m", outer_diameter_m, low_m, high_m, "m", f"the nearest size; tube is sold as {_SIZES}")
    bores_in = _BORES_IN | _DRAWN_BORES_IN if Temper(temper) is Temper.HARD else _BORES_IN
    return bores_in[nearest_in] * _INCH_M
