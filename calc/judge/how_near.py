"""How near to right a charge is known to be: a figure within its tolerance is not yet a charge within two percent.

What the figure is off by and how well it is read, how well its target is this unit's own in this weather, and what
refrigerant did to the figure at this visit come to one share of the charge, with its ±.
"""

import math

from calc.estimate import Estimate
from calc.governing import Figure
from calc.judge.next_step import left_to_move
from calc.situation import Situation
from calc.symptoms import TABLE_SPREAD_DK
from calc.targets import CHART_SOURCE, NAMEPLATE_SOURCE, NoTarget, Target

_DDEGF = 5 / 9
_ROUNDED_DK = 0.5 / math.sqrt(3) * _DDEGF
"""A plate has whole degrees Fahrenheit."""
_RATED_OUTDOOR_K = 308.15
"""95 °F, at which units are rated (AHRI 210/240, condition A): a plate that names no weather is of that here."""
_COOLEST_K, _HOTTEST_K = 293.15, 313.71
"""68 and 104.9 °F: as far as what is printed and measured of it goes."""
_PER_COOLER, _PER_COOLER_SPREAD = 0.06, 0.035
"""How much more the same charge subcools for each degree that it is cooler outdoors, in a unit with an expansion valve:
six whose makers print it by the outdoor air come to 0.01 to 0.11 (their service manuals), one in a laboratory to 0.05
(NISTIR 7350)."""
_SUBCOOLING_ELSEWHERE_DK, _IN_UNKNOWN_WEATHER_DK = 0.7 * _DDEGF, 0.9 * _DDEGF
"""How that unit's subcooling moves over 16 conditions with the same charge: what is left of it then, and all of it."""
_SUPERHEAT_ELSEWHERE_DK = 1.7 * _DDEGF
"""A maker's superheat for the air at hand: 1.1 °F as in that laboratory, and 0.5 °F of wet bulb, each degree of which
moves the target by 2 to 3 °F (California Title 24, RA3.2, its table)."""
_CHART_ELSEWHERE_DK = 1.1 * _DDEGF
"""A maker's chart for the air at hand: the former of these two, for the wet bulb's is in what the chart gives."""
_SUPERHEAT_APART_DK = {
    NAMEPLATE_SOURCE: (_ROUNDED_DK, _SUPERHEAT_ELSEWHERE_DK),
    CHART_SOURCE: (_CHART_ELSEWHERE_DK,),
}
_TABLE_ELSEWHERE_DK = 3.0 * _DDEGF
"""How the superheat of a right charge moves against that table from one weather to another: common practice, no source;
set on 42 obeyed visits at simulated units (tests/judge, docs/decisions/0042)."""


def expected(figure: Figure, target: Target, now: Situation) -> Estimate:
    """Give what the figure is likeliest to be in this weather with the right charge [K].

    A nameplate's subcooling is printed for the weather in which units are rated, and the same charge subcools more
    where it is cooler outdoors. What a table or a maker gives for the air at hand stays as it is.
    """
    known = target.value.estimate
    if figure == "superheat":
        apart = _SUPERHEAT_APART_DK.get(target.source, (TABLE_SPREAD_DK, _TABLE_ELSEWHERE_DK))
        return Estimate(known.value, math.hypot(known.standard_uncertainty, *apart))
    outdoor = now.measured.get("outdoor_air_temperature")
    if outdoor is None:
        return Estimate(known.value, math.hypot(known.standard_uncertainty, _ROUNDED_DK, _IN_UNKNOWN_WEATHER_DK))
    cooler_dk = _RATED_OUTDOOR_K - min(max(outdoor.value, _COOLEST_K), _HOTTEST_K)
    left_dk = math.hypot(_SUBCOOLING_ELSEWHERE_DK, _PER_COOLER_SPREAD * cooler_dk)
    spread_dk = math.hypot(known.standard_uncertainty, _ROUNDED_DK, left_dk)
    return Estimate(known.value + _PER_COOLER * cooler_dk, spread_dk)


def charge_left(figure: Figure, value: Estimate, target: Target | NoTarget, now: Situation) -> Estimate | None:
    """Give which share of the charge is missing, above 0, or too much, below 0; None where nothing tells.

    Args:
        figure: the one that shows the charge.
        value: of that figure, settled [K].
        target: of that figure.
        now: its nameplate's charge, the outdoor air, and the moves of this visit.

    Raises:
        CalcRangeError: no unit has such a charge.

    """
    charge_kg = now.nameplate_charge_kg
    if isinstance(target, NoTarget) or charge_kg is None:
        return None
    right_dk = expected(figure, target, now)
    left = left_to_move(figure, value, target_dk=right_dk, nameplate_charge_kg=charge_kg, moves=now.moves)
    return None if left is None else Estimate(left.value / charge_kg, left.standard_uncertainty / charge_kg)


def is_worth_telling(left: Estimate) -> bool:
    """Tell whether a share that is missing, or too much, is more than how well it is known, and than 2 %."""
    return abs(left.value) > max(left.standard_uncertainty, _AS_GOOD_AS_RIGHT)


_AS_GOOD_AS_RIGHT = 0.02


def off_percent(left: Estimate) -> int:
    """Give which part is missing, or too much, in whole percent of the charge."""
    return round(100 * abs(left.value))


def within_percent(left: Estimate) -> int:
    """Give within how much that is known (k = 2), in whole percent, rounded up."""
    return math.ceil(100 * left.expanded() - _ROUNDING)


def right_to_percent(left: Estimate) -> int:
    """Give to how much a charge is right: what it may be off by at most, either way (k = 2), likewise.

    >>> right_to_percent(Estimate(0.01, 0.02)), within_percent(Estimate(0.01, 0.02)), off_percent(Estimate(-0.03, 0.02))
    (5, 4, 3)
    """
    return math.ceil(100 * (abs(left.value) + left.expanded()) - _ROUNDING)


def is_widely_known(left: Estimate) -> bool:
    """Tell whether a charge is known less near than 6 %, and so is not called right.

    That is what a figure may be off by within its tolerance: 3 °F of subcooling, by 0.5 °F for 1 % (common practice,
    no source).

    >>> is_widely_known(Estimate(0.01, 0.025)), is_widely_known(Estimate(0.01, 0.03))
    (False, True)
    """
    return right_to_percent(left) > _CALLED_RIGHT_PERCENT


_CALLED_RIGHT_PERCENT = 6
_ROUNDING = 1e-9
