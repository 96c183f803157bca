"""Conductors of copper and aluminium: their gauge, what they may carry, and which fuse or breaker may protect them."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from calc.elementwise import takes_arrays, within
from calc.errors import UnknownNameError
from calc.motor.branch_circuit import STANDARD_RATINGS_A, CircuitRating
from calc.wire_gauge import awg_number

CAUTION = (
    "Local codes, the maker's instructions and the lowest temperature rating of every terminal win; a licensed "
    "electrician answers for the circuit."
)
ALUMINIUM_CAUTION = (
    "Aluminium only where lug and device are marked for it (AL or AL-CU; NEC 110.14), never with copper in one "
    "terminal unless it is marked for that; brushed, with the compound and the torque that the maker asks for. "
    + CAUTION
)
COLUMNS_C = (60, 75, 90)
"""The temperatures that insulation, and terminals, are rated for: the columns of NEC table 310.16."""
_KILOFOOT_M = 304.8
_AMBIENT_C = 30.0
_ICE_POINT_K = 273.15
_CROWDED = ((3, 1.0), (6, 0.8), (9, 0.7), (20, 0.5), (30, 0.45), (40, 0.4))
"""Up to how many current-carrying conductors in one raceway, and what share each may carry (NEC 310.15(C)(1))."""
_TOO_WARM = "no conductor in a place colder, or nearly as warm as its column"
_MOST_CONDUCTORS = 40


class Metal(StrEnum):
    """What a conductor is made of; copper-clad aluminium counts as aluminium."""

    COPPER = "copper"
    ALUMINIUM = "aluminium"


_TABLES = {Metal.COPPER: "conductors.json", Metal.ALUMINIUM: "aluminium_conductors.json"}
_THINNEST = {Metal.COPPER: "14 AWG", Metal.ALUMINIUM: "12 AWG"}


@dataclass(frozen=True, slots=True)
class Conductor:
    """What the tables say of one gauge; None where they say nothing."""

    gauge: str
    resistance_ohm_per_m: float
    ampacities_a: Mapping[int, float] | None
    small_conductor_limit_a: float | None


def find(gauge: str | int, metal: Metal = Metal.COPPER) -> Conductor:
    """Find what the tables say of a gauge.

    Raises:
        UnknownNameError: the tables, from 18 AWG of copper or 12 AWG of aluminium to 4/0, do not hold it.

    >>> find("12").small_conductor_limit_a
    20

    """
    number = awg_number(gauge)
    conductors = _conductors(metal)
    if number not in conductors:
        raise UnknownNameError("wire gauge of the tables", str(gauge), (each.gauge for each in conductors.values()))
    return conductors[number]


@takes_arrays
def ampacity(
    gauge: str | int,
    column_c: int,
    *,
    ambient_temperature_k: float = 303.15,
    current_carrying: int = 3,
    metal: Metal = Metal.COPPER,
) -> float:
    """Give the current that a conductor in a raceway or cable may carry (NEC table 310.16).

    Corrected for the ambient temperature by the code's own formula, sqrt((Tc - Ta) / (Tc - 30 °C)), whose banded table
    is this at the upper end of each band, and for more than three current-carrying conductors (NEC 310.15).
    The terminals' rating wins where it is lower than the insulation's: use that of their column (NEC 110.14(C)).

    Args:
        gauge: "14" of copper or "12" of aluminium, to "4/0".
        column_c: 60, 75 or 90: the insulation's rating [°C].
        ambient_temperature_k: around the raceway; one on a roof in the sun is hotter than the air [K].
        current_carrying: conductors that carry current in one raceway, 1 to 40.
        metal: of the conductor.

    Returns:
        The ampacity [A].

    Raises:
        UnknownNameError: no such gauge or column.
        CalcRangeError: the ambient is not from -40 °C to 5 K below the column, or there are too many conductors.

    >>> ampacity("14", 75), ampacity("4", 60), ampacity("4", 60, metal=Metal.ALUMINIUM)  # NEC table 310.16
    (20.0, 70.0, 55.0)

    """
    found = find(gauge, metal).ampacities_a
    if found is None:
        raise UnknownNameError("wire gauge with an ampacity", str(gauge), (_THINNEST[metal], "and thicker"))
    if column_c not in found:
        raise UnknownNameError("column of the ampacity table [°C]", str(column_c), map(str, COLUMNS_C))
    within("ambient_temperature_k", ambient_temperature_k, 233.15, column_c + _ICE_POINT_K - 5, "K", _TOO_WARM)
    within("current_carrying", current_carrying, 1, _MOST_CONDUCTORS, "")
    warmth = (column_c + _ICE_POINT_K - ambient_temperature_k) / (column_c - _AMBIENT_C)
    share = next(share for most, share in _CROWDED if current_carrying <= most)
    return found[column_c] * math.sqrt(round(warmth, 12)) * share  # rounded: at 30 °C it is the table's own figure


@takes_arrays
def smallest_conductor(
    current_a: float,
    column_c: int,
    *,
    ambient_temperature_k: float = 303.15,
    current_carrying: int = 3,
    metal: Metal = Metal.COPPER,
) -> str:
    """Find the thinnest conductor whose ampacity reaches a current, such as the unit's MCA.

    Args:
        current_a: above 0 [A].
        column_c: as for `ampacity`; the lower of insulation and terminals [°C].
        ambient_temperature_k: as for `ampacity` [K].
        current_carrying: as for `ampacity`.
        metal: of the conductor.

    Raises:
        CalcRangeError: none up to 4/0 does, or beyond the limits of `ampacity`.
        UnknownNameError: no such column.

    >>> smallest_conductor(31.4, 75)  # a textbook's example: nameplate MCA 31.40 A, terminals of 75 °C
    '10'
    >>> smallest_conductor(31.0, 75, ambient_temperature_k=323.15)  # at 50 °C 10 AWG carries 26 A
    '8'

    """

    def carries_a(gauge: str) -> float:
        return ampacity(
            gauge,
            column_c,
            ambient_temperature_k=ambient_temperature_k,
            current_carrying=current_carrying,
            metal=metal,
        )

    within("current_a", current_a, 1e-6, carries_a("4/0"), "A", "one conductor of up to 4/0 AWG carries no more")
    gauges = (each.gauge for each in _conductors(metal).values() if each.ampacities_a)
    return next(gauge for gauge in gauges if carries_a(gauge) >= current_a)


@takes_arrays
def overcurrent_limit(
    gauge: str | int,
    column_c: int,
    *,
    article_440_mocp_a: float | None = None,
    ambient_temperature_k: float = 303.15,
    current_carrying: int = 3,
    metal: Metal = Metal.COPPER,
) -> CircuitRating:
    """Give the greatest fuse or breaker that may protect a conductor.

    In general that of 240.4(D) up to 10 AWG, and above it the standard rating at or next above the ampacity (240.4(B)).
    In the circuit of a motor-compressor it is the unit's maximum overcurrent protection instead (240.4(G), Article
    440), for the unit's own overload protects the conductor: say so only for such a circuit.

    Args:
        gauge: as for `ampacity`.
        column_c: as for `ampacity` [°C].
        article_440_mocp_a: of the unit that this circuit alone supplies, 15 to 6000; None for any other circuit [A].
        ambient_temperature_k: as for `ampacity` [K].
        current_carrying: as for `ampacity`.
        metal: of the conductor.

    Raises:
        UnknownNameError: no such gauge or column.
        CalcRangeError: no such maximum overcurrent protection.

    >>> overcurrent_limit("10", 75).current_a  # NEC 240.4(D)
    30.0
    >>> overcurrent_limit("10", 75, article_440_mocp_a=50.0).current_a  # the same textbook's example
    50.0

    """
    ampacity_a = ampacity(
        gauge,
        column_c,
        ambient_temperature_k=ambient_temperature_k,
        current_carrying=current_carrying,
        metal=metal,
    )
    if article_440_mocp_a is not None:
        within("article_440_mocp_a", article_440_mocp_a, STANDARD_RATINGS_A[0], STANDARD_RATINGS_A[-1], "A")
        return CircuitRating(article_440_mocp_a, "the unit's maximum overcurrent protection: NEC 240.4(G), Article 440")
    limit_a = find(gauge, metal).small_conductor_limit_a
    rating_a = next(rating for rating in STANDARD_RATINGS_A if rating >= ampacity_a)
    if limit_a is not None and limit_a <= rating_a:
        return CircuitRating(float(limit_a), "small conductor: NEC 240.4(D)")
    return CircuitRating(float(rating_a), "the standard rating at or next above the ampacity: NEC 240.4(B)")


@cache
def _conductors(metal: Metal) -> dict[int, Conductor]:
    shipped = json.loads(files("calc.data").joinpath(_TABLES[metal]).read_text("utf-8"))
    return {
        awg_number(row["gauge"]): Conductor(
            row["gauge"],
            row["resistance_ohm_per_kft"] / _KILOFOOT_M,
            dict(zip(COLUMNS_C, row["ampacity_a"], strict=True)) if "ampacity_a" in row else None,
            row.get("small_conductor_limit_a"),
        )
        for row in shipped["conductors"]
    }
