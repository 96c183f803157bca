"""What is decided of a course, each bound from both sides, on courses made up by hand: no fit, no noise.

The bounds themselves are this project's and common practice, no source, but for the 90 s of a clamp: California Title
24, RA3.2.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from calc.course import Course
from calc.errors import SeriesError
from calc.estimate import Estimate
from calc.settling import (
    RULE,
    NotSteady,
    Settled,
    Settling,
    SteadyRule,
    Why,
    _checked,
    _end,
    _ends_in_sight,
    _jumps_s,
    _moving_line,
    _only_drifts,
    _seconds_to_settle,
    _swing,
    _unbroken_in_s,
    assess,
    rule_holds,
    slope_per_minute,
    steady_all_along,
)

FLAT = Course(
    now=Estimate(5.0, 0.1),
    final=Estimate(5.0, 0.1),
    drifting=0.0,
    slow_constants_s=np.array([100.0]),
    slow_amplitudes=np.array([0.0]),
    weights=np.array([1.0]),
    times_s=np.arange(120.0),
    residuals=np.zeros(120),
    surprises=np.zeros(120),
)


def towards(final_k: float, deviation_k: float = 0.1) -> Course:
    """A course that is at 5 K now."""
    return replace(FLAT, final=Estimate(final_k, deviation_k))


def seconds(until_s: float, from_s: float = 0.0) -> np.ndarray:
    return np.arange(from_s, from_s + until_s + 0.5)


def test_what_is_not_said_of_a_figure_is_nothing() -> None:
    bare = NotSteady(Why.DRIFTING)
    assert (bare.swing_k, bare.seconds, bare.times, bare.left_s, bare.of_s) == (None, 0.0, 0, None, 0.0)


# The end of a smooth course


@pytest.mark.parametrize(("to_come_k", "settled"), [(0.5, True), (-0.5, True), (0.51, False), (-0.51, False)])
def test_it_has_settled_when_no_more_is_to_come_than_it_may_scatter(to_come_k: float, settled: bool) -> None:
    times_s = seconds(300.0, 1000.0)
    judged = _end(times_s, np.full(301, 5.0), towards(5.0 + to_come_k), replace(RULE, deviation_limit_k=0.5))
    assert isinstance(judged, Settled if settled else Settling)


def test_it_has_not_settled_while_it_slopes_however_near_its_end() -> None:
    times_s = seconds(300.0)
    assert isinstance(_end(times_s, 5.0 + 0.01 * times_s, FLAT, RULE), Settling)


@pytest.mark.parametrize(
    ("until_s", "moved_k", "starts"),
    [(89.5, 10.5, True), (90.0, 10.5, False), (60.0, 10.0, False), (60.0, 10.1, True), (91.0, 12.0, False)],
)
def test_a_clamp_starts_for_90_s_while_it_moves_more_than_ten_kelvin(
    until_s: float, moved_k: float, starts: bool
) -> None:
    times_s = np.linspace(1000.0, 1000.0 + until_s, 100)
    judged = _end(times_s, np.linspace(0.0, moved_k, 100), towards(9.0), RULE)
    if not starts:
        assert isinstance(judged, Settling)
        return
    assert judged == NotSteady(Why.STARTING, moved_k, until_s, left_s=90.0 - until_s, of_s=90.0)


@pytest.mark.parametrize(("deviation_k", "known"), [(2.9, True), (3.0, True), (3.1, False)])
def test_an_end_known_no_better_than_three_kelvin_is_not_known(deviation_k: float, known: bool) -> None:
    times_s = seconds(300.0)
    judged = _end(times_s, 5.0 + 0.01 * times_s, towards(9.0, deviation_k), RULE)
    assert isinstance(judged, Settling) is known
    assert known or judged == NotSteady(Why.DRIFTING)


@pytest.mark.parametrize(("share", "drifts"), [(0.24, False), (0.25, False), (0.26, True)])
@pytest.mark.parametrize("final_k", [5.0, 9.0])
def test_a_quarter_of_a_chance_that_weather_moves_it_is_enough(share: float, drifts: bool, final_k: float) -> None:
    """Whether it would have settled or not; a ramp is told from 210 s on."""
    for until_s, told in ((210.0, True), (209.0, False), (300.0, True)):
        times_s = seconds(until_s, 1000.0)
        judged = _end(times_s, np.full(times_s.size, 5.0), replace(towards(final_k), drifting=share), RULE)
        assert (judged == NotSteady(Why.DRIFTING)) is (drifts and told)


def test_a_ramp_alone_has_no_lag_that_lies_ahead_and_takes_no_time() -> None:
    course = replace(towards(9.0), slow_constants_s=np.array([math.inf, 100.0]), slow_amplitudes=np.array([0.0, 1.0]))
    course = replace(course, weights=np.array([0.7, 0.3]))
    assert not _only_drifts(course, 700.0)
    assert _seconds_to_settle(course, RULE, 60.0) == pytest.approx(0.7 * 240.0 + 0.3 * _flat_s(1.0, 100.0) - 60.0)


def _flat_s(amplitude_k: float, lag_s: float) -> float:
    """Flat to 0.1 °F per minute in the middle of three minutes, and a minute more."""
    return lag_s * math.log(amplitude_k / lag_s / (0.1 * 5 / 9 / 60)) + 90.0 + 60.0


@pytest.mark.parametrize(
    ("elapsed_s", "to_come_k", "ahead", "drifts"),
    [
        (600.0, 1.0, 0.6, True),
        (600.0, -1.0, 0.6, True),
        (599.5, 1.0, 0.6, False),
        (600.5, 0.99, 0.6, False),
        (600.0, 1.0, 0.51, True),
        (600.0, 1.0, 0.5, False),
    ],
)
def test_after_ten_minutes_a_kelvin_to_come_and_most_of_the_way_ahead_is_weather(
    elapsed_s: float, to_come_k: float, ahead: float, drifts: bool
) -> None:
    """Of two fits, one whose lag is so long that all lies ahead, one that is done."""
    course = replace(
        towards(5.0 + to_come_k),
        slow_constants_s=np.array([1e9, 0.1]),
        slow_amplitudes=np.array([1.0, 1.0]),
        weights=np.array([ahead, 1.0 - ahead]),
    )
    assert _only_drifts(course, elapsed_s) is drifts


def test_how_much_lies_ahead_goes_by_the_lag() -> None:
    """After 693 s, half of what a lag of 1000 s had to go lies ahead."""
    for slow_s, drifts in ((1010.0, True), (990.0, False)):
        course = replace(towards(9.0), slow_constants_s=np.array([slow_s]))
        assert _only_drifts(course, 1000.0 * math.log(2.0)) is drifts


def test_the_seconds_to_settle_are_the_mean_of_what_the_fits_say() -> None:
    """Of one lag a slope of amplitude / lag has e-folded to the limit; then half a window and the hold."""
    rule = SteadyRule(window_s=100.0, slope_limit_k_per_s=0.001, hold_s=30.0)
    course = replace(
        FLAT,
        slow_constants_s=np.array([200.0, 50.0, 400.0]),
        slow_amplitudes=np.array([-0.2 * math.e**2, 0.05 * math.e**1.6, 0.01]),
        weights=np.array([0.5, 0.3, 0.2]),
    )
    # after 400 s and 80 s flat to the limit; the third always was, and takes a whole window
    at_s = 0.5 * (400.0 + 50.0 + 30.0) + 0.3 * (80.0 + 50.0 + 30.0) + 0.2 * (100.0 + 30.0)
    assert _seconds_to_settle(course, rule, 60.0) == pytest.approx(at_s - 60.0)
    assert _seconds_to_settle(course, rule, 400.0) == 0.0


def test_a_gap_takes_a_window_and_a_minute_from_its_end() -> None:
    """From 140 s, at 200 s: 180 s more. Of two the later counts; one that ended 5 min ago takes no more."""
    once_s = np.concatenate([seconds(100.0), seconds(60.0, 140.0)])
    twice_s = np.concatenate([seconds(20.0), seconds(40.0, 60.0), seconds(60.0, 140.0)])
    for times_s, takes_s in ((once_s, 180.0), (twice_s, 180.0), (np.append(once_s, seconds(239.0, 201.0)), 0.0)):
        assert _unbroken_in_s(times_s + 1000.0, RULE) == takes_s
    assert _unbroken_in_s(seconds(200.0), RULE) == 0.0


def test_the_longer_of_gap_and_course_tells_how_long_it_takes() -> None:
    gapped_s = np.concatenate([seconds(100.0), seconds(60.0, 140.0)])
    for times_s, takes_s in ((gapped_s, 180.0), (seconds(200.0), 40.0)):  # flat: a window and a minute from the first
        judged = _end(times_s, np.full(times_s.size, 5.0), towards(9.0), RULE)
        assert isinstance(judged, Settling)
        assert judged.seconds_to_settle == takes_s


# Jumps


def jumps_s(residuals: dict[int, float], surprises: dict[int, float], every_s: float = 1.0) -> list[float]:
    course = replace(FLAT, times_s=every_s * np.arange(120.0), residuals=np.zeros(120), surprises=np.zeros(120))
    for index, residual_k in residuals.items():
        course.residuals[index] = residual_k
    for index, deviations in surprises.items():
        course.surprises[index] = deviations
    return _jumps_s(course)


@pytest.mark.parametrize(("deviations", "found"), [(6.1, True), (-6.1, True), (6.0, False), (5.9, False)])
def test_a_jump_surprises_by_more_than_six_deviations(deviations: float, found: bool) -> None:
    assert jumps_s({70: 2.0}, {70: deviations}) == ([70.0] if found else [])


@pytest.mark.parametrize(("step_k", "found"), [(0.51, True), (-0.51, True), (0.5, False), (0.49, False)])
def test_a_jump_is_of_more_than_half_a_kelvin(step_k: float, found: bool) -> None:
    assert jumps_s({70: step_k}, {70: 9.0}) == ([70.0] if found else [])


def test_the_step_is_from_the_stretch_before() -> None:
    high = dict.fromkeys(range(60, 120), 2.0)
    assert jumps_s(high, {70: 9.0}) == []
    assert jumps_s(high, {60: 9.0}) == [60.0]


@pytest.mark.parametrize(("at", "found"), [(30, False), (31, True)])
def test_the_first_half_minute_has_no_jumps(at: int, found: bool) -> None:
    assert jumps_s({at: 2.0}, {at: 9.0}) == ([float(at)] if found else [])


def test_the_first_reading_is_no_jump_however_long_its_stretch() -> None:
    course = replace(FLAT, times_s=40.0 + np.arange(120.0))
    course = replace(course, residuals=np.array([3.0] + 119 * [0.0]), surprises=np.array([9.0] + 119 * [0.0]))
    assert _jumps_s(course) == []


def test_a_jump_that_takes_several_stretches_is_one() -> None:
    residuals = {50: 1.0, 51: 2.0, 52: 3.0, 54: 1.0, 80: 4.0, 81: 2.0}
    assert jumps_s(residuals, dict.fromkeys(residuals, 9.0)) == [50.0, 54.0, 80.0]


# Swings about the course


def swing_of(sines: dict[int, float], every_s: float = 1.0, rule: SteadyRule = RULE) -> NotSteady | None:
    """Judge a sum of sines, each of so many swings [over 480 stretches] and so high [K]."""
    at = np.arange(480.0)
    residuals = np.zeros(480)
    for swings, half_k in sines.items():
        residuals += half_k * np.sin(2 * math.pi * swings * at / 480 + swings)
    return _swing(replace(FLAT, times_s=1000.0 + every_s * at, residuals=residuals), rule)


@pytest.mark.parametrize(("half_k", "swings"), [(0.5, False), (0.51, True)])
def test_what_scatters_within_the_limit_does_not_swing(half_k: float, swings: bool) -> None:
    """Up and down by so much is that standard deviation."""
    course = replace(FLAT, residuals=half_k * np.where(np.arange(120) % 2, 1.0, -1.0))
    assert (_swing(course, replace(RULE, deviation_limit_k=0.5)) is not None) is swings


def test_a_hunting_valve_tells_its_half_swing_and_its_period() -> None:
    found = swing_of({8: 1.5}, every_s=2.0)
    assert found is not None
    assert found.why is Why.HUNTING
    assert found.swing_k == pytest.approx(1.5)
    assert found.seconds == 958.0 / 8  # from the first reading to the last in eight


@pytest.mark.parametrize(("half_k", "why"), [(3.99, Why.HUNTING), (4.01, Why.CYCLING)])
def test_four_kelvin_part_a_hunting_valve_from_a_unit_that_cycles(half_k: float, why: Why) -> None:
    found = swing_of({8: half_k}, every_s=2.0)
    assert found is not None
    assert (found.why, found.seconds) == (why, 958.0 / 8)


@pytest.mark.parametrize(("swings", "why"), [(2, Why.SWINGING), (3, Why.HUNTING)])
def test_it_takes_three_swings(swings: int, why: Why) -> None:
    found = swing_of({swings: 2.0})
    assert found is not None
    assert found.why is why
    assert found.swing_k == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("sines", "periodic"),
    [
        ({20: math.sqrt(0.52), 50: math.sqrt(0.48)}, True),
        ({20: math.sqrt(0.52), 24: math.sqrt(0.48)}, True),
        # ten others
        ({20: 1.0, **dict.fromkeys(range(40, 100, 6), 0.3)}, True),  # 1 / 1.9
        ({20: 1.0, **dict.fromkeys(range(40, 100, 6), 0.34)}, False),  # 1 / 2.156
        # a near one that is as high, which Hann's window spreads by one to either side, and a far one
        ({20: math.sqrt(0.48), 23: math.sqrt(0.46), 60: math.sqrt(0.06)}, False),
        ({20: math.sqrt(0.48), 17: math.sqrt(0.46), 60: math.sqrt(0.06)}, False),
    ],
)
def test_half_the_power_near_one_period_makes_it_periodic(sines: dict[int, float], periodic: bool) -> None:
    """Power goes as the square of the height; Hann's window shows a sine as a line and its two neighbours."""
    found = swing_of({swings: 2.0 * half_k for swings, half_k in sines.items()})
    assert found is not None
    assert (found.why is Why.HUNTING) is periodic


@pytest.mark.parametrize(("final_k", "in_sight"), [(9.0, True), (1.0, True), (9.1, False), (0.9, False)])
def test_an_end_is_in_sight_no_farther_than_the_way_that_was_seen(final_k: float, in_sight: bool) -> None:
    readings = np.array([1.0, 2.0, 4.0, 3.0, 5.0])  # a way of 4 K, at 5 K now
    assert _ends_in_sight(Settling(Estimate(final_k, 0.1), 60.0), readings) is in_sight


def test_an_end_that_is_reached_is_in_sight_and_one_that_is_not_known_is_not() -> None:
    assert _ends_in_sight(Settled(Estimate(5.0, 0.1)), np.array([5.0, 5.0]))
    assert not _ends_in_sight(NotSteady(Why.DRIFTING), np.array([5.0, 5.0]))


# The readings themselves


def test_a_clock_that_stands_or_leaps_begins_the_readings_anew_right_after() -> None:
    for leapt_s in ([0.0, 1.0, 1.0, 2.0], [0.0, 5.0, 1.0, 2.0], [0.0, 1.0, 301.5, 302.5]):
        times_s, readings = _checked(leapt_s, [1.0, 2.0, 3.0, 4.0])
        assert list(times_s) == leapt_s[2:]
        assert list(readings) == [3.0, 4.0]
    assert _checked([0.0, 1.0, 301.0, 302.0], [1.0, 2.0, 3.0, 4.0])[0].size == 4
    assert list(_checked([0.0, 0.0, 1.0, 0.5, 1.5], [1.0, 2.0, 3.0, 4.0, 5.0])[1]) == [4.0, 5.0]  # the last leap


def test_a_million_million_is_no_sound_number_and_a_little_less_is() -> None:
    nearly = 1e12 - 0.5
    assert _checked([-nearly], [-nearly])[1] == -nearly
    for times_s, readings in (([1e12], [5.0]), ([5.0], [1e12])):
        with pytest.raises(SeriesError, match="no sound number"):
            _checked(times_s, readings)


@pytest.mark.parametrize("origin_s", [0.0, 1.7e9])
def test_slope_and_scatter_of_each_window_are_those_of_its_line_and_its_sample(origin_s: float) -> None:
    """Against numpy's polynomial fit and standard deviation, at the seconds of a clock too."""
    times_s = np.cumsum(np.random.default_rng(1).uniform(0.5, 1.5, 40))
    readings = 3e5 + 0.1 * times_s + np.random.default_rng(2).normal(0.0, 0.3, 40)
    starts, stops = np.array([0, 3, 20]), np.array([10, 12, 40])
    slopes, deviations = _moving_line(times_s + origin_s, readings, starts, stops)
    for start, stop, slope, deviation in zip(starts, stops, slopes, deviations, strict=True):
        window = slice(start, stop)
        centred_s = times_s[window] - times_s[window].mean()
        assert slope == pytest.approx(np.polyfit(centred_s, readings[window], 1)[0], rel=1e-4)
        assert deviation == pytest.approx(np.std(readings[window], ddof=1), rel=1e-4)


def test_a_flat_window_has_no_scatter_however_far_it_lies_from_the_last_reading() -> None:
    """Nor does what is lost in the last digits make the root of less than nothing."""
    times_s = seconds(20.0)
    for offset_k in np.arange(0.1, 10.0, 0.1):
        readings = np.where(times_s < 20.0, 6.0 + offset_k, 6.0)
        _, deviations = _moving_line(times_s, readings, np.array([0, 3, 7]), np.array([15, 19, 20]))
        assert deviations == pytest.approx(np.zeros(3), abs=1e-5)


@pytest.mark.parametrize(("spike_s", "holds"), [(59.0, True), (60.0, False), (300.0, False)])
def test_the_rule_looks_back_a_window_and_a_minute_and_no_farther(spike_s: float, holds: bool) -> None:
    """Ten kelvin off is a standard deviation of 10 K / √181 = 0.74 K in its window: more than 0.5 °F."""
    times_s = seconds(300.0)
    assert rule_holds(times_s, np.where(times_s == spike_s, 16.0, 6.0)) is holds


@pytest.mark.parametrize(
    ("gap_from_s", "holds"), [(20.0, True), (21.0, True), (22.0, False), (59.0, False), (60.0, False), (200.0, False)]
)
def test_a_gap_counts_that_reaches_into_the_first_window(gap_from_s: float, holds: bool) -> None:
    """A gap of 39 s; the first window begins at 60 s of 300 s."""
    times_s = seconds(300.0)
    times_s = times_s[(times_s <= gap_from_s) | (times_s >= gap_from_s + 39.0)]
    assert rule_holds(times_s, np.full(times_s.size, 6.0)) is holds


def test_all_along_counts_from_the_first_reading_whenever_that_was() -> None:
    for until_s, holds in ((239.0, False), (240.0, True)):
        times_s = seconds(until_s, 5000.0)
        assert steady_all_along(times_s, np.full(times_s.size, 6.0)) is holds


def test_the_slope_of_the_last_three_minutes_counts_the_reading_of_three_minutes_ago() -> None:
    times_s = np.array([0.0, 90.0, 180.0]) + 1000.0
    assert slope_per_minute(times_s, [4.0, 5.0, 6.0]) == pytest.approx(1.0 / 1.5)
    assert slope_per_minute(times_s - [1.0, 0.0, 0.0], [4.0, 5.0, 6.0]) is None


@pytest.mark.parametrize(("count", "left_s"), [(0, 60.0), (1, 60.0), (10, 51.0), (60, 1.0)])
def test_how_long_until_a_minute_is_over(count: int, left_s: float) -> None:
    judged = assess(1000.0 + np.arange(float(count)), np.full(count, 5.0))
    assert judged == NotSteady(Why.JUST_BEGUN, left_s=left_s, of_s=60.0)


def test_what_comes_after_a_jump_begins_with_the_reading_that_jumped() -> None:
    times_s = np.arange(1000.0, 1531.0, 5.0)  # each reading its own stretch
    values = np.where(times_s < 1500.0, 8.0, 5.0) + 0.02 * np.where(times_s % 10, 1.0, -1.0)
    judged = assess(times_s, values)
    assert judged == NotSteady(Why.JUST_CHANGED, seconds=30.0, left_s=30.0, of_s=60.0)


def test_after_two_jumps_only_what_came_after_the_second_counts() -> None:
    times_s = np.arange(1000.0, 1531.0, 5.0)
    values = 8.0 - 3.0 * (times_s >= 1300.0) + 4.0 * (times_s >= 1500.0) + 0.02 * np.where(times_s % 10, 1.0, -1.0)
    judged = assess(times_s, values)
    assert judged == NotSteady(Why.JUST_CHANGED, seconds=30.0, left_s=30.0, of_s=60.0)


def test_of_two_jumps_within_a_minute_the_later_is_told() -> None:
    times_s = np.arange(1000.0, 1531.0, 5.0)
    values = 8.0 - 3.0 * (times_s >= 1490.0) + 4.0 * (times_s >= 1515.0) + 0.02 * np.where(times_s % 10, 1.0, -1.0)
    assert assess(times_s, values) == NotSteady(Why.JUST_CHANGED, seconds=15.0, left_s=45.0, of_s=60.0)


def test_readings_are_close_together_within_a_hundred_and_twentieth_of_their_time() -> None:
    """Stretches of 1 s, from the first reading on: 59.9 s and 60.1 s after it lie in two, 60.1 s and 60.3 s in one."""
    others_s = [0.0, 1.5, *np.arange(5.3, 57.0, 5.0), 70.3, 80.3, 90.3, 118.3, 120.0]
    for pair_s, begun in (([59.9, 60.1], False), ([60.1, 60.3], True)):
        since_s = np.sort([*others_s, *pair_s])  # twenty
        judged = assess(1000.2 + since_s, 5.0 + 3.0 * np.exp(-since_s / 60.0))
        assert (isinstance(judged, NotSteady) and judged.why is Why.JUST_BEGUN) is begun


def test_what_swung_at_first_is_judged_by_its_second_half_where_that_has_an_end_in_sight() -> None:
    times_s = seconds(899.0, 1000.0)
    at_s = times_s - 1000.0
    hump = 4.0 * np.sin(math.pi * np.minimum(at_s, 420.0) / 420.0) ** 2
    values = 6.0 + hump + 3.0 * (1 - np.exp(-np.maximum(at_s - 430.0, 0.0) / 120.0))
    judged = assess(times_s, values)
    assert judged == assess(times_s[450:], values[450:])
    assert isinstance(judged, Settling | Settled)


def test_what_moved_oddly_at_first_is_judged_by_its_last_minute_where_half_of_it_is_shorter() -> None:
    """A valve that overshoots and comes back within 30 s, and then one lag: made up."""
    times_s = seconds(100.0, 1000.0)
    at_s = times_s - 1000.0
    values = 6.0 + 2.0 * np.exp(-at_s / 60.0) + 3.0 * np.sin(math.pi * np.minimum(at_s, 30.0) / 15.0)
    judged = assess(times_s, values)
    assert judged == assess(times_s[40:], values[40:])
    assert isinstance(judged, Settling | Settled)


def test_a_minute_that_swings_is_not_divided_further() -> None:
    times_s = seconds(60.0, 1000.0)
    values = 6.0 + 4.0 * np.sin((times_s - 1000.0) / 9.0) * np.sin((times_s - 1000.0) / 21.0)
    assert assess(times_s, values).why is Why.SWINGING
