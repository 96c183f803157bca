"""Whether superheat and subcooling have settled, from their course since the charge was last changed."""

import math
from collections import deque
from collections.abc import Mapping, Sequence
from itertools import takewhile
from typing import NamedTuple

import numpy as np

from calc.estimate import Estimate
from calc.settling import Cause, NotSteady, Settled, Settling, assess
from ingest.wire.messages import Forecast, Reading, Steadiness

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
MEAN_OVER_S = 60.0
_LEAST_POINTS = 3


class History:
    """What was measured and derived in the last 20 minutes, or since the charge was last changed, once a second.

    speed: how much faster than life the unit runs. Times here are the unit's own. The same packs make the same
    history, from whichever of them it begins. because: why it begins where it does, where that has a reason.
    """

    def __init__(self, speed: float = 1.0) -> None:
        self.speed = speed
        self.because = ""
        self.since_monotonic_s: float | None = None
        self._series: dict[str, deque[tuple[float, float]]] = {}
        self._second: int | None = None

    def add(self, monotonic_s: float, readings: Mapping[str, Reading]) -> None:
        """Take the readings of one tick; those that are unknown or stale are left out."""
        if self.since_monotonic_s is None:
            self.since_monotonic_s = monotonic_s
        time_s = monotonic_s * self.speed
        second, self._second = self._second, math.floor(time_s / SPACING_S)
        if second == self._second:
            return
        for series in self._series.values():
            while series and series[0][0] < time_s - HISTORY_S:
                series.popleft()
        for name, reading in readings.items():
            if reading.value is not None and reading.quality != "stale":
                self._series.setdefault(name, deque()).append((time_s, reading.value))

    def restart(self, because: str) -> None:
        """Forget what came before: the charge was changed, or something else measures it now."""
        self.because = because
        self.since_monotonic_s = None
        self._second = None
        self._series.clear()

    def undisturbed_s(self, monotonic_s: float) -> float:
        """Tell for how long the charge has been left alone [s]."""
        return 0.0 if self.since_monotonic_s is None else (monotonic_s - self.since_monotonic_s) * self.speed

    def course(self, name: str) -> tuple[list[float], list[float]]:
        """Give times [s] and values of a channel or figure."""
        series = self._series.get(name, ())
        return [time_s for time_s, _ in series], [value for _, value in series]

    def mean(self, name: str, monotonic_s: float) -> float | None:
        """Average a channel or figure over the last minute; None where it was not known in it."""
        since_s = monotonic_s * self.speed - MEAN_OVER_S
        newest_first = reversed(self._series.get(name, deque()))
        recent = [value for _, value in takewhile(lambda point: point[0] >= since_s, newest_first)]
        return sum(recent) / len(recent) if recent else None


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
            settled = Estimate(value.value, math.hypot(value.standard_uncertainty, instruments_k))
            value_dk, expanded_dk = round(settled.value, 3), round(settled.expanded(), 3)
            said = Steadiness("settled", slope_dk_per_min=slope, value_dk=value_dk, expanded_dk=expanded_dk)
            return Judged(said, settled)
        case Settling(forecast, seconds):
            expanded_dk = 2 * math.hypot(forecast.standard_uncertainty, instruments_k)
            ahead = Forecast(round(forecast.value, 3), round(expanded_dk, 3), round(seconds / history.speed, 0))
            return Judged(Steadiness("settling", slope_dk_per_min=slope, forecast=ahead), now)
        case NotSteady(reason, cause, swing_k):
            if cause is Cause.JUST_BEGUN and history.because:
                reason = f"{history.because}; {reason}"
            swing_dk = None if swing_k is None else round(swing_k, 2)
            return Judged(Steadiness("not_steady", reason, swing_dk, slope), now)


def _slope_dk_per_min(times_s: Sequence[float], values: Sequence[float]) -> float | None:
    """Fit a line to the last three minutes, in the unit's time."""
    times = np.asarray(times_s)
    recent = times >= (times[-1] - SLOPE_WINDOW_S if times.size else 0.0)
    if recent.sum() < _LEAST_POINTS:
        return None
    t = times[recent] - times[recent].mean()
    return round(float(60 * (t @ np.asarray(values)[recent]) / (t @ t)), 3)
