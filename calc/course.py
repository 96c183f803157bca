"""Where a figure that settles is heading, from its course so far.

A change of the charge moves a figure by lags, after a dead time, or in a damped oscillation; weather and load move it,
too. `calc.tried_courses` has all that it may do. Neither its constants nor how long the noise remembers itself are
known. So every combination of a grid is fitted by least squares and weighed by its evidence, and by that of another
figure of the circuit as far as both go by the same constants. The forecast is what all of them say together: where they
disagree it is uncertain. The noise is an Ornstein-Uhlenbeck process: taken as independent from reading to reading, it
would make the forecast far too sure of itself.
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.estimate import Estimate
from calc.tried_courses import CLOSE, CLOSE_ALONE, MEMORIES_S, PARTS, RAMP_K_PER_S, WIDE, Axes, Tried

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MOST_STRETCHES = 120
"""Readings are averaged over so many stretches of time: the lags are longer, and the work is less."""

_PIECES = 2  # of a stretch, in which each course is taken where its readings are in the mean
_AMPLITUDE_K = 4.0  # one standard deviation of each part's size, beside the range that has been seen
_RESOLUTION_K = 5e-3  # noise of a stretch's mean is never taken as smaller
_MODEL_SHARE = 0.1  # of what is still to come: how far true courses are from this one
_MODEL_K = 0.05  # and even in the end
_DRIFT_K_PER_S = 0.1 * 5 / 9 / 60  # 0.1 °F per minute: below it the plain rule takes a figure as steady
_LEAST_LASTING = 1e-9  # where all fits drift, their end is still told
_LEAST_WEIGHT = 1e-5
_LEAST_MEMORIES = 4.0  # in the time observed: a longer memory cannot be told from the course
_MISFITS = (0.005, 0.001, 0.0)
"""Of the range that was seen: by so much even the best fit is off, on wide steps, on closer ones and on the last."""
_SLACK = 1e-9
_SHARED = 0.8  # how likely two figures of a circuit go by the same constants
_AT_REST = 0.5  # and if not, how likely the other one hardly moves
_SURE = 30.0
_NORMAL_DEVIATES = np.array([-1.6449, -1.0364, -0.6745, -0.3853, -0.1257, 0.1257, 0.3853, 0.6745, 1.0364, 1.6449])
_TAIL, _TAIL_DEVIATE = 0.05, 1.6449


@dataclass(frozen=True, slots=True)
class Course:
    """What the fits say together.

    Attributes:
        now: the value at the last reading, without its noise.
        final: the value in the end, if it has one.
        drifting: how likely it is that it has none: a ramp of more than 0.1 °F per minute.
        slow_constants_s: of each fit that counts; infinite where it is a ramp alone [s].
        slow_amplitudes: of the same, at the first reading, as if it had no dead time.
        weights: of the same, 1 in sum.
        times_s: the middle of each stretch [s].
        residuals: of each stretch about the likeliest course.
        surprises: the same, without what each has from the one before, in standard deviations.

    """

    now: Estimate
    final: Estimate
    drifting: float
    slow_constants_s: Array
    slow_amplitudes: Array
    weights: Array
    times_s: Array
    residuals: Array
    surprises: Array


def fit(elapsed_s: Array, readings: Array, beside: tuple[Array, Array] | None = None) -> Course:
    """Fit every combination of constants, and put together what they say.

    Args:
        elapsed_s: since the first reading, rising [s].
        readings: of the figure [K].
        beside: times, of the same origin, and readings of another figure of the circuit, which most often goes by the
            same constants.

    """
    figures = [_Stretches.of(elapsed_s, readings)] + ([] if beside is None else [_Stretches.of(*beside)])
    memories_s = MEMORIES_S[elapsed_s[-1] >= MEMORIES_S * _LEAST_MEMORIES]
    tried = _at_first(memories_s.size)
    first, *others = [_solve_all(each, tried, _MISFITS[0]) for each in figures]
    shared = _shared(first, others, tried)
    for misfit in _MISFITS[1:]:
        tried = _narrow(_weighed(first, others, tried, shared), tried, memories_s)
        first, *others = [_solve_all(each, tried, misfit) for each in figures]
    return _put_together(_weighed(first, others, tried, shared), tried, figures[0])


@cache
def _at_first(memories: int) -> Tried:
    """Make what is tried at first, every other memory of those that may be: alike each time."""
    return Tried.of(WIDE, MEMORIES_S[:memories:2])


class _Stretches(NamedTuple):
    """Means over stretches of time, those without a reading left out; and the pieces that each is made of.

    starts: where each stretch begins among the pieces. counts: of readings in each piece. last_s: the last reading.
    """

    times_s: Array
    values: Array
    starts: Index
    pieces_s: Array
    counts: Index
    last_s: float

    @classmethod
    def of(cls, elapsed_s: Array, readings: Array) -> "_Stretches":
        which = np.floor(elapsed_s / (elapsed_s[-1] / (MOST_STRETCHES * _PIECES)))
        first = np.flatnonzero(np.diff(which, prepend=-1.0))
        counts = np.diff(np.append(first, elapsed_s.size))
        pieces_s, values = (np.add.reduceat(series, first) / counts for series in (elapsed_s, readings))
        starts = np.flatnonzero(np.diff(which[first] // _PIECES, prepend=-1.0))
        bare = cls(pieces_s, values, starts, pieces_s, counts, float(elapsed_s[-1]))
        return bare._replace(times_s=bare.mean(pieces_s), values=bare.mean(values))

    def mean(self, series: Array) -> Array:
        """Average over each stretch what has a value for each piece, along its last axis."""
        sums: Array = np.add.reduceat(series * self.counts, self.starts, axis=-1)
        return sums / np.add.reduceat(self.counts, self.starts)


class _Fits(NamedTuple):
    """What came out for each combination, one memory of the noise after the other.

    A fit goes by level + (course of each part - its middle) · amplitudes: around its middle it is well conditioned.
    Its normal equations stand as lower · diagonal of pivots · lower transposed, `lower` its elements 21, 31 and 32, and
    solved: their right side, the first factor taken off.
    """

    level: Array
    level_variance: Array
    variance: Array
    middles: Array
    pivots: Array
    lower: Array
    solved: Array
    evidence: Array

    def of(self, rows: Index) -> "_Fits":
        """Keep some of the combinations."""
        return _Fits(*(part[rows] for part in self))

    def values(self, parts: Array) -> tuple[Array, Array]:
        """Give value and variance of each combination where its parts have come to this."""
        shifts = _forward(self.lower, parts - self.middles)
        values = self.level + (shifts * self.solved / self.pivots).sum(axis=-1)
        return values, self.level_variance + self.variance * (shifts**2 / self.pivots).sum(axis=-1)

    def amplitudes(self) -> Array:
        """Give the size of each part."""
        first, second, third = np.moveaxis(self.solved / self.pivots, -1, 0)
        second = second - self.lower[..., 2] * third
        return np.stack([first - self.lower[..., 0] * second - self.lower[..., 1] * third, second, third], axis=-1)


def _solve_all(stretches: _Stretches, tried: Tried, misfit: float = 0.0) -> _Fits:
    """Fit every combination, for noise of each memory: all of one memory, then all of the next."""
    courses = stretches.mean(tried.courses(stretches.pieces_s))
    rows = np.vstack([courses, stretches.values - stretches.values[-1]])
    intervals_s = np.diff(stretches.times_s)
    kept = np.stack([_kept(intervals_s, memory_s) for memory_s in tried.memories_s])
    by_memory = _solve(tried, rows, kept, math.hypot(_RESOLUTION_K, misfit * float(np.ptp(stretches.values))))
    return _Fits(*(part.reshape(-1, *part.shape[2:]) for part in by_memory))


def _solve(tried: Tried, rows: Array, kept: Array, resolution_k: float) -> _Fits:
    """Fit every combination, for noise of which so much is kept from stretch to stretch: a row for each memory."""
    whitened = _whiten(np.broadcast_to(rows, (kept.shape[0], *rows.shape)), kept[:, np.newaxis])
    products = whitened @ whitened.transpose(0, 2, 1)
    weight = products[:, 0, :1]
    explained = products[:, 0] / weight  # by a constant alone
    count, size_k = rows.shape[1], math.hypot(_AMPLITUDE_K, float(np.ptp(rows[-1])))
    sure = tried.present / np.where(tried.is_ramp, 1.0, size_k**2)  # the amplitudes have a prior of their own size
    sure[:, 1] /= tried.spread**2
    equations = _Equations.of(products, explained, tried, count * resolution_k**2)
    least = equations.solved(_SLACK * weight[:, :, np.newaxis] * tried.present).left.min(axis=1) / count
    solved = equations.solved(least[:, np.newaxis, np.newaxis] * sure)
    variance = solved.left / (count - 3)
    evidence = -(count - 1) * np.log(solved.left) - solved.log_determinants
    evidence -= np.log1p(-(kept**2)).sum(axis=1, keepdims=True) + np.log(weight)
    return _Fits(
        level=np.broadcast_to(explained[:, -1:], variance.shape),
        level_variance=variance / weight,
        variance=variance,
        middles=explained[:, tried.rows] * tried.present,
        pivots=solved.pivots,
        lower=solved.lower,
        solved=solved.solved,
        evidence=evidence / 2 + tried.prior,
    )


class _Solved(NamedTuple):
    """Factors and what they leave over; the determinant's logarithm beside that of the ties."""

    pivots: Array
    lower: Array
    solved: Array
    left: Array
    log_determinants: Array


class _Equations(NamedTuple):
    """The normal equations of each combination, for each memory; a part that it has not says nothing.

    squares: elements 11, 21, 22, 31, 32 and 33.
    """

    squares: tuple[Array, ...]
    right: Array
    square: Array
    least_left: float
    present: Array
    lean: Array

    @classmethod
    def of(cls, products: Array, explained: Array, tried: Tried, least_left: float) -> "_Equations":
        """Take them from the products of all rows, and from what a constant alone explains of each row."""
        rows, present = tried.rows.T, tried.present.T
        known = products[:, 0, 0]

        def beside_the_level(one: Index, other: Index) -> Array:
            shared: Array = explained[:, one] * explained[:, other]
            return products[:, one, other] - known[:, np.newaxis] * shared

        squares = tuple(
            beside_the_level(rows[one], rows[other]) * (present[one] * present[other])
            for one in range(PARTS)
            for other in range(one + 1)
        )
        last = np.array([products.shape[1] - 1])
        right = np.stack([beside_the_level(row, last) for row in rows], axis=-1) * tried.present
        return cls(squares, right, beside_the_level(last, last), least_left, tried.present, tried.lean)

    def solved(self, ties: Array) -> _Solved:
        """Solve them, the amplitudes tied to zero by so much."""
        s11, s21, s22, s31, s32, s33 = self.squares
        t1, t2, t3 = np.moveaxis(np.where(self.present, ties, 1.0), -1, 0)
        d1 = s11 + t1 + t2 * self.lean**2
        leaning = s21 + t2 * self.lean
        l21, l31 = leaning / d1, s31 / d1
        d2 = s22 + t2 - l21 * leaning
        l32 = (s32 - l31 * leaning) / d2
        d3 = s33 + t3 - l31 * s31 - l32**2 * d2
        pivots, lower = np.stack([d1, d2, d3], axis=-1), np.stack([l21, l31, l32], axis=-1)
        solved = _forward(lower, self.right)
        left = np.maximum(self.square - (solved**2 / pivots).sum(axis=-1), 0.0) + self.least_left
        log_ties = np.log(np.where(self.present, ties, 1.0))
        return _Solved(pivots, lower, solved, left, (np.log(pivots) - log_ties).sum(axis=-1))


def _forward(lower: Array, right: Array) -> Array:
    """Take the lower factor, of which this stands below its diagonal of ones, off a right side."""
    first = right[..., 0]
    second = right[..., 1] - lower[..., 0] * first
    third = right[..., 2] - lower[..., 1] * first - lower[..., 2] * second
    return np.stack([first, second, third], axis=-1)


def _shared(first: _Fits, others: list[_Fits], tried: Tried) -> float:
    """Tell how likely the other figure goes by the constants of the first, and not by its own or hardly at all."""
    if not others:
        return 0.0
    its = _whatever_its_noise(others[0], tried)
    by_its_own = _log_sum(its + tried.prior)
    at_rest = _log_sum(its[~tried.present.any(axis=1)])
    apart = np.logaddexp(by_its_own + math.log(1 - _AT_REST), at_rest + math.log(_AT_REST))
    together = _log_sum(first.evidence + np.tile(its, tried.memories_s.size)) - _log_sum(first.evidence)
    odds = together - float(apart) + math.log(_SHARED / (1 - _SHARED))
    return 1 / (1 + math.exp(-min(max(odds, -_SURE), _SURE)))


def _weighed(first: _Fits, others: list[_Fits], tried: Tried, shared: float) -> _Fits:
    """Weigh what came out of the first figure by the other one, too, as far as both go by the same constants."""
    if not others:
        return first
    alone = first.evidence
    together = alone + np.tile(_whatever_its_noise(others[0], tried), tried.memories_s.size)
    by_both = together - _log_sum(together) + math.log(shared)
    return first._replace(evidence=np.logaddexp(alone - _log_sum(alone) + math.log(1 - shared), by_both))


def _whatever_its_noise(fits: _Fits, tried: Tried) -> Array:
    """Give how likely the readings are for each combination, by the logarithm."""
    by_memory = fits.evidence.reshape(tried.memories_s.size, -1) - tried.prior
    evidence: Array = np.logaddexp.reduce(by_memory, axis=0) - math.log(tried.memories_s.size)
    return evidence


def _narrow(fits: _Fits, tried: Tried, memories_s: Array) -> Tried:
    """Divide anew what is likely of each constant, for each group of courses that is; on wide steps all fit poorly."""
    combinations = _likely(fits) % tried.prior.size
    groups = list(dict.fromkeys(tried.groups[combinations]))
    counts = CLOSE if len(groups) > 1 else CLOSE_ALONE
    axes = {}
    for group in groups:
        likely = combinations[tried.groups[combinations] == group]
        constants = Axes(*(values[likely] for values in tried.constants))
        axes[str(group)] = tried.axes[group].around(constants, counts[group])
    return Tried.of(axes, memories_s)


def _log_sum(logarithms: Array) -> float:
    return float(np.logaddexp.reduce(logarithms))


def _likely(fits: _Fits) -> Index:
    return np.flatnonzero(fits.evidence > fits.evidence.max() + math.log(_LEAST_WEIGHT))


def _put_together(fits: _Fits, tried: Tried, stretches: _Stretches) -> Course:
    rows = _likely(fits)
    likely, which = fits.of(rows), rows % tried.prior.size
    weights = np.exp(likely.evidence - likely.evidence.max())
    weights /= weights.sum()
    drifts = _drifts(likely, tried.is_ramp[which])
    lasting = weights * np.maximum(1.0 - drifts, _LEAST_LASTING)
    lasting /= lasting.sum()
    level = stretches.values[-1]
    parts_now = tried.courses(np.array([stretches.last_s]))[tried.rows[which], 0] * tried.present[which]
    now = _together(likely, parts_now, weights, level)
    final = _together(likely, np.where(tried.is_ramp[which], parts_now, 0.0), lasting, level)
    doubt = math.hypot(final.standard_uncertainty, _MODEL_SHARE * (final.value - now.value), _MODEL_K)
    residuals, surprises = _about_the_likeliest(fits, tried, stretches)
    slow_s = np.nan_to_num(tried.constants.slow_s[which], nan=math.inf)  # a ramp alone has none, and nothing to fade
    since_s = np.nan_to_num(tried.constants.dead_s[which])
    return Course(
        now=now,
        final=Estimate(final.value, doubt),
        drifting=float(weights @ drifts),
        slow_constants_s=slow_s,
        slow_amplitudes=likely.amplitudes()[:, 0] * np.exp(since_s / slow_s),
        weights=lasting,
        times_s=stretches.times_s,
        residuals=residuals,
        surprises=surprises,
    )


def _drifts(fits: _Fits, is_ramp: NDArray[np.bool_]) -> Array:
    """Tell of each fit how likely its ramp is more than what counts as steady."""
    slopes = RAMP_K_PER_S * fits.amplitudes()[:, -1]
    spread = RAMP_K_PER_S * np.sqrt(fits.variance / fits.pivots[:, -1])
    beyond = np.abs(slopes[:, np.newaxis] + spread[:, np.newaxis] * _NORMAL_DEVIATES) > _DRIFT_K_PER_S
    drifts: Array = beyond.mean(axis=-1) * is_ramp.any(axis=-1)
    return drifts


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


def _about_the_likeliest(fits: _Fits, tried: Tried, stretches: _Stretches) -> tuple[Array, Array]:
    best = fits.of(np.argmax(fits.evidence, keepdims=True))
    index = int(np.argmax(fits.evidence))
    parts = stretches.mean(tried.courses(stretches.pieces_s)[tried.rows[index % tried.prior.size]])
    course = best.level + (parts.T - best.middles[0]) @ best.amplitudes()[0]
    residuals = stretches.values - stretches.values[-1] - course
    fresh = _whiten(residuals, _kept(np.diff(stretches.times_s), tried.memories_s[index // tried.prior.size]))
    typical = np.median(np.abs(fresh)) / 0.6745 + _RESOLUTION_K
    return residuals, fresh / typical


def _kept(intervals_s: Array, memory_s: float) -> Array:
    """Tell how much of its noise each stretch has from the one before."""
    return np.exp(-intervals_s / memory_s) if memory_s else np.zeros_like(intervals_s)


def _whiten(series: Array, kept: Array) -> Array:
    """Turn correlated noise into independent noise of the same size, along the last axis."""
    fresh = (series[..., 1:] - kept * series[..., :-1]) / np.sqrt(1 - kept**2)
    return np.concatenate([series[..., :1], fresh], axis=-1)
