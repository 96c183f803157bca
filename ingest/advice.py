"""What to do now, in one sentence: wait, look at an instrument, or read a figure that has settled.

The figure that counts is the one the metering device leaves free: subcooling behind an expansion valve,
superheat behind a fixed orifice. Nothing is said that the instruments cannot support, and nothing yet about
the cause: charge is judged last.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.units import System, difference_to_display
from ingest.cautions import cautions
from ingest.messages import Advice, Forecast, Reading, UnitAbout, Wording
from ingest.steadiness import JUDGED_FIGURES, History, Judged, judge

AT_REST_RATIO = 1.15
"""Liquid over suction pressure below which the pressures have equalized: common practice, no source."""

TOLERANCE_DK: Mapping[str, float] = {"superheat": 5 * 5 / 9, "subcooling": 3 * 5 / 9}
"""Superheat ± 5 °F, subcooling ± 3 °F: California Title 24, RA3.2 (2008/2013 text), for the installer."""

VERIFICATION_WAIT_S = 15 * 60.0
"""15 minutes of running before readings and after every change of the charge: the same."""

SOURCE = "California Title 24, RA3.2"

CONFIDENT = 0.95

_INPUTS: Mapping[str, tuple[str, ...]] = {
    "superheat": ("suction_pressure", "suction_line_temperature"),
    "subcooling": ("liquid_pressure", "liquid_line_temperature"),
}


@dataclass(frozen=True, slots=True)
class Situation:
    """What advice rests on, at one moment. instruments: of each channel, the name of its instrument."""

    time_s: float
    monotonic_s: float
    unit: UnitAbout
    readings: Mapping[str, Reading]
    instruments: Mapping[str, str]


Words = tuple[Wording, list[Wording]]
"""The sentence, and its details."""


def advise(now: Situation, history: History) -> Advice:
    """Say what to do now."""
    judged = {name: judge(name, now.readings.get(name), history) for name in JUDGED_FIGURES}
    figure = governing_figure(now.unit)
    sentence, details = _words(figure, judged[figure], now, history)
    return Advice(
        time_s=round(now.time_s, 3),
        sentence=sentence,
        details=details,
        cautions=cautions(now.unit),
        steadiness={name: found.steadiness for name, found in judged.items()},
    )


def governing_figure(unit: UnitAbout) -> str:
    """Name the figure by which this metering device is charged.

    An expansion valve holds superheat by itself, so that subcooling shows the charge; a fixed orifice holds
    nothing, and superheat shows it (California Title 24, RA3.2).
    """
    return "superheat" if unit.metering_device == "fixed_orifice" else "subcooling"


def _words(figure: str, judged: Judged, now: Situation, history: History) -> Words:
    steadiness, value = judged
    because = [_same(f"{figure.capitalize()}: {steadiness.reason}.")]
    if value is None:
        return _same(_what_to_connect(figure, now)), because
    if now.readings[figure].quality == "stale":
        return _same("Wait for fresh readings."), [_same(f"{figure.capitalize()}: an instrument is late.")]
    if _is_at_rest(now):
        return _same("Start the unit: its pressures are equalized."), []
    if steadiness.state == "not_steady":
        return _same("Wait. Not steady yet."), because
    if steadiness.forecast is not None:
        return _same("Wait. Still settling."), [_forecast(figure, steadiness.forecast)]
    return _settled(figure, value, now, history)


def _what_to_connect(figure: str, now: Situation) -> str:
    for name in _INPUTS[figure]:
        channel = name.replace("_", " ")
        if name not in now.instruments:
            return f"Add an instrument for the {channel}: {figure} needs it."
        reading = now.readings.get(name)
        if reading is None or reading.value is None:
            return f"Connect the {now.instruments[name]}: no {channel}."
    return f"Check the pressure: no {figure} follows from it."


def _is_at_rest(now: Situation) -> bool:
    suction, liquid = now.readings.get("suction_pressure"), now.readings.get("liquid_pressure")
    if suction is None or liquid is None or suction.value is None or liquid.value is None:
        return False
    return liquid.value < AT_REST_RATIO * suction.value


def _forecast(figure: str, ahead: Forecast) -> Wording:
    minutes = max(1, round(ahead.seconds / 60))
    return _in_both(
        lambda system: (
            f"{figure.capitalize()} is heading for {_limits(ahead.value_dk, ahead.expanded_dk, system)}, "
            f"in about {minutes} min."
        )
    )


def _settled(figure: str, value: Estimate, now: Situation, history: History) -> Words:
    target_dk = now.unit.target_superheat_dk if figure == "superheat" else now.unit.target_subcooling_dk

    def sentence(system: System) -> str:
        found = f"Settled. {figure.capitalize()} {_limits(value.value, value.expanded(), system)}"
        if target_dk is None:
            return f"{found}; the nameplate gives no target."
        return f"{found} against {_difference(target_dk, system)} on the nameplate."

    if target_dk is None:
        details = [_same("Take the target from the maker's charging chart for this unit.")]
    else:
        details = [_verdict(figure, value, target_dk)]
    minutes = int(history.undisturbed_s(now.monotonic_s) // 60)
    if 60 * minutes < VERIFICATION_WAIT_S:
        details.append(
            _same(
                f"Left alone for {minutes} min. A formal verification waits 15 min after the start and after "
                f"every change of the charge ({SOURCE})."
            )
        )
    return _in_both(sentence), details


def _verdict(figure: str, value: Estimate, target_dk: float) -> Wording:
    """Compare with the nameplate, as far as the instruments allow."""
    tolerance_dk = TOLERANCE_DK[figure]
    within = value.probability_within(target_dk - tolerance_dk, target_dk + tolerance_dk)
    side = "Below" if value.value < target_dk else "Above"

    def say(system: System) -> str:
        limits = f"the nameplate's value ± {_difference(tolerance_dk, system)} ({SOURCE})"
        if within >= CONFIDENT:
            return f"Within {limits}."
        if within <= 1 - CONFIDENT:
            return f"{side} {limits}. Look at airflow, filters, coils and restrictions before the charge."
        return f"These instruments cannot tell whether it is within {limits}."

    return _in_both(say)


def _same(text: str) -> Wording:
    return Wording(us=text, si=text)


def _in_both(say: Callable[[System], str]) -> Wording:
    return Wording(us=say("us"), si=say("si"))


def _difference(value_dk: float, system: System) -> str:
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{round(number, 1):g} {unit}"


def _limits(value_dk: float, expanded_dk: float, system: System) -> str:
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    half_width, _ = difference_to_display(expanded_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{number:.1f} ± {half_width:.1f} {unit}"
