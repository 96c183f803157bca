"""The insulation of windings."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from calc import motor
from calc.arguments import Choice, Measure
from calc.calculation import Calculation, Unknown, Values
from calc.comparing import Outcome
from calc.entry import Given, entry
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.sentences import Sentence

_CAUTION = " ".join(str(Sentence(f"caution.{kind}")) for kind in ("lock_out", "prove_dead", "megohms")) + (
    " It tells of insulation to the case, not of turns shorted in a winding. What fails is not to be energised: a "
    "burnt terminal can blow out with oil and refrigerant."
)
_GROUNDED_OHM = 10e3
"""So little is a ground fault at any temperature, whatever brings it to 40 °C: common practice, no source."""
_ABOVE_RANGE_OHM = 100e6
"""What an insulation tester that shows OL has at least measured: common practice, no source."""
_LARGE_CORRECTION = 4.0
"""From so many times up or down the rule tells more of itself than of the winding: common practice, no source."""


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
    warned: Values = {}
    if resistance_ohm > 0 and abs(math.log(found.value / resistance_ohm)) > math.log(_LARGE_CORRECTION):
        warned = {"warning": f"{_factor(found.value / resistance_ohm)} as read: measure again nearer 40 °C"}
    shown = {"corrected_to_40_degc_ohm": found, **warned}
    return {**shown, "insulation": insulation, "caution": _CAUTION}


def _factor(ratio: float) -> str:
    return f"the rule makes {ratio:.0f} times" if ratio > 1 else f"the rule makes 1/{1 / ratio:.0f} of what was"


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
    is_above_range = math.isinf(resistance_ohm)
    as_read = (
        Estimate(_ABOVE_RANGE_OHM, 0.0) if is_above_range else Estimate(resistance_ohm, resistance_accuracy_ohm / 2)
    )
    is_grounded = resistance_ohm + resistance_accuracy_ohm < _GROUNDED_OHM
    needs_no_correction = is_grounded or (winding == motor.Winding.HERMETIC and maker_ohm is None)
    try:
        shown = _at_40_degc(
            as_read.value, winding_temperature_k, insulation, as_read.expanded(), temperature_accuracy_k
        )
        corrected = shown["corrected_to_40_degc_ohm"]
    except CalcRangeError as error:
        if not needs_no_correction:
            raise
        shown = {"caution": _CAUTION}
        corrected = Unknown(f"not needed for this verdict, and {error}")
    judged = corrected if isinstance(corrected, Estimate) and not needs_no_correction else as_read
    verdict = motor.insulation_verdict(
        judged, motor.Winding(winding), rated_voltage_v=rated_voltage_v, maker_ohm=maker_ohm
    )
    found, told = verdict.outcome, {"judged": _AS_READ} if needs_no_correction else {}
    if is_above_range:  # less than the limit it may be, and yet reach it
        found = found if found is Outcome.MET else Outcome.CANNOT_TELL
        corrected, told = Unknown("above the range: no figure was read"), {"above_range": _ABOVE_RANGE}
    return {
        "outcome": found,
        "least_ohm": verdict.least_ohm,
        "says": verdict.source,
        **told,
        **shown,
        "corrected_to_40_degc_ohm": corrected,
    }


_AS_READ = "as read, not as brought to 40 °C: a rule of thumb knows no correction, and a ground fault needs none"
_ABOVE_RANGE = (
    "taken for 100 Mohm at least, of an insulation tester at its test voltage (common practice, no source); the OL of "
    "a multimeter tells nothing of insulation"
)


@dataclass(frozen=True, slots=True)
class _OrAboveRange(Measure):
    """A resistance, or OL: above the range of the instrument."""

    def read(self, text: str, barometric_pressure_pa: float | None) -> float:
        """Give infinity for what is above the range."""
        if text.strip().casefold() in ("ol", "o.l.", "o.l"):
            return math.inf
        return Measure.read(self, text, barometric_pressure_pa)


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
_VERDICT = {
    "resistance_ohm": Given(
        "200Mohm",
        _OrAboveRange("resistance", high=1e12),
        says="to the case, after a minute of test voltage; OL where it is above the range",
    ),
    "winding_temperature_k": Given("77degF", low=233.15, high=473.15, says="of the winding, not of the air"),
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
        given=_GIVEN | _VERDICT,
        source="the maker; else IEEE 43, as quoted, a rule of thumb for a hermetic one (from memory); JCGM 106",
    ),
}
