"""The forecast done the long way: dense matrices, one combination of constants at a time, no whitening.

Every combination is a linear regression with explicit basis functions (Rasmussen and Williams, Gaussian Processes for
Machine Learning, 2006, section 2.7), whose noise is an Ornstein-Uhlenbeck process (the same, section 4.2.1): nothing is
known of the level or of the noise's size, each other part has a normal prior. What is then known of a value is
Student's t of n - 1 degrees of freedom, whose variance is the residual sum of squares over n - 3. Formulas from memory.
What the forecast tries, and how likely it holds it beforehand, are choices of this project: no source.
"""

import math
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
import pytest

from calc.course import _NORMAL_DEVIATES, _Fits, _Grid, _likely, _narrow, _put_together, _solve_all, _Stretches, fit

Array = np.ndarray

SLOW_S = (60.0, 200.0)
QUICK_S = (6.0, 12.0, 22.0, 40.0)
SPAN_S = 130.0
MEMORIES_S = (0.0, 3.0, 8.0, 20.0)  # of the noise, in 130 s
LEAST_NOISE_K = 0.005  # as a pipe thermometer's last digit, halved


class Long(NamedTuple):
    """One combination, the long way: its log evidence, what it says the end is, and what the last reading was."""

    evidence: float
    end: tuple[float, float]
    now: tuple[float, float]
    coefficients: Array
    residuals: Array


def readings(seed: int) -> tuple[Array, Array]:
    """Two lags and noise; some stretches hold two readings, some none."""
    generator = np.random.default_rng(seed)
    times_s = np.unique(np.concatenate([[0.0, SPAN_S], np.cumsum(generator.uniform(0.3, 2.6, 82))]))
    times_s = times_s[times_s <= SPAN_S]
    course = 5.0 + 6.0 * np.exp(-times_s / 90.0) - 3.0 * np.exp(-times_s / 15.0)
    return times_s, course + generator.normal(0.0, 0.1, times_s.size)


def averaged(times_s: Array, series: Array) -> Array:
    """Average over each 120th of the time, the last reading by itself."""
    stretch = np.floor(times_s / (times_s[-1] / 120))
    return np.array([series[stretch == each].mean() for each in np.unique(stretch)])


def combinations() -> list[tuple[float, tuple[float, ...], float]]:
    """Give slow constant, quick constants (none, once, twice), and prior probability but for a factor."""
    found: list[tuple[float, tuple[float, ...], float]] = []
    for slow_s in SLOW_S:
        wide = NormalDist(math.log(190.0), 0.8)
        prior = wide.pdf(math.log(slow_s)) / wide.pdf(math.log(190.0))
        found.append((slow_s, (), 0.5 * prior))
        for quick_s in QUICK_S:
            if slow_s >= 2 * quick_s:
                found.append((slow_s, (quick_s,), 0.3 / 4 * prior))
                found.append((slow_s, (quick_s, quick_s), 0.2 / 4 * prior))
    return sorted(found, key=lambda each: (each[0], each[1][:1] or (6.0,), len(each[1])))  # as the grid is made


def parts_at(times_s: Array, slow_s: float, quick_s: tuple[float, ...]) -> Array:
    """Give the parts of a course, a row for each: through two lags in a row a step comes as t / q exp(-t / q)."""
    rows = [np.exp(-times_s / slow_s)]
    if quick_s:
        rows.append(np.exp(-times_s / quick_s[0]))
    if len(quick_s) == 2:
        rows.append(times_s / quick_s[0] * np.exp(-times_s / quick_s[0]))
    return np.array(rows)


@cache
def the_long_way(seed: int) -> list[list[Long]]:
    """For each memory, every combination."""
    times_s, values = readings(seed)
    stretch_s, y = averaged(times_s, times_s), averaged(times_s, values)
    return [_of_one_memory(times_s, stretch_s, y, memory_s) for memory_s in MEMORIES_S]


def _of_one_memory(times_s: Array, stretch_s: Array, y: Array, memory_s: float) -> list[Long]:
    apart_s = np.abs(stretch_s[:, np.newaxis] - stretch_s)
    covariance = np.exp(-apart_s / memory_s) if memory_s else np.eye(y.size)
    inverse = np.linalg.inv(covariance)
    designs = []
    for slow_s, quick_s, prior in combinations():
        rows = [averaged(times_s, row) for row in parts_at(times_s, slow_s, quick_s)]
        designs.append((np.array([np.ones(y.size), *rows]).T, slow_s, quick_s, prior))
    floor = y.size * LEAST_NOISE_K**2
    untied = min(_left(design, inverse, y) for design, *_ in designs) + floor
    tie = untied / y.size / (1.0**2 + np.ptp(y) ** 2)  # each part's size: 1 K and the range that was seen
    found = []
    for design, slow_s, quick_s, prior in designs:
        parts = design.shape[1] - 1
        precision = design.T @ inverse @ design + np.diag([0.0] + parts * [tie])
        coefficients = np.linalg.solve(precision, design.T @ inverse @ y)
        left = y @ inverse @ y - coefficients @ precision @ coefficients + floor
        evidence = -(y.size - 1) * math.log(left) - np.linalg.slogdet(precision)[1] + parts * math.log(tie)
        evidence -= np.linalg.slogdet(covariance)[1]
        spread = left / (y.size - 3) * np.linalg.inv(precision)
        last = np.concatenate([[1.0], parts_at(times_s[-1:], slow_s, quick_s)[:, 0]])
        end = np.array([1.0] + parts * [0.0])
        said = [(float(at @ coefficients), float(at @ spread @ at)) for at in (end, last)]
        found.append(Long(evidence / 2 + math.log(prior), said[0], said[1], coefficients, y - design @ coefficients))
    return found


def _left(design: Array, inverse: Array, y: Array) -> float:
    """Give the residual sum of squares of plain generalised least squares."""
    root = np.linalg.cholesky(inverse).T
    best = np.linalg.lstsq(root @ design, root @ y, rcond=None)[0]
    return float(np.sum((root @ (y - design @ best)) ** 2))


def the_short_way(times_s: Array, values: Array) -> tuple[_Fits, _Grid, _Stretches]:
    stretches = _Stretches.of(times_s, values)
    grid = _Grid.of(np.array(SLOW_S), times_s[-1])
    return _solve_all(stretches, grid), grid, stretches


@pytest.mark.parametrize("seed", [3, 4])
def test_each_combination_is_as_likely_and_says_what_it_says_the_long_way(seed: int) -> None:
    times_s, values = readings(seed)
    fits, grid, stretches = the_short_way(times_s, values)
    long = [each for of_memory in the_long_way(seed) for each in of_memory]
    assert fits.evidence - fits.evidence[0] == pytest.approx(
        [each.evidence - long[0].evidence for each in long], rel=1e-6, abs=1e-5
    )
    level, columns = stretches.values[-1], grid.parts(np.arange(len(long)))
    end, end_variance = fits.values(np.zeros(columns.shape))
    now, now_variance = fits.values(grid.courses(times_s[-1:])[columns, 0])
    assert level + end == pytest.approx([each.end[0] for each in long], abs=1e-5)
    assert end_variance == pytest.approx([each.end[1] for each in long], rel=1e-6)
    assert level + now == pytest.approx([each.now[0] for each in long], abs=1e-5)
    assert now_variance == pytest.approx([each.now[1] for each in long], rel=1e-5)


def test_of_readings_all_alike_each_stretch_is_known_to_five_millikelvin() -> None:
    times_s = np.arange(0.0, SPAN_S + 1.0)
    fits, _, stretches = the_short_way(times_s, np.full(times_s.size, 6.0))
    n = stretches.values.size
    assert fits.level_variance[0] == pytest.approx(0.005**2 * n / (n - 3) / n)  # of a mean of n, in Student's t


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
    seed = 3
    times_s, values = readings(seed)
    fits, grid, stretches = the_short_way(times_s, values)
    long = [each for of_memory in the_long_way(seed) for each in of_memory]
    top = max(each.evidence for each in long)
    likely = [each for each in long if each.evidence > top + math.log(1e-5)]
    weights = np.exp([each.evidence - top for each in likely])
    course = _put_together(fits, grid, stretches)
    assert course.weights == pytest.approx(weights / weights.sum(), rel=1e-4)
    middle, deviation = mixture(list(zip(weights, [each.end for each in likely], strict=True)))
    assert course.final.value == pytest.approx(middle, abs=0.03)
    to_come_k = middle - course.now.value
    assert course.final.standard_uncertainty == pytest.approx(math.hypot(deviation, 0.1 * to_come_k), rel=0.03)
    middle, deviation = mixture(list(zip(weights, [each.now for each in likely], strict=True)))
    assert course.now.value == pytest.approx(middle, abs=0.01)
    assert course.now.standard_uncertainty == pytest.approx(deviation, rel=0.05)
    slow_s = [slow_s for slow_s, _, _ in combinations()] * len(MEMORIES_S)
    counted = [index for index, each in enumerate(long) if each.evidence > top + math.log(1e-5)]
    assert course.slow_constants_s == pytest.approx([slow_s[index] for index in counted])
    assert course.slow_amplitudes == pytest.approx([long[index].coefficients[1] for index in counted], rel=1e-5)


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
    fresh, stretch_s = best.residuals.copy(), averaged(times_s, times_s)
    for index in range(1, fresh.size):
        kept = math.exp(-(stretch_s[index] - stretch_s[index - 1]) / MEMORIES_S[memory]) if memory else 0.0
        fresh[index] = (best.residuals[index] - kept * best.residuals[index - 1]) / math.sqrt(1 - kept**2)
    typical_k = np.median(np.abs(fresh)) / NormalDist().inv_cdf(0.75) + LEAST_NOISE_K
    assert course.surprises == pytest.approx(fresh / typical_k, rel=1e-3, abs=1e-4)


def test_ten_values_of_a_normal_distribution_are_the_middles_of_its_tenths() -> None:
    assert pytest.approx([NormalDist().inv_cdf(share / 20) for share in range(1, 20, 2)], abs=5e-5) == _NORMAL_DEVIATES


def test_half_of_what_is_expected_has_no_quick_part_and_a_fifth_comes_through_two_lags() -> None:
    grid = _Grid.of(np.array([190.0]), 300.0)
    shares, parts = np.exp(grid.prior), grid.present.sum(axis=1)
    assert [shares[parts == count].sum() for count in (1, 2, 3)] == pytest.approx([0.5, 0.3, 0.2])


@pytest.mark.parametrize(("slow_s", "quick"), [(11.9, 0), (12.0, 1), (43.9, 2), (44.0, 3), (79.9, 3), (80.0, 4)])
def test_a_quick_lag_is_at_most_half_as_long_as_the_slow_one(slow_s: float, quick: int) -> None:
    """Lags of 6, 12, 22 and 40 s are tried."""
    assert _Grid.of(np.array([slow_s]), 300.0).prior.size == 1 + 2 * quick


@pytest.mark.parametrize(
    ("elapsed_s", "memories_s"),
    [
        (11.9, [0.0]), (12.0, [0.0, 3.0]), (31.9, [0.0, 3.0]), (32.0, [0.0, 3.0, 8.0]), (79.9, [0.0, 3.0, 8.0]),
        (80.0, [0.0, 3.0, 8.0, 20.0]), (199.9, [0.0, 3.0, 8.0, 20.0]), (200.0, [0.0, 3.0, 8.0, 20.0, 50.0]),
    ],
)  # fmt: skip
def test_noise_is_not_held_to_remember_more_than_a_quarter_of_the_time(
    elapsed_s: float, memories_s: list[float]
) -> None:
    assert _Grid.of(np.array([190.0]), elapsed_s).memories_s == pytest.approx(memories_s)


def test_readings_that_say_nothing_leave_every_slow_lag_from_a_quarter_of_a_minute_to_half_an_hour() -> None:
    tried_s = np.unique(fit(np.arange(0.0, 301.0), np.full(301, 6.0)).slow_constants_s)
    assert (tried_s[0], tried_s[-1], tried_s.size) == pytest.approx((15.0, 1800.0, 24))
    assert tried_s[1:] / tried_s[:-1] == pytest.approx(np.full(23, 120 ** (1 / 23)))  # even steps


def said(grid: _Grid, evidence: Array) -> _Fits:
    nothing = np.zeros(evidence.size)
    return _Fits(nothing, nothing, nothing, nothing, nothing, evidence)


@pytest.mark.parametrize(
    ("at", "low_s", "high_s"), [([1], 20.0, 80.0), ([1, 2], 20.0, 160.0), ([0], 15.0, 40.0), ([6], 640.0, 1800.0)]
)
def test_the_second_look_is_a_step_around_what_was_likely_in_the_first(
    at: list[int], low_s: float, high_s: float
) -> None:
    """A grid of steps of two; never beyond 15 s and half an hour."""
    grid = _Grid.of(20.0 * 2.0 ** np.arange(7), 10.0)
    slow_s = grid.slow_constants_s(np.arange(grid.prior.size))
    evidence = np.where(np.isin(slow_s, grid.slow_s[at]), 0.0, -100.0)
    found_s = _narrow(said(grid, evidence), grid)
    assert (found_s[0], found_s[-1], found_s.size) == pytest.approx((low_s, high_s, 24))
    assert np.log(found_s[1:] / found_s[:-1]) == pytest.approx(np.full(23, math.log(high_s / low_s) / 23))


def test_what_is_a_hundred_thousand_times_less_likely_does_not_count() -> None:
    grid = _Grid.of(np.array([190.0]), 10.0)
    evidence = np.log([0.9e-5, 1.0, 1.1e-5])
    assert list(_likely(said(grid, evidence))) == [1, 2]


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
