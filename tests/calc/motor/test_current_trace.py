"""A motor's current over time: the run-up of an induction motor by its textbook formula, and made-up traces."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, CalcRangeError, SeriesError
from calc.motor import CycleLimits, NoStart, Run, Stalled, Started, motor_start, runs, short_cycling
from tests.edges import check_edges

RATED_A = 12.0


def run_up(breakdown_slip: float, mechanical_s: float, step_s: float) -> tuple[np.ndarray, float]:
    """Give the current of an unloaded induction motor from rest, and the time at which it passes half of its fall.

    By Kloss's formula the slip is down to s after t = T [(1 - s²) / (4 k) + k ln(1 / s) / 2], where k is the breakdown
    slip and T the time constant of the rotor (textbooks of electrical machines). The current follows from the
    equivalent circuit of the rotor alone: proportional to s / sqrt(s² + k²).
    """
    slips = np.geomspace(1.0, 0.02, 4000)
    reached_s = mechanical_s * ((1 - slips**2) / (4 * breakdown_slip) + breakdown_slip * np.log(1 / slips) / 2)
    currents_a = 60 * slips / np.hypot(slips, breakdown_slip) * np.hypot(1.0, breakdown_slip)
    currents_a = np.maximum(currents_a, 10.0)
    half_s = float(np.interp(-35.0, -currents_a, reached_s))
    times_s = np.arange(0.0, reached_s[-1] * 4, step_s)
    return np.interp(times_s, reached_s, currents_a), half_s


@pytest.mark.parametrize("mechanical_s", [0.1, 0.3])
@pytest.mark.parametrize("breakdown_slip", [0.2, 0.3])
def test_start_time_of_an_induction_motor(breakdown_slip, mechanical_s):
    step_s = 0.005
    currents_a, half_s = run_up(breakdown_slip, mechanical_s, step_s)
    with_rest = np.concatenate([np.zeros(100), currents_a])
    started = motor_start(np.arange(with_rest.size) * step_s, with_rest, rated_current_a=RATED_A)
    assert isinstance(started, Started)
    assert (started.peak_a, started.running_a) == pytest.approx((60, 10), rel=1e-3)
    assert started.start_time_s == pytest.approx(half_s, abs=step_s)
    assert started.resolution_s == pytest.approx(step_s)


@pytest.mark.parametrize(("currents_a", "kind", "says"), [
    ([0.0] * 9, NoStart, "no start"),
    ([10.0] * 9, NoStart, "begin it before"),
    ([0.0, *[10.0] * 40], NoStart, "sample faster"),
    ([0.0, 60.0, 58.0, 57.0], NoStart, "watch it for longer"),
    ([0.0, 60.0, 20.0, 20.0, 20.0, 60.0], NoStart, "watch it for longer"),
    ([0.0, *[60.0] * 50], Stalled, ""),
    ([0.0, *[60.0] * 9, 0.0], Stalled, ""),
])  # fmt: skip
def test_what_is_no_good_start(currents_a, kind, says):
    """Made up, at 10 samples a second: a rated current of 12 A."""
    found = motor_start(np.arange(len(currents_a)) / 10, currents_a, rated_current_a=RATED_A)
    assert isinstance(found, kind)
    if isinstance(found, NoStart):
        assert says in found.reason
    else:
        assert found.peak_a == 60
        assert found.lasted_s == pytest.approx((len(currents_a) - 2) / 10)


def test_a_gap_while_running_does_not_hide_the_start():
    times_s = [0.0, 0.1, 0.2, 0.3, 0.4, 60.0, 60.1, 60.2, 60.3]
    currents_a = [0.0, 60.0, 58.0, 10.0, 10.0, 10.0, 10.0, 10.0, 0.0]
    started = motor_start(times_s, currents_a, rated_current_a=RATED_A)
    assert isinstance(started, Started)
    assert started.start_time_s == pytest.approx(0.1 + 0.1 * (58 - 35) / (58 - 10))


def trace(*spans: tuple[float, float], step_s: float = 10.0) -> tuple[np.ndarray, np.ndarray]:
    """A current of so many amperes for so many seconds each."""
    currents_a = np.concatenate([np.full(round(seconds / step_s), amps) for amps, seconds in spans])
    return np.arange(currents_a.size) * step_s, currents_a


def test_runs_are_open_where_the_trace_does_not_show_their_ends():
    times_s, currents_a = trace((9, 100), (0, 100), (9, 100), (0, 100), (9, 100))
    assert runs(times_s, currents_a, rated_current_a=RATED_A) == (
        Run(None, 100.0),
        Run(200.0, 300.0),
        Run(400.0, None),
    )


def test_a_gap_hides_what_happened():
    times_s, currents_a = trace((0, 100), (9, 100), (0, 100))
    times_s[15:] += 60
    assert runs(times_s, currents_a, rated_current_a=RATED_A) == (Run(100.0, None), Run(None, 260.0))


@pytest.mark.parametrize(("spans", "short_runs", "short_rests", "short_cycling_"), [
    ([(0, 600), (9, 900), (0, 600), (9, 900), (0, 600)], 0, 0, False),
    ([(0, 600), (9, 120), (0, 600), (9, 900), (0, 600)], 1, 0, False),
    ([(0, 600), (9, 120), (0, 600), (9, 120), (0, 600)], 2, 0, True),
    ([(9, 900), (0, 60), (9, 900), (0, 60), (9, 900)], 0, 2, True),
    ([(9, 60), (0, 600), (9, 60)], 0, 0, False),
])  # fmt: skip
def test_short_cycling_is_a_habit(spans, short_runs, short_rests, short_cycling_):
    """Runs below 5 and rests below 3 minutes, twice: common practice, no source."""
    found = short_cycling(*trace(*spans), rated_current_a=RATED_A)
    assert (len(found.short_runs_s), len(found.short_rests_s)) == (short_runs, short_rests)
    assert found.is_short_cycling is short_cycling_


@pytest.mark.parametrize(("interval", "each"), [("10s", 6), ("60s", 1), ("90s", 1)])
def test_by_name_a_slow_record_cycles_as_a_fast_one_does(interval, each):
    """Samples at even intervals have no gaps between them, and three starts are three by definition."""
    rest, run = ["0 A"] * each, ["9 A"] * 2 * each
    currents = ", ".join([*rest, *run, *rest, *run, *rest, *run, *rest])
    found = catalogue.run("short_cycling", {"interval": interval, "currents": currents, "rated_current": "12A"}).values
    assert (found["starts"], found["short_cycling"]) == (3, True)
    assert len(found["short_runs_s"]) == 3


def test_by_name_a_record_too_slow_for_a_short_rest_is_refused():
    with pytest.raises(
        CalcRangeError, match=r"interval is 2 min, outside .* to 1.5 min: a rest of 3 min is to be seen"
    ):
        catalogue.run("short_cycling", {"interval": "2min", "currents": "0A, 9A, 0A", "rated_current": "12A"})


def test_a_run_of_five_and_a_rest_of_three_minutes_are_long_enough():
    """Common practice, no source."""
    spans = [(0, 180), (9, 300), (0, 180), (9, 300), (0, 180), (9, 300), (0, 180)]
    assert not short_cycling(*trace(*spans), rated_current_a=RATED_A).is_short_cycling


@pytest.mark.parametrize(("step_s", "starts"), [(30.0, 1), (30.5, 0)])
def test_over_half_a_minute_without_a_sample_nobody_knows(step_s, starts):
    times_s, currents_a = [0.0, step_s, 2 * step_s], [0.0, 9.0, 0.0]
    assert short_cycling(times_s, currents_a, rated_current_a=RATED_A).starts == starts
    whole = runs(times_s, currents_a, rated_current_a=RATED_A) == (Run(step_s, 2 * step_s),)
    assert whole is (starts == 1)


def test_the_first_of_two_starts_is_judged_and_its_end_is_not_its_running():
    currents_a = [0.0, 60.0, 10.0, 10.0, 0.0, 60.0, 60.0, 60.0, 60.0, 60.0, 0.0]
    started = motor_start(np.arange(len(currents_a)) / 10, currents_a, rated_current_a=RATED_A)
    assert isinstance(started, Started)
    assert (started.peak_a, started.running_a) == (60, 10)


def test_a_sample_just_halfway_is_where_it_came_to_speed():
    started = motor_start([0, 0.1, 0.2, 0.5, 0.6], [0.0, 60.0, 35.0, 10.0, 10.0], rated_current_a=RATED_A)
    assert isinstance(started, Started)
    assert (started.start_time_s, started.resolution_s) == pytest.approx((0.1, 0.1))


def test_limits():
    times_s, currents_a = [-1e12, 0.0, 1e12], [0.0, 1e5, 0.0]
    for function in (runs, short_cycling):
        check_edges(
            lambda amps, of=function: of(times_s, currents_a, rated_current_a=amps), "rated_current_a", 0.01, 1e4
        )
        check_edges(
            lambda gap_s, of=function: of(times_s, currents_a, rated_current_a=RATED_A, gap_s=gap_s), "gap_s", 1e-3, 1e6
        )
    for beyond in ([[0.0, 1.0], [0.0, 100_000.1]], [[0.0, 1.000001e12], [0.0, 9.0]]):
        with pytest.raises(SeriesError, match="no sound number"):
            runs(*beyond, rated_current_a=RATED_A)


def test_other_limits_may_be_asked_for():
    times_s, currents_a = trace((0, 600), (9, 400), (0, 600))
    limits = CycleLimits(shortest_run_s=600.0, habit=1)
    found = short_cycling(times_s, currents_a, rated_current_a=RATED_A, limits=limits)
    assert (found.starts, found.short_runs_s, found.is_short_cycling) == (1, (400.0,), True)


@pytest.mark.parametrize(("times_s", "currents_a", "message"), [
    ([], [], "two rows of one length"), ([0, 1], [1], "two rows of one length"), ([[0]], [[1]], "two rows"),
    ([0, 1], [1, np.nan], "no sound number"), ([0, np.inf], [1, 1], "no sound number"), ([1, 1], [1, 1], "must rise"),
])  # fmt: skip
def test_series_that_cannot_be_judged(times_s, currents_a, message):
    for function in (runs, motor_start, short_cycling):
        with pytest.raises(SeriesError, match=message):
            function(times_s, currents_a, rated_current_a=RATED_A)


@given(st.lists(st.floats() | st.sampled_from([0.0, 10.0, 60.0]), max_size=30), st.floats(), st.floats(0.01, 100))
def test_any_trace_gives_an_answer_or_a_calc_error(currents_a, rated_current_a, step_s):
    times_s = np.arange(len(currents_a)) * step_s
    for function in (runs, motor_start, short_cycling):
        for rated in (rated_current_a, RATED_A):
            try:
                function(times_s, currents_a, rated_current_a=rated)
            except CalcError:
                continue


@given(st.lists(st.tuples(st.sampled_from([0.0, 9.0]), st.floats(10, 900)), min_size=1, max_size=12))
def test_runs_tell_the_state_of_every_sample(spans):
    times_s, currents_a = trace(*spans)
    found = runs(times_s, currents_a, rated_current_a=RATED_A)
    inside = np.zeros(times_s.size, bool)
    for run in found:
        begin = -np.inf if run.began_s is None else run.began_s
        end = np.inf if run.ended_s is None else run.ended_s
        inside |= (times_s >= begin) & (times_s < end)
    assert (inside == (currents_a > 0)).all()


@pytest.mark.parametrize(("currents", "start"), [
    ("0 A, 60 A, 20 A, 10 A, 10 A, 10 A, 10 A", "it came up to speed"),
    ("0 A, 60 A, 60 A, 60 A, 0 A", "it did not come up to speed"),
    ("0 A, 0 A", None),
])  # fmt: skip
def test_by_name_each_kind_of_start_is_told(currents, start):
    arguments = {"interval": "100ms", "currents": currents, "rated_current": "12 A"}
    result = json.loads(catalogue.run("motor_start", arguments).as_json())
    assert result["start"] == start
    assert (start is None) == ("start_reason" in result)
