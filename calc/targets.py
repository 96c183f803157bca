"""What superheat and subcooling should be; how near is near enough, `calc.protocols` knows.

A target comes from the nameplate or the maker's chart first. The table stands in for a fixed orifice whose maker is
silent, and the formula of the trade for the table, as no more than an estimate of it.
"""

import csv
import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import NamedTuple

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.protocols import LEAST_TARGET_DK, tolerances
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, amount
from calc.uncertainty import Budget

__all__ = [
    "NoTarget",
    "SuperheatTable",
    "Target",
    "estimate_target_superheat",
    "find_target_superheat",
    "looked_up",
    "target_subcooling",
    "target_superheat",
    "tolerances",
]

TABLE_SOURCE = "California Title 24, RA3.2: the table of target superheat, in whole °F"
FORMULA_SOURCE = "the formula (3 x wet bulb - 80 - outdoor) / 2 in °F: an estimate of the table, common in the trade"
NAMEPLATE_SOURCE = "nameplate"
CHART_SOURCE = "the maker's charging chart"

_FAHRENHEIT_DK = 5 / 9
_ROUNDING_DK = 0.5 * _FAHRENHEIT_DK / math.sqrt(3)  # whole °F: anywhere within ±0.5 °F (JCGM 100, 4.3.7)
_FORMULA_DK = 1.6 * _FAHRENHEIT_DK  # its root mean square difference from the table, computed over all its values
_AIR_K = (200.0, 350.0)


@dataclass(frozen=True, slots=True)
class Target:
    """What a figure should be [K], and where that stands."""

    value: Budget
    source: str


@dataclass(frozen=True, slots=True)
class NoTarget:
    """Why there is no target, and what to do about it."""

    reason: Sentence


@takes_arrays
def target_superheat(return_wet_bulb_k: float, outdoor_dry_bulb_k: float) -> float | None:
    """Look up the target superheat of a fixed orifice, between the printed values bilinearly.

    Args:
        return_wet_bulb_k: of the air that enters the coil, 50 to 76 °F [K].
        outdoor_dry_bulb_k: of the air that enters the condenser, 55 to 115 °F [K].

    Returns:
        The target [K]; None beyond the table and where it is blank: `find_target_superheat` says why.

    Raises:
        CalcRangeError: no temperature of air.

    >>> target_dk = target_superheat(292.594, 308.15)  # 67 °F and 95 °F: between 10 and 14 °F in the table
    >>> round(target_dk * 9 / 5, 1)
    12.0
    >>> target_superheat(283.15, 308.15) is None  # a dash in the table: hot and dry
    True

    """
    found = find_target_superheat(Estimate(return_wet_bulb_k, 0.0), Estimate(outdoor_dry_bulb_k, 0.0))
    return found.value.value if isinstance(found, Target) else None


def find_target_superheat(return_wet_bulb_k: Estimate, outdoor_dry_bulb_k: Estimate) -> Target | NoTarget:
    """Look up the target superheat with its uncertainty, or why there is none; arguments as `target_superheat`.

    >>> str(find_target_superheat(Estimate(283.15, 0.3), Estimate(308.15, 0.3)).reason)
    'The target would be below 5 °F (2.8 K), too hot and dry for a valid test: warm the space or come back.'
    """
    missing = ("no_target.beyond_table", "no_target.too_hot_and_dry")
    return looked_up(_table(), return_wet_bulb_k, outdoor_dry_bulb_k, TABLE_SOURCE, missing)


def looked_up(
    table: "SuperheatTable",
    return_wet_bulb_k: Estimate,
    outdoor_dry_bulb_k: Estimate,
    source: str,
    missing: tuple[str, str],
) -> Target | NoTarget:
    """Look up a target in a table. missing: what to say beyond it, and where it is blank.

    Raises:
        CalcRangeError: no temperature of air.

    """
    wet_bulb_degf = _degf("return_wet_bulb_k", return_wet_bulb_k.value)
    outdoor_degf = _degf("outdoor_dry_bulb_k", outdoor_dry_bulb_k.value)
    beyond, blank = missing
    if not table.holds(wet_bulb_degf, outdoor_degf):
        return NoTarget(Sentence(beyond, table.ends))
    cell = table.cell(wet_bulb_degf, outdoor_degf)
    if cell is None:
        return NoTarget(Sentence(blank))
    contributions = {
        "return_wet_bulb": cell.per_wet_bulb * return_wet_bulb_k.standard_uncertainty,
        "outdoor_dry_bulb": cell.per_outdoor * outdoor_dry_bulb_k.standard_uncertainty,
        "table_rounding": _ROUNDING_DK,
    }
    return Target(Budget(cell.value * _FAHRENHEIT_DK, contributions), source)


def estimate_target_superheat(return_wet_bulb_k: float, outdoor_dry_bulb_k: float) -> Target | NoTarget:
    """Estimate the target superheat by the formula of the trade, where the table is not to hand.

    Against the table it is 0.45 °F low on average, 1.6 °F off by root mean square, and 6.5 °F low at worst.

    Args:
        return_wet_bulb_k: of the air that enters the coil, 50 to 76 °F as in the table [K].
        outdoor_dry_bulb_k: of the air that enters the condenser, 55 to 115 °F likewise [K].

    Raises:
        CalcRangeError: no temperature of air.

    >>> target = estimate_target_superheat(290.928, 308.706)  # 64 °F and 96 °F: 8 °F in a trade-training article
    >>> round(target.value.value * 9 / 5, 1), round(target.value.estimate.expanded() * 9 / 5, 1)
    (8.0, 3.2)

    """
    wet_bulb_degf = _degf("return_wet_bulb_k", return_wet_bulb_k)
    outdoor_degf = _degf("outdoor_dry_bulb_k", outdoor_dry_bulb_k)
    target_dk = (3 * wet_bulb_degf - 80 - outdoor_degf) / 2 * _FAHRENHEIT_DK
    table = _table()
    if not table.holds(wet_bulb_degf, outdoor_degf):
        return NoTarget(Sentence("no_target.beyond_formula", table.ends))
    if target_dk < LEAST_TARGET_DK:
        return NoTarget(Sentence("no_target.formula_too_low"))
    return Target(Budget(target_dk, {"formula": _FORMULA_DK}), FORMULA_SOURCE)


def target_subcooling(nameplate_dk: float | None) -> Target | NoTarget:
    """Take the target subcooling [K] from the nameplate: nothing else knows it.

    Raises:
        CalcRangeError: no subcooling of a nameplate: 0 to 30 K.

    >>> str(target_subcooling(None).reason)
    "The nameplate's target subcooling is not given: read it there, or in the maker's charging chart."

    """
    if nameplate_dk is None:
        return NoTarget(Sentence("no_target.no_subcooling"))
    return Target(Budget(within("nameplate_dk", nameplate_dk, 0.0, 30.0, "K"), {}), NAMEPLATE_SOURCE)


def _degf(name: str, temperature_k: float) -> float:
    return within(name, temperature_k, *_AIR_K, "K", "a temperature of air") / _FAHRENHEIT_DK - 459.67


class _Cell(NamedTuple):
    """A value of the table and its slopes: the target [°F], per °F of wet bulb, and per °F outdoors."""

    value: float
    per_wet_bulb: float
    per_outdoor: float


@dataclass(frozen=True, slots=True)
class SuperheatTable:
    """The printed table [°F]: a row for each outdoor temperature, a column for each wet bulb, None where blank."""

    wet_bulbs: tuple[float, ...]
    outdoors: tuple[float, ...]
    targets: tuple[tuple[float | None, ...], ...]

    @property
    def ends(self) -> tuple[Part, ...]:
        """From where to where it runs."""
        ends = {"driest": self.wet_bulbs[0], "most_humid": self.wet_bulbs[-1]}
        ends |= {"coolest": self.outdoors[0], "hottest": self.outdoors[-1]}
        return tuple(
            amount(place, (degf + 459.67) * _FAHRENHEIT_DK, Quantity.TEMPERATURE) for place, degf in ends.items()
        )

    def holds(self, wet_bulb: float, outdoor: float) -> bool:
        """Tell whether it runs as far [°F]."""
        edge = _EDGE_DEGF
        return (
            self.wet_bulbs[0] - edge <= wet_bulb <= self.wet_bulbs[-1] + edge
            and self.outdoors[0] - edge <= outdoor <= self.outdoors[-1] + edge
        )

    def cell(self, wet_bulb: float, outdoor: float) -> _Cell | None:
        """Interpolate; None if a corner is blank.

        On a printed line the cell to the more humid and to the cooler side is taken: the blanks are on the other.
        """
        column = min(max(bisect_right(self.wet_bulbs, wet_bulb + _EDGE_DEGF) - 1, 0), len(self.wet_bulbs) - 2)
        row = min(max(bisect_left(self.outdoors, outdoor - _EDGE_DEGF) - 1, 0), len(self.outdoors) - 2)
        cool_dry, cool_humid = self.targets[row][column : column + 2]
        hot_dry, hot_humid = self.targets[row + 1][column : column + 2]
        if cool_dry is None or cool_humid is None or hot_dry is None or hot_humid is None:
            return None
        width = self.wet_bulbs[column + 1] - self.wet_bulbs[column]
        height = self.outdoors[row + 1] - self.outdoors[row]
        x = (wet_bulb - self.wet_bulbs[column]) / width
        y = (outdoor - self.outdoors[row]) / height
        cool = cool_dry + x * (cool_humid - cool_dry)
        hot = hot_dry + x * (hot_humid - hot_dry)
        slope = (1 - y) * (cool_humid - cool_dry) + y * (hot_humid - hot_dry)
        return _Cell(cool + y * (hot - cool), slope / width, (hot - cool) / height)


_EDGE_DEGF = 1e-3
"""A temperature that rounds to the table's last line in kelvin is still on it."""


@cache
def _table() -> SuperheatTable:
    text = files("calc.data").joinpath("target_superheat_degf.csv").read_text("utf-8")
    head, *rows = csv.reader(text.splitlines())
    return SuperheatTable(
        wet_bulbs=tuple(float(name.removeprefix("wb_")) for name in head[1:]),
        outdoors=tuple(float(row[0]) for row in rows),
        targets=tuple(tuple(float(cell) if cell else None for cell in row[1:]) for row in rows),
    )
