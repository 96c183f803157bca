"""Recovering refrigerant before a circuit is opened."""

import math
from collections.abc import Mapping
from datetime import date
from functools import partial

from calc import recovery
from calc.arguments import DATE, REFRIGERANT, Choice
from calc.calculation import Calculation, Unknown, Values
from calc.cautions import Step, cautions
from calc.comparing import Outcome, compare, outcome
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import COMMON


def _level(
    refrigerant: str,
    full_charge_kg: float,
    machine_made: date,
    opening: recovery.Opening,
    barometric_pressure_pa: float,
    measured_pressure_pa: float | None = None,
    pressure_accuracy_pa: float = 6894.757,
    *,
    small_appliance: bool = False,
) -> Values:
    kind = recovery.pressure_class(refrigerant)
    level = recovery.recovery_level(
        kind,
        full_charge_kg,
        machine_made=machine_made,
        opening=recovery.Opening(opening),
        is_small_appliance=small_appliance,
        barometric_pressure_pa=barometric_pressure_pa,
    )
    would_tell: dict[str, str] = {}
    reached: str | Unknown = Unknown("no measured pressure was given: verify it before opening, and write it down")
    if measured_pressure_pa is not None:
        measured = Estimate(measured_pressure_pa, pressure_accuracy_pa / 2)
        reached = outcome(compare(measured, -math.inf, level.pressure_pa))
        if reached is Outcome.CANNOT_TELL:
            would_tell = {"would_tell": _FINER}
    return {
        "level_pressure_pa": level.pressure_pa,
        "pressure_class": kind,
        "row": level.row,
        "why": level.why,
        "reached": reached,
        **would_tell,
        "barometric_pressure_pa": barometric_pressure_pa,
        "caution": cautions(refrigerant, Step.RECOVER),
    }


def _time(
    mass_kg: float,
    vapour_kg_per_s: float,
    liquid_mass_kg: float = 0.0,
    liquid_kg_per_s: float | None = None,
    mass_accuracy_kg: float = 0.1,
    rate_accuracy_ratio: float = 0.2,
    refrigerant: str | None = None,
) -> Values:
    found = recovery.recovery_time(
        mass_kg,
        vapour_kg_per_s,
        liquid_mass_kg=liquid_mass_kg,
        liquid_kg_per_s=liquid_kg_per_s,
        mass_standard_uncertainty_kg=mass_accuracy_kg / 2,
        rate_standard_uncertainty_ratio=rate_accuracy_ratio / 2,
    )
    return {
        "time_s": found,
        "says": "the last vapour takes longer; done is what the gauge verifies, not the clock",
        "caution": cautions(refrigerant, Step.RECOVER),
    }


_FINER = "too near for this gauge: recover further down, or read it with a gauge of a smaller ± and give that"
_NOTHING_BURNS = "a refrigerant that does not burn: the cautions are those for any"
_GIVEN = {
    "refrigerant": Given("R-410A", REFRIGERANT),
    "full_charge_kg": Given("8lb", low=1e-3, says="of the circuit, or of the part that is isolated"),
    "machine_made": Given("2019-03-01", DATE, says="when the recovery machine was made"),
    "opening": Given(
        "major",
        Choice("kind of opening", tuple(recovery.Opening)),
        says="a major repair takes out a compressor or a coil (from memory)",
    ),
    "measured_pressure_pa": Given("-1psig", otherwise="no measured pressure"),
    "pressure_accuracy_pa": Given("1psi", otherwise=f"a measured pressure within ±1 psi {COMMON}"),
    "small_appliance": Given("no", otherwise="no small appliance, which is filled and sealed in a factory"),
    "mass_kg": Given("8lb"),
    "vapour_kg_per_s": Given("0.5lb/min", low=1e-6, high=100.0, name="vapour_rate", also=("vapor_rate",)),
    "liquid_mass_kg": Given("5lb", otherwise="nothing leaves as liquid"),
    "liquid_kg_per_s": Given(
        "3lb/min", low=1e-6, high=100.0, otherwise="liquid at the rate of vapour", name="liquid_rate"
    ),
    "mass_accuracy_kg": Given("0.1kg", otherwise=f"the mass within ±0.1 kg {COMMON}"),
    "rate_accuracy_ratio": Given("20%", high=0.8, otherwise=f"the rates within ±20 % {COMMON}"),
}
_recovery = partial(entry, given=_GIVEN, test="tests/calc/test_recovery.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "recovery_level": _recovery(
        _level,
        "down to which pressure refrigerant is recovered before a circuit is opened",
        source="40 CFR 82.156(a), table 1, and (b); classes of 82.152; what a major repair is: from memory; JCGM 106",
    ),
    "recovery_time": _recovery(
        _time,
        "how long a recovery takes, from its rates",
        given=_GIVEN | {"refrigerant": Given("R-454B", REFRIGERANT, otherwise=_NOTHING_BURNS)},
        source="by division; JCGM 100, 5.1",
    ),
}
