"""Has a figure settled, and where is it heading? Judged from its readings since the last change of charge.

A figure has settled when the plain steady-state rule holds and the forecast agrees that no more is to come.
The rule (a moving window, after NIST SP 1087) asks that slope and scatter within a window stay below their
limits for a while. The forecast comes from `calc.course`.
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.course import MOST_STRETCHES, Course, fit, fit_both
from calc.errors import SeriesError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, amount, count, seconds

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


class Why(StrEnum):
    """Why nothing can be said of a figure's end."""

    JUST_BEGUN = "just begun"
    JUST_CHANGED = "just changed"
    STARTING = "starting"
    HUNTING = "hunting"
    CYCLING = "cycling"
    JUMPING = "jumping"
    SWINGING = "swinging"
    DRIFTING = "drifting"


@dataclass(frozen=True, slots=True)
class NotSteady:
    """Nothing can be said of its end, and why.

    Attributes:
        why: the kind of it.
        swing_k: how far it moves about or away [K], where that is the why.
        seconds: since the jump, since the start, or from one swing to the next [s], where there is such a time.
        times: how often it jumped.
        left_s: after how long more can be said [s]; None where there is no telling.
        of_s: of how long in all [s].

    """

    why: Why
    swing_k: float | None = None
    seconds: float = 0.0
    times: int = 0
    left_s: float | None = None
    of_s: float = 0.0

    @property
    def sentence(self) -> Sentence:
        """What to say of it."""
        parts: list[Part] = [seconds("seconds", self.seconds), count("times", self.times)]
        if self.swing_k is not None:
            parts.append(amount("swing", self.swing_k, Quantity.TEMPERATURE_DIFFERENCE))
        return Sentence(f"not_steady.{self.why.name.lower()}", tuple(parts))

    @property
    def reason(self) -> str:
        """The same in English, in US units."""
        return str(self.sentence)


RULE = SteadyRule()
LONGEST_GAP_S = 300.0
"""After a longer gap, or a clock that was set, the course begins anew: what went on meanwhile is not known."""

LEAST_SPAN_S = 60.0
_LEAST_READINGS = 20
_LEAST_ON_A_LINE = 3
_GREATEST_GAP = 1 / 6  # of the window
_GREATEST_FORECAST_UNCERTAINTY_K = 3.0
_ABSURD = 1e12
_RAMP_SEEN_S = 210.0  # before, a ramp is too short beside noise to be told from the beginning of a lag
_MAY_DRIFT = 0.25  # an end that never comes costs more waiting than one that is told a minute late
_LONGEST_S = 1e6
_LONG_S = 600.0  # twice a unit's slow lag
_DRIFT_K = 1.0
_CLAMP_S = 90.0  # a pipe sensor settles within this (California Title 24, RA3.2)
_CLAMP_K = 10.0
_SURPRISING = 6.0  # standard deviations from one stretch of time to the next
_JUMP_K = 0.5
_CYCLES = 3  # so often, and it is no accident
_PERIODIC_SHARE = 0.5  # of the swings' power near one period
_CYCLING_K = 4.0


def assess(
    times_s: ArrayLike,
    values: ArrayLike,
    rule: SteadyRule = RULE,
    *,
    beside: tuple[ArrayLike, ArrayLike] | None = None,
) -> Settled | Settling | NotSteady:
    """Judge the readings of one figure since the last change of the charge, or since the start.

    Where a reading jumps, or the early part follows no steady course but the latest does, only what came after
    counts: something was changed there that nobody told of.

    Args:
        times_s: of any origin; gaps may occur, and the clock may have been set [s].
        values: superheat, subcooling or another temperature [K].
        rule: the limits of the plain rule.
        beside: times and values of another figure of the same circuit, in the same units: what moves both tells more.

    Returns:
        The judgement. Its estimates hold the uncertainty of the course alone; that of the instruments comes on top.

    Raises:
        SeriesError: times and values differ in length, or one is not a number.

    >>> times_s = np.arange(0.0, 480.0)
    >>> towards_5_dk = assess(times_s, 5 + 8 * np.exp(-times_s / 180))  # by the formula itself
    >>> round(towards_5_dk.forecast.value, 1)
    5.0

    """
    times, readings = _checked(times_s, values)
    if _too_few(times):
        return NotSteady(Why.JUST_BEGUN, left_s=_left_s(times), of_s=LEAST_SPAN_S)
    return _judged(times, readings, fit(times - times[0], readings, _beside(beside, times)), rule, beside)


def assess_both(
    times_s: ArrayLike, values: ArrayLike, beside: ArrayLike, rule: SteadyRule = RULE
) -> tuple[Settled | Settling | NotSteady, Settled | Settling | NotSteady]:
    """Judge two figures of a circuit that were read at the same times, each beside the other, as `assess` does.

    It costs little more than one. Arguments, errors and units as there.

    >>> times_s = np.arange(0.0, 480.0)
    >>> gone = np.exp(-times_s / 180)
    >>> superheat, subcooling = assess_both(times_s, 5 + 8 * gone, 6 - 3 * gone)  # by the formula itself
    >>> round(superheat.forecast.value, 1), round(subcooling.forecast.value, 1)
    (5.0, 6.0)

    """
    (times, one), (_, other) = _checked(times_s, values), _checked(times_s, beside)
    if _too_few(times):
        just_begun = NotSteady(Why.JUST_BEGUN, left_s=_left_s(times), of_s=LEAST_SPAN_S)
        return just_begun, just_begun
    courses = fit_both(times - times[0], one, other)
    return (
        _judged(times, one, courses[0], rule, (times, other)),
        _judged(times, other, courses[1], rule, (times, one)),
    )


def _judged(
    times: Array, readings: Array, course: Course, rule: SteadyRule, beside: tuple[ArrayLike, ArrayLike] | None
) -> Settled | Settling | NotSteady:
    """Judge one figure by its course."""
    jumps_s = _jumps_s(course)
    if len(jumps_s) >= _CYCLES:
        return NotSteady(Why.JUMPING, times=len(jumps_s))
    if jumps_s:
        return _after(times[0] + jumps_s[-1], times, readings, rule, beside)
    swing = _swing(course, rule)
    if swing is None:
        return _end(times, readings, course, rule)
    begins = min(times.size // 2, int(np.searchsorted(times, times[-1] - LEAST_SPAN_S)))
    latest = slice(begins, None)
    if swing.why is Why.SWINGING and begins and not _too_few(times[latest]):
        later = assess(times[latest], readings[latest], rule, beside=beside)
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
    last_before = np.searchsorted(times, times[judged][0] - rule.window_s, side="right") - 1
    if _gaps(times[last_before:], rule).size:
        return False
    slopes, deviations = _moving_line(times, readings, starts, np.flatnonzero(judged) + 1)
    steady = (np.abs(slopes) < rule.slope_limit_k_per_s) & (deviations < rule.deviation_limit_k)
    return bool(steady.all())


def steady_all_along(times_s: ArrayLike, values: ArrayLike, rule: SteadyRule = RULE) -> bool:
    """Tell whether the plain rule held from the very first reading on.

    Arguments and errors as `assess`.
    """
    times, readings = _checked(times_s, values)
    if not times.size:
        return False
    hold_s = float(times[-1] - times[0]) - rule.window_s
    return hold_s >= rule.hold_s and rule_holds(times, readings, replace(rule, hold_s=hold_s))


def slope_per_minute(times_s: ArrayLike, values: ArrayLike, window_s: float = RULE.window_s) -> float | None:
    """Fit a line to the last readings [unit of the values per minute]; None where there are too few.

    Arguments and errors as `assess`; window_s: how far back it looks [s].
    """
    times, readings = _checked(times_s, values)
    recent = times >= (times[-1] - window_s if times.size else 0.0)
    if recent.sum() < _LEAST_ON_A_LINE:
        return None
    t = times[recent] - times[recent].mean()
    return float(60 * (t @ readings[recent]) / (t @ t))


def mean_of_last(times_s: ArrayLike, values: ArrayLike, *, now_s: float, over_s: float = 60.0) -> float | None:
    """Average the readings of the last minute, or of another time, before now; None where there were none.

    Args:
        times_s: rising [s].
        values: one for each.
        now_s: of the same origin [s].
        over_s: how far back it looks [s].

    """
    times, readings = np.asarray(times_s, np.float64), np.asarray(values, np.float64)
    recent = readings[times >= now_s - over_s]
    return float(recent.mean()) if recent.size else None


def with_instruments(course: Estimate, instruments: float) -> Estimate:
    """Add the standard uncertainty of the instruments to that of a course (JCGM 100, 5.1.2)."""
    return Estimate(course.value, math.hypot(course.standard_uncertainty, instruments))


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


def _beside(beside: tuple[ArrayLike, ArrayLike] | None, times: Array) -> tuple[Array, Array] | None:
    """Give the other figure within the same time, by the same origin; None where too little of it is known."""
    if beside is None:
        return None
    its_times, readings = _checked(*beside)
    within = (its_times >= times[0]) & (its_times <= times[-1])
    if _too_few(its_times[within]):
        return None
    return its_times[within] - times[0], readings[within]


def _too_few(times: Array) -> bool:
    """Tell whether too little is known: readings close together count once."""
    if times.size < _LEAST_READINGS or times[-1] - times[0] < LEAST_SPAN_S:
        return True
    return np.unique(np.floor(MOST_STRETCHES * (times - times[0]) / (times[-1] - times[0]))).size < _LEAST_READINGS


def _left_s(times: Array) -> float:
    """Tell how long until a forecast may be made; a second at least, where readings are few [s]."""
    span_s = float(times[-1] - times[0]) if times.size else 0.0
    return max(LEAST_SPAN_S - span_s, 1.0)


def _after(
    jump_s: float, times: Array, readings: Array, rule: SteadyRule, beside: tuple[ArrayLike, ArrayLike] | None
) -> Settled | Settling | NotSteady:
    later = times >= jump_s
    if _too_few(times[later]):
        ago_s = float(times[-1] - jump_s)
        return NotSteady(Why.JUST_CHANGED, seconds=ago_s, left_s=_left_s(times[later]), of_s=LEAST_SPAN_S)
    return assess(times[later], readings[later], rule, beside=beside)


def _ends_in_sight(judged: Settled | Settling | NotSteady, readings: Array) -> bool:
    """Tell whether the end is no farther than the way already seen: any short part of a swing fits some course."""
    if isinstance(judged, Settling):
        return bool(abs(judged.forecast.value - readings[-1]) <= np.ptp(readings))
    return isinstance(judged, Settled)


def _end(times: Array, readings: Array, course: Course, rule: SteadyRule) -> Settled | Settling | NotSteady:
    """Say where a smooth course ends, if that can be known yet."""
    elapsed_s = float(times[-1] - times[0])
    to_come_k = abs(course.final.value - course.now.value)
    drifts = elapsed_s >= _RAMP_SEEN_S and course.drifting > _MAY_DRIFT
    if not drifts and to_come_k <= rule.deviation_limit_k and rule_holds(times, readings, rule):
        return Settled(course.final)
    if elapsed_s < _CLAMP_S and float(np.ptp(readings)) > _CLAMP_K:
        moved_k = float(np.ptp(readings))
        return NotSteady(Why.STARTING, moved_k, elapsed_s, left_s=_CLAMP_S - elapsed_s, of_s=_CLAMP_S)
    if (
        drifts
        or course.final.standard_uncertainty > _GREATEST_FORECAST_UNCERTAINTY_K
        or _only_drifts(course, elapsed_s)
    ):
        return NotSteady(Why.DRIFTING)
    to_settle_s = max(_seconds_to_settle(course, rule, elapsed_s), _unbroken_in_s(times, rule))
    return Settling(course.final, to_settle_s)


def _only_drifts(course: Course, elapsed_s: float) -> bool:
    """Tell whether, long after any change, most of the way would still lie ahead: weather or load moves it."""
    if elapsed_s < _LONG_S or abs(course.final.value - course.now.value) < _DRIFT_K:
        return False
    lags = np.isfinite(course.slow_constants_s)
    return float(course.weights[lags] @ np.exp(-elapsed_s / course.slow_constants_s[lags])) > 0.5


def _gaps(times: Array, rule: SteadyRule) -> NDArray[np.intp]:
    """Give the places of the readings after which too little was read."""
    return np.flatnonzero(np.diff(times) > _GREATEST_GAP * rule.window_s)


def _unbroken_in_s(times: Array, rule: SteadyRule) -> float:
    """Tell after how long the windows of the plain rule begin behind the last gap [s]."""
    gaps = _gaps(times, rule)
    if not gaps.size:
        return 0.0
    return max(0.0, float(times[gaps[-1] + 1] - times[-1]) + rule.window_s + rule.hold_s)


def _seconds_to_settle(course: Course, rule: SteadyRule, elapsed_s: float) -> float:
    """Predict when the plain rule will hold: its slope is that of the middle of its window [s]."""
    constants_s = np.minimum(course.slow_constants_s, _LONGEST_S)  # of a ramp alone, without an amplitude
    slopes = np.abs(course.slow_amplitudes) / constants_s
    flat_at_s = constants_s * np.log(np.maximum(slopes / rule.slope_limit_k_per_s, 1.0))
    holds_at_s = np.maximum(flat_at_s + rule.window_s / 2, rule.window_s) + rule.hold_s
    return max(0.0, float(course.weights @ holds_at_s) - elapsed_s)


def _jumps_s(course: Course) -> list[float]:
    """Find when the figure moved at once by more than its noise ever does, but for the first moments [s]."""
    steps_k = np.abs(np.diff(course.residuals, prepend=course.residuals[0]))
    jumps = (np.abs(course.surprises) > _SURPRISING) & (steps_k > _JUMP_K) & (course.times_s > LEAST_SPAN_S / 2)
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
        return NotSteady(Why.SWINGING, half_k)
    period_s = (course.times_s[-1] - course.times_s[0]) / peak
    if half_k > _CYCLING_K:
        return NotSteady(Why.CYCLING, half_k, float(period_s))
    return NotSteady(Why.HUNTING, half_k, float(period_s))


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
