"""The power of a single-phase load."""

from collections.abc import Mapping
from functools import partial

from calc import motor
from calc.arguments import Number
from calc.calculation import Calculation, Values
from calc.entry import Given, entry
from calc.instruments import COMMON
from calc.motor import supply


def _power(
    voltage_v: float,
    current_a: float,
    power_factor: float,
    voltage_accuracy_v: float = 5.0,
    current_accuracy_a: float = 0.1,
    power_factor_accuracy: float = 0.05,
) -> Values:
    found = motor.single_phase_power(
        voltage_v,
        current_a,
        power_factor=power_factor,
        voltage_standard_uncertainty_v=voltage_accuracy_v / 2,
        current_standard_uncertainty_a=current_accuracy_a / 2,
        power_factor_standard_uncertainty=power_factor_accuracy / 2,
    )
    return {
        "real_electric_w": found.real,
        "apparent_va": found.apparent,
        "reactive_var": found.reactive,
        "caution": supply.CAUTION,
    }


def _factor(
    real_w: float,
    voltage_v: float,
    current_a: float,
    real_accuracy_w: float,
    voltage_accuracy_v: float = 5.0,
    current_accuracy_a: float = 0.1,
) -> Values:
    found = motor.single_phase_power_factor(
        real_w,
        voltage_v=voltage_v,
        current_a=current_a,
        real_standard_uncertainty_w=real_accuracy_w / 2,
        voltage_standard_uncertainty_v=voltage_accuracy_v / 2,
        current_standard_uncertainty_a=current_accuracy_a / 2,
    )
    return {"power_factor": found, "caution": supply.CAUTION}


_GIVEN = {
    "voltage_v": Given("230V", low=1e-3),
    "current_a": Given("10A", low=1e-3),
    "power_factor": Given("0.8", Number(0, 1), name="power_factor"),
    "real_w": Given("1840W", "electric_power", name="real_power"),
    "voltage_accuracy_v": Given("5V", high=200.0, otherwise=f"the voltage within ±5 V {COMMON}"),
    "current_accuracy_a": Given("0.1A", otherwise=f"the current within ±0.1 A {COMMON}"),
    "power_factor_accuracy": Given(
        "0.05", Number(0, 0.5), otherwise=f"the power factor within ±0.05 {COMMON}", name="power_factor_accuracy"
    ),
    "real_accuracy_w": Given("20W", "electric_power", high=1e6, name="real_power_accuracy"),
}
_single_phase = partial(entry, given=_GIVEN, test="tests/calc/motor/test_single_phase.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "single_phase_power": _single_phase(
        _power,
        "the power of a single-phase load",
        source="P = V I times the power factor; JCGM 100, 5.1",
    ),
    "single_phase_power_factor": _single_phase(
        _factor,
        "the power factor of a single-phase load from its measured power",
        source="by definition; JCGM 100, 5.1.2",
    ),
}
