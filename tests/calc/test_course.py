"""The parts of a forecast that can be worked out by hand: stretches, noise made independent, and many fits as one."""

from collections.abc import Callable
from statistics import NormalDist

import numpy as np
import pytest

from calc.course import _drifts, _Fits, _forward, _kept, _Stretches, _together, _whiten, fit


def fits(values: list[float], deviations: list[float]) -> _Fits:
    """Fits without a course: each says one value, so well."""
    count = len(values)
    return _Fits(
        level=np.array(values),
        level_variance=np.array(deviations) ** 2,
        variance=np.ones(count),
        middles=np.zeros((count, 2)),
        pivots=np.ones((count, 2)),
        lower=np.zeros(count),
        solved=np.zeros((count, 2)),
        evidence=np.zeros(count),
    )


def test_one_fit_says_what_it_says() -> None:
    found = _together(fits([3.0], [0.2]), np.zeros((1, 2)), np.array([1.0]), 4.0)
    assert (found.value, found.standard_uncertainty) == pytest.approx((7.0, 0.2), rel=1e-4)


@pytest.mark.parametrize(
    ("values", "weights"), [((0.0, 6.0), (0.9, 0.1)), ((0.0, 1.0), (0.5, 0.5)), ((0.0, 9.0), (0.3, 0.7))]
)
def test_of_several_fits_the_middle_and_the_90_percent_count(
    values: tuple[float, float], weights: tuple[float, float]
) -> None:
    """Against the mixture of both normal distributions, of which a million are drawn."""
    generator = np.random.default_rng(7)
    which = generator.random(1_000_000) < weights[0]
    drawn = np.where(which, values[0], values[1]) + 0.8 * generator.normal(size=which.size)
    low, middle, high = np.quantile(drawn, [0.05, 0.5, 0.95])
    found = _together(fits(list(values), [0.8, 0.8]), np.zeros((2, 2)), np.array(weights), 0.0)
    assert found.value == pytest.approx(middle, abs=0.1)
    assert found.standard_uncertainty == pytest.approx((high - low) / 2 / NormalDist().inv_cdf(0.95), rel=0.08)


def test_noise_that_is_remembered_is_made_independent_and_as_large() -> None:
    """An Ornstein-Uhlenbeck process, whose neighbours are correlated by e^(-interval / memory)."""
    generator = np.random.default_rng(8)
    intervals_s = np.full(49_999, 4.0)
    kept = _kept(intervals_s, 8.0)
    assert kept[0] == pytest.approx(np.exp(-0.5))
    assert not _kept(intervals_s, 0.0).any()
    noise = np.empty(50_000)
    noise[0] = generator.normal()
    fresh = generator.normal(size=noise.size)
    for index in range(1, noise.size):
        noise[index] = kept[0] * noise[index - 1] + np.sqrt(1 - kept[0] ** 2) * fresh[index]
    whitened = _whiten(noise, kept)
    assert whitened.std() == pytest.approx(1.0, abs=0.02)
    assert np.corrcoef(whitened[1:], whitened[:-1])[0, 1] == pytest.approx(0.0, abs=0.02)
    assert whitened[1:] == pytest.approx(fresh[1:])


def test_readings_are_averaged_over_a_hundred_and_twentieth_of_the_time() -> None:
    elapsed_s = np.arange(0.0, 241.0)
    found = _Stretches.of(elapsed_s, 2.0 * elapsed_s)
    assert found.times_s[:3] == pytest.approx([0.5, 2.5, 4.5])
    assert found.values[0, :3] == pytest.approx([1.0, 5.0, 9.0])
    assert found.counts.sum() == 241
    assert found.pieces_s[:3] == pytest.approx([0.0, 1.0, 2.0])
    assert found.last_s == 240.0
    assert found.times_s[-1] == 240.0  # the last reading has its own
    assert found.times_s.size == 121
    sparse = _Stretches.of(np.array([0.0, 0.5, 100.0, 240.0]), np.array([1.0, 3.0, 5.0, 7.0]))
    assert sparse.values[0] == pytest.approx([2.0, 5.0, 7.0])
    both = _Stretches.of(elapsed_s, 2.0 * elapsed_s, -elapsed_s)
    assert both.values == pytest.approx(np.stack([found.values[0], -found.values[0] / 2]))


def test_a_course_is_averaged_over_a_stretch_by_its_pieces_and_how_many_readings_each_holds() -> None:
    found = _Stretches.of(np.array([0.0, 0.2, 0.4, 1.0, 120.0]), np.array([2.0, 4.0, 6.0, 8.0, 10.0]))
    assert found.counts == pytest.approx([3, 1, 1])
    assert found.pieces_s == pytest.approx([0.2, 1.0, 120.0])
    assert found.times_s == pytest.approx([0.2, 1.0, 120.0])
    halves = _Stretches.of(np.array([0.0, 0.2, 0.4, 0.9, 120.0]), np.array([2.0, 4.0, 6.0, 8.0, 10.0]))
    assert halves.values[0] == pytest.approx([5.0, 10.0])
    assert halves.mean(np.array([1.0, 5.0, 7.0])) == pytest.approx(
        [2.0, 7.0]
    )  # three readings of one piece, one of the other


def test_factors_solve_what_they_are_made_of() -> None:
    """Against numpy's own solver: lower · pivots · lower transposed."""
    lower, pivots, right = np.array([[1.0, 0.0], [0.4, 1.0]]), np.array([2.0, 0.5]), np.array([1.0, -2.0])
    whole = lower @ np.diag(pivots) @ lower.T
    below = np.array([0.4])
    fit_of = fits([3.0], [0.2])._replace(
        middles=np.array([[0.1, 0.2]]),
        pivots=pivots[np.newaxis],
        lower=below,
        solved=_forward(below, right[np.newaxis]),
        variance=np.array([0.25]),
    )
    assert fit_of.amplitudes()[0] == pytest.approx(np.linalg.solve(whole, right))
    shift = np.array([1.0, -1.0]) - [0.1, 0.2]
    value, variance = fit_of.values(np.array([[1.0, -1.0]]))
    assert value[0] == pytest.approx(3.0 + shift @ np.linalg.solve(whole, right))
    assert variance[0] == pytest.approx(0.04 + 0.25 * shift @ np.linalg.solve(whole, shift))


@pytest.mark.parametrize(
    ("f_per_min", "deviation_f_per_min", "drifts"),
    [(0.11, 0.001, 1.0), (-0.11, 0.001, 1.0), (0.09, 0.001, 0.0), (0.1, 0.05, 0.5), (0.0, 0.07, 0.2)],
)
def test_a_ramp_beyond_a_tenth_of_a_degf_per_minute_drifts(
    f_per_min: float, deviation_f_per_min: float, drifts: float
) -> None:
    """Where the plain rule still takes a figure as steady it does not; of ten values each counts."""
    unit_f_per_min = 0.2  # one standard deviation of ramps beforehand
    ramp = fits([3.0], [0.2])._replace(
        solved=np.array([[0.0, f_per_min / unit_f_per_min]]),
        variance=np.array([(deviation_f_per_min / unit_f_per_min) ** 2]),
    )
    assert _drifts(ramp, np.array([True])) == pytest.approx([drifts])
    assert _drifts(ramp, np.array([False])) == pytest.approx([0.0])


@pytest.mark.parametrize(("tau_s", "quick_s"), [(180.0, None), (240.0, 20.0), (120.0, 15.0)])
def test_a_course_of_one_or_two_lags_comes_out_as_it_went(tau_s: float, quick_s: float | None) -> None:
    """Nearly no noise: what it is now, where it ends, and how long its slow lag is."""
    elapsed_s = np.arange(0.0, 601.0)
    readings = 5.0 + 8.0 * np.exp(-elapsed_s / tau_s)
    if quick_s is not None:
        readings += 3.0 * np.exp(-elapsed_s / quick_s)
    found = fit(elapsed_s, readings + np.random.default_rng(9).normal(0.0, 0.01, elapsed_s.size))
    assert found.final.value == pytest.approx(5.0, abs=0.06)
    assert found.now.value == pytest.approx(readings[-1], abs=0.02)
    assert found.weights.sum() == pytest.approx(1.0)
    assert float(found.weights @ found.slow_constants_s) == pytest.approx(tau_s, rel=0.05)
    assert float(found.weights @ found.slow_amplitudes) == pytest.approx(8.0, rel=0.05)
    to_come = abs(found.final.value - found.now.value)
    assert found.final.standard_uncertainty >= max(0.1 * to_come, 0.05)  # true courses are not quite exponential


DEGF_PER_MIN = 5 / 9 / 60


@pytest.mark.parametrize(
    ("name", "course"),
    [
        ("late", lambda t: 5.0 + 6.0 * np.exp(-np.maximum(t - 25.0, 0.0) / 120.0)),
        ("overshoots", lambda t: 5.0 + 3.0 * np.exp(-t / 200.0) - 6.0 * np.exp(-t / 20.0)),
        ("rings", lambda t: 5.0 + 6.0 * np.exp(-t / 80.0) * (np.cos(t / 60.0) + 0.75 * np.sin(t / 60.0))),
    ],
)
def test_a_course_of_each_group_ends_where_its_formula_does(
    name: str, course: Callable[[np.ndarray], np.ndarray]
) -> None:
    """Long before: at 400 s the slow lag of the second has a seventh still to go."""
    elapsed_s = np.arange(0.0, 401.0)
    found = fit(elapsed_s, course(elapsed_s) + np.random.default_rng(9).normal(0.0, 0.02, elapsed_s.size))
    assert found.final.value == pytest.approx(5.0, abs=0.15)
    assert found.drifting < 0.05


@pytest.mark.parametrize("f_per_min", [0.2, -0.2])
def test_a_ramp_drifts_and_a_figure_at_rest_does_not(f_per_min: float) -> None:
    elapsed_s = np.arange(0.0, 301.0)
    noise = np.random.default_rng(9).normal(0.0, 0.05, elapsed_s.size)
    assert fit(elapsed_s, 5.0 + f_per_min * DEGF_PER_MIN * elapsed_s + noise).drifting > 0.5
    resting = fit(elapsed_s, 5.0 + noise)
    assert resting.drifting < 0.05
    assert resting.final.value == pytest.approx(5.0, abs=0.05)


def test_what_drifts_for_sure_still_has_weights_and_an_end() -> None:
    elapsed_s = np.arange(0.0, 1801.0)
    found = fit(elapsed_s, 5.0 + 0.2 * DEGF_PER_MIN * elapsed_s + np.random.default_rng(9).normal(0.0, 0.02, 1801))
    assert found.drifting == pytest.approx(1.0, abs=0.01)
    assert found.weights.sum() == pytest.approx(1.0)
    assert np.isfinite(found.final.value)
