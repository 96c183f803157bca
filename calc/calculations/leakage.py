"""Leak rates, the limits they are held against, and the record."""

from collections.abc import Mapping
from datetime import date
from functools import partial

from calc import leakage
from calc.arguments import DATE, REFRIGERANT, Choice, Count, Dated, ListOf
from calc.calculation import Calculation, Values
from calc.entry import Given, entry
from calc.quantities import Quantity
from calc.refrigerants import get

_DUTY = "a rule holds for this appliance at all, by its refrigerant and full charge: see leak_rules"
"""Most units of this kind are under neither rule; a rate is worth knowing all the same."""
_NO_DUTY = "below 15 lb neither 40 CFR 82.157 nor 84.106 holds; local rules may ask for more"


def _duty(full_charge_kg: float) -> Values:
    if full_charge_kg < leakage.LEAST_FULL_CHARGE_KG:
        return {"no_duty": _NO_DUTY}
    return {"a_duty_only_if": _DUTY}


def _held_against(rate_percent: float, appliance: leakage.Appliance, full_charge_kg: float) -> Values:
    return {
        "leak_rate_percent": rate_percent,
        "threshold_percent": leakage.threshold(appliance),
        "exceeds_threshold": leakage.exceeds_threshold(rate_percent, appliance),
        **_duty(full_charge_kg),
    }


def _annualized(
    added_kg: tuple[float, ...], full_charge_kg: float, days_since_last_addition: int, appliance: leakage.Appliance
) -> Values:
    rate_percent = leakage.annualized_rate(
        sum(added_kg), full_charge_kg, days_since_last_addition=days_since_last_addition
    )
    return _held_against(rate_percent, appliance, full_charge_kg)


def _rolling(
    additions: tuple[tuple[date, float], ...],
    full_charge_kg: float,
    on: date,
    since: date | None = None,
    *,
    appliance: leakage.Appliance,
) -> Values:
    counted = leakage.of_the_last_year([leakage.Addition(*dated) for dated in additions], on=on, since=since)
    rate_percent = leakage.rolling_rate([addition.mass for addition in counted], full_charge_kg)
    return {
        **_held_against(rate_percent, appliance, full_charge_kg),
        "added_kg": sum(addition.mass for addition in counted),
        "visits_counted": len(counted),
    }


def _chronic(additions: tuple[tuple[date, float], ...], full_charge_kg: float, year: int) -> Values:
    lost_percent = leakage.lost_in_year([leakage.Addition(*dated) for dated in additions], full_charge_kg, year=year)
    must_report = leakage.is_chronic(lost_percent) and full_charge_kg >= leakage.LEAST_FULL_CHARGE_KG
    return {
        "lost_percent": lost_percent,
        "must_be_reported": must_report,
        **_duty(full_charge_kg),
        **({"report_by": leakage.report_due(year).isoformat()} if must_report else {}),
    }


def _rules(refrigerant: str, full_charge_kg: float, *, residential_or_light_commercial_comfort_cooling: bool) -> Values:
    found = leakage.rules(
        get(refrigerant),
        full_charge_kg,
        is_residential_or_light_commercial=residential_or_light_commercial_comfort_cooling,
    )
    return {"rules": [f"{rule.paragraph} {'holds' if rule.holds else 'does not hold'}: {rule.why}" for rule in found]}


def _record_fields() -> Values:
    return {"record_says": [f"{field.name} ({field.basis})" for field in leakage.record_fields()]}


_APPLIANCE_WORDS = (
    *((word, "comfort_cooling") for word in ("comfort", "air_conditioning", "ac")),
    ("commercial", "commercial_refrigeration"),
    *((word, "industrial_process_refrigeration") for word in ("industrial", "ipr", "industrial_process")),
)
_GIVEN = {
    "appliance": Given("comfort_cooling", Choice("kind of appliance", tuple(leakage.Appliance), _APPLIANCE_WORDS)),
    "added_kg": Given("2lb", called=("added",)),
    "additions": Given("2026-01-20 2lb, 2026-04-02 3lb", ListOf(Dated(Quantity.MASS)), called=("added",)),
    "full_charge_kg": Given("50lb", low=0.01),
    "days_since_last_addition": Given("30", Count(1)),
    "on": Given("2026-05-30", DATE),
    "since": Given("2026-02-01", DATE, otherwise="no successful follow-up verification test within the year"),
    "year": Given("2026", Count(1990, 9998)),
    "refrigerant": Given("R-410A", REFRIGERANT),
    "residential_or_light_commercial_comfort_cooling": Given("no"),
}
_METHODS = "40 CFR 82.152, 84.102"
_LIMITS = "40 CFR 82.157(c), 84.106(c)"
_entry = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "annualized_leak_rate": _entry(
        _annualized,
        "the leak rate from the refrigerant added at one visit",
        source=f"{_METHODS} (annualizing method); {_LIMITS}",
        tolerance="0.05 %",
        test="tests/calc/test_leakage.py::test_annualizing_in_print",
    ),
    "rolling_leak_rate": _entry(
        _rolling,
        "the leak rate from all refrigerant added within a year",
        source=f"{_METHODS} (rolling average method); {_LIMITS}",
        test="tests/calc/test_leakage.py::test_rolling_average",
    ),
    "chronic_leak": _entry(
        _chronic,
        "whether a calendar year's loss must be reported",
        source="40 CFR 82.157(j), 84.106(j)",
        test="tests/calc/test_leakage.py::test_chronic_from_125_percent_in_a_calendar_year",
    ),
    "leak_rules": _entry(
        _rules,
        "which US rule on leaks holds for an appliance",
        source="40 CFR 82.157(a), 84.106(a)",
        test="tests/calc/test_leakage.py::test_which_rule_holds",
    ),
    "leak_record": _entry(
        _record_fields,
        "what the record of a service has to say",
        source="40 CFR 82.157(b) and (l), 84.106(l)",
        test="tests/calc/test_leakage.py::test_the_record_says_what_the_rule_lists",
    ),
}
