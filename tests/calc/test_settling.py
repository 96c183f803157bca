"""Settling against simulated cases that were computed apart from this code.

tests/published/steady_state_sim_cases.csv holds when the plain rule declared an exponential approach steady,
after a step of 15 °F with noise of 0.15 °F, for several time constants and limits. The two cases with windows
of 60 s are left out: there the noise of that very run decides.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calc.errors import SeriesError
from calc.settling import (
    NotSteady,
    Settled,
    Settling,
    SteadyRule,
    Why,
    assess,
    assess_both,
    rule_holds,
    steady_all_along,
)
from tests.fahrenheit import DDEGF
from tests.printed import published

ALL_CASES = published("steady_state_sim_cases.csv")
CASES = [case for case in ALL_CASES if case["window_s"] != "60"]


def approach(
    tau_s: float, until_s: float, *, seed: int, correlation: float = 0.0, end_dk: float = 5.0
) -> tuple[np.ndarray, np.ndarray]:
    """Readings each second of a figure that falls by 15 °F to its end, with noise of 0.15 °F."""
    generator = np.random.default_rng(seed)
    times_s = np.arange(0.0, until_s)
    fresh = generator.normal(0.0, 0.15 * DDEGF, times_s.size)
    noise = np.empty_like(fresh)
    noise[0] = fresh[0]
    for index in range(1, fresh.size):
        noise[index] = correlation * noise[index - 1] + math.sqrt(1 - correlation**2) * fresh[index]
    return times_s, end_dk + 15 * DDEGF * np.exp(-times_s / tau_s) + noise


@pytest.mark.parametrize("case", CASES, ids=[f"{case['tau_s']}s-{case['window_s']}s" for case in CASES])
def test_plain_rule_declares_when_that_simulation_did(case):
    rule = SteadyRule(
        window_s=float(case["window_s"]),
        slope_limit_k_per_s=float(case["slope_limit_F_per_min"]) * DDEGF / 60,
        deviation_limit_k=float(case["sd_limit_F"]) * DDEGF,
        hold_s=float(case["hold_s"]),
    )
    known_s = float(case["declared_at_s"])
    declared_s = []
    for seed in range(5):
        times_s, values = approach(float(case["tau_s"]), 2 * known_s, seed=seed)
        stops = range(int(known_s / 2), times_s.size)
        declared_s.append(next(stop for stop in stops if rule_holds(times_s[:stop], values[:stop], rule)))
    assert np.mean(declared_s) == pytest.approx(known_s, rel=0.05)


@pytest.mark.parametrize(("elapsed_in_tau", "rms_ddegf"), [(1.5, 0.7), (2.0, 0.3)])
def test_forecast_knows_the_end_early_and_how_well(elapsed_in_tau, rms_ddegf):
    """A trial apart from this code, with noise correlated at 0.9/s, came to 0.4..0.7 and to 0.2..0.3 °F.

    Of sixty the root mean square has a deviation of 9 %.
    """
    errors, held = [], []
    for seed in range(60):
        forecast = assess(*approach(180.0, elapsed_in_tau * 180, seed=seed, correlation=0.9)).forecast
        errors.append(forecast.value - 5.0)
        held.append(abs(errors[-1]) <= forecast.expanded(1.645))  # 90 % of a normal distribution
    assert np.sqrt(np.mean(np.square(errors))) <= 1.09 * rms_ddegf * DDEGF
    assert np.mean(held) >= 0.85


def test_settles_when_the_plain_rule_fires_and_the_forecast_agrees():
    times_s, values = approach(60.0, 900.0, seed=1)
    assert isinstance(assess(times_s[:200], values[:200]), Settling)
    settled = assess(times_s, values)
    assert isinstance(settled, Settled)
    assert settled.value.value == pytest.approx(5.0, abs=0.05)


def test_slow_drift_within_the_plain_rule_is_not_settled_while_the_forecast_sees_more_to_come():
    """At a time constant of 15 minutes a slope under the limit still leaves 1.2 K to go."""
    times_s = np.arange(0.0, 400.0)
    values = 5 + 1.6 * np.exp(-times_s / 900)
    loose = SteadyRule(slope_limit_k_per_s=0.2 * DDEGF / 60)
    assert rule_holds(times_s, values, loose)
    judged = assess(times_s, values, loose)
    assert isinstance(judged, Settling)
    assert judged.forecast.value == pytest.approx(5.0, abs=0.2)


def test_predicts_when_the_plain_rule_will_hold():
    times_s, values = approach(180.0, 1500.0, seed=3)
    declared_s = next(stop for stop in range(300, 1500) if rule_holds(times_s[:stop], values[:stop]))
    settling = assess(times_s[:450], values[:450])
    assert 450 + settling.seconds_to_settle == pytest.approx(declared_s, rel=0.1)


def test_a_gap_in_the_window_holds_the_plain_rule_up_but_not_the_forecast():
    times_s, values = approach(60.0, 900.0, seed=1)
    kept = (times_s < 780) | (times_s > 840)
    judged = assess(times_s[kept], values[kept])
    assert isinstance(judged, Settling)
    assert judged.forecast.value == pytest.approx(5.0, abs=0.05)


QUARTER_HOUR_S = np.arange(0.0, 900.0)


def noise(size: int, sd_k: float = 0.08) -> np.ndarray:
    return np.random.default_rng(0).normal(0.0, sd_k, size)


@pytest.mark.parametrize(
    ("course", "cause"),
    [
        (lambda t: 6 + 1.5 * np.sin(t / 15), Why.HUNTING),
        (lambda t: 6 + 2 * np.sin(t / 25) + 3 * np.exp(-t / 200), Why.HUNTING),
        (lambda t: 6 + 8 * np.sin(t / 30), Why.CYCLING),
        (lambda t: 6 + 8 * np.sign(np.sin(t / 40)), Why.JUMPING),
        (lambda t: 8 - 0.004 * t, Why.DRIFTING),
        (lambda t: 8 + 4 * np.sin(t / 90) * np.sin(t / 210), Why.SWINGING),
    ],
    ids=["hunts", "hunts while it settles", "cycles", "is switched on and off", "drifts", "swings"],
)
def test_courses_without_an_end_say_why(course, cause):
    judged = assess(QUARTER_HOUR_S, course(QUARTER_HOUR_S) + noise(900))
    assert isinstance(judged, NotSteady)
    assert judged.why is cause


def test_a_valve_that_hunts_tells_how_far():
    hunts = assess(QUARTER_HOUR_S, 6 + 1.5 * np.sin(QUARTER_HOUR_S / 15) + noise(900))
    assert hunts.reason.startswith("It swings every 90 s, by 2.")  # 2 pi x 15 s is 94 s: the tenth part of 15 min
    assert hunts.swing_k == pytest.approx(1.5, abs=0.1)


def test_a_start_or_a_fresh_probe_is_not_extrapolated():
    times_s = np.arange(0.0, 80.0)
    judged = assess(times_s, 5 + 20 * np.exp(-times_s / 20) + noise(80))
    assert judged.why is Why.STARTING
    assert judged.reason.startswith("It moved far within 79 s, by 35.")
    assert judged.swing_k == pytest.approx(20.0, abs=1.0)


def test_only_what_came_after_an_untold_change_counts():
    moved = np.where(QUARTER_HOUR_S < 500, 8.0, 4 + 4 * np.exp(-(QUARTER_HOUR_S - 500) / 150)) + noise(900)
    judged = assess(QUARTER_HOUR_S, moved)
    assert isinstance(judged, Settling)
    assert judged.forecast.value == pytest.approx(4.0, abs=0.3)


def test_a_change_of_a_moment_ago_says_so():
    times_s = np.arange(0.0, 530.0)
    judged = assess(times_s, np.where(times_s < 500, 8.0, 5.0) + noise(530))
    assert isinstance(judged, NotSteady)
    assert judged.why is Why.JUST_CHANGED
    assert assess(QUARTER_HOUR_S, np.where(QUARTER_HOUR_S < 500, 8.0, 5.0) + noise(900)).value.value == pytest.approx(
        5.0, abs=0.05
    )


@pytest.mark.parametrize("leap_s", [-1.0, -300.0, 299.1, 3600.0], ids=["a little back", "back", "ahead", "far ahead"])
def test_a_clock_that_was_set_begins_the_course_anew(leap_s):
    times_s, values = approach(60.0, 900.0, seed=1)
    leapt_s = np.where(times_s < 500, times_s, times_s + leap_s)
    anew = assess(times_s[500:], values[500:])
    assert assess(leapt_s, values).value.value == pytest.approx(anew.value.value, abs=1e-9)


def test_a_gap_of_five_minutes_is_the_longest_that_a_course_goes_on_over():
    """Common practice, no source."""
    times_s, values = approach(60.0, 900.0, seed=1)
    over_a_gap_s = np.where(times_s < 500, times_s, times_s + 299.0)  # 300 s from reading to reading
    anew = assess(times_s[500:], values[500:])
    assert assess(over_a_gap_s, values).value.value != pytest.approx(anew.value.value, abs=1e-5)


def test_forecast_holds_its_interval_for_noise_of_long_memory_and_after_one_time_constant():
    """Noise that keeps 0.97 from second to second, as slow as a lag: the interval must own up to it."""
    held = []
    for seed in range(60):
        forecast = assess(*approach(180.0, 270.0, seed=seed, correlation=0.97)).forecast
        held.append(abs(forecast.value - 5.0) <= forecast.expanded(1.645))
    assert np.mean(held) >= 0.85


def beside(until_s: float, *, seed: int, tau_s: float = 180.0, noise_dk: float = 0.03) -> tuple[np.ndarray, np.ndarray]:
    """A figure that rises to its end by as slow a lag, and is read more quietly."""
    times_s = np.arange(0.0, until_s)
    return times_s, 9.0 - 5.0 * np.exp(-times_s / tau_s) + np.random.default_rng(seed).normal(
        0.0, noise_dk, times_s.size
    )


@pytest.mark.parametrize("jumps", [False, True], ids=["from the start", "after a jump"])
def test_a_quiet_figure_that_goes_alike_tells_the_end_of_one_that_is_read_noisily(jumps):
    """By the formula itself; each trial by itself and beside it. Before a jump that nobody told of it stood still."""
    errors = {True: [], False: []}
    held = []
    for seed in range(20):
        times_s, values = approach(180.0, 240.0, seed=seed)
        if jumps:
            stood = 25.0 + np.random.default_rng(seed).normal(0.0, 0.02, 120)
            times_s, values = np.append(np.arange(-120.0, 0.0), times_s), np.append(stood, values)
        for other in (None, beside(240.0, seed=seed + 100)):
            forecast = assess(times_s, values, beside=other).forecast
            errors[other is None].append(forecast.value - 5.0)
        held.append(abs(errors[False][-1]) <= forecast.expanded(1.645))
    assert np.std(errors[False]) < 0.7 * np.std(errors[True])
    assert np.mean(held) >= 0.85 - 0.2  # of twenty the deviation is 7 %


def test_a_figure_that_goes_by_another_lag_does_not_mislead():
    times_s, values = approach(180.0, 400.0, seed=5)
    misled = assess(times_s, values, beside=beside(400.0, seed=6, tau_s=60.0)).forecast
    assert abs(misled.value - 5.0) <= misled.expanded(1.645)


def test_what_was_read_of_the_other_figure_at_other_times_tells_nothing():
    times_s, values = approach(180.0, 300.0, seed=2)
    alone = assess(times_s, values)
    its_times_s, its = beside(300.0, seed=3)
    assert assess(times_s, values, beside=(its_times_s + 1000.0, its)) == alone
    assert assess(times_s, values, beside=(its_times_s[-30:], its[-30:])) == alone  # half a minute: too short
    longer_s = np.concatenate([its_times_s - 300.0, its_times_s, its_times_s + 300.0])
    longer = np.concatenate([its - 50.0, its, its + 50.0])
    assert assess(times_s, values, beside=(longer_s, longer)) == assess(times_s, values, beside=(its_times_s, its))


@pytest.mark.parametrize("dead_s", [0.0, 30.0])
def test_what_begins_to_move_late_settles_that_much_later(dead_s):
    """By the formula itself: after the dead time two lags in a row, of 180 and 15 s, and 8 K in all.

    At the middle of a window of 180 s the slow lag's slope falls to 0.1 °F per minute, and that holds for 60 s.
    """
    times_s = np.arange(0.0, 301.0)
    since_s = np.maximum(times_s - dead_s, 0.0)
    course = (180.0 * np.exp(-since_s / 180.0) - 15.0 * np.exp(-since_s / 15.0)) / 165.0
    noise = np.random.default_rng(11).normal(0.0, 0.01, times_s.size)
    ahead = assess(times_s, 5.0 + 8.0 * course + noise)
    slope_k_per_s = 8.0 / 165.0
    flat_s = dead_s + 180.0 * math.log(slope_k_per_s / (0.1 * DDEGF / 60.0))
    assert ahead.seconds_to_settle == pytest.approx(flat_s + 90.0 + 60.0 - 300.0, abs=20.0)


def test_another_figure_that_cannot_be_judged_is_an_error():
    times_s, values = approach(180.0, 300.0, seed=2)
    with pytest.raises(SeriesError, match="two rows of one length"):
        assess(times_s, values, beside=(times_s, values[1:]))


@pytest.mark.parametrize("until_s", [40, 90, 300, 1500])
@pytest.mark.parametrize("leap_s", [0.0, 400.0])
def test_both_figures_at_once_are_judged_as_each_beside_the_other(until_s, leap_s):
    """The first jumps after a minute, the second does not: what came after is judged of it alone."""
    times_s = np.arange(0.0, until_s)
    noise = np.random.default_rng(11).normal(0.0, 0.03, (2, until_s))
    gone = np.exp(-times_s / 150.0)
    one, other = 5.0 + 6.0 * gone + 4.0 * (times_s > 60.0) + noise[0], 8.0 - 3.0 * gone + noise[1]
    times_s[until_s // 3 :] += leap_s  # a gap of more than five minutes: both begin anew
    alike = assess(times_s, one, beside=(times_s, other)), assess(times_s, other, beside=(times_s, one))
    for found, beside_it in zip(assess_both(times_s, one, other), alike, strict=True):
        assert type(found) is type(beside_it)
        assert figures(found) == pytest.approx(figures(beside_it), rel=1e-6)


def figures(judged: Settled | Settling | NotSteady) -> list[float]:
    """What it says in figures."""
    match judged:
        case Settled(value):
            return [value.value, value.standard_uncertainty]
        case Settling(ahead, seconds):
            return [ahead.value, ahead.standard_uncertainty, seconds]
        case NotSteady(_, swing_k, seconds, times, left_s, of_s):
            return [swing_k or 0.0, seconds, times, left_s or 0.0, of_s]


def test_both_figures_at_once_are_as_long_as_their_times():
    times_s = np.arange(0.0, 300.0)
    with pytest.raises(SeriesError, match="one length"):
        assess_both(times_s, times_s, times_s[1:])


def test_of_no_readings_nothing_is_steady():
    assert not rule_holds([], [])
    assert not steady_all_along([], [])


@pytest.mark.parametrize("count", [0, 1, 10, 59])
def test_too_few_readings_say_so(count):
    judged = assess(np.arange(float(count)), np.full(count, 5.0))
    assert judged.why is Why.JUST_BEGUN
    assert (judged.left_s, judged.of_s) == (60.0 - max(count - 1, 0), 60.0)


@pytest.mark.parametrize(
    ("times_s", "values", "message"),
    [
        ([0, 1], [5], "two rows of one length"),
        ([[0, 1]], [[5, 5]], "two rows of one length"),
        ([0, 1], [5, math.nan], "no sound number"),
        ([0, math.inf], [5, 5], "no sound number"),
    ],
)
def test_series_that_cannot_be_judged(times_s, values, message):
    with pytest.raises(SeriesError, match=message):
        assess(times_s, values)


@given(
    arrays(np.float64, 80, elements=st.floats(-100, 100)),
    arrays(np.float64, 80, elements=st.floats(-1, 100)),
)
def test_any_sound_series_gets_a_judgement(values, intervals_s):
    judged = assess(np.cumsum(intervals_s), values)
    assert isinstance(judged, Settled | Settling | NotSteady)
    if isinstance(judged, Settling):
        assert judged.seconds_to_settle >= 0
