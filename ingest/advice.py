"""What to do now, in one sentence a second: wait, look at an instrument, or read a figure that has settled.

Pure. The figure that counts is the one the metering device leaves free: subcooling behind an expansion valve,
superheat behind a fixed orifice. Nothing is said that the instruments cannot support, and nothing yet about the
cause: charge is judged last.
"""

import math
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.settling import NotSteady, Settled, Settling, assess
from calc.units import System, difference_to_display
from ingest.messages import Advice, Forecast, Reading, Steadiness, UnitAbout, Wording

JUDGED_FIGURES = ("superheat", "subcooling")
HISTORY_S = 20 * 60.0
SPACING_S = 1.0
SLOPE_WINDOW_S = 180.0

AT_REST_RATIO = 1.15
"""Liquid over suction pressure below which the pressures have equalized: common practice, no source."""

TOLERANCE_DK: Mapping[str, float] = {"superheat": 5 * 5 / 9, "subcooling": 3 * 5 / 9}
"""California Title 24, RA3.2 (2008/2013 text), installer: superheat ± 5 °F, subcooling ± 3 °F."""

VERIFICATION_WAIT_S = 15 * 60.0
"""California Title 24, RA3.2: 15 minutes of running before readings, and after every change of the charge."""

CONFIDENT = 0.95


class History:
    """Superheat and subcooling over the last 20 minutes, or since the charge was last changed.

    speed: how much faster than life the unit runs; times here are the unit's own.
    """

    def __init__(self, speed: float) -> None:
        self.speed = speed
        self._series: dict[str, deque[tuple[float, float]]] = {name: deque() for name in JUDGED_FIGURES}
        self._since_s: float | None = None

    def add(self, monotonic_s: float, readings: Mapping[str, Reading]) -> None:
        """Take the figures of one tick, about one a second; those that are unknown or stale are left out."""
        time_s = monotonic_s * self.speed
        if self._since_s is None:
            self._since_s = time_s
        for name, series in self._series.items():
            reading = readings.get(name)
            if reading is None or reading.value is None or reading.quality == "stale":
                continue
            if not series or time_s - series[-1][0] >= SPACING_S * (1 - 1e-6):
                series.append((time_s, reading.value))
            while series[0][0] < time_s - HISTORY_S:
                series.popleft()

    def restart(self) -> None:
        """Forget what came before: the charge was changed."""
        self._since_s = None
        for series in self._series.values():
            series.clear()

    def elapsed_s(self, monotonic_s: float) -> float:
        """Tell for how long the charge has been left alone, in the unit's time [s]."""
        return 0.0 if self._since_s is None else monotonic_s * self.speed - self._since_s

    def series(self, name: str) -> tuple[list[float], list[float]]:
        """Give times [s] and values [K] of a figure."""
        return [time_s for time_s, _ in self._series[name]], [value for _, value in self._series[name]]


@dataclass(frozen=True, slots=True)
class Situation:
    """What advice rests on, at one moment."""

    time_s: float
    monotonic_s: float
    unit: UnitAbout
    readings: Mapping[str, Reading]
    channels: Mapping[str, str]
    """Channel to the name of its instrument."""


def advise(now: Situation, history: History) -> Advice:
    """Say what to do now."""
    steadiness: dict[str, Steadiness] = {}
    values: dict[str, Estimate] = {}
    for name in JUDGED_FIGURES:
        steadiness[name], values[name] = _steadiness(name, now, history)
    figure = governing_figure(now.unit)
    sentence, details = _words(figure, now, history, steadiness[figure], values[figure])
    return Advice(
        time_s=round(now.time_s, 3),
        sentence=sentence,
        details=details,
        cautions=cautions(now.unit),
        steadiness=steadiness,
    )


def governing_figure(unit: UnitAbout) -> str:
    """Name the figure by which this metering device is charged.

    An expansion valve holds superheat by itself, so subcooling shows the charge; a fixed orifice holds nothing,
    and superheat shows it (California Title 24, RA3.2).
    """
    return "superheat" if unit.metering_device == "fixed_orifice" else "subcooling"


def _steadiness(name: str, now: Situation, history: History) -> tuple[Steadiness, Estimate]:
    reading = now.readings.get(name)
    if reading is None or reading.value is None:
        reason = reading.reason if reading else "not measured"
        return Steadiness("unknown", reason), Estimate(0.0, 0.0)
    instruments = reading.standard_uncertainty or 0.0
    times_s, values = history.series(name)
    slope = _slope_dk_per_min(times_s, values)
    match assess(times_s, values):
        case Settled(value):
            uncertainty = math.hypot(value.standard_uncertainty, instruments)
            return Steadiness("settled", "", slope), Estimate(value.value, uncertainty)
        case Settling(forecast, seconds):
            expanded_dk = 2 * math.hypot(forecast.standard_uncertainty, instruments)
            ahead = Forecast(round(forecast.value, 3), round(expanded_dk, 3), round(seconds / history.speed))
            return Steadiness("settling", "", slope, ahead), Estimate(reading.value, instruments)
        case NotSteady(reason):
            return Steadiness("not_steady", reason, slope), Estimate(reading.value, instruments)


def _slope_dk_per_min(times_s: Sequence[float], values: Sequence[float]) -> float | None:
    """Fit a line to the last three minutes, in the unit's time [K/min]."""
    times = np.asarray(times_s[-200:])
    recent = times >= (times[-1] - SLOPE_WINDOW_S if times.size else 0.0)
    if recent.sum() < 3:
        return None
    t, y = times[recent] - times[-1], np.asarray(values[-200:])[recent]
    t -= t.mean()
    return round(float(60 * (t @ y) / (t @ t)), 3)


Say = Callable[[System], str]


def _wording(say: Say) -> Wording:
    return Wording(us=say("us"), si=say("si"))


def _difference(value_dk: float, system: System) -> str:
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{number:.1f} {unit}"


def _with_limits(value_dk: float, expanded_dk: float, system: System) -> str:
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    limits, _ = difference_to_display(expanded_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{number:.1f} ± {limits:.1f} {unit}"


def _same(text: str) -> Wording:
    return Wording(us=text, si=text)


def _words(
    figure: str, now: Situation, history: History, steadiness: Steadiness, value: Estimate
) -> tuple[Wording, list[Wording]]:
    match steadiness.state:
        case "unknown":
            return _same(_what_to_connect(figure, now)), [
                _same(f"{figure.capitalize()}: {steadiness.reason}.")
            ]
        case _ if _is_at_rest(now):
            return _same("Start the unit: its pressures are equalized."), []
        case "not_steady":
            return _same("Wait. Not steady yet."), [_same(f"{figure.capitalize()}: {steadiness.reason}.")]
        case "settling":
            return _same("Wait. Still settling."), _forecast_words(figure, steadiness)
    return _settled_words(figure, now, history, value)


_INPUTS: Mapping[str, tuple[str, ...]] = {
    "superheat": ("suction_pressure", "suction_line_temperature"),
    "subcooling": ("liquid_pressure", "liquid_line_temperature"),
}


def _what_to_connect(figure: str, now: Situation) -> str:
    for name in _INPUTS[figure]:
        channel = name.replace("_", " ")
        if name not in now.channels:
            return f"Add an instrument for the {channel}: {figure} needs it."
        reading = now.readings.get(name)
        if reading is None or reading.value is None:
            return f"Connect the {now.channels[name]}: no {channel}."
    return f"Check the pressures: no {figure} can be computed from them."


def _is_at_rest(now: Situation) -> bool:
    suction, liquid = now.readings.get("suction_pressure"), now.readings.get("liquid_pressure")
    if suction is None or liquid is None or suction.value is None or liquid.value is None:
        return False
    return liquid.value < AT_REST_RATIO * suction.value


def _forecast_words(figure: str, steadiness: Steadiness) -> list[Wording]:
    ahead = steadiness.forecast
    if ahead is None:
        return []
    minutes = max(1, round(ahead.seconds / 60))
    return [
        _wording(
            lambda system: (
                f"{figure.capitalize()} is heading for "
                f"{_with_limits(ahead.value_dk, ahead.expanded_dk, system)}, in about {minutes} min."
            )
        )
    ]


def _settled_words(
    figure: str, now: Situation, history: History, value: Estimate
) -> tuple[Wording, list[Wording]]:
    target_dk = now.unit.target_superheat_dk if figure == "superheat" else now.unit.target_subcooling_dk

    def sentence(system: System) -> str:
        text = f"Settled. {figure.capitalize()} {_with_limits(value.value, value.expanded(), system)}"
        if target_dk is None:
            return f"{text}; the nameplate gives no target."
        return f"{text} against {_difference(target_dk, system)} on the nameplate."

    details = []
    if target_dk is None:
        details.append(_same("Take the target from the maker's charging chart for this unit."))
    else:
        details.append(_verdict(figure, value, target_dk))
    waited_s = history.elapsed_s(now.monotonic_s)
    if waited_s < VERIFICATION_WAIT_S:
        minutes = int(waited_s // 60)
        details.append(
            _same(
                f"Left alone for {minutes} min. A formal verification waits 15 min of running after every change "
                "of the charge (California Title 24, RA3.2)."
            )
        )
    return _wording(sentence), details


def _verdict(figure: str, value: Estimate, target_dk: float) -> Wording:
    """Compare with the target, as far as the instruments allow."""
    tolerance_dk = TOLERANCE_DK[figure]
    within = value.probability_within(target_dk - tolerance_dk, target_dk + tolerance_dk)

    def say(system: System) -> str:
        limit = f"± {_difference(tolerance_dk, system)} of the nameplate (California Title 24, RA3.2)"
        if within >= CONFIDENT:
            return f"Within {limit}."
        if within <= 1 - CONFIDENT:
            side = "Below" if value.value < target_dk else "Above"
            return f"{side} {limit}. Look at airflow, filters, coils and restrictions before the charge."
        return f"These instruments cannot tell whether it is within {limit}."

    return _wording(say)


def cautions(unit: UnitAbout) -> list[str]:
    """List what to beware of with this refrigerant."""
    found = [
        "The nameplate, the maker's instructions and local codes come first; only certified persons handle "
        "refrigerant (in the US 40 CFR 82.161).",
        "Gloves and eye protection. Never heat a cylinder with a flame; fill a recovery cylinder to 80 % at most.",
    ]
    if unit.safety_class.endswith(("2L", "2", "3")):
        found.append(
            f"{unit.refrigerant} can burn ({unit.safety_class}): ventilate throughout, no flame or halide torch, "
            "a detector that warns at 25 % of the lower flammable limit, earth the system before charging, short "
            "hoses. Recover and purge with nitrogen before brazing, and leak-test after."
        )
    if unit.safety_class.startswith("B"):
        found.append(f"{unit.refrigerant} is toxic ({unit.safety_class}): breathing protection, never alone.")
    if unit.charge_as_liquid:
        found.append(
            f"{unit.refrigerant} is a blend: let it leave the cylinder as liquid, metered slowly into the suction "
            "side so that it flashes before the compressor."
        )
    return found
