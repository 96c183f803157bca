"""A maker's own charging chart: the superheat of a right charge by the wet bulb inside and the dry bulb outdoors.

It is of one unit with a fixed orifice, as it is printed on it or in its manual, and takes the place of the table that
stands in for all makers.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from calc.elementwise import within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.targets import CHART_SOURCE, NoTarget, SuperheatTable, Target, looked_up

_FAHRENHEIT_DK = 5 / 9
_AIR_K = (200.0, 350.0)


class ChartPoint(NamedTuple):
    """One printed value of a maker's charging chart: the superheat of a right charge [K], in this air [K]."""

    return_wet_bulb_k: float
    outdoor_dry_bulb_k: float
    superheat_dk: float


def find_chart_superheat(
    points: Sequence[ChartPoint], return_wet_bulb_k: Estimate, outdoor_dry_bulb_k: Estimate
) -> Target | NoTarget:
    """Look up the superheat of a maker's own charging chart, between its printed values bilinearly.

    Beyond the chart and where it is blank there is no target: the table of all makers does not stand in for it.

    Args:
        points: what is printed, in any order, one value for each pair of temperatures; whole °F.
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
    missing = ("no_target.beyond_chart", "no_target.blank_in_chart")
    return looked_up(_chart(tuple(points)), return_wet_bulb_k, outdoor_dry_bulb_k, CHART_SOURCE, missing)


def check_chart(points: Sequence[ChartPoint]) -> None:
    """Check that a chart can be looked up: two of each temperature at least, and no pair of them twice.

    Raises:
        ArgumentError: it cannot, and why.
        CalcRangeError: no temperature of air.

    """
    seen = [_air_degf(it) for it in points]
    twice = next((pair for index, pair in enumerate(seen) if pair in seen[:index]), None)
    if twice is not None:
        raise ArgumentError(
            f"a charging chart has {twice[0]:g} °F wet bulb at {twice[1]:g} °F outdoors twice: keep one"
        )
    if any(len({pair[axis] for pair in seen}) < 2 for axis in (0, 1)):
        raise ArgumentError("a charging chart needs two wet bulbs and two outdoor temperatures at least: add values")


def _air_degf(point: ChartPoint) -> tuple[float, float]:
    """Give the air as it is printed: what rounds to the same hundredth is one line of the chart [°F]."""
    air = (("return_wet_bulb_k", point.return_wet_bulb_k), ("outdoor_dry_bulb_k", point.outdoor_dry_bulb_k))
    wet, outdoor = (within(name, value, *_AIR_K, "K", "a temperature of air") for name, value in air)
    return round(wet / _FAHRENHEIT_DK - 459.67, 2), round(outdoor / _FAHRENHEIT_DK - 459.67, 2)


@lru_cache(maxsize=64)
def _chart(points: tuple[ChartPoint, ...]) -> SuperheatTable:
    """Set a chart out as a table: what is not printed of it is blank."""
    check_chart(points)
    printed = {_air_degf(it): it.superheat_dk / _FAHRENHEIT_DK for it in points}
    wet_bulbs, outdoors = (sorted(set(axis)) for axis in zip(*printed, strict=True))
    rows = tuple(tuple(printed.get((wet, outdoor)) for wet in wet_bulbs) for outdoor in outdoors)
    return SuperheatTable(tuple(wet_bulbs), tuple(outdoors), rows)
