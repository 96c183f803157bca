"""Has a figure settled, and where is it heading? Judged from its readings since the last change of charge.

A figure has settled when the plain steady-state rule holds and the forecast agrees that no more is to come.
The rule (a moving window, after NIST SP 1087) asks that slope and scatter within a window stay below their
limits for a while. The forecast fits y = y_inf + a exp(-t / tau) for every tau of a grid, weighs each by its
evidence, and allows for noise that is correlated from reading to reading (an Ornstein-Uhlenbeck process),
without which it would be far too sure of itself.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.errors import SeriesError
from calc.estimate import Estimate

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
    """It still moves: its final value [unit of the readings], and when the plain rule will hold [s]."""

    forecast: Estimate
    seconds_to_settle: float


@dataclass(frozen=True, slots=True)
class NotSteady:
    """Nothing can be said of its end, and why."""

    reason: str


RULE = SteadyRule()
_LEAST_SPAN_S = 60.0
_LEAST_READINGS = 20
_GREATEST_GAP = 1 / 6  # of the window
_GREATEST_FORECAST_UNCERTAINTY_K = 3.0
_ABSURD = 1e12
_RESOLUTION_K = 1e-3  # noise is never taken as smaller
_LEAST_CORRELATION_TIMES = 5  # in a row of readings: a longer memory could not be told from the course
_LEAST_WEIGHT = 1e-6
_TIME_CONSTANTS_S = np.geomspace(15.0, 1800.0, 40)


def assess(times_s: ArrayLike, values: ArrayLike, rule: SteadyRule = RULE) -> Settled | Settling | NotSteady:
    """Judge the readings of one figure since the last change of the charge, or since the start.

    Args:
        times_s: rising, of any origin; gaps may occur [s].
        values: superheat, subcooling or another temperature [K].
        rule: the limits of the plain rule.

    Returns:
        The judgement. Its estimates hold the uncertainty of the course alone; that of the instruments comes on top.

    Raises:
        SeriesError: times and values differ in length, times do not rise, or one is not a number.

    >>> times_s = np.arange(0.0, 240.0)
    >>> towards_5_dk = assess(times_s, 5 + 8 * np.exp(-times_s / 180))  # by the formula itself
    >>> round(towards_5_dk.forecast.value, 1)
    5.0

    """
    times, readings = _checked(times_s, values)
    if times.size < _LEAST_READINGS or times[-1] - times[0] < _LEAST_SPAN_S:
        return NotSteady(f"a forecast needs {_LEAST_READINGS} readings over {_LEAST_SPAN_S:.0f} s at least")
    elapsed_s = float(times[-1] - times[0])
    fits, scatter_k = _fit(times - times[0], readings)
    if scatter_k > rule.deviation_limit_k:
        return NotSteady(f"it swings by {scatter_k:.1f} K about any steady course")
    now, final = fits.value_after(elapsed_s), fits.value_after(math.inf)
    if abs(final.value - now.value) <= rule.deviation_limit_k and rule_holds(times, readings, rule):
        return Settled(now)
    if final.standard_uncertainty > _GREATEST_FORECAST_UNCERTAINTY_K:
        return NotSteady("no end in sight yet")
    return Settling(final, fits.seconds_to_settle(rule, elapsed_s))


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


class _Fits(NamedTuple):
    """Least-squares fits of y = final + amplitude x exp(-t / time constant): a row each per time constant."""

    time_constants_s: Array
    weights: Array  # the evidence for each time constant, 1 in sum
    finals: Array
    amplitudes: Array
    final_variances: Array
    amplitude_variances: Array
    covariances: Array

    def value_after(self, elapsed_s: float) -> Estimate:
        """Give what the fits together say of the value at a time since the first reading, inf for the end."""
        decays = np.exp(-elapsed_s / self.time_constants_s)
        values = self.finals + decays * self.amplitudes
        variances = (
            self.final_variances + decays**2 * self.amplitude_variances + 2 * decays * self.covariances
        )
        mean = self.weights @ values
        variance = self.weights @ (np.maximum(variances, 0.0) + (values - mean) ** 2)
        return Estimate(float(mean), math.sqrt(variance))

    def seconds_to_settle(self, rule: SteadyRule, elapsed_s: float) -> float:
        """Predict when the plain rule will hold: its slope is that of the middle of its window [s]."""
        slopes = np.abs(self.amplitudes) / self.time_constants_s
        flat_at_s = self.time_constants_s * np.log(np.maximum(slopes / rule.slope_limit_k_per_s, 1.0))
        holds_at_s = np.maximum(flat_at_s + rule.window_s / 2, rule.window_s) + rule.hold_s
        return max(0.0, float(self.weights @ holds_at_s) - elapsed_s)


def _checked(times_s: ArrayLike, values: ArrayLike) -> tuple[Array, Array]:
    times, readings = np.asarray(times_s, np.float64), np.asarray(values, np.float64)
    if times.ndim != 1 or times.shape != readings.shape:
        raise SeriesError(f"times and values must be two rows of one length: {times.shape}, {readings.shape}")
    if not (np.abs(times) < _ABSURD).all() or not (np.abs(readings) < _ABSURD).all():
        raise SeriesError("a time or a value is no sound number: leave such readings out")
    if not (np.diff(times) > 0).all():
        raise SeriesError("times must rise from reading to reading")
    return times, readings


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


def _fit(elapsed: Array, readings: Array) -> tuple[_Fits, float]:
    """Fit for the noise, for where the evidence lies, and closely there; give that and the scatter [K]."""
    rough = _solve(elapsed, readings, _TIME_CONSTANTS_S, np.zeros(elapsed.size - 1))
    best = int(np.argmax(rough.weights))
    course = rough.finals[best] + rough.amplitudes[best] * np.exp(-elapsed / _TIME_CONSTANTS_S[best])
    memories = _memories(elapsed, readings - course)
    coarse = _solve(elapsed, readings, _TIME_CONSTANTS_S, memories)
    fine = _solve(elapsed, readings, _narrow(coarse), memories)
    return fine, float((readings - course).std())


def _narrow(fits: _Fits) -> Array:
    """Divide anew the part of the grid that holds the evidence, and a step on either side."""
    likely = np.flatnonzero(fits.weights > _LEAST_WEIGHT)
    low, high = max(likely[0] - 1, 0), min(likely[-1] + 1, fits.weights.size - 1)
    return np.geomspace(fits.time_constants_s[low], fits.time_constants_s[high], fits.weights.size)


def _solve(elapsed: Array, readings: Array, time_constants_s: Array, memories: Array) -> _Fits:
    ones = _whiten(np.ones_like(elapsed), memories)
    decays = _whiten(np.exp(-elapsed / time_constants_s[:, np.newaxis]), memories)
    level = float(readings[-1])
    y = _whiten(readings - level, memories)
    s11, s12, s22 = ones @ ones, decays @ ones, np.einsum("ij,ij->i", decays, decays)
    b1, b2 = ones @ y, decays @ y
    determinants = s11 * s22 - s12**2
    finals = (s22 * b1 - s12 * b2) / determinants
    amplitudes = (s11 * b2 - s12 * b1) / determinants
    residuals = y - finals[:, np.newaxis] * ones - amplitudes[:, np.newaxis] * decays
    squares = np.einsum("ij,ij->i", residuals, residuals) + y.size * _RESOLUTION_K**2
    freedom = y.size - 3
    evidence = -(freedom * np.log(squares) + np.log(determinants)) / 2
    weights = np.exp(evidence - evidence.max())
    variances = squares / freedom / determinants
    return _Fits(
        time_constants_s,
        weights / weights.sum(),
        level + finals,
        amplitudes,
        variances * s22,
        variances * s11,
        -variances * s12,
    )


def _memories(elapsed: Array, residuals: Array) -> Array:
    """Tell how much of its noise each reading has from the one before: exp(-interval / correlation time)."""
    squares = residuals @ residuals + residuals.size * _RESOLUTION_K**2
    correlation = float(residuals[1:] @ residuals[:-1] / squares)
    correlation += (1 + 4 * correlation) / residuals.size  # short rows look less correlated than they are
    intervals = np.diff(elapsed)
    typical_s = float(np.median(intervals))
    limit = math.exp(-_LEAST_CORRELATION_TIMES * typical_s / elapsed[-1])
    correlation = min(max(correlation, 1e-6), limit)
    return np.minimum(correlation ** (intervals / typical_s), limit)


def _whiten(series: Array, memories: Array) -> Array:
    """Turn correlated noise into independent noise of the same size, along the last axis."""
    fresh = (series[..., 1:] - memories * series[..., :-1]) / np.sqrt(1 - memories**2)
    return np.concatenate([series[..., :1], fresh], axis=-1)
