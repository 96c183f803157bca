"""Leak rates as the US rules count them, the limits they are held against, and what goes into the record.

40 CFR 82.152 and 82.157 hold for ozone-depleting refrigerant, 84.102 and 84.106 for the substitutes since 2026. A
leak rate is the percentage of the full charge that would be lost in a year. Masses may be in any unit, as long as it is
the same one. Which kind of appliance it is, the owner says: nothing here guesses. Local rules can ask for more.

Rates, limits and methods were read in print; the letters of paragraphs of 84.106 are from memory.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from types import MappingProxyType

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError, UnknownNameError
from calc.refrigerants import Refrigerant

_YEAR_DAYS = 365
_ROUNDING = 1e-9
"""1.5 lb of 15 lb is 10 %, whatever is lost in its last binary digits: neither over nor under."""
_LEAST, _MOST = 1e-6, 1e9
_MASS = "as much as an appliance can hold"
_MOST_AT_ONCE = 2.0
"""Of the full charge, which may have been found too low: common practice, no source."""
CHRONIC_LEAK_PERCENT = 125.0
LEAST_GLOBAL_WARMING_POTENTIAL = 53.0
_POUND_KG = 0.45359237
LEAST_FULL_CHARGE_KG = 15 * _POUND_KG * (1 - _ROUNDING)
"""Below it neither rule holds, whatever the refrigerant: 40 CFR 84.106(a) begins at 15 lb, 82.157(a) at 50 lb."""


class Appliance(StrEnum):
    """The kinds of appliance that the rules tell apart."""

    COMFORT_COOLING = "comfort_cooling"
    COMMERCIAL_REFRIGERATION = "commercial_refrigeration"
    INDUSTRIAL_PROCESS_REFRIGERATION = "industrial_process_refrigeration"


_THRESHOLDS_PERCENT = MappingProxyType(
    {
        Appliance.COMFORT_COOLING: 10.0,
        Appliance.COMMERCIAL_REFRIGERATION: 20.0,
        Appliance.INDUSTRIAL_PROCESS_REFRIGERATION: 30.0,
    }
)


@dataclass(frozen=True, slots=True)
class Addition:
    """Refrigerant added to an appliance on a day."""

    day: date
    mass: float


@dataclass(frozen=True, slots=True)
class RecordField:
    """Something that the record of a service has to say, and the paragraph that asks for it."""

    name: str
    basis: str


@takes_arrays
def annualized_rate(added: float, full_charge: float, *, days_since_last_addition: float) -> float:
    """Compute the leak rate by the annualizing method of 40 CFR 82.152 and 84.102.

    Args:
        added: mass added at this visit, all additions together.
        full_charge: mass, in the same unit.
        days_since_last_addition: since refrigerant was last added, of which at most 365 count; 365 when it never was.

    Returns:
        The leak rate [% of the full charge a year].

    Raises:
        CalcRangeError: a negative mass, no full charge, or less than a day: that is one visit, so add its additions up.

    >>> round(annualized_rate(2.0, 50.0, days_since_last_addition=30), 1)  # in print: 48.7
    48.7

    """
    within("full_charge", full_charge, _LEAST, _MOST, "", _MASS)
    within("added", added, 0.0, _MOST_AT_ONCE * full_charge, "", "no appliance takes so much at one visit")
    because = "additions of one visit are added up first"
    within("days_since_last_addition", days_since_last_addition, 1.0, _MOST, "d", because)
    return 100 * added / full_charge * (_YEAR_DAYS / min(days_since_last_addition, _YEAR_DAYS))


def rolling_rate(added: Sequence[float], full_charge: float) -> float:
    """Compute the leak rate by the rolling average method of 40 CFR 82.152 and 84.102.

    Args:
        added: the masses added within the last 365 days; see `of_the_last_year`.
        full_charge: mass, in the same unit.

    Returns:
        The leak rate [% of the full charge a year].

    Raises:
        CalcRangeError: a negative mass, or no full charge.

    >>> rolling_rate([2.0, 3.0, 1.5], 50.0)  # computed by hand from the definition
    13.0

    """
    return _rolling_rate(tuple(added), full_charge)


@takes_arrays
def _rolling_rate(added: tuple[float, ...], full_charge: float) -> float:
    within("full_charge", full_charge, _LEAST, _MOST, "", _MASS)
    for mass in added:
        within("added", mass, 0.0, _MOST_AT_ONCE * full_charge, "", "no appliance takes so much at one visit")
    return 100 * math.fsum(added) / full_charge


def merged(additions: Iterable[Addition]) -> tuple[Addition, ...]:
    """Add up the additions of each day, which are of one visit, and put them in order.

    >>> merged([Addition(date(2026, 5, 30), 1.0), Addition(date(2026, 5, 30), 0.5)])
    (Addition(day=datetime.date(2026, 5, 30), mass=1.5),)
    """
    masses: dict[date, list[float]] = {}
    for addition in additions:
        masses.setdefault(addition.day, []).append(addition.mass)
    return tuple(Addition(day, math.fsum(masses[day])) for day in sorted(masses))


def of_the_last_year(additions: Iterable[Addition], *, on: date, since: date | None = None) -> tuple[Addition, ...]:
    """Pick the additions that a rolling rate counts.

    Args:
        additions: of one appliance.
        on: the day of the calculation, which counts, as do the 364 before it.
        since: the day of the last successful follow-up verification test, if it is later: what was added up to it
            is not counted.

    Raises:
        ArgumentError: `since` lies after `on`.

    """
    if since is not None and since > on:
        raise ArgumentError(f"the follow-up test of {since} lies after the day of the calculation, {on}")
    after = on - timedelta(days=_YEAR_DAYS)
    start = max(after, since or after)
    return tuple(addition for addition in merged(additions) if start < addition.day <= on)


def threshold(appliance: Appliance | str) -> float:
    """Give the leak rate above which an appliance must be repaired: 40 CFR 82.157(c)(2) and 84.106(c)(2).

    Args:
        appliance: which kind it is, as the owner says.

    Returns:
        The limit [% of the full charge a year].

    Raises:
        UnknownNameError: none of the three kinds.

    >>> threshold(Appliance.COMFORT_COOLING)
    10.0

    """
    if appliance not in _THRESHOLDS_PERCENT:
        raise UnknownNameError("kind of appliance", appliance, Appliance)
    return _THRESHOLDS_PERCENT[Appliance(appliance)]


def exceeds_threshold(leak_rate_percent: float, appliance: Appliance | str) -> bool:
    """Tell whether a leak rate is over the limit; exactly at it is not over.

    >>> exceeds_threshold(10.0, Appliance.COMFORT_COOLING)
    False
    """
    within("leak_rate_percent", leak_rate_percent, 0.0, math.inf, "%")
    return leak_rate_percent > threshold(appliance) * (1 + _ROUNDING)


def lost_in_year(additions: Iterable[Addition], full_charge: float, *, year: int) -> float:
    """Compute the share of the full charge that was added in a calendar year [%].

    From 125 % the owner reports it to the EPA: 40 CFR 82.157(j), 84.106(j).
    """
    return rolling_rate([addition.mass for addition in additions if addition.day.year == year], full_charge)


def is_chronic(lost_percent: float) -> bool:
    """Tell whether what was lost in a calendar year must be reported: 125 % of the full charge and more.

    >>> is_chronic(125.0)
    True
    """
    within("lost_percent", lost_percent, 0.0, math.inf, "%")
    return lost_percent >= CHRONIC_LEAK_PERCENT * (1 - _ROUNDING)


def report_due(year: int) -> date:
    """Give the day by which a chronic leak of a year must be reported: 1 March of the next."""
    return date(year + 1, 3, 1)


class Exemption(StrEnum):
    """Why a rule does not hold."""

    NO_OZONE = "no_ozone"
    BELOW_50_LB = "below_50_lb"
    OZONE = "ozone"
    LOW_POTENTIAL = "low_potential"
    BELOW_15_LB = "below_15_lb"
    LEFT_OUT = "left_out"


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule on leaks, whether it holds for an appliance, and why. exempt: what keeps it from holding, the first."""

    paragraph: str
    holds: bool
    why: str
    exempt: Exemption | None = None


def rules(
    refrigerant: Refrigerant, full_charge_kg: float, *, is_residential_or_light_commercial: bool
) -> tuple[Rule, Rule]:
    """Tell which of the two US rules on leaks holds for an appliance.

    Args:
        refrigerant: what it is charged with.
        full_charge_kg: of one circuit [kg].
        is_residential_or_light_commercial: it belongs to the subsector of residential and light commercial air
            conditioning and heat pumps, which 84.106 leaves out. Ask, don't assume.

    Raises:
        CalcRangeError: no full charge.

    """
    within("full_charge_kg", full_charge_kg, _LEAST, _MOST, "kg", _MASS)
    pounds = full_charge_kg / _POUND_KG * (1 + _ROUNDING)
    potential = refrigerant.global_warming_potential("AR4")
    return (
        _rule(
            "40 CFR 82.157",
            {
                Exemption.NO_OZONE: (
                    f"{refrigerant.designation} depletes no ozone",
                    not refrigerant.is_ozone_depleting,
                ),
                Exemption.BELOW_50_LB: ("the full charge is below 50 lb", pounds < 50),
            },
            "50 lb or more of an ozone-depleting refrigerant",
        ),
        _rule(
            "40 CFR 84.106",
            {
                Exemption.OZONE: (f"{refrigerant.designation} is ozone-depleting", refrigerant.is_ozone_depleting),
                Exemption.LOW_POTENTIAL: (
                    f"its GWP is {potential:.0f}, not above 53",
                    potential <= LEAST_GLOBAL_WARMING_POTENTIAL,
                ),
                Exemption.BELOW_15_LB: ("the full charge is below 15 lb", pounds < 15),
                Exemption.LEFT_OUT: (
                    "residential and light commercial comfort cooling is left out",
                    is_residential_or_light_commercial,
                ),
            },
            "15 lb or more of a refrigerant with a GWP above 53, from 2026",
        ),
    )


def _rule(paragraph: str, exemptions: dict[Exemption, tuple[str, bool]], otherwise: str) -> Rule:
    found = {exemption: reason for exemption, (reason, applies) in exemptions.items() if applies}
    return Rule(paragraph, not found, "; ".join(found.values()) or otherwise, next(iter(found), None))


def record_fields() -> tuple[RecordField, ...]:
    """List what the record of a service has to say, under 40 CFR 82.157(b) and (l) and 84.106(b) and (l).

    Who adds refrigerant gives it to the owner at the end of the service; the owner keeps it for three years.
    """
    return _RECORD_FIELDS


_AT_THE_END = "40 CFR 82.157(b), 84.106(l)(2)"
_RECORD_FIELDS = (
    RecordField("owner or operator of the appliance", "40 CFR 82.157(l)(2), 84.106(l)(2)"),
    RecordField("identity and location of the appliance", _AT_THE_END),
    RecordField("date of the service", _AT_THE_END),
    RecordField("parts serviced, and the type of service of each", _AT_THE_END),
    RecordField("name of who did it", _AT_THE_END),
    RecordField("certification of who did it", "40 CFR 82.161, 84.106(l)(2)"),
    RecordField("amount and type of refrigerant added, or removed", _AT_THE_END),
    RecordField("full charge, and how it was determined", "40 CFR 82.157(l)(1), 84.102"),
    RecordField("leak rate, and the method: one method for a whole facility", "40 CFR 82.152, 84.102"),
    RecordField("leak inspections: date, method, where leaks were found", "40 CFR 82.157(g)"),
    RecordField("repairs: dates and results of the initial and follow-up verification tests", "40 CFR 82.157(e)"),
)
