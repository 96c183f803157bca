"""Where a figure that settles is heading, from its course so far.

A change of the charge moves a figure by lags, after a dead time, or in a damped oscillation; weather and load move it,
too. `calc.tried_courses` has all that it may do. Neither its constants nor how long the noise remembers itself are
known. So courses of all constants are fitted by least squares and weighed by their evidence, and by that of another
figure of the circuit as far as both go by the same constants. What is likely is divided ever more finely; at first
as if nothing fitted well, so that what a wide cell misses by is not held against it. The forecast is what all of them
say together: where they disagree it is uncertain. The noise is an Ornstein-Uhlenbeck process: taken as independent from
reading to reading, it would make the forecast far too sure of itself.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.estimate import Estimate
from calc.tried_courses import MEMORIES_S, RAMP_K_PER_S, Tried, at_first

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
_MISFITS = (0.04, 0.02, 0.01, 0.005, 0.0025, 0.001, 0.0)
"""Of the range that was seen: by so much even the best fit is held to be off, time after time."""
_MOST_DIVIDED = 60
_COARSE_SHARE = 0.01  # a course that is so likely is divided
_LEAST_SHARE = 1e-5
_LOST = 0.3  # of the noise: a smaller misfit is lost in it
_SLACK = 1e-9
_SHARED = 0.8  # how likely two figures of a circuit go by the same constants
_AT_REST = 0.5  # and if not, how likely the other one hardly moves
_NIL = 1e-300
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
    """Fit courses of all constants, and put together what they say.

    Args:
        elapsed_s: since the first reading, rising [s].
        readings: of the figure [K].
        beside: times, of the same origin, and readings of another figure of the circuit, which most often goes by the
            same constants.

    """
    if beside is not None and np.array_equal(elapsed_s, beside[0]):
        return fit_both(elapsed_s, readings, beside[1])[0]
    return _fit_each([_Stretches.of(elapsed_s, readings)] + ([] if beside is None else [_Stretches.of(*beside)]))[0]


def fit_both(elapsed_s: Array, readings: Array, beside: Array) -> tuple[Course, Course]:
    """Fit two figures of a circuit that were read at the same times, each beside the other, as `fit` does: at once."""
    one, other = _fit_each([_Stretches.of(elapsed_s, readings, beside)])
    return one, other


def _fit_each(timed: list["_Stretches"]) -> list[Course]:
    """Fit one figure, or two beside each other; what is likely of either is divided ever more finely."""
    memories_s = MEMORIES_S[timed[0].last_s >= MEMORIES_S * _LEAST_MEMORIES]
    tried = at_first()
    equations = [_Equations.of(each, tried, memories_s) for each in timed]
    ranges_k = np.concatenate([np.ptp(each.values, axis=1) for each in timed])
    for misfit in _MISFITS:
        weighed = _weighed_at(equations, tried, misfit)
        shares = np.max([_shares(fits, tried) for fits in weighed], axis=0)
        kept, coarse = _worth_it(shares, tried)
        if coarse.size:
            finer = tried.only(coarse).quartered()
            equations = [
                of.only(kept).joined(_Equations.of(each, finer, memories_s))
                for of, each in zip(equations, timed, strict=True)
            ]
            tried = tried.only(kept).joined(finer)
        elif all(misfit * range_k < _LOST * fits.noise_k() for range_k, fits in zip(ranges_k, weighed, strict=True)):
            break
    courses = _weighed_at(equations, tried, 0.0)
    at = [(stretches, row) for stretches in timed for row in range(stretches.values.shape[0])]
    return [_put_together(fits, tried, memories_s, *each) for fits, each in zip(courses, at, strict=True)]


def _weighed_at(equations: list["_Equations"], tried: Tried, misfit: float) -> list["_Fits"]:
    """Fit every course to each figure, and weigh it; misfit: by how much of its range even the best is off."""
    return _weigh_each([fits for each in equations for fits in each.fits(tried, misfit)], tried)


def _shares(fits: "_Fits", tried: Tried) -> Array:
    """Give how likely each course is, whatever the memory of the noise."""
    weights = np.exp(fits.evidence - fits.evidence.max()).reshape(-1, tried.kinds.size)
    shares: Array = weights.sum(axis=0) / weights.sum()
    return shares


def _worth_it(shares: Array, tried: Tried) -> tuple[Index, Index]:
    """Tell which courses to go on with as they are, and which ones to divide."""
    in_order = np.argsort(-shares)[:_MOST_DIVIDED]
    coarse = in_order[(shares[in_order] > _COARSE_SHARE) & tried.widths[in_order].any(axis=1)]
    return np.setdiff1d(np.flatnonzero(shares > _LEAST_SHARE), coarse), coarse


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
    def of(cls, elapsed_s: Array, *readings: Array) -> "_Stretches":
        which = np.floor(elapsed_s / (elapsed_s[-1] / (MOST_STRETCHES * _PIECES)))
        first = np.flatnonzero(np.diff(which, prepend=-1.0))
        counts = np.diff(np.append(first, elapsed_s.size))
        means = np.add.reduceat(np.stack([elapsed_s, *readings]), first, axis=-1) / counts
        pieces_s, values = means[0], means[1:]
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

    def only(self, rows: Index) -> "_Fits":
        """Keep some of the combinations."""
        return _Fits(*(part[rows] for part in self))

    def values(self, parts: Array) -> tuple[Array, Array]:
        """Give value and variance of each combination where its parts have come to this."""
        shifts = _forward(self.lower, parts - self.middles)
        values = self.level + (shifts * self.solved / self.pivots).sum(axis=-1)
        return values, self.level_variance + self.variance * (shifts**2 / self.pivots).sum(axis=-1)

    def noise_k(self) -> float:
        """Give the noise of a stretch about the likeliest course, with what it is off by."""
        return math.sqrt(self.variance[np.argmax(self.evidence)])

    def amplitudes(self) -> Array:
        """Give the size of each part."""
        first, second = np.moveaxis(self.solved / self.pivots, -1, 0)
        return np.stack([first - self.lower * second, second], axis=-1)


class _Precision(NamedTuple):
    """The inverse of the noise's correlation for each of its memories: only neighbours have to do with each other.

    own: its diagonal. neighbours: beside it. logarithm: of its determinant.
    """

    own: Array
    neighbours: Array
    logarithm: Array

    @classmethod
    def of(cls, intervals_s: Array, memories_s: Array) -> "_Precision":
        kept = np.stack([_kept(intervals_s, memory_s) for memory_s in memories_s])
        fresh = 1 - kept**2
        own = np.ones((memories_s.size, intervals_s.size + 1))
        own[:, 1:] += kept**2 / fresh
        own[:, :-1] += kept**2 / fresh
        return cls(own, -kept / fresh, -np.log(fresh).sum(axis=1))

    def times(self, series: Array) -> Array:
        """Multiply each row, for each memory."""
        found = self.own[:, np.newaxis] * series
        found[..., 1:] += self.neighbours[:, np.newaxis] * series[:, :-1]
        found[..., :-1] += self.neighbours[:, np.newaxis] * series[:, 1:]
        return found

    def products(self, one: Array, other: Array) -> Array:
        """Multiply each row of the one with that of the other, for each memory."""
        beside = one[:, :-1] * other[:, 1:] + one[:, 1:] * other[:, :-1]
        found: Array = self.own @ (one * other).T + self.neighbours @ beside.T
        return found


class _Equations(NamedTuple):
    """The normal equations of each course, for each memory of the noise; a part that it has not says nothing.

    logarithm: of the determinant of the noise's correlation. weight: of the level. middles: of both parts, as the level
    has them. squares: of the first part, of both, of the second. values: each figure's, beside its last. levels and
    left: what a constant alone makes of each figure. right: what each part has in common with each figure.
    """

    logarithm: Array
    weight: Array
    middles: Array
    squares: Array
    values: Array
    levels: Array
    left: Array
    right: Array

    @classmethod
    def of(cls, stretches: _Stretches, tried: Tried, memories_s: Array) -> "_Equations":
        """Take them from the products of all rows, and from what a constant alone explains of each row."""
        values = stretches.values - stretches.values[:, -1:]
        precision = _Precision.of(np.diff(stretches.times_s), memories_s)
        level = np.ones((1, values.shape[1]))
        rows, at = tried.courses(stretches.pieces_s)
        means = stretches.mean(rows)
        weighed = precision.times(np.concatenate([level, values]))
        weight = weighed[:, :1].sum(axis=2)
        levels = weighed[:, 1:].sum(axis=2) / weight
        whole = np.tensordot(weighed, means, axes=(2, 1))
        shares = whole[:, 0] / weight
        middles = shares[:, at]
        right = whole[:, 1:] - levels[:, :, np.newaxis] * whole[:, :1]
        norms = precision.products(means, means)[:, at]
        both = precision.products(means[at[:, 0]], means[at[:, 1]])
        squares = [norms[..., 0], both, norms[..., 1]]
        squares = [
            each - weight * middles[..., first] * middles[..., second]
            for each, (first, second) in zip(squares, ((0, 0), (0, 1), (1, 1)), strict=True)
        ]
        return cls(
            np.log(weight[:, 0]) - precision.logarithm,
            weight,
            middles,
            np.stack(squares),
            values,
            levels,
            precision.products(values, values) - weight * levels**2,
            right[:, :, at].transpose(1, 0, 2, 3),
        )

    def only(self, courses: Index) -> "_Equations":
        """Keep some of the courses."""
        return self._replace(
            middles=self.middles[:, courses], squares=self.squares[:, :, courses], right=self.right[:, :, courses]
        )

    def joined(self, other: "_Equations") -> "_Equations":
        """Put other courses behind these."""
        return self._replace(
            middles=np.concatenate([self.middles, other.middles], axis=1),
            squares=np.concatenate([self.squares, other.squares], axis=2),
            right=np.concatenate([self.right, other.right], axis=2),
        )

    def fits(self, tried: Tried, misfit: float) -> list[_Fits]:
        """Fit every course to each figure."""
        return [self._fits(index, tried, misfit) for index in range(self.values.shape[0])]

    def _fits(self, index: int, tried: Tried, misfit: float) -> _Fits:
        values = self.values[index]
        count, range_k = values.size, float(np.ptp(values))
        resolution_k, size_k = math.hypot(_RESOLUTION_K, misfit * range_k), math.hypot(_AMPLITUDE_K, range_k)
        second = np.where(tried.is_ramp, 1.0, (tried.spread * size_k) ** -2)
        sure = np.stack([np.full_like(second, size_k**-2), second])  # the amplitudes have a prior of their own size
        of_noise = count * resolution_k**2
        slack = np.broadcast_to(_SLACK * self.weight, (2, *self.squares.shape[1:]))
        least = self._solved(index, slack, tried.lean, of_noise).left.min(axis=1) / count
        solved = self._solved(index, least[:, np.newaxis] * sure[:, np.newaxis], tried.lean, of_noise)
        variance = solved.left / (count - 3)
        evidence = -(count - 1) * np.log(solved.left) - solved.log_determinants - self.logarithm[:, np.newaxis]
        by_memory = (
            np.broadcast_to(self.levels[:, index, np.newaxis], variance.shape),
            variance / self.weight,
            variance,
            self.middles,
            solved.pivots,
            solved.lower,
            solved.solved,
            evidence / 2 + tried.prior,
        )
        return _Fits(*(part.reshape(-1, *part.shape[2:]) for part in by_memory))

    def _solved(self, index: int, ties: Array, lean: Array, least_left: float) -> "_Solved":
        """Solve them for a figure, the amplitudes tied to zero by so much."""
        first, both, second = self.squares
        leaning = both + ties[1] * lean
        d1 = first + ties[0] + ties[1] * lean**2
        lower = leaning / d1
        d2 = second + ties[1] - lower * leaning
        pivots = np.stack([d1, d2], axis=-1)
        solved = _forward(lower, self.right[index])
        left = np.maximum(self.left[:, index, np.newaxis] - (solved**2 / pivots).sum(axis=-1), 0.0) + least_left
        return _Solved(pivots, lower, solved, left, np.log(d1 / ties[0] * (d2 / ties[1])))


class _Solved(NamedTuple):
    """Factors and what they leave over; the determinant's logarithm beside that of the ties."""

    pivots: Array
    lower: Array
    solved: Array
    left: Array
    log_determinants: Array


def _forward(lower: Array, right: Array) -> Array:
    """Take the lower factor, of which this stands below its diagonal of ones, off a right side."""
    return np.stack([right[..., 0], right[..., 1] - lower * right[..., 0]], axis=-1)


def _weigh_each(fits: list[_Fits], tried: Tried) -> list[_Fits]:
    """Weigh what came out of one figure, or of each of two by the other one, too."""
    if len(fits) == 1:
        return fits
    one, other = fits
    return [_weighed(one, other, tried), _weighed(other, one, tried)]


def _weighed(first: _Fits, other: _Fits, tried: Tried) -> _Fits:
    """Weigh what came out of the first figure by the other one, too, as far as both go by the same constants.

    Else the other one goes by its own, or hardly moves at all.
    """
    alone = np.exp(first.evidence - first.evidence.max()).reshape(-1, tried.kinds.size)
    alone /= alone.sum()
    its = _whatever_its_noise(other, tried)
    together = alone * its
    apart = (1 - _AT_REST) * its @ np.exp(tried.prior) + _AT_REST * its[tried.is_rest].sum()
    by_both = together.sum()
    shared = _SHARED * by_both / (_SHARED * by_both + (1 - _SHARED) * apart)
    weights = (1 - shared) * alone + (shared / by_both * together if by_both else 0.0)
    return first._replace(evidence=np.log(np.maximum(weights, _NIL)).ravel())


def _whatever_its_noise(fits: _Fits, tried: Tried) -> Array:
    """Give how likely the readings are for each course, beside the likeliest."""
    by_memory = fits.evidence.reshape(-1, tried.kinds.size) - tried.prior
    likely: Array = np.exp(by_memory - by_memory.max()).mean(axis=0)
    return likely


def _likely(fits: _Fits) -> Index:
    return np.flatnonzero(fits.evidence > fits.evidence.max() + math.log(_LEAST_WEIGHT))


def _put_together(fits: _Fits, tried: Tried, memories_s: Array, stretches: _Stretches, row: int) -> Course:
    rows = _likely(fits)
    likely, which = fits.only(rows), rows % tried.kinds.size
    weights = np.exp(likely.evidence - likely.evidence.max())
    weights /= weights.sum()
    is_ramp, slow_s = tried.is_ramp[which], tried.slow_s[which]
    drifts = _drifts(likely, is_ramp)
    lasting = weights * np.maximum(1.0 - drifts, _LEAST_LASTING)
    lasting /= lasting.sum()
    level = stretches.values[row, -1]
    courses, at = tried.courses(np.array([stretches.last_s]))
    parts_now = courses[at[which], 0]
    parts_then = np.stack([np.zeros(which.size), np.where(is_ramp, parts_now[:, 1], 0.0)], axis=-1)
    now = _together(likely, parts_now, weights, level)
    final = _together(likely, parts_then, lasting, level)
    doubt = math.hypot(final.standard_uncertainty, _MODEL_SHARE * (final.value - now.value), _MODEL_K)
    residuals, surprises = _about_the_likeliest(fits, tried, memories_s, stretches, row)
    return Course(
        now=now,
        final=Estimate(final.value, doubt),
        drifting=float(weights @ drifts),
        slow_constants_s=slow_s,
        slow_amplitudes=likely.amplitudes()[:, 0] * np.exp(tried.dead_s[which] / slow_s),
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
    drifts: Array = beyond.mean(axis=-1) * is_ramp
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


def _about_the_likeliest(
    fits: _Fits, tried: Tried, memories_s: Array, stretches: _Stretches, row: int
) -> tuple[Array, Array]:
    index = int(np.argmax(fits.evidence))
    best, its = fits.only(np.array([index])), np.array([index % tried.kinds.size])
    rows, at = tried.only(its).courses(stretches.pieces_s)
    course = best.level + (stretches.mean(rows)[at[0]].T - best.middles[0]) @ best.amplitudes()[0]
    residuals = stretches.values[row] - stretches.values[row, -1] - course
    fresh = _whiten(residuals, _kept(np.diff(stretches.times_s), memories_s[index // tried.kinds.size]))
    typical = np.median(np.abs(fresh)) / 0.6745 + _RESOLUTION_K
    return residuals, fresh / typical


def _kept(intervals_s: Array, memory_s: float) -> Array:
    """Tell how much of its noise each stretch has from the one before."""
    return np.exp(-intervals_s / memory_s) if memory_s else np.zeros_like(intervals_s)


def _whiten(series: Array, kept: Array) -> Array:
    """Turn correlated noise into independent noise of the same size, along the last axis."""
    scale = 1 / np.sqrt(1 - kept**2)
    white = np.empty((*np.broadcast_shapes(series.shape[:-1], kept.shape[:-1]), series.shape[-1]))
    white[..., 0] = series[..., 0]
    white[..., 1:] = series[..., 1:] * scale - series[..., :-1] * (kept * scale)
    return white
