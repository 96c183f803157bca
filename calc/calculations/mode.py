"""Which way a unit runs."""

from collections.abc import Mapping

from calc.arguments import YES_NO
from calc.calculation import Calculation, Values
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import COMMON, thermometer
from calc.mode import tell_mode
from calc.quantities import Quantity
from calc.units import parse_difference

_PRESSURE_LIMIT_PA = parse_difference("7 psi", Quantity.PRESSURE)


def _mode(
    return_air_temperature_k: float | None = None,
    supply_air_temperature_k: float | None = None,
    vapour_line_pressure_pa: float | None = None,
    liquid_line_pressure_pa: float | None = None,
    compressor_current_a: float | None = None,
    rated_load_a: float | None = None,
    outdoor_air_temperature_k: float | None = None,
    *,
    outdoor_fan_runs: bool | None = None,
    barometric_pressure_pa: float,
    temperature_accuracy_dk: float = 0.5,
    pressure_accuracy_pa: float = _PRESSURE_LIMIT_PA,
    current_accuracy_a: float = 0.2,
) -> Values:
    def known(value: float | None, accuracy: float) -> Estimate | None:
        return None if value is None else Estimate(value, accuracy / 2)

    found = tell_mode(
        return_air=known(return_air_temperature_k, temperature_accuracy_dk),
        supply_air=known(supply_air_temperature_k, temperature_accuracy_dk),
        vapour_line_pressure=known(vapour_line_pressure_pa, pressure_accuracy_pa),
        liquid_line_pressure=known(liquid_line_pressure_pa, pressure_accuracy_pa),
        compressor_current=known(compressor_current_a, current_accuracy_a),
        rated_load_a=rated_load_a,
        outdoor_air=known(outdoor_air_temperature_k, temperature_accuracy_dk),
        outdoor_fan_runs=outdoor_fan_runs,
    )
    return {
        "mode": found.mode,
        **({"warning": found.look} if found.look else {}),
        "reasons": found.reasons or ("nothing that is sure",),
        **({"would_tell": found.would_tell} if found.would_tell else {}),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


_NOT_GIVEN = ""


def _temperature(example: str, called: str) -> Given:
    return Given(example, low=233.15, high=333.15, otherwise=_NOT_GIVEN, called=(called,), says="if it is read")


_GIVEN = {
    "return_air_temperature_k": _temperature("75degF", "return_air"),
    "supply_air_temperature_k": _temperature("56degF", "supply_air"),
    "vapour_line_pressure_pa": Given(
        "130psig",
        low=10e3,
        high=10e6,
        otherwise=_NOT_GIVEN,
        called=("vapour_line_pressure",),
        says="large line, not a true suction port; if it is read",
    ),
    "liquid_line_pressure_pa": Given(
        "340psig",
        low=10e3,
        high=10e6,
        otherwise=_NOT_GIVEN,
        called=("liquid_line_pressure",),
        says="small line; if it is read",
    ),
    "compressor_current_a": Given("11A", otherwise=_NOT_GIVEN, called=("compressor_current",), says="if it is read"),
    "rated_load_a": Given(
        "16A", low=0.5, high=1000.0, otherwise="no plate was read: an ampere or more means that it runs", says="RLA"
    ),
    "outdoor_air_temperature_k": _temperature("90degF", "outdoor_air"),
    "outdoor_fan_runs": Given("yes", YES_NO, otherwise="whether the outdoor fan runs was not looked at"),
    "temperature_accuracy_dk": thermometer("temperatures"),
    "pressure_accuracy_pa": Given(
        "1psi", otherwise="pressures within ±7 psi, the instrument limit of California Title 24, RA3.2"
    ),
    "current_accuracy_a": Given("0.1A", high=50.0, otherwise=f"amps within ±0.2 A {COMMON}"),
}

CALCULATIONS: Mapping[str, Calculation] = {
    "mode": entry(
        _mode,
        "whether a unit cools, heats, defrosts or is off, by what is read; or that it cannot be told, and what would",
        given=_GIVEN,
        source="the outdoor fan stands in defrost, the large line is hot in heating: the trade press; the figures that "
        "decide: common practice, no source; JCGM 106",
        test="tests/calc/test_mode.py",
        example=(
            ("compressor_current", "11A"),
            ("return_air_temperature", "75degF"),
            ("supply_air_temperature", "56degF"),
            ("vapour_line_pressure", "130psig"),
            ("liquid_line_pressure", "340psig"),
            ("outdoor_air_temperature", "90degF"),
        ),
    ),
}
