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
    _at_first,
    _Fits,
    _likely,
    _narrow,
    _put_together,
    _shared,
    _solve_all,
    _Stretches,
    _weighed,
    fit,
)
from calc.tried_courses import Axes, Tried

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


def axes(*, quick: bool = False, dead: bool = False, ratio: bool = False) -> Axes:
    none = np.zeros(0)
    return Axes(
        np.array(SLOW_S),
        np.array(QUICK_S) if quick else none,
        np.array(DEAD_S) if dead else none,
        np.array(RATIOS) if ratio else none,
    )


AXES = {"lags": axes(quick=True), "late": axes(quick=True, dead=True), "ringing": axes(ratio=True)}


class Tryout(NamedTuple):
    """One combination: its parts as functions of the time, which of them is a ramp, its constants and its prior.

    lean: how large its second part is expected to be, the other way, for each of its first; None where nothing is.
    """

    parts: tuple[Callable[[Array], Array], ...]
    ramp: bool
    slow_s: float
    dead_s: float
    prior: float
    lean: float | None = None


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
    wide, none = NormalDist(math.log(180.0), 0.6), math.nan
    slow = {slow_s: wide.pdf(math.log(slow_s)) * math.log(SLOW_S[1] / SLOW_S[0]) for slow_s in SLOW_S}
    quick = math.log(QUICK_S[-1] / QUICK_S[0]) / math.log(48.0 / 4.0) / len(QUICK_S)
    dead = math.log(DEAD_S[-1] / DEAD_S[0]) / math.log(40.0 / 6.0) / len(DEAD_S)
    ratio = math.log(RATIOS[-1] / RATIOS[0]) / math.log(2.2 / 0.4) / len(RATIOS)
    pairs = [(slow_s, quick_s) for slow_s in SLOW_S for quick_s in QUICK_S if slow_s >= 2 * quick_s]
    return [
        Tryout((), False, math.inf, none, 0.05),
        *(Tryout((lag(s),), False, s, none, 0.30 * slow[s]) for s in SLOW_S),
        *(Tryout((lag(s), lag(q)), False, s, none, 0.28 * slow[s] * quick) for s, q in pairs),
        Tryout((ramp,), True, math.inf, none, 0.12),
        *(Tryout((lag(s), ramp), True, s, none, 0.02 * slow[s]) for s in SLOW_S),
        *(
            # two lags in a row set off from rest: s exp(-t / s) - q exp(-t / q), over their difference
            Tryout((lag(s, d), lag(q, d)), False, s, d, 0.16 * slow[s] * quick * dead, q / s)
            for s, q in pairs
            for d in DEAD_S
        ),
        *(Tryout(ringing(s, r), False, s, none, 0.07 * slow[s] * ratio, 0.0) for s in SLOW_S for r in RATIOS),
    ]


@cache
def the_long_way(seed: int, size: float = 1.0) -> list[list[Long]]:
    """For each memory, every combination."""
    times_s, values = readings(seed, size)
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
    stretches = _Stretches.of(times_s, values)
    tried = Tried.of(AXES, np.array(MEMORIES_S))
    return _solve_all(stretches, tried), tried, stretches


@pytest.mark.parametrize("seed", [3, 4])
def test_each_combination_is_as_likely_and_says_what_it_says_the_long_way(seed: int) -> None:
    times_s, values = readings(seed)
    fits, tried, stretches = the_short_way(times_s, values)
    long = [each for of_memory in the_long_way(seed) for each in of_memory]
    assert fits.evidence - fits.evidence[0] == pytest.approx(
        [each.evidence - long[0].evidence for each in long], rel=1e-5, abs=1e-5
    )
    level, rows = stretches.values[-1], np.tile(tried.rows, (len(MEMORIES_S), 1))
    at_last = tried.courses(times_s[-1:])[rows, 0] * np.tile(tried.present, (len(MEMORIES_S), 1))
    is_ramp = np.tile(tried.is_ramp, (len(MEMORIES_S), 1))
    end, end_variance = fits.values(np.where(is_ramp, at_last, 0.0))
    now, now_variance = fits.values(at_last)
    assert level + end == pytest.approx([each.end[0] for each in long], abs=1e-4)
    assert end_variance == pytest.approx([each.end[1] for each in long], rel=1e-5)
    assert level + now == pytest.approx([each.now[0] for each in long], abs=1e-4)
    assert now_variance == pytest.approx([each.now[1] for each in long], rel=1e-5)


def test_of_readings_all_alike_each_stretch_is_known_to_five_millikelvin() -> None:
    times_s = np.arange(0.0, SPAN_S + 1.0)
    fits, _, stretches = the_short_way(times_s, np.full(times_s.size, 6.0))
    n = stretches.values.size
    assert fits.level_variance[0] == pytest.approx(0.005**2 * n / (n - 3) / n)  # of a mean of n, in Student's t


OTHER = -0.8


def both_the_long_way(seed: int, other_seed: int) -> tuple[float, Array]:
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
    return shared, weights.ravel()


@pytest.mark.parametrize(("seed", "other_seed"), [(3, 4), (5, 6)])
def test_two_figures_weigh_what_they_share(seed: int, other_seed: int) -> None:
    fits, tried, _ = the_short_way(*readings(seed))
    its_fits, *_ = the_short_way(*readings(other_seed, OTHER))
    shared, weights = both_the_long_way(seed, other_seed)
    assert _shared(fits, [its_fits], tried) == pytest.approx(shared, rel=1e-4)
    weighed = _weighed(fits, [its_fits], tried, shared).evidence
    assert np.exp(weighed) == pytest.approx(weights, rel=1e-3, abs=1e-8)


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


def test_the_forecast_is_what_all_of_them_say_together() -> None:
    """Ten values stand for each normal distribution: a few per cent."""
    seed = 4
    times_s, values = readings(seed)
    fits, tried, stretches = the_short_way(times_s, values)
    long = [each for of_memory in the_long_way(seed) for each in of_memory]
    top = max(each.evidence for each in long)
    likely = [each for each in long if each.evidence > top + math.log(1e-5)]
    weights = np.exp([each.evidence - top for each in likely])
    course = _put_together(fits, tried, stretches)
    drifts = np.array([beyond(*each.slope_k_per_s) for each in likely])
    assert course.drifting == pytest.approx(weights @ drifts / weights.sum(), abs=0.01)
    lasting = weights * (1.0 - drifts)
    assert course.weights == pytest.approx(lasting / lasting.sum(), rel=0.05, abs=1e-4)
    middle, deviation = mixture(list(zip(lasting, [each.end for each in likely], strict=True)))
    assert course.final.value == pytest.approx(middle, abs=0.03)
    to_come_k = middle - course.now.value
    assert course.final.standard_uncertainty == pytest.approx(math.hypot(deviation, 0.1 * to_come_k, 0.05), rel=0.03)
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
    course = _put_together(*the_short_way(times_s, values))
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
    tried = _at_first(5)
    groups, parts, ramps = tried.groups, tried.present.sum(axis=1), tried.is_ramp.any(axis=1)
    share = np.exp(tried.prior)
    assert share[parts == 0].sum() == pytest.approx(0.05)
    assert share[(groups == "lags") & (parts == 1) & ~ramps].sum() == pytest.approx(0.30, rel=0.02)
    # of a slow constant and a quick one that are too near each other there is none
    assert share[(groups == "lags") & (parts == 2) & ~ramps].sum() == pytest.approx(0.28, rel=0.1)
    assert share[(parts == 1) & ramps].sum() == pytest.approx(0.12)
    assert share[(parts == 2) & ramps].sum() == pytest.approx(0.02, rel=0.02)
    assert share[groups == "late"].sum() == pytest.approx(0.16, rel=0.1)
    assert share[groups == "ringing"].sum() == pytest.approx(0.07, rel=0.02)


def test_a_quick_lag_is_at_most_half_as_long_as_the_slow_one() -> None:
    for slow_s, kept in ((11.9, 0), (12.0, 1), (29.9, 1), (30.0, 2), (79.9, 2), (80.0, 3)):
        of_group = axes(quick=True)._replace(slow_s=np.array([slow_s, 1000.0]))
        tried = Tried.of({"lags": of_group}, np.zeros(1))
        both = np.isfinite(tried.constants.quick_s)
        assert (tried.constants.slow_s[both] == slow_s).sum() == kept


@pytest.mark.parametrize(
    ("elapsed_s", "memory_s"),
    [(11.9, 0.0), (12.0, 3.0), (31.9, 3.0), (32.0, 8.0), (79.9, 8.0), (80.0, 20.0), (199.9, 20.0), (200.0, 50.0)],
)
def test_noise_is_not_held_to_remember_more_than_a_quarter_of_the_time(
    elapsed_s: float, memory_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[Array] = []

    def watch(stretches: _Stretches, tried: Tried, misfit: float = 0.0) -> _Fits:
        looked.append(tried.memories_s)
        return _solve_all(stretches, tried, misfit)

    monkeypatch.setattr("calc.course._solve_all", watch)
    fit(np.linspace(0.0, elapsed_s, 100), np.full(100, 6.0))
    first, second, third = looked
    assert second[-1] == third[-1] == memory_s
    assert list(first) == list(second[::2])  # at first every other
    assert list(second) == list(third)


def test_readings_all_alike_are_at_rest() -> None:
    course = fit(np.arange(0.0, 301.0), np.full(301, 6.0))
    assert (course.now.value, course.final.value) == pytest.approx((6.0, 6.0), abs=1e-3)
    assert course.drifting < 0.01
    assert course.weights[np.isfinite(course.slow_constants_s)].sum() < 0.05


def said(tried: Tried, evidence: Array) -> _Fits:
    nothing = np.zeros(evidence.size)
    return _Fits(*(7 * [nothing]), evidence=evidence)


@pytest.mark.parametrize(
    ("at", "low_s", "high_s"), [([1], 20.0, 80.0), ([1, 2], 20.0, 160.0), ([0], 15.0, 40.0), ([6], 640.0, 1800.0)]
)
def test_the_second_look_is_a_step_around_what_was_likely_in_the_first(
    at: list[int], low_s: float, high_s: float
) -> None:
    """A grid of steps of two; never beyond 15 s and half an hour. What is not likely of a whole group is left out."""
    slow_s = 20.0 * 2.0 ** np.arange(7)
    wide = Tried.of({"lags": axes(quick=True)._replace(slow_s=slow_s), "ringing": axes(ratio=True)}, np.zeros(1))
    alone = np.isnan(wide.constants.quick_s) & np.isin(wide.constants.slow_s, slow_s[at]) & (wide.groups == "lags")
    found = _narrow(said(wide, np.where(alone, 0.0, -100.0)), wide, np.array([0.0, 3.0]))
    assert list(found.axes) == ["lags"]
    assert list(found.memories_s) == [0.0, 3.0]
    close_s = found.axes["lags"].slow_s
    assert (close_s[0], close_s[-1], close_s.size) == pytest.approx((low_s, high_s, 26))
    assert np.log(close_s[1:] / close_s[:-1]) == pytest.approx(np.full(25, math.log(high_s / low_s) / 25))


def test_in_company_each_group_is_divided_less_finely() -> None:
    """The work is bounded: twenty slow constants of lags, twelve decays; alone, twenty-six and twenty-two."""
    wide = Tried.of({"lags": axes(quick=True), "ringing": axes(ratio=True)}, np.zeros(1))
    found = _narrow(said(wide, np.zeros(wide.prior.size)), wide, np.zeros(1))
    assert [axis.slow_s.size for axis in found.axes.values()] == [20, 12]
    alone = _narrow(said(wide, np.where(wide.groups == "ringing", 0.0, -100.0)), wide, np.zeros(1))
    assert [(axis.slow_s.size, axis.ratio.size) for axis in alone.axes.values()] == [(22, 8)]


def test_what_is_a_hundred_thousand_times_less_likely_does_not_count() -> None:
    tried = Tried.of(AXES, np.zeros(1))
    evidence = np.log([0.9e-5, 1.0, 1.1e-5])
    assert list(_likely(said(tried, evidence))) == [1, 2]


def test_from_200_s_on_readings_all_alike_may_be_one_whim_of_noise_that_remembers_50_s() -> None:
    """A second before, it may remember 20 s at most: the level is then known better."""
    before, after = (fit(np.arange(until_s), np.full(until_s, 6.0)).now for until_s in (200, 201))
    assert after.standard_uncertainty > 1.2 * before.standard_uncertainty


def test_the_first_look_too_reckons_with_noise_that_remembers_50_s() -> None:
    """A tenth of what was to come by a lag of 60 s, it may hide one below 20 s; of shorter memory, it could not."""
    elapsed_s, kept = np.arange(0.0, 201.0), math.exp(-1.0 / 50.0)
    generator = np.random.default_rng(7)
    noise = [generator.normal(0.0, 0.3)]
    for fresh in generator.normal(0.0, 0.3 * math.sqrt(1 - kept**2), 200):
        noise.append(kept * noise[-1] + fresh)
    course = fit(elapsed_s, 5.0 + 3.0 * np.exp(-elapsed_s / 60.0) + np.array(noise))
    assert course.slow_constants_s.min() < 20.0
