"""The diagnosis of a start, against the run-up of an induction motor by Kloss's formula, and made-up records."""

import json
import math
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import CalcError, CalcRangeError, SeriesError
from calc.motor import Start, diagnose_start
from tests.calc.motor.test_current_trace import run_up
from tests.fuzzing import fuzz

RATED_A = 12.0


def record(*pieces, step_s=0.02):
    """A record of pieces: how long each lasts, and its amps at its beginning and end."""
    currents_a = np.concatenate([np.linspace(first, last, round(long_s / step_s)) for long_s, first, last in pieces])
    return np.arange(currents_a.size) * step_s, currents_a


def diagnosed(*pieces, step_s=0.02, **named):
    return diagnose_start(*record(*pieces, step_s=step_s), rated_current_a=RATED_A, **named)


REST, RUN = (0.4, 0.0, 0.0), (2.0, 10.0, 10.0)


@pytest.mark.parametrize("mechanical_s", [0.1, 0.3])
def test_an_induction_motor_comes_up_to_speed(mechanical_s):
    """Kloss's formula: the time from the first current to halfway between peak and running, within a sample."""
    step_s = 0.005
    currents_a, half_s = run_up(0.25, mechanical_s, step_s)
    with_rest = np.concatenate([np.zeros(100), currents_a])
    found = diagnose_start(np.arange(with_rest.size) * step_s, with_rest, rated_current_a=RATED_A)
    assert (found.start, found.starts) == (Start.STARTED, 1)
    assert found.start_time_s == pytest.approx(half_s, abs=step_s)
    assert (found.resolution_s, found.interval_s) == pytest.approx((step_s, step_s))
    assert (found.peak_a, found.peak_is_least) == (pytest.approx(60, rel=1e-3), False)


@pytest.mark.parametrize(
    ("seconds", "start", "says"),
    [
        (1.0, Start.STARTED, "it took 1.00 s"),
        (2.96, Start.STARTED, "it took 2.96 s"),
        (3.0, Start.CANNOT_TELL, "it took 3.00 s to speed, known within 0.02 s: too near 3 s to tell"),
        (3.04, Start.SLOW, "look at the volts while it starts"),
        (5.0, Start.SLOW, "it took 5.00 s"),
    ],
)
def test_three_seconds_are_the_limit_of_a_start(seconds, start, says):
    """Common practice, no source; a step from 60 to 10 A, half of it at the sample between."""
    found = diagnosed(REST, (seconds, 60, 60), (0.02, 35, 35), (20.0, 10, 10))
    assert (found.start, says in found.reason) == (start, True)


@pytest.mark.parametrize(
    ("inrush_s", "step_s", "start", "says"),
    [
        (
            0.2,
            0.25,
            Start.CANNOT_TELL,
            "too slow to see an inrush of 0.2 s: one sample every 0.25 s; one every 0.05 s (20 a",
        ),
        (0.4, 0.25, Start.CANNOT_TELL, "one every 0.1 s (10 a second)"),
        (0.2, 0.051, Start.CANNOT_TELL, "too slow"),
        (0.2, 0.05, Start.STARTED, "no inrush in a record that would see it: a soft start"),
        (1.0, 0.25, Start.STARTED, "no inrush in a record that would see it"),
    ],
)
def test_a_record_too_slow_for_an_inrush_says_which_would_do(inrush_s, step_s, start, says):
    """Four samples within it: common practice. A record of 4 Hz does not see an inrush of 0.2 s."""
    found = diagnosed((2.0, 0, 0), (8.0, 10, 10), step_s=step_s, inrush_s=inrush_s)
    assert (found.start, says in found.reason) == (start, True)
    assert found.needed_interval_s == inrush_s / 4
    assert found.interval_s == pytest.approx(step_s)
    assert found.peak_is_least == (step_s > inrush_s / 4 + 1e-9)
    assert (found.peak_a, found.start_time_s, found.resolution_s) == (10, None, None)


def test_of_a_slow_record_the_peak_is_the_least_there_was():
    assert diagnosed((1.0, 0, 0), (0.5, 60, 60), (4.0, 10, 10), step_s=0.1).peak_is_least
    times_s, currents_a = record((0.4, 0, 0), (0.2, 60, 60), (4.0, 10, 10))
    kept = [*range(20), *range(25, 200)]  # a hole before the start: what happened in it was not seen
    assert diagnose_start(times_s[kept], currents_a[kept], rated_current_a=RATED_A).interval_s == pytest.approx(0.12)
    kept = [*range(21), *range(26, 200)]  # and one right after its first sample
    assert diagnose_start(times_s[kept], currents_a[kept], rated_current_a=RATED_A).interval_s == pytest.approx(0.12)
    kept = [*range(22), *range(27, 200)]  # later ones do not count
    assert diagnose_start(times_s[kept], currents_a[kept], rated_current_a=RATED_A).interval_s == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("held_a", "locked_rotor_a", "says"),
    [
        (58.0, 62.0, "switch it off: it drew 58 A for 4.0 s and did not come up to speed. That is 94 % of its locked"),
        (58.0, 62.0, "it is locked, or its start winding or capacitor does nothing"),
        (43.5, 62.0, "That is 70 % of its locked-rotor current: it is locked"),
        (43.0, 62.0, "That is 69 % of its locked-rotor current: low volts while it starts, or a phase or a winding"),
        (58.0, None, "did not come up to speed. Locked, or without its start winding or capacitor"),
    ],
)
@pytest.mark.parametrize("after", [[], [(0.4, 0.0, 0.0)]])
def test_a_stalled_motor(held_a, locked_rotor_a, says, after):
    """A current near that of a locked rotor that does not fall: common practice, no source."""
    found = diagnosed(REST, (0.04, 80, 80), (3.96, held_a, held_a), *after, locked_rotor_a=locked_rotor_a)
    assert (found.start, found.peak_a) == (Start.STALLED, 80)
    assert says.replace("4.0 s", "4.0 s") in found.reason


def test_a_stall_is_one_however_soon_it_was_switched_off():
    """What it held counts, not the peak before; and without a stop a record so short cannot tell."""
    found = diagnosed(REST, (0.1, 90, 90), (0.9, 30, 30), REST, locked_rotor_a=62.0)
    assert (found.start, "it drew 30 A for 1.0 s" in found.reason) == (Start.STALLED, True)
    assert "That is 48 %" in found.reason
    falls = diagnosed(REST, (2.0, 60, 60), (2.0, 50, 30), REST, locked_rotor_a=62.0)
    assert "it drew 40 A for 4.0 s" in falls.reason  # the median of its second half
    assert diagnosed(REST, (0.1, 90, 90), (0.9, 30, 30)).start is Start.CANNOT_TELL


def test_a_clock_may_count_from_anywhere():
    times_s, currents_a = record(REST, (0.3, 60, 10), RUN, (20.0, 0, 0), (0.3, 60, 10), RUN)
    for first_s in (times_s[20], 22.7, -5e5):
        found = diagnose_start(times_s - first_s, currents_a, rated_current_a=RATED_A)
        assert (found.start, found.starts) == (Start.RESTARTED, 2)


def test_a_stall_leads_whatever_else_was_seen():
    good, stall = ((0.3, 60, 10), RUN), (4.0, 58, 58)
    for pieces in ((REST, *good, REST, stall), (REST, stall, REST, *good), (REST, *good, (400.0, 0, 0), stall, REST)):
        found = diagnosed(*pieces)
        assert (found.start, found.starts) == (Start.STALLED, 2)
        assert found.start_time_s is None


@pytest.mark.parametrize(("rest_s", "start"), [(20, Start.RESTARTED), (299, Start.RESTARTED), (300.5, Start.STARTED)])
def test_starts_with_too_short_a_rest(rest_s, start):
    """Makers of compressors ask for 5 min between starts."""
    found = diagnosed(REST, (0.3, 60, 10), RUN, (rest_s, 0, 0), (0.3, 60, 10), RUN, (400, 0, 0), (0.3, 60, 10), RUN)
    assert (found.start, found.starts) == (start, 3)
    rest = "20 s" if rest_s == 20 else "4 min 59 s"
    said = f"it started 3 times, once after {rest} of rest: a compressor needs 5 min"
    assert (said in found.reason) == (start is Start.RESTARTED)


def test_a_run_that_was_there_already_counts_for_the_rest_and_not_as_a_start():
    found = diagnosed(RUN, (20.0, 0, 0), (0.3, 60, 10), RUN)
    assert (found.start, found.starts) == (Start.RESTARTED, 1)
    assert "once after 20 s" in found.reason


def test_the_worst_of_several_starts_is_told():
    found = diagnosed(
        REST, (0.3, 60, 10), RUN, (400, 0, 0), (5.0, 60, 60), (20.0, 10, 10), (400, 0, 0), (0.3, 60, 10), RUN
    )
    assert (found.start, found.starts) == (Start.SLOW, 3)
    assert found.start_time_s == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize("pieces", [[(2.0, 0, 0)], [RUN], [RUN, REST]])
def test_a_record_without_a_start(pieces):
    found = diagnosed(*pieces)
    assert (found.start, found.starts, found.peak_a, found.interval_s) == (Start.NO_START, 0, None, None)
    assert "begin it before" in found.reason
    assert (found.peak_is_least, found.needed_interval_s) == (False, 0.05)


def test_a_record_that_ends_too_early_cannot_tell():
    found = diagnosed(REST, (1.0, 60, 55))
    assert (found.start, "watch it for longer" in found.reason) == (Start.CANNOT_TELL, True)


@pytest.mark.parametrize(
    ("named", "name"),
    [({"inrush_s": math.nextafter(0.02, 0)}, "inrush_s"), ({"inrush_s": math.nextafter(10, 11)}, "inrush_s"),
     ({"locked_rotor_a": math.nextafter(12, 0)}, "locked_rotor_a"),
     ({"locked_rotor_a": math.nextafter(240, 250)}, "locked_rotor_a")],
)  # fmt: skip
def test_limits(named, name):
    with pytest.raises(CalcRangeError, match=name):
        diagnosed(REST, RUN, **named)
    diagnosed(REST, RUN, inrush_s=0.02, locked_rotor_a=12.0)
    diagnosed(REST, RUN, inrush_s=10.0, locked_rotor_a=240.0)
    with pytest.raises(SeriesError):
        diagnose_start([0.0, 1.0], [1.0], rated_current_a=RATED_A)


def test_by_name():
    good = {"interval": "100 ms", "currents": "0 A, 60 A, 55 A, 20 A, 10 A, 10 A, 10 A, 10 A", "rated_current": "12 A"}
    found = json.loads(catalogue.run("start_diagnosis", good).as_json())
    assert (found["start"], found["starts"], found["peak_a"], found["peak_is_at_least_that"]) == (
        "started",
        1,
        60,
        True,
    )
    assert found["start_time_s"] == pytest.approx(0.157, abs=1e-3)
    assert found["rate_that_sees_the_inrush_hz"] == 20
    assert "live" in found["caution"]
    off = catalogue.run("start_diagnosis", good | {"currents": "0 A, 0 A"}).values
    assert off["peak_a"] == Unknown("no start was seen")
    assert off["start_time_s"] == off["resolution_s"] == Unknown("no way to speed was seen")
    stall = good | {"interval": "1 s", "currents": "0 A, 60 A, 58 A, 58 A, 58 A, 58 A", "locked_rotor_current": "62 A"}
    assert "94 % of its locked-rotor" in catalogue.run("start_diagnosis", stall).values["reason"]
    slow = good | {"currents": "0 A, 10 A, 10 A, 10 A", "inrush": "100 ms"}
    assert "one every 0.025 s (40 a second)" in catalogue.run("start_diagnosis", slow).values["reason"]


@fuzz
@given(st.lists(st.floats(0, 100), max_size=12), st.lists(st.floats(), max_size=12), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(times_s, currents_a, rated_a, locked_a):
    times = sorted(set(times_s))
    with suppress(CalcError):
        found = diagnose_start(times, currents_a[: len(times)], rated_current_a=rated_a, locked_rotor_a=locked_a)
        assert found.reason


def test_a_time_to_speed_is_no_finer_than_the_samples_are_apart():
    asked = {"interval": "100 ms", "currents": "0 A, 60 A, 55 A, 20 A, 10 A, 10 A, 10 A, 10 A", "rated_current": "12 A"}
    found = catalogue.run("start_diagnosis", asked)
    assert found.values["start_time_s"].expanded() == pytest.approx(0.1)
    assert found.values["reason"] == "it took 0.2 s to speed, known within 0.1 s"


def test_a_rest_over_two_minutes_is_told_in_minutes():
    amps = ", ".join(["0 A", *["10 A"] * 3, *["0 A"] * 4, *["10 A"] * 3])
    asked = {"interval": "60 s", "currents": amps, "rated_current": "12 A"}
    assert "once after 4 min 0 s of rest" in catalogue.run("start_diagnosis", asked).values["reason"]


@pytest.mark.parametrize(("rest_s", "told"), [(120.0, "after 120 s"), (120.5, "after 2 min 0 s")])
def test_up_to_two_minutes_a_rest_is_told_in_seconds(rest_s, told):
    times_s = [0.0, 1.0, 2.0, 2.0 + rest_s, 3.0 + rest_s]
    assert told in diagnose_start(times_s, [0.0, 10.0, 0.0, 10.0, 10.0], rated_current_a=12.0).reason


def test_of_samples_ten_seconds_apart_the_time_to_speed_is_in_whole_seconds():
    """60 A at one sample and 10 A at the next are halfway in the middle."""
    found = diagnose_start([0.0, 10.0, 20.0, 30.0, 40.0], [0.0, 60.0, 10.0, 10.0, 10.0], rated_current_a=12.0)
    assert found.reason.startswith("it took 5 s to speed, known within 10 s")
