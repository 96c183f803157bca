"""The insulation of windings."""

from collections.abc import Mapping
from functools import partial

from calc import motor
from calc.arguments import Choice
from calc.calculation import Calculation, Values
from calc.entry import Given, entry
from calc.motor import insulation as windings_insulation


def _at_40_degc(
    resistance_ohm: float,
    winding_temperature_k: float,
    insulation: motor.Insulation,
    resistance_accuracy_ohm: float,
    temperature_accuracy_k: float = 5.0,
) -> Values:
    found = motor.insulation_at_40_degc(
        resistance_ohm,
        winding_temperature_k,
        insulation=motor.Insulation(insulation),
        resistance_standard_uncertainty_ohm=resistance_accuracy_ohm / 2,
        temperature_standard_uncertainty_k=temperature_accuracy_k / 2,
    )
    return {"corrected_to_40_degc_ohm": found, "insulation": insulation, "caution": windings_insulation.CAUTION}


def _verdict(
    resistance_ohm: float,
    winding_temperature_k: float,
    insulation: motor.Insulation,
    winding: motor.Winding,
    rated_voltage_v: float,
    resistance_accuracy_ohm: float,
    temperature_accuracy_k: float = 5.0,
    maker_ohm: float | None = None,
) -> Values:
    shown = _at_40_degc(
        resistance_ohm, winding_temperature_k, insulation, resistance_accuracy_ohm, temperature_accuracy_k
    )
    verdict = motor.insulation_verdict(
        shown["corrected_to_40_degc_ohm"],  # type: ignore[arg-type]  # it is the Estimate just made
        motor.Winding(winding),
        rated_voltage_v=rated_voltage_v,
        maker_ohm=maker_ohm,
    )
    return {"outcome": verdict.outcome, "least_ohm": verdict.least_ohm, "says": verdict.source, **shown}


_GIVEN = {
    "resistance_ohm": Given("200Mohm", high=1e12, says="to the case, after a minute of test voltage"),
    "winding_temperature_k": Given("77degF", low=273.15, high=373.15, says="of the winding, not of the air"),
    "insulation": Given(
        "thermosetting",
        Choice("class of insulation", tuple(motor.Insulation)),
        says="thermoplastic mostly before about 1970 (from memory)",
    ),
    "resistance_accuracy_ohm": Given("10Mohm", high=1e11),
    "temperature_accuracy_k": Given(
        "5degC", high=30.0, otherwise="the winding's temperature within ±5 °C (common practice, no source)"
    ),
    "winding": Given("hermetic", Choice("kind of winding", tuple(motor.Winding))),
    "rated_voltage_v": Given("230V", low=1.0),
    "maker_ohm": Given("2Mohm", low=1.0, high=1e12, otherwise="the maker gives no least value: it would win"),
}
_insulation = partial(entry, given=_GIVEN, test="tests/calc/motor/test_insulation.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "insulation_at_40_degc": _insulation(
        _at_40_degc,
        "the megohms of a winding to the case, brought to 40 °C",
        source="IEEE 43, as quoted: thermoplastic insulation halves per 10 K; thermosetting by its exponentials (from "
        "memory); JCGM 100, 5.1.2",
        tolerance="0.2 % of a guide in print; 15 % of a graph read by eye",
    ),
    "insulation_verdict": _insulation(
        _verdict,
        "whether a winding's insulation to the case has enough megohms",
        source="the maker; else IEEE 43, as quoted, a rule of thumb for a hermetic one (from memory); JCGM 106",
    ),
}
