"""A maker's own charging chart: the superheat of a right charge by the wet bulb inside and the dry bulb outdoors.

It is of one unit with a fixed orifice, as it is printed on it or in its manual, and takes the place of the table that
stands in for all makers.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise, product
from typing import NamedTuple

from calc.elementwise import within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.sentences import Sentence
from calc.targets import CHART_SOURCE, NoTarget, SuperheatTable, Target, looked_up
from calc.uncertainty import Budget
from calc.units import parse, parse_difference

BETWEEN_POINTS = "|"

_FAHRENHEIT_DK = 5 / 9
_WET_BULB_K = (273.15, 313.15)
_OUTDOOR_K = (255.0, 333.15)
"""For no other air a chart of cooling is printed; common practice, no source."""

_STEP_DDEGF = (2.0, 5.0)
"""From one line to the next in the table of California Title 24, RA3.2: of the wet bulb, and of the outdoor air."""
_SLOPE = (1.66, -0.49)
"""What the superheat of that table changes by for a degree of each, the mean of all its neighbours."""
_SLOPE_UNCERTAINTY = (0.75, 0.3)
"""Twice the standard deviation among these, 0.38 and 0.14, as makers differ more than one table within itself does; the
factor is common practice, no source."""


class ChartPoint(NamedTuple):
    """One printed value of a maker's charging chart: the superheat of a right charge [K], in this air [K]."""

    return_wet_bulb_k: float
    outdoor_dry_bulb_k: float
    superheat_dk: float


def find_chart_superheat(
    points: Sequence[ChartPoint], return_wet_bulb_k: Estimate, outdoor_dry_bulb_k: Estimate
) -> Target | NoTarget:
    """Look up the superheat of a maker's own charging chart, between its printed values bilinearly.

    Beyond the chart and where it is blank there is no target: the table of all makers does not stand in for it. A value
    that was entered without its neighbours, and a row or a column that is the only one, hold for a usual step each way,
    2 °F of wet bulb and 5 °F outdoors: the superheat changes with the way there as in a published table, which is
    corrected for (JCGM 100, 3.2.4) and makes the ± wider.

    Args:
        points: what was entered of it, in any order, one value for each pair of temperatures; whole °F. One is enough.
        return_wet_bulb_k: of the air that enters the coil [K].
        outdoor_dry_bulb_k: of the air that enters the condenser [K].

    Raises:
        ArgumentError: no chart to look between: `check_chart`.
        CalcRangeError: no temperature of air.

    >>> printed_degf = ((63, 85, 14), (67, 85, 19), (63, 95, 8), (67, 95, 13))  # made up
    >>> kelvin = lambda degf: (degf + 459.67) / 1.8
    >>> chart = [ChartPoint(kelvin(wet), kelvin(dry), degf / 1.8) for wet, dry, degf in printed_degf]
    >>> found = find_chart_superheat(chart, Estimate(kelvin(65), 0.3), Estimate(kelvin(90), 0.3))
    >>> round(found.value.value * 1.8, 1)  # in the middle of the four
    13.5

    """
    air = (return_wet_bulb_k, outdoor_dry_bulb_k)
    whole = _looked_up(tuple(points), air)
    if isinstance(whole, Target):
        return whole
    near = [it for one in _alone(tuple(points)) if isinstance(it := _looked_up((one,), air), Target)]
    return min(near, key=lambda it: it.value.estimate.standard_uncertainty, default=whole)


def check_chart(points: Sequence[ChartPoint]) -> None:
    """Check that a chart can be looked up: it has a value, and none twice for one pair of temperatures.

    Raises:
        ArgumentError: it cannot, and why.
        CalcRangeError: no temperature of such air.

    """
    if not points:
        raise ArgumentError("a charging chart needs one value at least")
    seen = [_air_degf(it) for it in points]
    twice = next((pair for index, pair in enumerate(seen) if pair in seen[:index]), None)
    if twice is not None:
        raise ArgumentError(
            f"a charging chart has {twice[0]:g} °F wet bulb at {twice[1]:g} °F outdoors twice: keep one"
        )


def find_unusual(points: Sequence[ChartPoint]) -> tuple[ChartPoint, ChartPoint] | None:
    """Find two values that stand beside each other otherwise than in published tables, if there are such.

    In those the superheat of a right charge rises with the wet bulb inside, and falls as it gets hotter outdoors
    (California Title 24, RA3.2: in each of its rows and columns).
    """
    for sought, other, sign in ((0, 1, 1.0), (1, 0, -1.0)):
        lines = sorted(points, key=lambda it: (it[other], it[sought]))
        for one, following in pairwise(lines):
            if one[other] == following[other] and sign * (following.superheat_dk - one.superheat_dk) < 0:
                return one, following
    return None


def parse_chart(text: str, temperature: str, difference: str) -> list[ChartPoint]:
    """Read a chart as it is printed: wet bulb, outdoor air, and the superheat there, with `|` between the values.

    Args:
        text: such as "63/85 14 | 67/85 19"; empty: no value.
        temperature: the unit of both temperatures, such as "degF".
        difference: the unit of the superheat, such as "degF" or "K".

    Raises:
        ArgumentError: it cannot be read, and which value of it.
        CalcError: a number is none, or no temperature.

    >>> parse_chart("67/95 13", "degF", "degF")[0].outdoor_dry_bulb_k
    308.15

    """
    return [_parse_point(it.strip(), temperature, difference) for it in text.split(BETWEEN_POINTS) if text.strip()]


_POINT = re.compile(r"(\d+(?:\.\d+)?)/(\d+(?:\.\d+)?)\s+(\d+(?:\.\d+)?)")


def _parse_point(text: str, temperature: str, difference: str) -> ChartPoint:
    found = _POINT.fullmatch(text)
    if found is None:
        raise ArgumentError(
            f"{text!r} in the chart: wet bulb/outdoors superheat was expected, such as 63/85 14 | 67/85 19"
        )
    wet_bulb_k, outdoor_k = (parse(f"{it} {temperature}", Quantity.TEMPERATURE) for it in found.groups()[:2])
    return ChartPoint(wet_bulb_k, outdoor_k, parse_difference(f"{found[3]} {difference}"))


def _air_degf(point: ChartPoint) -> tuple[float, float]:
    """Give the air as it is printed: what rounds to the same hundredth is one line of the chart [°F]."""
    wet = within("return_wet_bulb_k", point.return_wet_bulb_k, *_WET_BULB_K, "K", "a wet bulb inside")
    outdoor = within("outdoor_dry_bulb_k", point.outdoor_dry_bulb_k, *_OUTDOOR_K, "K", "air to cool in")
    return round(wet / _FAHRENHEIT_DK - 459.67, 2), round(outdoor / _FAHRENHEIT_DK - 459.67, 2)


_BLANK = "no_target.blank_in_chart"


def _looked_up(points: tuple[ChartPoint, ...], air: tuple[Estimate, Estimate]) -> Target | NoTarget:
    """Look it up, corrected for the way to a line that is the only one on its axis."""
    found = looked_up(_table(points), *air, CHART_SOURCE, ("no_target.beyond_chart", _BLANK))
    if isinstance(found, NoTarget):
        return found
    value_dk, contributions = found.value.value, dict(found.value.contributions)
    for axis, name in enumerate(("return_wet_bulb", "outdoor_dry_bulb")):
        lines = {_air_degf(point)[axis] for point in points}
        if len(lines) == 1:
            away_dk = air[axis].value - (lines.pop() + 459.67) * _FAHRENHEIT_DK
            value_dk += _SLOPE[axis] * away_dk
            contributions[name] = _SLOPE[axis] * air[axis].standard_uncertainty
            contributions[f"slope_by_{name}"] = _SLOPE_UNCERTAINTY[axis] * away_dk
    if value_dk <= 0.0:
        return NoTarget(Sentence(_BLANK))
    return replace(found, value=Budget(value_dk, contributions))


@lru_cache(maxsize=64)
def _alone(points: tuple[ChartPoint, ...]) -> tuple[ChartPoint, ...]:
    """Find the values that are a corner of no four between which the chart is looked up."""
    table = _table(points)
    beside = set[tuple[float, float]]()
    for column, row in product(range(len(table.wet_bulbs) - 1), range(len(table.outdoors) - 1)):
        corners = list(product((column, column + 1), (row, row + 1)))
        if all(table.targets[y][x] is not None for x, y in corners):
            beside |= {(table.wet_bulbs[x], table.outdoors[y]) for x, y in corners}
    is_grid = all(len({_air_degf(it)[axis] for it in points}) > 1 for axis in (0, 1))
    return tuple(it for it in points if _air_degf(it) not in beside) if is_grid else ()


@lru_cache(maxsize=512)
def _table(points: tuple[ChartPoint, ...]) -> SuperheatTable:
    """Set a chart out as a table: what is not printed of it is blank, and a line that is alone holds around it."""
    check_chart(points)
    printed = {_air_degf(it): it.superheat_dk / _FAHRENHEIT_DK for it in points}
    lines = [sorted(set(axis)) for axis in zip(*printed, strict=True)]
    (wet_bulbs, its_wet), (outdoors, its_outdoor) = map(_set_out, lines, _STEP_DDEGF)
    rows = tuple(tuple(printed.get((wet, outdoor)) for wet in its_wet) for outdoor in its_outdoor)
    return SuperheatTable(wet_bulbs, outdoors, rows)


def _set_out(lines: list[float], step: float) -> tuple[tuple[float, ...], list[float]]:
    """Give where the lines of a table stand, and of each whose values it has [°F]."""
    if len(lines) > 1:
        return tuple(lines), lines
    (alone,) = lines
    return (alone - step, alone + step), [alone, alone]
