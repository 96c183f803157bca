"""What superheat and subcooling should be, and what the protocols ask for."""

import math
from collections.abc import Mapping

from calc.arguments import Accuracy, Choice, Measure
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Values
from calc.estimate import Estimate
from calc.protocols import protocols, tolerances
from calc.quantities import Quantity
from calc.targets import NoTarget, Target, estimate_target_superheat, find_target_superheat

_TON_W = 12000 * 1055.056 / 3600
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


def _target_superheat(wet_bulb_k: float, outdoor_k: float, temperature_accuracy_dk: float) -> Values:
    uncertainty_k = temperature_accuracy_dk / 2
    return _shown(find_target_superheat(Estimate(wet_bulb_k, uncertainty_k), Estimate(outdoor_k, uncertainty_k)))


def _target_superheat_estimate(wet_bulb_k: float, outdoor_k: float) -> Values:
    return _shown(estimate_target_superheat(wet_bulb_k, outdoor_k))


def _shown(target: Target | NoTarget) -> Values:
    if isinstance(target, NoTarget):
        return {"target_superheat_dk": Unknown(target.reason)}
    return {"target_superheat_dk": target.value.estimate, "taken_from": target.source}


def _tolerances(protocol: str) -> Values:
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


_AIR = Measure(Quantity.TEMPERATURE, 233.15, 333.15)
_WET_BULB = Parameter("return_wet_bulb", "wet_bulb_k", _AIR, "67degF", called=("return_wet_bulb_k",))
_OUTDOOR = Parameter("outdoor_temperature", "outdoor_k", _AIR, "95degF", called=("outdoor_dry_bulb_k",))
_TABLE = "California Title 24, RA3.2, the table of target superheat"
PROTOCOL = Parameter(
    "protocol",
    "protocol",
    Choice("protocol", protocols()),
    "title_24_installer",
    otherwise=Assumption("title_24_installer", "California Title 24, RA3.2, for the installer"),
)

CALCULATIONS: Mapping[str, Calculation] = {
    "target_superheat": Calculation(
        "the target superheat of a fixed orifice whose maker gives none, by the published table",
        (
            _WET_BULB,
            _OUTDOOR,
            Parameter(
                "temperature_accuracy",
                "temperature_accuracy_dk",
                Accuracy(Quantity.TEMPERATURE),
                "0.5degC",
                otherwise=Assumption(0.5, "both temperatures within ±0.5 °C (common practice, no source)"),
            ),
        ),
        _target_superheat,
        source=f"{_TABLE}, bilinear between its values; JCGM 100, 4.3.7 for its rounding to whole °F",
        tolerance="exact at the printed values",
        test="tests/calc/test_targets.py::test_every_printed_value_is_found_and_every_dash_is_none",
    ),
    "target_superheat_estimate": Calculation(
        "an estimate of the target superheat by the formula of the trade, where the table is not to hand",
        (_WET_BULB, _OUTDOOR),
        _target_superheat_estimate,
        source="(3 x wet bulb - 80 - outdoor) / 2 in °F: a trade-training article; its uncertainty by the table",
        tolerance="1.6 °F by root mean square, 6.5 °F at worst",
        test="tests/calc/test_targets.py::test_how_far_the_formula_is_from_the_table",
    ),
    "tolerances": Calculation(
        "what a protocol of charge verification asks for",
        (PROTOCOL,),
        _tolerances,
        source="California Title 24, RA3.2; ANSI/ACCA 5 QI (from memory)",
        tolerance="exact",
        test="tests/calc/test_targets.py::test_tolerances",
    ),
}
