"""The plain steady rule and what goes with it, on series whose slope and scatter are exact. No noise: all by hand.

A window of 3 min, less than 0.1 °F per minute and 0.5 °F of standard deviation for a minute: a moving window as in NIST
SP 1087, its figures common practice, no source. A clamp settles within 90 s: California Title 24, RA3.2.
"""

import math

import numpy as np
import pytest

from calc.errors import SeriesError
from calc.estimate import Estimate
from calc.settling import (
    NotSteady,
    Settled,
    Settling,
    Why,
    assess,
    mean_of_last,
    rule_holds,
    slope_per_minute,
    steady_all_along,
    with_instruments,
)
from tests.fahrenheit import DDEGF


def seconds(until_s: float, every_s: float = 1.0) -> np.ndarray:
    return np.arange(0.0, until_s + every_s / 2, every_s)


@pytest.mark.parametrize(("f_per_min", "holds"), [(0.099, True), (-0.099, True), (0.101, False), (-0.101, False)])
def test_a_slope_is_steady_below_a_tenth_of_a_degf_per_minute(f_per_min: float, holds: bool) -> None:
    times_s = seconds(300.0)
    assert rule_holds(times_s, 6.0 + f_per_min * DDEGF / 60 * times_s) is holds


@pytest.mark.parametrize(("swing_f", "holds"), [(0.49, True), (0.51, False)])
def test_scatter_is_steady_below_half_a_degf_of_standard_deviation(swing_f: float, holds: bool) -> None:
    """Up and down by so much from one second to the next is that standard deviation, but for one part in 360."""
    times_s = seconds(300.0)
    assert rule_holds(times_s, 6.0 + swing_f * DDEGF * np.where(times_s % 2, 1.0, -1.0)) is holds


@pytest.mark.parametrize(("until_s", "holds"), [(239.0, False), (240.0, True)])
def test_it_takes_a_window_and_a_minute(until_s: float, holds: bool) -> None:
    times_s = seconds(until_s)
    assert rule_holds(times_s, np.full(times_s.size, 6.0)) is holds
    assert rule_holds(times_s + 5000.0, np.full(times_s.size, 6.0)) is holds
    assert steady_all_along(times_s, np.full(times_s.size, 6.0)) is holds


@pytest.mark.parametrize(("moved_until_s", "holds"), [(59.0, True), (100.0, False)])
def test_only_the_last_four_minutes_count_unless_it_is_asked_for_all_of_them(moved_until_s: float, holds: bool) -> None:
    times_s = seconds(300.0)
    values = np.where(times_s < moved_until_s, 9.0, 6.0)
    assert rule_holds(times_s, values) is holds
    assert not steady_all_along(times_s, values)
    assert steady_all_along(times_s, np.full(times_s.size, 6.0))


@pytest.mark.parametrize(("since_s", "holds"), [(120.0, False), (239.0, False), (240.0, True)])
def test_after_a_gap_it_takes_a_window_and_a_minute_again(since_s: float, holds: bool) -> None:
    """What was read before the gap fills no window."""
    before_s, after_s = seconds(400.0), 520.0 + seconds(since_s)
    times_s = np.concatenate([before_s, after_s])
    assert rule_holds(times_s, np.full(times_s.size, 6.0)) is holds
    judged = assess(times_s, np.full(times_s.size, 6.0))
    assert isinstance(judged, Settled) is holds
    if isinstance(judged, Settling):
        assert judged.seconds_to_settle == 240.0 - since_s


@pytest.mark.parametrize(("gap_s", "holds"), [(30.0, True), (31.0, False)])
def test_a_gap_of_a_sixth_of_the_window_is_none(gap_s: float, holds: bool) -> None:
    times_s = seconds(400.0)
    times_s = np.where(times_s > 300.0, times_s + gap_s - 1.0, times_s)
    assert rule_holds(times_s, np.full(times_s.size, 6.0)) is holds


@pytest.mark.parametrize("k_per_s", [0.02, -0.01])
def test_the_slope_is_that_of_the_last_three_minutes_per_minute(k_per_s: float) -> None:
    times_s = seconds(400.0)
    values = np.where(times_s < 219.5, 50.0, k_per_s * times_s)
    assert slope_per_minute(times_s, values) == pytest.approx(60 * k_per_s)
    assert slope_per_minute(times_s, values, window_s=60.0) == pytest.approx(60 * k_per_s)
    longer = slope_per_minute(times_s, values, window_s=182.0)
    assert longer is not None
    assert abs(longer - 60 * k_per_s) > 0.5


def test_no_line_goes_through_fewer_than_three_readings() -> None:
    assert slope_per_minute([], []) is None
    assert slope_per_minute([0.0, 1.0], [5.0, 6.0]) is None
    assert slope_per_minute([0.0, 1.0, 2.0], [5.0, 6.0, 7.0]) == pytest.approx(60.0)


def test_the_mean_is_of_the_last_minute_unless_another_time_is_asked_for() -> None:
    assert mean_of_last([39.5, 40.0, 100.0], [1.0, 4.0, 8.0], now_s=100.0) == 6.0
    assert mean_of_last([0.0, 40.0, 100.0], [1.0, 4.0, 8.0], now_s=100.0, over_s=59.0) == 8.0
    assert mean_of_last([0.0, 40.0, 100.0], [1.0, 4.0, 7.0], now_s=100.0, over_s=100.0) == 4.0
    assert mean_of_last([0.0], [1.0], now_s=100.0) is None
    assert mean_of_last([], [], now_s=100.0) is None


def test_instruments_add_as_the_root_of_the_squares() -> None:
    """JCGM 100, 5.1.2."""
    found = with_instruments(Estimate(7.0, 0.3), 0.4)
    assert (found.value, found.standard_uncertainty) == pytest.approx((7.0, 0.5))


@pytest.mark.parametrize(
    ("count", "every_s", "begun"),
    [(60, 1.0, True), (61, 1.0, False), (19, 10.0, True), (20, 10.0, False), (20, 3.0, True), (21, 3.0, False)],
)
def test_a_minute_and_twenty_readings_are_the_least(count: int, every_s: float, begun: bool) -> None:
    times_s = every_s * np.arange(float(count))
    judged = assess(times_s, 5.0 + 3.0 * np.exp(-times_s / 60))
    assert (isinstance(judged, NotSteady) and judged.why is Why.JUST_BEGUN) is begun


def test_readings_close_together_count_once() -> None:
    """Eighteen bursts in three minutes are no twenty readings."""
    times_s = np.concatenate([burst * 10.0 + np.arange(5) / 100 for burst in range(18)])
    judged = assess(times_s, np.full(times_s.size, 5.0))
    assert isinstance(judged, NotSteady)
    assert judged.why is Why.JUST_BEGUN
    assert judged.left_s == 1.0  # at least


@pytest.mark.parametrize(("tau_s", "at_s"), [(180.0, 300.0), (180.0, 450.0), (120.0, 300.0), (240.0, 450.0)])
def test_the_rule_will_hold_when_the_middle_of_its_window_is_flat_enough(tau_s: float, at_s: float) -> None:
    """8 K towards the end by one lag: flat at tau ln(8 K / tau / limit), then half a window and a minute more."""
    times_s = seconds(at_s)
    judged = assess(times_s, 5.0 + 8.0 * np.exp(-times_s / tau_s))
    assert isinstance(judged, Settling)
    flat_at_s = tau_s * math.log(8.0 / tau_s / (0.1 * DDEGF / 60))
    assert at_s + judged.seconds_to_settle == pytest.approx(flat_at_s + 90.0 + 60.0, rel=0.03)
    assert judged.forecast.value == pytest.approx(5.0, abs=0.1)


def test_a_figure_that_is_nearly_flat_still_takes_a_window_and_a_minute() -> None:
    times_s = seconds(100.0)
    judged = assess(times_s, 5.0 + 0.05 * np.exp(-times_s / 180))
    assert isinstance(judged, Settling)
    assert judged.seconds_to_settle == pytest.approx(140.0, abs=3.0)


@pytest.mark.parametrize(
    ("until_s", "moved_k", "starts"), [(85.0, 10.5, True), (89.0, 10.5, True), (91.0, 10.5, False), (85.0, 9.5, False)]
)
def test_a_clamp_that_moves_ten_kelvin_in_its_first_90_seconds_is_only_put_on(
    until_s: float, moved_k: float, starts: bool
) -> None:
    times_s = seconds(until_s)
    course = np.exp(-times_s / 60)
    judged = assess(times_s, 5.0 + moved_k * (course - course[-1]) / (1 - course[-1]))
    if starts:
        assert isinstance(judged, NotSteady)
        assert judged.why is Why.STARTING
        assert (judged.seconds, judged.left_s, judged.of_s) == (until_s, 90.0 - until_s, 90.0)
        assert judged.swing_k == pytest.approx(moved_k)
    else:
        assert not isinstance(judged, NotSteady)


@pytest.mark.parametrize(("half_k", "why"), [(3.7, Why.HUNTING), (4.3, Why.CYCLING)])
def test_a_valve_hunts_by_less_than_four_kelvin_and_a_unit_cycles_by_more(half_k: float, why: Why) -> None:
    """Of a sine the standard deviation is its half swing over the root of two."""
    times_s = seconds(899.0)
    judged = assess(times_s, 8.0 + half_k * np.sin(2 * math.pi * times_s / 90.0))
    assert isinstance(judged, NotSteady)
    assert judged.why is why
    assert judged.swing_k == pytest.approx(half_k, rel=0.05)
    assert judged.seconds == pytest.approx(90.0, rel=0.03)


@pytest.mark.parametrize(("periods", "why"), [(2, Why.SWINGING), (4, Why.HUNTING)])
def test_three_swings_are_no_accident(periods: int, why: Why) -> None:
    times_s = seconds(899.0)
    judged = assess(times_s, 8.0 + 2.0 * np.sin(2 * math.pi * periods * times_s / 900.0 + 1.0))
    assert not isinstance(judged, Settled)
    assert (isinstance(judged, NotSteady) and judged.why is Why.HUNTING) is (why is Why.HUNTING)


@pytest.mark.parametrize(("jumps", "why"), [(1, None), (2, None), (3, Why.JUMPING), (4, Why.JUMPING)])
def test_three_jumps_are_something_that_starts_and_stops(jumps: int, why: Why | None) -> None:
    times_s = seconds(899.0)
    values = 8.0 + 3.0 * ((times_s // (900.0 / (jumps + 1))) % 2)
    judged = assess(times_s, values + np.random.default_rng(4).normal(0.0, 0.08, times_s.size))
    if why is None:
        assert not isinstance(judged, NotSteady) or judged.why is not Why.JUMPING
    else:
        assert isinstance(judged, NotSteady)
        assert (judged.why, judged.times) == (why, jumps)


def test_after_a_jump_it_tells_how_long_ago_and_how_long_still() -> None:
    times_s = seconds(530.0)
    values = np.where(times_s < 500.0, 8.0, 5.0) + np.random.default_rng(5).normal(0.0, 0.05, times_s.size)
    judged = assess(times_s, values)
    assert isinstance(judged, NotSteady)
    assert judged.why is Why.JUST_CHANGED
    assert judged.seconds == pytest.approx(30.0, abs=6.0)
    assert judged.left_s == pytest.approx(60.0 - judged.seconds, abs=6.0)
    assert judged.of_s == 60.0


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (NotSteady(Why.HUNTING, 1.5, 90.0), "It swings every 90 s, by 2.7 °F: the valve hunts"),
        (NotSteady(Why.JUMPING, times=3), "It jumped 3 times: something starts and stops"),
        (NotSteady(Why.DRIFTING), "No end in sight yet"),
    ],
)
def test_why_it_is_not_steady_in_words(found: NotSteady, words: str) -> None:
    assert found.reason == words


@pytest.mark.parametrize("value", [1e12, -1e12, math.nan, math.inf])
def test_numbers_beyond_all_sense_are_refused(value: float) -> None:
    with pytest.raises(SeriesError, match="no sound number"):
        assess([0.0, 1.0], [5.0, value])
    with pytest.raises(SeriesError, match="no sound number"):
        assess([0.0, value], [5.0, 5.0])


def test_the_newest_reading_counts_too() -> None:
    """Ten kelvin off is a standard deviation of 10 K / √181 = 0.74 K in its window."""
    times_s = seconds(300.0)
    assert not rule_holds(times_s, np.where(times_s < 300.0, 6.0, 16.0))


def test_a_jump_is_timed_from_the_first_reading_whenever_the_second_came() -> None:
    times_s = np.concatenate([[1000.0], seconds(490.0) + 1040.0])
    values = np.where(times_s < 1500.0, 8.0, 5.0) + np.random.default_rng(5).normal(0.0, 0.05, times_s.size)
    judged = assess(times_s, values)
    assert isinstance(judged, NotSteady)
    assert judged.why is Why.JUST_CHANGED
    assert judged.seconds == pytest.approx(30.0, abs=6.0)


@pytest.mark.parametrize(("to_go_k", "drifts"), [(3.0, True), (2.0, True), (0.7, False)])
def test_what_has_more_than_a_kelvin_to_go_after_ten_minutes_drifts(to_go_k: float, drifts: bool) -> None:
    """By a lag of 1300 s, as that of weather or load: most of the way is still ahead."""
    times_s = seconds(800.0)
    judged = assess(times_s, 8.0 + to_go_k * np.exp((800.0 - times_s) / 1300.0))
    assert (isinstance(judged, NotSteady) and judged.why is Why.DRIFTING) is drifts
