"""Whether superheat and subcooling have settled, from their course since the charge was last changed."""

import math
from collections import deque
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from calc.estimate import Estimate
from calc.settling import NotSteady, Settled, Settling, assess
from ingest.messages import Forecast, Reading, Steadiness

JUDGED_FIGURES = ("superheat", "subcooling")
JUDGED_CHANNELS = frozenset(
    {
        "suction_pressure",
        "suction_line_temperature",
        "liquid_pressure",
        "liquid_line_temperature",
        "barometric_pressure",
    }
)
"""What those figures come from."""
HISTORY_S = 20 * 60.0
SPACING_S = 1.0
SLOPE_WINDOW_S = 180.0
_LEAST_POINTS = 3


class History:
    """The figures of the last 20 minutes, or since the charge was last changed, about one a second.

    speed: how much faster than life the unit runs. Times here are the unit's own.
    """

    def __init__(self, speed: float = 1.0) -> None:
        self.speed = speed
        self._series: dict[str, deque[tuple[float, float]]] = {name: deque() for name in JUDGED_FIGURES}
        self._since_s: float | None = None

    def add(self, monotonic_s: float, readings: Mapping[str, Reading]) -> None:
        """Take the figures of one tick; those that are unknown or stale are left out."""
        time_s = monotonic_s * self.speed
        if self._since_s is None:
            self._since_s = time_s
        for name, series in self._series.items():
            while series and series[0][0] < time_s - HISTORY_S:
                series.popleft()
            reading = readings.get(name)
            if reading is None or reading.value is None or reading.quality == "stale":
                continue
            if not series or time_s - series[-1][0] > SPACING_S - 0.01:
                series.append((time_s, reading.value))

    def restart(self) -> None:
        """Forget what came before: the charge was changed, or something else measures it now."""
        self._since_s = None
        for series in self._series.values():
            series.clear()

    def undisturbed_s(self, monotonic_s: float) -> float:
        """Tell for how long the charge has been left alone [s]."""
        return 0.0 if self._since_s is None else monotonic_s * self.speed - self._since_s

    def course(self, name: str) -> tuple[list[float], list[float]]:
        """Give times [s] and values [K] of a figure."""
        return [time_s for time_s, _ in self._series[name]], [value for _, value in self._series[name]]


class Judged(NamedTuple):
    """How steady a figure is, and the value to show for it; None where it is unknown."""

    steadiness: Steadiness
    value: Estimate | None


def assess_figure(name: str, reading: Reading | None, history: History) -> Judged:
    """Judge whether one figure has settled.

    The uncertainty of a value is that of the instruments together with that of its course.
    """
    if reading is None or reading.value is None:
        return Judged(Steadiness("unknown", reading.reason if reading else "not measured"), None)
    instruments_k = reading.standard_uncertainty or 0.0
    times_s, values = history.course(name)
    slope = _slope_dk_per_min(times_s, values)
    now = Estimate(reading.value, instruments_k)
    match assess(times_s, values):
        case Settled(value):
            uncertainty_k = math.hypot(value.standard_uncertainty, instruments_k)
            return Judged(Steadiness("settled", "", slope), Estimate(value.value, uncertainty_k))
        case Settling(forecast, seconds):
            expanded_dk = 2 * math.hypot(forecast.standard_uncertainty, instruments_k)
            ahead = Forecast(round(forecast.value, 3), round(expanded_dk, 3), round(seconds / history.speed))
            return Judged(Steadiness("settling", "", slope, ahead), now)
        case NotSteady(reason):
            return Judged(Steadiness("not_steady", reason, slope), now)


def _slope_dk_per_min(times_s: Sequence[float], values: Sequence[float]) -> float | None:
    """Fit a line to the last three minutes, in the unit's time."""
    times = np.asarray(times_s)
    recent = times >= (times[-1] - SLOPE_WINDOW_S if times.size else 0.0)
    if recent.sum() < _LEAST_POINTS:
        return None
    t = times[recent] - times[recent].mean()
    return round(float(60 * (t @ np.asarray(values)[recent]) / (t @ t)), 3)
