"""What superheat and subcooling should be, and what the protocols ask for."""

import math
from collections.abc import Mapping
from functools import partial

from calc.arguments import Choice
from calc.calculation import Calculation, Unknown, Values
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.protocols import protocols, tolerances
from calc.targets import NoTarget, Target, estimate_target_superheat, find_target_superheat

_TON_W = 12000 * 1055.056 / 3600
USUAL_PROTOCOL = "title_24_installer"
"""The one that is taken where none is named."""
_LESS_TARGET = ("superheat", "subcooling", "air_split")
_UNITS: Mapping[str, str] = {
    "expansion_valve_superheat": "dk",
    "target_superheat": "dk",
    "outdoor_air_temperature": "k",
    "running_time": "s",
    "undisturbed_time": "s",
    "airflow_over_design": "ratio",
    "suction_pressure_accuracy": "dpa",
    "liquid_pressure_accuracy": "dpa",
    "line_sensor_settling": "s",
    "temperature_accuracy": "dk",
}


def _target_superheat(
    return_wet_bulb_k: float, outdoor_dry_bulb_k: float, temperature_accuracy_dk: float = 0.5
) -> Values:
    uncertainty_k = temperature_accuracy_dk / 2
    wet_bulb, outdoor = (Estimate(value_k, uncertainty_k) for value_k in (return_wet_bulb_k, outdoor_dry_bulb_k))
    return _shown(find_target_superheat(wet_bulb, outdoor))


def _shown(target: Target | NoTarget) -> Values:
    if isinstance(target, NoTarget):
        return {"target_superheat_dk": Unknown(str(target.reason))}
    return {"target_superheat_dk": target.value.estimate, "taken_from": target.source}


def _tolerances(protocol: str = USUAL_PROTOCOL) -> Values:
    found = tolerances(protocol)
    values: dict[str, float | str | tuple[str, ...]] = {"scope": found.scope}
    for name, limits in found.limits.items():
        if name == "airflow_per_capacity":
            values["least_airflow_of_a_ton_m3_per_s"] = limits.low * _TON_W
            continue
        quantity = f"{name}_less_target_dk" if name in _LESS_TARGET else f"{name}_{_UNITS[name]}"
        if limits.low != 0:
            values[f"least_{quantity}"] = limits.low
        if math.isfinite(limits.high):
            values[f"greatest_{quantity}"] = limits.high
    values["sources"] = tuple(dict.fromkeys(limits.source for limits in found.limits.values()))
    return values


PROTOCOL = Given(
    USUAL_PROTOCOL, Choice("protocol", protocols()), otherwise="California Title 24, RA3.2, for the installer"
)
_GIVEN = {
    "return_wet_bulb_k": Given("67degF", low=233.15, high=333.15),
    "outdoor_dry_bulb_k": Given("95degF", low=233.15, high=333.15, name="outdoor_temperature"),
    "temperature_accuracy_dk": Given(
        "0.5degC", otherwise="both temperatures within ±0.5 °C (common practice, no source)"
    ),
    "protocol": PROTOCOL,
}
_TABLE = "California Title 24, RA3.2, the table of target superheat"
_entry = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "target_superheat": _entry(
        _target_superheat,
        "the target superheat of a fixed orifice whose maker gives none, by the published table",
        source=f"{_TABLE}, bilinear between its values; JCGM 100, 4.3.7 for its rounding to whole °F",
        tolerance="exact at the printed values",
        test="tests/calc/test_targets.py::test_every_printed_value_is_found_and_every_dash_is_none",
    ),
    "target_superheat_estimate": _entry(
        estimate_target_superheat,
        "an estimate of the target superheat by the formula of the trade, where the table is not to hand",
        result=_shown,
        source="(3 x wet bulb - 80 - outdoor) / 2 in °F: a trade-training article; its uncertainty by the table",
        tolerance="1.6 °F by root mean square, 6.5 °F at worst",
        test="tests/calc/test_targets.py::test_how_far_the_formula_is_from_the_table",
    ),
    "tolerances": _entry(
        _tolerances,
        "what a protocol of charge verification asks for",
        source="California Title 24, RA3.2; ANSI/ACCA 5 QI (from memory)",
        test="tests/calc/test_targets.py::test_tolerances",
    ),
}
