"""Has a figure settled, and where is it heading? Judged from its readings since the last change of charge.

A figure has settled when the plain steady-state rule holds and the forecast agrees that no more is to come.
The rule (a moving window, after NIST SP 1087) asks that slope and scatter within a window stay below their
limits for a while. The forecast comes from `calc.judge.course`.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.errors import SeriesError
from calc.estimate import Estimate
from calc.judge.course import MOST_STRETCHES, Course, fit

Array = NDArray[np.float64]

_FAHRENHEIT_DK = 5 / 9


@dataclass(frozen=True, slots=True)
class SteadyRule:
    """The plain rule: slope and standard deviation within a moving window, both low for `hold_s`."""

    window_s: float = 180.0
    slope_limit_k_per_s: float = 0.1 * _FAHRENHEIT_DK / 60
    deviation_limit_k: float = 0.5 * _FAHRENHEIT_DK
    hold_s: float = 60.0


@dataclass(frozen=True, slots=True)
class Settled:
    """It has settled, at this value [unit of the readings]."""

    value: Estimate


@dataclass(frozen=True, slots=True)
class Settling:
    """It still moves: its final value [unit of the readings], and when the plain rule will hold [s].

    The forecast's standard uncertainty makes its 90 % interval: ±1.645 of it.
    """

    forecast: Estimate
    seconds_to_settle: float


class Cause(StrEnum):
    """Why nothing can be said of a figure's end."""

    JUST_BEGUN = "just begun"
    JUST_CHANGED = "just changed"
    STARTING = "starting"
    HUNTING = "hunting"
    CYCLING = "cycling"
    SWINGING = "swinging"
    DRIFTING = "drifting"


@dataclass(frozen=True, slots=True)
class NotSteady:
    """Nothing can be said of its end, and why. swing_k: how far it moves about or away [K], where that is the why."""

    reason: str
    cause: Cause
    swing_k: float | None = None


RULE = SteadyRule()
LONGEST_GAP_S = 300.0
"""After a longer gap, or a clock that was set, the course begins anew: what went on meanwhile is not known."""

_LEAST_SPAN_S = 60.0
_LEAST_READINGS = 20
_GREATEST_GAP = 1 / 6  # of the window
_GREATEST_FORECAST_UNCERTAINTY_K = 3.0
_ABSURD = 1e12
_LONG_S = 600.0  # twice a unit's slow lag
_DRIFT_K = 1.0
_CLAMP_S = 90.0  # a pipe sensor settles within this (California Title 24, RA3.2)
_CLAMP_K = 10.0
_SURPRISING = 6.0  # standard deviations from one stretch of time to the next
_JUMP_K = 0.5
_CYCLES = 3  # so often, and it is no accident
_PERIODIC_SHARE = 0.5  # of the swings' power near one period
_CYCLING_K = 4.0


def assess(times_s: ArrayLike, values: ArrayLike, rule: SteadyRule = RULE) -> Settled | Settling | NotSteady:
    """Judge the readings of one figure since the last change of the charge, or since the start.

    Where a reading jumps, or the early part follows no steady course but the latest does, only what came after
    counts: something was changed there that nobody told of.

    Args:
        times_s: of any origin; gaps may occur, and the clock may have been set [s].
        values: superheat, subcooling or another temperature [K].
        rule: the limits of the plain rule.

    Returns:
        The judgement. Its estimates hold the uncertainty of the course alone; that of the instruments comes on top.

    Raises:
        SeriesError: times and values differ in length, or one is not a number.

    >>> times_s = np.arange(0.0, 240.0)
    >>> towards_5_dk = assess(times_s, 5 + 8 * np.exp(-times_s / 180))  # by the formula itself
    >>> round(towards_5_dk.forecast.value, 1)
    5.0

    """
    times, readings = _checked(times_s, values)
    if _too_few(times):
        return NotSteady(
            f"a forecast needs {_LEAST_READINGS} readings over {_LEAST_SPAN_S:.0f} s at least", Cause.JUST_BEGUN
        )
    course = fit(times - times[0], readings)
    jumps_s = _jumps_s(course)
    if len(jumps_s) >= _CYCLES:
        return NotSteady(f"it jumped {len(jumps_s)} times: something starts and stops", Cause.CYCLING)
    if jumps_s:
        return _after(times[0] + jumps_s[-1], times, readings, rule)
    swing = _swing(course, rule)
    if swing is None:
        return _end(times, readings, course, rule)
    latest = slice(times.size // 2, None)
    if swing.cause is Cause.SWINGING and not _too_few(times[latest]):
        later = assess(times[latest], readings[latest], rule)
        return later if _ends_in_sight(later, readings[latest]) else swing
    return swing


def rule_holds(times_s: ArrayLike, values: ArrayLike, rule: SteadyRule = RULE) -> bool:
    """Tell whether the plain rule held at each reading of the last `hold_s`, with no gap in its windows.

    Arguments and errors as `assess`.
    """
    times, readings = _checked(times_s, values)
    if not times.size or times[0] > times[-1] - rule.hold_s - rule.window_s:
        return False
    judged = times >= times[-1] - rule.hold_s
    starts = np.searchsorted(times, times[judged] - rule.window_s)
    if np.diff(times[starts[0] :]).max() > _GREATEST_GAP * rule.window_s:
        return False
    slopes, deviations = _moving_line(times, readings, starts, np.flatnonzero(judged) + 1)
    steady = (np.abs(slopes) < rule.slope_limit_k_per_s) & (deviations < rule.deviation_limit_k)
    return bool(steady.all())


def _checked(times_s: ArrayLike, values: ArrayLike) -> tuple[Array, Array]:
    """Give both as arrays, from where the clock last leapt."""
    times, readings = np.asarray(times_s, np.float64), np.asarray(values, np.float64)
    if times.ndim != 1 or times.shape != readings.shape:
        raise SeriesError(f"times and values must be two rows of one length: {times.shape}, {readings.shape}")
    if not (np.abs(times) < _ABSURD).all() or not (np.abs(readings) < _ABSURD).all():
        raise SeriesError("a time or a value is no sound number: leave such readings out")
    intervals_s = np.diff(times)
    leaps = np.flatnonzero((intervals_s <= 0) | (intervals_s > LONGEST_GAP_S))
    begin = leaps[-1] + 1 if leaps.size else 0
    return times[begin:], readings[begin:]


def _too_few(times: Array) -> bool:
    """Tell whether too little is known: readings close together count once."""
    if times.size < _LEAST_READINGS or times[-1] - times[0] < _LEAST_SPAN_S:
        return True
    return np.unique(np.floor(MOST_STRETCHES * (times - times[0]) / (times[-1] - times[0]))).size < _LEAST_READINGS


def _after(jump_s: float, times: Array, readings: Array, rule: SteadyRule) -> Settled | Settling | NotSteady:
    later = times >= jump_s
    if _too_few(times[later]):
        return NotSteady(f"it jumped {times[-1] - jump_s:.0f} s ago: something was changed", Cause.JUST_CHANGED)
    return assess(times[later], readings[later], rule)


def _ends_in_sight(judged: Settled | Settling | NotSteady, readings: Array) -> bool:
    """Tell whether the end is no farther than the way already seen: any short part of a swing fits some course."""
    if isinstance(judged, Settling):
        return bool(abs(judged.forecast.value - readings[-1]) <= np.ptp(readings))
    return isinstance(judged, Settled)


def _end(times: Array, readings: Array, course: Course, rule: SteadyRule) -> Settled | Settling | NotSteady:
    """Say where a smooth course ends, if that can be known yet."""
    elapsed_s = float(times[-1] - times[0])
    to_come_k = abs(course.final.value - course.now.value)
    if to_come_k <= rule.deviation_limit_k and rule_holds(times, readings, rule):
        return Settled(course.now)
    if elapsed_s < _CLAMP_S and float(np.ptp(readings)) > _CLAMP_K:
        reason = f"it moved far within {elapsed_s:.0f} s: a start, or a probe just put on"
        return NotSteady(reason, Cause.STARTING, float(np.ptp(readings)))
    if course.final.standard_uncertainty > _GREATEST_FORECAST_UNCERTAINTY_K or _only_drifts(course, elapsed_s):
        return NotSteady("no end in sight yet", Cause.DRIFTING)
    return Settling(course.final, _seconds_to_settle(course, rule, elapsed_s))


def _only_drifts(course: Course, elapsed_s: float) -> bool:
    """Tell whether, long after any change, most of the way would still lie ahead: weather or load moves it."""
    if elapsed_s < _LONG_S or abs(course.final.value - course.now.value) < _DRIFT_K:
        return False
    return float(course.weights @ np.exp(-elapsed_s / course.slow_constants_s)) > 0.5


def _seconds_to_settle(course: Course, rule: SteadyRule, elapsed_s: float) -> float:
    """Predict when the plain rule will hold: its slope is that of the middle of its window [s]."""
    slopes = np.abs(course.slow_amplitudes) / course.slow_constants_s
    flat_at_s = course.slow_constants_s * np.log(np.maximum(slopes / rule.slope_limit_k_per_s, 1.0))
    holds_at_s = np.maximum(flat_at_s + rule.window_s / 2, rule.window_s) + rule.hold_s
    return max(0.0, float(course.weights @ holds_at_s) - elapsed_s)


def _jumps_s(course: Course) -> list[float]:
    """Find when the figure moved at once by more than its noise ever does, but for the first moments [s]."""
    steps_k = np.abs(np.diff(course.residuals, prepend=course.residuals[0]))
    jumps = (np.abs(course.surprises) > _SURPRISING) & (steps_k > _JUMP_K) & (course.times_s > _LEAST_SPAN_S / 2)
    first_of_each = jumps & ~np.roll(jumps, 1)
    return [float(time_s) for time_s in course.times_s[first_of_each]]


def _swing(course: Course, rule: SteadyRule) -> NotSteady | None:
    """Tell what the figure does about its course, if that is more than noise."""
    scatter_k = float(course.residuals.std())
    if scatter_k <= rule.deviation_limit_k:
        return None
    half_k = math.sqrt(2) * scatter_k
    power = np.abs(np.fft.rfft(course.residuals * np.hanning(course.residuals.size))) ** 2
    peak = int(np.argmax(power))
    if peak < _CYCLES or power[peak - 1 : peak + 2].sum() < _PERIODIC_SHARE * power.sum():
        return NotSteady("it swings about any steady course", Cause.SWINGING, half_k)
    period_s = (course.times_s[-1] - course.times_s[0]) / peak
    if half_k > _CYCLING_K:
        return NotSteady(f"it swings every {period_s:.0f} s: the unit cycles", Cause.CYCLING, half_k)
    return NotSteady(f"it swings every {period_s:.0f} s: the valve hunts", Cause.HUNTING, half_k)


def _moving_line(
    times: Array, readings: Array, starts: NDArray[np.intp], stops: NDArray[np.intp]
) -> tuple[Array, Array]:
    """Compute least-squares slope [K/s] and standard deviation [K] within each window from start to stop."""
    t, y = times - times[-1], readings - readings[-1]
    sums = np.cumsum(np.pad([np.ones_like(t), t, y, t * t, t * y, y * y], ((0, 0), (1, 0))), axis=1)
    n, st, sy, stt, sty, syy = sums[:, stops] - sums[:, starts]
    slopes = (n * sty - st * sy) / (n * stt - st * st)
    deviations = np.sqrt(np.maximum(syy - sy * sy / n, 0.0) / (n - 1))
    return slopes, deviations
