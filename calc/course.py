"""Where a figure that settles is heading, from its course so far.

A change of the charge moves a figure by a quick lag (the lines and their sensors) and a slow one (metal, oil and the
places where refrigerant lies): y = final + slow exp(-t / slow constant) + quick exp(-t / quick constant). The quick
part may be zero, or itself come through two lags, as where a clamp follows a pipe that follows the refrigerant:
(quick + more t / quick constant) exp(-t / quick constant). Neither the constants nor how long the noise remembers
itself are known. So every combination
of a grid is fitted by least squares and weighed by its evidence, and the forecast is what all of them say together:
where they disagree it is uncertain. The noise is an Ornstein-Uhlenbeck process: taken as independent from reading to
reading, it would make the forecast far too sure of itself.
"""

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.estimate import Estimate

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MOST_STRETCHES = 120
"""Readings are averaged over so many stretches of time: the lags are longer, and the work is less."""

_SLOW_S = np.geomspace(15.0, 1800.0, 24)
_QUICK_S = np.array([6.0, 12.0, 22.0, 40.0])
_SHARES = (0.5, 0.3, 0.2)  # of courses before anything is seen: no quick part, one of one lag, one of two
_LEAST_RATIO = 2.0  # of the slow constant to the quick one: nearer, they cannot be told apart
_MEMORIES_S = np.array([0.0, 3.0, 8.0, 20.0, 50.0])
_LEAST_MEMORIES = 4.0  # in the time observed: a longer memory cannot be told from the course
_MIDDLE_S, _SPREAD = 190.0, 0.8  # of the slow constant before anything is seen, log-normal: wide
_AMPLITUDE_K = 1.0  # one standard deviation of each part's size, beside the range that has been seen
_RESOLUTION_K = 5e-3  # noise of a stretch's mean is never taken as smaller
_MODEL_SHARE = 0.1  # of what is still to come: how far true courses are from this one
_LEAST_WEIGHT = 1e-5
_SLACK = 1e-9
_NORMAL_DEVIATES = np.array([-1.6449, -1.0364, -0.6745, -0.3853, -0.1257, 0.1257, 0.3853, 0.6745, 1.0364, 1.6449])
_TAIL, _TAIL_DEVIATE = 0.05, 1.6449


@dataclass(frozen=True, slots=True)
class Course:
    """What the fits say together.

    Attributes:
        now: the value at the last reading, without its noise.
        final: the value in the end.
        slow_constants_s: of each fit that counts [s].
        slow_amplitudes: of the same, at the first reading.
        weights: of the same, 1 in sum.
        times_s: the middle of each stretch [s].
        residuals: of each stretch about the likeliest course.
        surprises: the same, without what each has from the one before, in standard deviations.

    """

    now: Estimate
    final: Estimate
    slow_constants_s: Array
    slow_amplitudes: Array
    weights: Array
    times_s: Array
    residuals: Array
    surprises: Array


def fit(elapsed_s: Array, readings: Array) -> Course:
    """Fit every combination of constants, and put together what they say.

    Args:
        elapsed_s: since the first reading, rising [s].
        readings: of the figure [K].

    """
    stretches = _Stretches.of(elapsed_s, readings)
    wide = _Grid.of(_SLOW_S, elapsed_s[-1])
    close = _Grid.of(_narrow(_solve_all(stretches, wide), wide), elapsed_s[-1])
    return _put_together(_solve_all(stretches, close), close, stretches)


class _Stretches(NamedTuple):
    """The readings, and where each stretch of time begins among them; stretches without a reading are left out."""

    elapsed_s: Array
    starts: Index
    counts: Index
    times_s: Array
    values: Array

    @classmethod
    def of(cls, elapsed_s: Array, readings: Array) -> "_Stretches":
        width_s = elapsed_s[-1] / MOST_STRETCHES
        starts = np.flatnonzero(np.diff(np.floor(elapsed_s / width_s), prepend=-1.0))
        counts = np.diff(np.append(starts, elapsed_s.size))
        bare = cls(elapsed_s, starts, counts, elapsed_s, readings)
        return bare._replace(times_s=bare.mean(elapsed_s), values=bare.mean(readings))

    def mean(self, series: Array) -> Array:
        """Average over each stretch what has a value for each reading, along its last axis."""
        sums: Array = np.add.reduceat(series, self.starts, axis=-1)
        return sums / self.counts


class _Grid(NamedTuple):
    """What is tried: each slow constant alone, and with each that is quick enough beside it, once or through two lags.

    columns: of `courses`, for each part of each combination, its slow one first. present: 1 where it has that part,
    else 0; both: likewise for each two of them. prior: how likely each is before anything is seen, its logarithm.
    """

    slow_s: Array
    memories_s: Array
    columns: Index
    present: Array
    both: Array
    prior: Array

    @classmethod
    def of(cls, slow_s: Array, elapsed_s: float) -> "_Grid":
        quick_parts, quick = np.arange(len(_SHARES)), np.arange(_QUICK_S.size)
        every = np.meshgrid(np.arange(slow_s.size), quick, quick_parts, indexing="ij")
        slow, quick, quick_parts = (index.ravel() for index in every)
        distinct = np.where(quick_parts > 0, slow_s[slow] >= _LEAST_RATIO * _QUICK_S[quick], quick == 0)
        slow, quick, quick_parts = slow[distinct], quick[distinct], quick_parts[distinct]
        shares = np.array(_SHARES) / np.array([1, _QUICK_S.size, _QUICK_S.size])
        prior = np.log(shares[quick_parts]) - (np.log(slow_s[slow] / _MIDDLE_S) / _SPREAD) ** 2 / 2
        columns = np.stack([1 + slow, 1 + slow_s.size + quick, 1 + slow_s.size + _QUICK_S.size + quick], axis=-1)
        present = (np.arange(len(_SHARES)) <= quick_parts[:, np.newaxis]).astype(np.float64)
        both = present[:, :, np.newaxis] * present[:, np.newaxis, :]
        return cls(slow_s, _MEMORIES_S[elapsed_s >= _MEMORIES_S * _LEAST_MEMORIES], columns, present, both, prior)

    def courses(self, times_s: Array) -> Array:
        """Give how each part goes: one that stays, the slow ones, the quick ones, and what two quick lags add."""
        decays = np.exp(-times_s / np.concatenate([self.slow_s, _QUICK_S])[:, np.newaxis])
        twice = times_s / _QUICK_S[:, np.newaxis] * decays[self.slow_s.size :]
        return np.concatenate([np.ones((1, times_s.size)), decays, twice])

    def parts(self, rows: Index) -> Index:
        """Give the columns of combinations: every memory repeats them all."""
        columns: Index = self.columns[rows % self.prior.size]
        return columns

    def slow_constants_s(self, rows: Index) -> Array:
        """Give the slow constants of combinations."""
        constants: Array = self.slow_s[self.parts(rows)[:, 0] - 1]
        return constants


class _Fits(NamedTuple):
    """What came out for each combination; amplitudes, and what goes with them, of each part.

    A fit goes by level + (course of each part - its middle) · amplitudes: around its middle it is well conditioned.
    """

    level: Array
    level_variance: Array
    middles: Array
    amplitudes: Array
    covariances: Array
    evidence: Array

    def of(self, rows: Index) -> "_Fits":
        """Keep some of the combinations."""
        return _Fits(*(part[rows] for part in self))

    def values(self, parts: Array) -> tuple[Array, Array]:
        """Give value and variance of each combination where its parts have come to this."""
        shifts = parts - self.middles
        values = self.level + np.einsum("ni,ni->n", shifts, self.amplitudes)
        spread = np.einsum("ni,nij,nj->n", shifts, self.covariances, shifts)
        return values, self.level_variance + np.maximum(spread, 0.0)


def _solve_all(stretches: _Stretches, grid: _Grid) -> _Fits:
    """Fit every combination, for noise of each memory: one after the other as `_Grid.parts` counts them."""
    courses = stretches.mean(grid.courses(stretches.elapsed_s))
    rows = np.vstack([courses, stretches.values - stretches.values[-1]])
    intervals_s = np.diff(stretches.times_s)
    kept = np.stack([_kept(intervals_s, memory_s) for memory_s in grid.memories_s])
    by_memory = _solve(grid, rows, kept)
    return _Fits(*(np.concatenate(part) for part in by_memory))


def _solve(grid: _Grid, rows: Array, kept: Array) -> _Fits:
    """Fit every combination, for noise of which so much is kept from stretch to stretch: a row for each memory."""
    whitened = _whiten(np.broadcast_to(rows, (kept.shape[0], *rows.shape)), kept[:, np.newaxis])
    products = whitened @ whitened.transpose(0, 2, 1)
    weight = products[:, 0, :1]
    explained = products[:, 0] / weight  # by a constant alone
    rest = products - weight[:, :, np.newaxis] * explained[:, :, np.newaxis] * explained[:, np.newaxis, :]
    columns, count = grid.columns, rows.shape[1]
    equations = _Equations(
        rest[:, columns[:, :, np.newaxis], columns[:, np.newaxis, :]] * grid.both,
        rest[:, columns, -1] * grid.present,
        rest[:, -1, -1:],
        count * _RESOLUTION_K**2,
        grid,
    )
    noise = equations.left(_SLACK * weight).min(axis=1, keepdims=True) / count
    tie = noise / (_AMPLITUDE_K**2 + float(np.ptp(rows[-1])) ** 2)  # the amplitudes have a prior of their own size
    solved = equations.solve(tie)
    variance = solved.left / (count - 3)
    evidence = -(count - 1) * np.log(solved.left) - solved.log_determinants + grid.present.sum(axis=1) * np.log(tie)
    evidence -= np.log1p(-(kept**2)).sum(axis=1, keepdims=True) + np.log(weight)
    return _Fits(
        level=np.broadcast_to(explained[:, -1:], variance.shape),
        level_variance=variance / weight,
        middles=explained[:, columns],
        amplitudes=solved.amplitudes,
        covariances=variance[:, :, np.newaxis, np.newaxis] * solved.inverses,
        evidence=evidence / 2 + grid.prior,
    )


class _Solved(NamedTuple):
    """Amplitudes with their covariances per unit of noise, what is left over, and the determinants' logarithms."""

    amplitudes: Array
    inverses: Array
    left: Array
    log_determinants: Array


class _Equations(NamedTuple):
    """The normal equations of each combination, for each memory; a part that it has not says nothing."""

    squares: Array
    right: Array
    square: Array
    least_left: float
    grid: _Grid

    def left(self, tie: Array) -> Array:
        """Tell what each leaves over, the amplitudes tied to zero by so much."""
        return self._left(np.linalg.solve(self._tied(tie), self.right[..., np.newaxis])[..., 0])

    def solve(self, tie: Array) -> _Solved:
        """Solve them, the amplitudes tied to zero by so much."""
        tied = self._tied(tie)
        inverses = np.linalg.inv(tied) * self.grid.both
        amplitudes = np.einsum("mnij,mnj->mni", inverses, self.right)
        return _Solved(amplitudes, inverses, self._left(amplitudes), np.linalg.slogdet(tied)[1])

    def _tied(self, tie: Array) -> Array:
        ties = np.where(self.grid.present, tie[:, :, np.newaxis], 1.0)
        tied: Array = self.squares + ties[..., np.newaxis] * np.eye(ties.shape[-1])
        return tied

    def _left(self, amplitudes: NDArray[np.floating[Any]]) -> Array:
        explained: Array = (amplitudes * self.right).sum(axis=-1)
        return np.maximum(self.square - explained, 0.0) + self.least_left


def _narrow(wide: _Fits, grid: _Grid) -> Array:
    """Divide anew the part of the slow constants that holds the evidence, and a step on either side."""
    slow_s = grid.slow_constants_s(_likely(wide))
    step = grid.slow_s[1] / grid.slow_s[0]
    low_s, high_s = max(slow_s.min() / step, _SLOW_S[0]), min(slow_s.max() * step, _SLOW_S[-1])
    return np.geomspace(low_s, high_s, _SLOW_S.size)


def _likely(fits: _Fits) -> Index:
    return np.flatnonzero(fits.evidence > fits.evidence.max() + math.log(_LEAST_WEIGHT))


def _put_together(fits: _Fits, grid: _Grid, stretches: _Stretches) -> Course:
    rows = _likely(fits)
    likely, columns = fits.of(rows), grid.parts(rows)
    weights = np.exp(likely.evidence - likely.evidence.max())
    weights /= weights.sum()
    level = stretches.values[-1]
    now = _together(likely, grid.courses(stretches.elapsed_s[-1:])[columns, 0], weights, level)
    final = _together(likely, np.zeros(columns.shape), weights, level)
    doubt = math.hypot(final.standard_uncertainty, _MODEL_SHARE * (final.value - now.value))
    residuals, surprises = _about_the_likeliest(fits, grid, stretches)
    return Course(
        now=now,
        final=Estimate(final.value, doubt),
        slow_constants_s=grid.slow_constants_s(rows),
        slow_amplitudes=likely.amplitudes[:, 0],
        weights=weights,
        times_s=stretches.times_s,
        residuals=residuals,
        surprises=surprises,
    )


def _together(fits: _Fits, parts: Array, weights: Array, level: float) -> Estimate:
    """Give the middle of all that the fits say; as its standard uncertainty what the 90 % interval would have.

    Each fit is a normal distribution, and stands for ten values of equal weight.
    """
    values, variances = fits.values(parts)
    spread = values[:, np.newaxis] + np.sqrt(variances)[:, np.newaxis] * _NORMAL_DEVIATES
    order = np.argsort(spread, axis=None)
    shares = np.repeat(weights / _NORMAL_DEVIATES.size, _NORMAL_DEVIATES.size)[order]
    low, middle, high = np.interp([_TAIL, 0.5, 1 - _TAIL], np.cumsum(shares) - shares / 2, spread.ravel()[order])
    return Estimate(float(level + middle), float(high - low) / 2 / _TAIL_DEVIATE)


def _about_the_likeliest(fits: _Fits, grid: _Grid, stretches: _Stretches) -> tuple[Array, Array]:
    best = np.argmax(fits.evidence, keepdims=True)
    parts = stretches.mean(grid.courses(stretches.elapsed_s))[grid.parts(best)[0]]
    course = fits.level[best] + (parts.T - fits.middles[best[0]]) @ fits.amplitudes[best[0]]
    residuals = stretches.values - stretches.values[-1] - course
    memory_s = grid.memories_s[best[0] // grid.prior.size]
    fresh = _whiten(residuals, _kept(np.diff(stretches.times_s), memory_s))
    typical = np.median(np.abs(fresh)) / 0.6745 + _RESOLUTION_K
    return residuals, fresh / typical


def _kept(intervals_s: Array, memory_s: float) -> Array:
    """Tell how much of its noise each stretch has from the one before."""
    return np.exp(-intervals_s / memory_s) if memory_s else np.zeros_like(intervals_s)


def _whiten(series: Array, kept: Array) -> Array:
    """Turn correlated noise into independent noise of the same size, along the last axis."""
    fresh = (series[..., 1:] - kept * series[..., :-1]) / np.sqrt(1 - kept**2)
    return np.concatenate([series[..., :1], fresh], axis=-1)
