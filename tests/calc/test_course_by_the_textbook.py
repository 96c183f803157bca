"""The forecast done the long way: dense matrices, one combination of constants at a time, no whitening.

Every combination is a linear regression with explicit basis functions (Rasmussen and Williams, Gaussian Processes for
Machine Learning, 2006, section 2.7), whose noise is an Ornstein-Uhlenbeck process (the same, section 4.2.1): nothing is
known of the level or of the noise's size, each other part has a normal prior. What is then known of a value is
Student's t of n - 1 degrees of freedom, whose variance is the residual sum of squares over n - 3. Formulas from memory.
What the forecast tries, and how likely it holds it beforehand, are choices of this project: no source.
"""

import math
from collections.abc import Callable
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
import pytest

from calc.course import (
    _NORMAL_DEVIATES,
    _Equations,
    _Fits,
    _kept,
    _likely,
    _put_together,
    _Stretches,
    _weighed,
    _worth_it,
    fit,
    fit_both,
)
from calc.tried_courses import Tried, at_first

Array = np.ndarray

SLOW_S = (60.0, 200.0)
QUICK_S = (6.0, 15.0, 40.0)
DEAD_S = (9.0, 20.0)
RATIOS = (0.7, 1.6)
SPAN_S = 130.0
MEMORIES_S = (0.0, 3.0, 8.0, 20.0)  # of the noise, in 130 s
LEAST_NOISE_K = 0.005  # as a pipe thermometer's last digit, halved
RAMP_K_PER_S = 0.2 * 5 / 9 / 60  # one standard deviation beforehand, 0.2 °F per minute: this project's, no source
RAMP = "ramp"


class Tryout(NamedTuple):
    """One combination: its parts as functions of the time, which of them is a ramp, its constants and its prior.

    constants: slow, quick, dead time and ratio. widths: what each stands for, of its logarithm.
    lean: how large its second part is expected to be, the other way, for each of its first; None where nothing is.
    """

    parts: tuple[Callable[[Array], Array], ...]
    ramp: bool
    kind: int
    constants: tuple[float, float, float, float]
    widths: tuple[float, float, float, float]
    prior: float
    lean: float | None = None

    @property
    def slow_s(self) -> float:
        return math.inf if math.isnan(self.constants[0]) else self.constants[0]

    @property
    def dead_s(self) -> float:
        return self.constants[2]


class Long(NamedTuple):
    """One combination, the long way: its log evidence, its end, the last reading, its ramp."""

    evidence: float
    end: tuple[float, float]
    now: tuple[float, float]
    slope_k_per_s: tuple[float, float]
    coefficients: Array
    residuals: Array


def readings(seed: int, size: float = 1.0) -> tuple[Array, Array]:
    """Two lags and noise, the quick one of this size; some stretches hold two readings, some none."""
    generator = np.random.default_rng(seed)
    times_s = np.unique(np.concatenate([[0.0, SPAN_S], np.cumsum(generator.uniform(0.3, 2.6, 82))]))
    times_s = times_s[times_s <= SPAN_S]
    course = 5.0 + 6.0 * np.exp(-times_s / 90.0) - 3.0 * size * np.exp(-times_s / 15.0)
    return times_s, course + generator.normal(0.0, 0.1, times_s.size)


def averaged(times_s: Array, course: Callable[[Array], Array]) -> Array:
    """Average over each 120th of the time; within it the course is taken in the middle of each half's readings."""
    half = np.floor(times_s / (times_s[-1] / 240))
    pieces = [times_s[half == each] for each in np.unique(half)]
    middles_s = np.array([piece.mean() for piece in pieces])
    counts, stretch = np.array([piece.size for piece in pieces]), np.unique(half) // 2
    at = course(middles_s)
    return np.array([np.average(at[stretch == each], weights=counts[stretch == each]) for each in np.unique(stretch)])


def mean_of_each(times_s: Array, values: Array) -> Array:
    """Average readings over each 120th of the time."""
    stretch = np.floor(times_s / (times_s[-1] / 240)) // 2
    return np.array([values[stretch == each].mean() for each in np.unique(stretch)])


def lag(slow_s: float, dead_s: float = 0.0) -> Callable[[Array], Array]:
    return lambda t: np.exp(-np.maximum(t - dead_s, 0.0) / slow_s)


def ramp(t: Array) -> Array:
    return RAMP_K_PER_S * t


def ringing(slow_s: float, ratio: float) -> tuple[Callable[[Array], Array], Callable[[Array], Array]]:
    """Answer a step as a mass on a spring does, which begins at rest; and what a push at the beginning adds."""

    def sine(t: Array) -> Array:
        return np.exp(-t / slow_s) * np.sin(ratio * t / slow_s)

    return lambda t: np.exp(-t / slow_s) * np.cos(ratio * t / slow_s) + sine(t) / ratio, sine


def combinations() -> list[Tryout]:
    """Give every one, its prior by the share of each kind and what its constants stand for on their axes."""
    no = math.nan
    slow_width, quick_width = math.log(SLOW_S[1] / SLOW_S[0]), math.log(QUICK_S[-1] / QUICK_S[0]) / len(QUICK_S)
    dead_width, ratio_width = (math.log(each[-1] / each[0]) / len(each) for each in (DEAD_S, RATIOS))
    slow, metal_or_valve, rings = (
        {s: slow_width * sum(share * NormalDist(math.log(m), d).pdf(math.log(s)) for share, m, d in of) for s in SLOW_S}
        for of in (((1.0, 180.0, 0.6),), ((0.6, 180.0, 0.6), (0.4, 45.0, 0.7)), ((1.0, 80.0, 0.7),))
    )
    quick, dead = quick_width / math.log(48.0 / 4.0), dead_width / math.log(40.0 / 6.0)
    ratio = ratio_width / math.log(2.2 / 0.4)
    pairs = [(slow_s, quick_s) for slow_s in SLOW_S for quick_s in QUICK_S if slow_s >= 2 * quick_s]
    none, of_slow = (no, no, no, no), (slow_width, 0.0, 0.0, 0.0)
    of_both, of_late = (slow_width, quick_width, 0.0, 0.0), (slow_width, quick_width, dead_width, 0.0)
    return [
        Tryout((), False, 0, none, (0.0, 0.0, 0.0, 0.0), 0.05),
        *(Tryout((lag(s),), False, 1, (s, no, no, no), of_slow, 0.30 * metal_or_valve[s]) for s in SLOW_S),
        *(Tryout((lag(s), lag(q)), False, 2, (s, q, no, no), of_both, 0.28 * slow[s] * quick) for s, q in pairs),
        Tryout((ramp,), True, 3, none, (0.0, 0.0, 0.0, 0.0), 0.12),
        *(Tryout((lag(s), ramp), True, 4, (s, no, no, no), of_slow, 0.02 * slow[s]) for s in SLOW_S),
        *(
            # two lags in a row set off from rest: s exp(-t / s) - q exp(-t / q), over their difference
            Tryout((lag(s, d), lag(q, d)), False, 5, (s, q, d, no), of_late, 0.16 * slow[s] * quick * dead, q / s)
            for s, q in pairs
            for d in DEAD_S
        ),
        *(
            Tryout(
                ringing(s, r),
                False,
                6,
                (s, no, no, r),
                (slow_width, 0.0, 0.0, ratio_width),
                0.07 * rings[s] * ratio,
                0.0,
            )
            for s in SLOW_S
            for r in RATIOS
        ),
    ]


@cache
def the_long_way(seed: int, size: float = 1.0) -> list[list[Long]]:
    """For each memory, every combination."""
    return every_memory(*readings(seed, size))


def every_memory(times_s: Array, values: Array) -> list[list[Long]]:
    stretch_s, y = averaged(times_s, lambda t: t), mean_of_each(times_s, values)
    return [_of_one_memory(times_s, stretch_s, y, memory_s) for memory_s in MEMORIES_S]


def _of_one_memory(times_s: Array, stretch_s: Array, y: Array, memory_s: float) -> list[Long]:
    apart_s = np.abs(stretch_s[:, np.newaxis] - stretch_s)
    covariance = np.exp(-apart_s / memory_s) if memory_s else np.eye(y.size)
    inverse, every = np.linalg.inv(covariance), combinations()
    designs = [np.array([np.ones(y.size), *(averaged(times_s, part) for part in one.parts)]).T for one in every]
    floor = y.size * LEAST_NOISE_K**2
    untied = min(_left(design, inverse, y) for design in designs) + floor
    found = []
    for design, one in zip(designs, every, strict=True):
        parts = len(one.parts)
        # each part's size: 4 K and the range that was seen; of a ramp, its own; a fifth of it about what is expected
        sizes_k = [1.0 if part is ramp else math.hypot(4.0, np.ptp(y)) for part in one.parts]
        if one.lean is not None:
            sizes_k[1] *= 0.2
        ties = untied / y.size / np.square(sizes_k)
        away = np.eye(parts)
        if one.lean is not None:
            away[1, 0] = one.lean
        precision = design.T @ inverse @ design
        precision[1:, 1:] += away.T @ np.diag(ties) @ away
        coefficients = np.linalg.solve(precision, design.T @ inverse @ y)
        left = y @ inverse @ y - coefficients @ precision @ coefficients + floor
        evidence = -(y.size - 1) * math.log(left) - np.linalg.slogdet(precision)[1] + np.log(ties).sum()
        evidence -= np.linalg.slogdet(covariance)[1]
        spread = left / (y.size - 3) * np.linalg.inv(precision)
        last = np.array([1.0, *(part(times_s[-1:])[0] for part in one.parts)])
        end = np.array([1.0] + parts * [0.0])
        if one.ramp:
            end[-1] = last[-1]  # a ramp stays where it is
        said = [(float(at @ coefficients), float(at @ spread @ at)) for at in (end, last)]
        slope = (coefficients[-1] * RAMP_K_PER_S, math.sqrt(spread[-1, -1]) * RAMP_K_PER_S) if one.ramp else (0.0, 0.0)
        prior = math.log(one.prior)
        found.append(Long(evidence / 2 + prior, said[0], said[1], slope, coefficients, y - design @ coefficients))
    return found


def _left(design: Array, inverse: Array, y: Array) -> float:
    """Give the residual sum of squares of plain generalised least squares."""
    root = np.linalg.cholesky(inverse).T
    best = np.linalg.lstsq(root @ design, root @ y, rcond=None)[0]
    return float(np.sum((root @ (y - design @ best)) ** 2))


def the_short_way(times_s: Array, values: Array) -> tuple[_Fits, Tried, _Stretches]:
    stretches, every = _Stretches.of(times_s, values), combinations()
    tried = Tried.of(
        np.array([one.kind for one in every]),
        np.log([one.constants for one in every]),
        np.array([one.widths for one in every]),
    )
    return _fits_of(stretches, tried)[0], tried, stretches


def _fits_of(stretches: _Stretches, tried: Tried) -> list[_Fits]:
    return _Equations.of(stretches, tried, np.array(MEMORIES_S)).fits(tried, 0.0)


@pytest.mark.parametrize("seed", [3, 4])
def test_each_combination_is_as_likely_and_says_what_it_says_the_long_way(seed: int) -> None:
    times_s, values = readings(seed)
    fits, tried, stretches = the_short_way(times_s, values)
    long = [each for of_memory in the_long_way(seed) for each in of_memory]
    assert fits.evidence - fits.evidence[0] == pytest.approx(
        [each.evidence - long[0].evidence for each in long], rel=1e-5, abs=1e-5
    )
    level, (rows, at) = stretches.values[0, -1], tried.courses(times_s[-1:])
    at_last = np.tile(rows[at, 0], (len(MEMORIES_S), 1))
    stays = np.tile(tried.is_ramp, len(MEMORIES_S))[:, np.newaxis] & [False, True]
    end, end_variance = fits.values(np.where(stays, at_last, 0.0))
    now, now_variance = fits.values(at_last)
    assert level + end == pytest.approx([each.end[0] for each in long], abs=1e-4)
    assert end_variance == pytest.approx([each.end[1] for each in long], rel=1e-5)
    assert level + now == pytest.approx([each.now[0] for each in long], abs=1e-4)
    assert now_variance == pytest.approx([each.now[1] for each in long], rel=1e-5)


def test_of_readings_all_alike_each_stretch_is_known_to_five_millikelvin() -> None:
    times_s = np.arange(0.0, SPAN_S + 1.0)
    fits, _, stretches = the_short_way(times_s, np.full(times_s.size, 6.0))
    n = stretches.values.shape[1]
    assert fits.level_variance[0] == pytest.approx(0.005**2 * n / (n - 3) / n)  # of a mean of n, in Student's t


OTHER = -0.8


def both_the_long_way(seed: int, other_seed: int) -> Array:
    """Weigh by two figures: by the rule of total probability over whether they share their constants or do not.

    Beforehand in four of five they do; if not, the other one is as likely to be at rest as to go by its own.
    """
    alone = np.array([[each.evidence for each in found] for found in the_long_way(seed)])
    of_other = np.array([[each.evidence for each in found] for found in the_long_way(other_seed, OTHER)])
    top, its_top = alone.max(), of_other.max()
    prior = np.array([one.prior for one in combinations()])
    alone, its = np.exp(alone - top), np.exp(of_other - its_top).mean(axis=0) / prior
    apart = 0.5 * its @ prior + 0.5 * its[0]
    shared = 0.8 * (alone @ its).sum() / alone.sum()
    shared /= shared + 0.2 * apart
    weights = (1 - shared) * alone / alone.sum() + shared * alone * its / (alone * its).sum()
    flat: Array = weights.ravel()
    return flat


@pytest.mark.parametrize(("seed", "other_seed"), [(3, 4), (5, 6)])
def test_two_figures_weigh_what_they_share(seed: int, other_seed: int) -> None:
    fits, tried, _ = the_short_way(*readings(seed))
    its_fits, *_ = the_short_way(*readings(other_seed, OTHER))
    weighed = _weighed(fits, its_fits, tried).evidence
    assert np.exp(weighed) == pytest.approx(both_the_long_way(seed, other_seed), rel=1e-3, abs=1e-8)


def test_a_figure_at_rest_beside_one_that_moves_tells_nothing_of_it() -> None:
    times_s, values = readings(3)
    flat = np.random.default_rng(9).normal(0.0, 0.05, times_s.size)
    alone, beside = fit(times_s, values), fit(times_s, values, (times_s, flat))
    assert beside.final.value == pytest.approx(alone.final.value, abs=0.1 * alone.final.standard_uncertainty)
    assert beside.final.standard_uncertainty == pytest.approx(alone.final.standard_uncertainty, rel=0.1)


def mixture(likely: list[tuple[float, tuple[float, float]]]) -> tuple[float, float]:
    """Give the middle of weighted normal distributions, and half their 90 % interval over that of one deviation."""
    total = sum(weight for weight, _ in likely)
    normals = [(weight / total, NormalDist(mean, math.sqrt(variance))) for weight, (mean, variance) in likely]

    def quantile(share: float) -> float:
        low, high = -1e3, 1e3
        while high - low > 1e-9:
            middle = (low + high) / 2
            below = sum(weight * normal.cdf(middle) for weight, normal in normals)
            low, high = (middle, high) if below < share else (low, middle)
        return low

    return quantile(0.5), (quantile(0.95) - quantile(0.05)) / 2 / NormalDist().inv_cdf(0.95)


def rising(f_per_min: float, seed: int) -> tuple[Array, Array]:
    """A figure that rises, so slowly beside its noise that it may be a ramp, or end soon."""
    times_s = np.arange(0.0, SPAN_S + 1.0)
    noise_k = np.random.default_rng(seed).normal(0.0, 0.1, times_s.size)
    return times_s, 6.0 + f_per_min * 5 / 9 / 60 * times_s + noise_k


@pytest.mark.parametrize(
    ("read", "drifting"),
    [(readings(4), 0.0), (rising(0.5, 2), 0.36), (rising(0.1, 3), 0.7)],
    ids=["ends", "may drift", "drifts most likely"],
)
def test_the_forecast_is_what_all_of_them_say_together(read: tuple[Array, Array], drifting: float) -> None:
    """Ten values stand for each normal distribution: a few per cent, and more of a ramp that one of them ends.

    What may drift weighs in what is read now as it is likely, in the end and in what has an end by so much less.
    """
    times_s, values = read
    rough = 0.03 + 0.08 * drifting
    fits, tried, stretches = the_short_way(times_s, values)
    long = [each for of_memory in every_memory(*read) for each in of_memory]
    top = max(each.evidence for each in long)
    likely = [each for each in long if each.evidence > top + math.log(1e-5)]
    weights = np.exp([each.evidence - top for each in likely])
    course = _put_together(fits, tried, np.array(MEMORIES_S), stretches, 0)
    drifts = np.array([beyond(*each.slope_k_per_s) for each in likely])
    assert course.drifting == pytest.approx(weights @ drifts / weights.sum(), abs=0.01)
    assert course.drifting == pytest.approx(drifting, abs=0.05)
    lasting = weights * (1.0 - drifts)
    assert course.weights == pytest.approx(lasting / lasting.sum(), rel=0.05, abs=1e-4 + 0.01 * drifting)
    middle, deviation = mixture(list(zip(lasting, [each.end for each in likely], strict=True)))
    assert course.final.value == pytest.approx(middle, abs=0.03)
    to_come_k = middle - course.now.value
    assert course.final.standard_uncertainty == pytest.approx(math.hypot(deviation, 0.1 * to_come_k, 0.05), rel=rough)
    middle, deviation = mixture(list(zip(weights, [each.now for each in likely], strict=True)))
    assert course.now.value == pytest.approx(middle, abs=0.01)
    assert course.now.standard_uncertainty == pytest.approx(deviation, rel=0.06)
    counted = [index for index, each in enumerate(long) if each.evidence > top + math.log(1e-5)]
    tryouts = [(combinations() * len(MEMORIES_S))[index] for index in counted]
    assert course.slow_constants_s == pytest.approx([one.slow_s for one in tryouts])
    at_first = [math.exp((0.0 if math.isnan(one.dead_s) else one.dead_s) / one.slow_s) for one in tryouts]
    slow_k = [
        0.0 if one.parts[:1] in ((), (ramp,)) else long[index].coefficients[1]
        for one, index in zip(tryouts, counted, strict=True)
    ]
    assert course.slow_amplitudes == pytest.approx(np.multiply(slow_k, at_first), rel=1e-4, abs=1e-6)


def beyond(slope_k_per_s: float, deviation_k_per_s: float) -> float:
    """Tell how likely a ramp is more than 0.1 °F per minute, the limit of the plain rule."""
    if not deviation_k_per_s:
        return 0.0
    limit, slope = 0.1 * 5 / 9 / 60, NormalDist(slope_k_per_s, deviation_k_per_s)
    return slope.cdf(-limit) + 1 - slope.cdf(limit)


def test_what_is_left_over_is_about_the_likeliest_and_sized_by_its_median() -> None:
    """Of normal noise the median of the sizes is 0.6745 deviations: the upper quartile of the distribution."""
    seed = 3
    times_s, values = readings(seed)
    of_memory = the_long_way(seed)
    fits, tried, stretches = the_short_way(times_s, values)
    course = _put_together(fits, tried, np.array(MEMORIES_S), stretches, 0)
    memory, best = max(
        ((memory, each) for memory, found in enumerate(of_memory) for each in found), key=lambda one: one[1].evidence
    )
    assert course.residuals == pytest.approx(best.residuals, abs=1e-5)
    fresh, stretch_s = best.residuals.copy(), averaged(times_s, lambda t: t)
    for index in range(1, fresh.size):
        kept = math.exp(-(stretch_s[index] - stretch_s[index - 1]) / MEMORIES_S[memory]) if memory else 0.0
        fresh[index] = (best.residuals[index] - kept * best.residuals[index - 1]) / math.sqrt(1 - kept**2)
    typical_k = np.median(np.abs(fresh)) / NormalDist().inv_cdf(0.75) + LEAST_NOISE_K
    assert course.surprises == pytest.approx(fresh / typical_k, rel=1e-3, abs=1e-4)


def test_ten_values_of_a_normal_distribution_are_the_middles_of_its_tenths() -> None:
    assert pytest.approx([NormalDist().inv_cdf(share / 20) for share in range(1, 20, 2)], abs=5e-5) == _NORMAL_DEVIATES


def test_what_is_expected_of_each_kind_of_course() -> None:
    """This project's, no source: each is to stand for so much, however finely its constants are divided."""
    tried = at_first()
    share = np.exp(tried.prior)
    assert share[tried.kinds == 0].sum() == pytest.approx(0.05)
    assert share[tried.kinds == 1].sum() == pytest.approx(0.30, rel=0.03)  # a fiftieth would be quicker than is tried
    # of a slow constant and a quick one that are too near each other there is none
    assert share[tried.kinds == 2].sum() == pytest.approx(0.28, rel=0.1)
    assert share[tried.kinds == 3].sum() == pytest.approx(0.12)
    assert share[tried.kinds == 4].sum() == pytest.approx(0.02, rel=0.02)
    assert share[tried.kinds == 5].sum() == pytest.approx(0.16, rel=0.1)
    assert share[tried.kinds == 6].sum() == pytest.approx(0.07, rel=0.02)
    assert list(np.flatnonzero(tried.is_rest)) == [0]


def cells(kind: int, constants: Array, widths: tuple[float, float, float, float]) -> Tried:
    count = constants.shape[0]
    return Tried.of(np.full(count, kind), np.log(constants), np.tile(widths, (count, 1)))


def test_a_quick_lag_is_at_most_half_as_long_as_the_slow_one() -> None:
    for slow_s, kept in ((11.9, 0), (12.0, 1), (29.9, 1), (30.0, 2), (79.9, 2), (80.0, 3)):
        constants = np.array([[slow_s, quick_s, math.nan, math.nan] for quick_s in QUICK_S])
        assert cells(2, constants, (0.3, 0.3, 0.0, 0.0)).kinds.size == kept


@pytest.mark.parametrize(
    ("elapsed_s", "memory_s"),
    [(11.9, 0.0), (12.0, 3.0), (31.9, 3.0), (32.0, 8.0), (79.9, 8.0), (80.0, 20.0), (199.9, 20.0), (200.0, 50.0)],
)
def test_noise_is_not_held_to_remember_more_than_a_quarter_of_the_time(
    elapsed_s: float, memory_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[float] = []

    def watch(intervals_s: Array, memory_s: float) -> Array:
        looked.append(memory_s)
        return _kept(intervals_s, memory_s)

    monkeypatch.setattr("calc.course._kept", watch)
    fit(np.linspace(0.0, elapsed_s, 100), np.full(100, 6.0))
    assert max(looked) == memory_s


def test_readings_all_alike_are_at_rest() -> None:
    course = fit(np.arange(0.0, 301.0), np.full(301, 6.0))
    assert (course.now.value, course.final.value) == pytest.approx((6.0, 6.0), abs=1e-3)
    assert course.drifting < 0.01
    assert course.weights[np.isfinite(course.slow_constants_s)].sum() < 0.05


@pytest.mark.parametrize(
    ("kind", "constants", "widths", "halves"),
    [
        (1, (100.0, math.nan, math.nan, math.nan), (0.4, 0.0, 0.0, 0.0), (4, 1, 1, 1)),
        (2, (100.0, 10.0, math.nan, math.nan), (0.4, 0.5, 0.0, 0.0), (2, 2, 1, 1)),
        (2, (100.0, 10.0, math.nan, math.nan), (0.9, 0.4, 0.0, 0.0), (4, 1, 1, 1)),
        (5, (100.0, 10.0, 12.0, math.nan), (0.4, 0.3, 0.6, 0.0), (2, 1, 2, 1)),
        (6, (100.0, math.nan, math.nan, 0.9), (0.4, 0.0, 0.0, 0.5), (2, 1, 1, 2)),
    ],
)
def test_what_is_divided_stands_for_as_much_as_before(
    kind: int,
    constants: tuple[float, float, float, float],
    widths: tuple[float, float, float, float],
    halves: tuple[int, int, int, int],
) -> None:
    """In four, side by side: by the constant that stands for most, of which the slow one counts twice."""
    whole = cells(kind, np.array([constants]), widths)
    found = whole.quartered()
    assert found.kinds.tolist() == 4 * [kind]
    assert found.widths == pytest.approx(np.tile(np.divide(widths, halves), (4, 1)))
    for axis, count in enumerate(halves):
        beside = ((np.arange(count) + 0.5) / count - 0.5) * widths[axis]
        at = np.unique((found.logs[:, axis] - whole.logs[0, axis]).round(9))
        assert at == pytest.approx(beside if widths[axis] else [math.nan], nan_ok=True)
    assert np.exp(found.prior).sum() == pytest.approx(np.exp(whole.prior).sum(), rel=0.03)  # the prior is not flat


def test_what_has_no_constant_is_not_divided() -> None:
    assert not at_first().only(np.flatnonzero(np.isin(at_first().kinds, (0, 3)))).quartered().kinds.size


def test_what_is_likelier_than_a_hundredth_is_divided_and_what_is_never_likely_left_out() -> None:
    tried = at_first().only(np.array([0, 1, 2, 3, 4]))
    shares = np.array([0.05, 0.011, 0.009, 1.1e-5, 0.9e-5])
    kept, coarse = _worth_it(shares, tried)
    assert (list(kept), list(coarse)) == ([0, 2, 3], [1])  # the first is at rest


def fine() -> Tried:
    """Divide everything so finely that nothing has to be divided further: some thousand courses."""
    into = {
        1: (200, 0, 0, 0), 2: (120, 8, 0, 0), 4: (60, 0, 0, 0), 5: (60, 6, 4, 0), 6: (160, 0, 0, 40),
    }  # fmt: skip
    ends = np.log([(15.0, 1800.0), (4.0, 48.0), (6.0, 40.0), (0.4, 2.2)])
    every = at_first().only(np.flatnonzero(~at_first().widths.any(axis=1)))
    for kind, counts in into.items():
        widths = tuple((high - low) / count if count else 0.0 for (low, high), count in zip(ends, counts, strict=True))
        middles = [
            low + (np.arange(count) + 0.5) * width if count else np.array([math.nan])
            for (low, _), count, width in zip(ends, counts, widths, strict=True)
        ]
        logs = np.stack([axis.ravel() for axis in np.meshgrid(*middles, indexing="ij")], axis=1)
        every = every.joined(Tried.of(np.full(len(logs), kind), logs, np.tile(widths, (len(logs), 1))))
    return every


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("noise_k", [0.06, 0.15])
def test_what_is_divided_where_it_is_likely_says_what_a_fine_grid_says(seed: int, noise_k: float) -> None:
    """Of what rings beside another that does, which quiet readings pin down within some per cent."""
    generator, times_s = np.random.default_rng(seed), np.arange(0.0, 150.0)
    per_s, ratio = 1 / generator.uniform(50.0, 110.0), generator.uniform(0.5, 1.9)
    rings = np.exp(-per_s * times_s) * (np.cos(ratio * per_s * times_s) + np.sin(ratio * per_s * times_s) / ratio)
    one, other = (5.0 + size_k * rings + generator.normal(0.0, noise_k, times_s.size) for size_k in (6.0, -3.0))
    tried, stretches = fine(), _Stretches.of(times_s, one, other)
    fits = _fits_of(stretches, tried)
    for found, weighed, row in zip(
        fit_both(times_s, one, other), (_weighed(*fits, tried), _weighed(*fits[::-1], tried)), (0, 1), strict=True
    ):
        whole = _put_together(weighed, tried, np.array(MEMORIES_S), stretches, row).final
        assert found.final.value == pytest.approx(whole.value, abs=0.5 * whole.standard_uncertainty)
        assert found.final.standard_uncertainty == pytest.approx(whole.standard_uncertainty, rel=0.3)


def test_two_figures_are_forecast_at_once_as_each_beside_the_other() -> None:
    times_s, one = readings(3)
    other = 8.0 - one + np.random.default_rng(9).normal(0.0, 0.05, times_s.size)
    found, its = fit_both(times_s, one, other)
    assert found.final == fit(times_s, one, (times_s, other)).final
    assert its.final.value == pytest.approx(fit(times_s, other, (times_s, one)).final.value, abs=1e-6)


def test_a_figure_read_at_other_times_tells_as_much() -> None:
    """Half a second later: as if it had been read at the same times, but for the noise between."""
    times_s = np.arange(0.0, 181.0)
    generator, gone = np.random.default_rng(9), np.exp(-times_s / 150.0)
    one = 5.0 + 6.0 * gone + generator.normal(0.0, 0.3, times_s.size)
    later = 8.0 - 6.0 * np.exp(-(times_s[:-1] + 0.5) / 150.0) + generator.normal(0.0, 0.01, times_s.size - 1)
    alone, beside = fit(times_s, one).final, fit(times_s, one, (times_s[:-1] + 0.5, later)).final
    assert beside.standard_uncertainty < 0.8 * alone.standard_uncertainty
    assert beside.value == pytest.approx(5.0, abs=2 * beside.standard_uncertainty)


def test_what_is_a_hundred_thousand_times_less_likely_does_not_count() -> None:
    nothing = np.zeros(3)
    fits = _Fits(*(7 * [nothing]), evidence=np.log([0.9e-5, 1.0, 1.1e-5]))
    assert list(_likely(fits)) == [1, 2]


def test_from_200_s_on_readings_all_alike_may_be_one_whim_of_noise_that_remembers_50_s() -> None:
    """A second before, it may remember 20 s at most: the level is then known better."""
    before, after = (fit(np.arange(until_s), np.full(until_s, 6.0)).now for until_s in (200, 201))
    assert after.standard_uncertainty > 1.2 * before.standard_uncertainty
