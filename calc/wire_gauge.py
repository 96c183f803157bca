"""Wire gauges: their number, diameter and area by ASTM B258, which is all that reading a gauge as a unit needs."""

import math
import re

from calc.errors import UnknownNameError

_INCH_M = 0.0254


def awg_number(gauge: str | int) -> int:
    """Read a gauge: "14", "14 AWG", "#14", "14 ga" and 14 are 14; "1/0" is 0, "4/0" is -3 (numbers of ASTM B258).

    Raises:
        UnknownNameError: it is none from 4/0 to 40.

    >>> awg_number("4/0")
    -3

    """
    match = re.fullmatch(r"(?:#|AWG ?)?(\d{1,2})(/0)?(?: ?(?:AWG|ga|gauge))?", str(gauge).strip(), re.IGNORECASE)
    number = -4 if match is None else 1 - int(match[1]) if match[2] else int(match[1])
    if match is None or not (-3 <= number <= 0 if match[2] else 1 <= number <= 40):
        raise UnknownNameError("wire gauge", str(gauge), (*(f"{n}/0" for n in (4, 3, 2, 1)), "1 to 40"))
    return number


def awg_diameter_m(gauge: str | int) -> float:
    """Compute the diameter of a solid conductor: 0.005 in x 92^((36 - n) / 39) (ASTM B258).

    Args:
        gauge: "4/0" to "40", or a number from 1 to 40.

    Returns:
        The diameter of the bare wire [m].

    Raises:
        UnknownNameError: no such gauge.

    >>> round(awg_diameter_m(10) / 0.0254, 4)  # the table of solid copper wire in many handbooks
    0.1019

    """
    diameter_m: float = 0.005 * _INCH_M * 92 ** ((36 - awg_number(gauge)) / 39)
    return diameter_m


def awg_area_m2(gauge: str | int) -> float:
    """Compute the area of metal in a conductor [m²]; argument and errors as `awg_diameter_m`.

    >>> round(awg_area_m2(14) * 1e6, 2)  # the same table
    2.08
    """
    return math.pi / 4 * awg_diameter_m(gauge) ** 2
