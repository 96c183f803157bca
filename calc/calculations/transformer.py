"""The control transformer."""

from collections.abc import Mapping
from functools import partial

from calc import wiring
from calc.calculation import Calculation, Values
from calc.comparing import compare, outcome
from calc.entry import Given, entry
from calc.wiring import transformer


def _fuses(rating_va: float, primary_v: float, secondary_v: float = 24.0) -> Values:
    found = wiring.control_transformer(rating_va, secondary_v, primary_v=primary_v)
    return {
        "secondary_a": found.secondary_a,
        "primary_a": found.primary_a,
        "greatest_primary_fuse_alone_a": found.primary_alone_a,
        "greatest_primary_fuse_beside_a_secondary_one_a": found.primary_a_with_secondary,
        "greatest_secondary_fuse_a": found.secondary_fuse_a,
        "caution": transformer.CAUTION,
    }


def _volts(
    load_va: float,
    rating_va: float,
    supply_v: float,
    primary_v: float,
    secondary_v: float = 24.0,
    regulation_ratio: float = 0.1,
    regulation_accuracy_ratio: float = 0.05,
    supply_accuracy_v: float = 5.0,
) -> Values:
    found = wiring.transformer_volts(
        load_va,
        rating_va,
        secondary_v=secondary_v,
        regulation_ratio=regulation_ratio,
        supply_v=supply_v,
        primary_v=primary_v,
        regulation_standard_uncertainty_ratio=regulation_accuracy_ratio / 2,
        supply_standard_uncertainty_v=supply_accuracy_v / 2,
    )
    low_v, high_v = (share * secondary_v for share in (transformer.COIL_LEAST_SHARE, transformer.COIL_GREATEST_SHARE))
    return {
        "secondary_v": found,
        "load_a": load_va / secondary_v,
        "overloaded": load_va > rating_va,
        "coil_least_v": low_v,
        "coil_greatest_v": high_v,
        "within_what_a_coil_takes": outcome(compare(found, low_v, high_v)),
        "caution": transformer.CAUTION,
    }


_VA = "apparent_power"
_GIVEN = {
    "rating_va": Given("40VA", _VA, low=1.0, high=5000.0, says="of the nameplate"),
    "primary_v": Given("240V", low=5.0, high=1000.0, says="rated, of the tap in use", name="primary_voltage"),
    "secondary_v": Given("24V", low=5.0, high=1000.0, otherwise="a secondary of 24 V", name="secondary_voltage"),
    "load_va": Given("30VA", _VA, low=0.0, high=7500.0, says="of all that is on together"),
    "supply_v": Given("228V", low=1.0, high=1500.0, says="measured at the primary"),
    "regulation_ratio": Given(
        "10%",
        low=0.0,
        high=0.5,
        otherwise="a regulation of 10 % (from memory: 5 to 20 % of small ones)",
        name="regulation",
    ),
    "regulation_accuracy_ratio": Given(
        "5%", high=0.5, otherwise="a regulation known within ±5 % (from memory)", name="regulation_accuracy"
    ),
    "supply_accuracy_v": Given("5V", high=200.0, otherwise="the supply within ±5 V (common practice, no source)"),
}
_transformer = partial(entry, given=_GIVEN, test="tests/calc/wiring/test_transformer.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "control_transformer": _transformer(
        _fuses,
        "the currents of a control transformer, and the greatest fuses that may protect it",
        source="the maker; NEC table 450.3(B), 240.6(A)",
        tolerance="0.01 A of worked examples, the rounding of their print",
    ),
    "transformer_volts": _transformer(
        _volts,
        "the volts of a control transformer under load, and whether a contactor's coil takes them",
        source="the definition of regulation, along a straight line; JCGM 100, 5.1; a coil's 85 to 110 %: from memory",
    ),
}
