"""The pattern at the thermostat: the closed form against every sequence summed up, and blowers as they run."""

import json
import math
import random
from contextlib import suppress
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import ArgumentError, CalcError, SeriesError, UnitError
from calc.pattern import fan_pattern
from tests.edges import check_edges
from tests.fuzzing import fuzz

SWITCHED_S = [30.0, 210.0, 390.0]
MINUTES_S = [60.0 * minute for minute in range(11)]
FOLLOWS = [0, 4, 4, 4, 0, 0, 0, 4, 4, 4, 4]
NAMED = ("north: 0 A, 4 A, 4 A, 4 A, 0 A, 0 A, 0 A, 4 A, 4 A, 4 A, 4 A; "
         "south: 4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 4 A")  # fmt: skip
BY_NAME = {"switched": "30 s, 210 s, 390 s", "interval": "1 min", "blowers": NAMED, "running": "4 A, 4 A",
           "current_accuracy": "0.2 A"}  # fmt: skip


def by_enumeration(switched_s, times_s, rows, running_a, noise_a, run_on_s, start_delay_s, none_prior):
    """The same model, without its recursion and logarithms: every sequence of states and every delay, one by one."""
    likelihood_ratios = []
    for row, amps in zip(rows, running_a, strict=True):
        misread = 0.5 * math.erfc(amps / 2 / noise_a / math.sqrt(2)) if noise_a else 0.0
        wrong = misread * 0.99 + 0.01 * (1 - misread)
        seen = [value > amps / 2 for value in row]
        chance = 0.0
        for states in product([False, True], repeat=len(times_s)):
            weight = 0.5
            for earlier, later, before, after in zip(times_s, times_s[1:], states, states[1:], strict=False):
                leaves = 0.5 * (1 - math.exp(-2 * (later - earlier) / 600))
                weight *= leaves if before != after else 1 - leaves
            for looks, runs in zip(seen, states, strict=True):
                weight *= 1 - wrong if looks == runs else wrong
            chance += weight
        following = []
        for start in np.arange(0, start_delay_s + 1, 5):
            for stop in np.arange(0, run_on_s + 1, 5):
                weight = 1.0
                for looks, time_s in zip(seen, times_s, strict=True):
                    runs = any(
                        on + start <= time_s and (off is None or time_s < off + stop)
                        for on, off in zip(switched_s[::2], [*switched_s[1::2], None], strict=False)
                    )
                    weight *= 1 - wrong if looks == runs else wrong
                following.append(weight)
        likelihood_ratios.append(sum(following) / len(following) / chance)
    weights = [(1 - none_prior) / len(rows) * ratio for ratio in likelihood_ratios]
    total = sum(weights) + none_prior
    return [weight / total for weight in weights], none_prior / total


BETWEEN_S = [0.0, 44.5, 60.5, 100.0, 224.5, 239.5, 254.5, 299.5, 404.5, 430.0, 510.0]
"""So that steps of a delay fall between two samples."""


@pytest.mark.parametrize("times_s", [MINUTES_S, BETWEEN_S])
@pytest.mark.parametrize("seed", range(4))
def test_the_closed_form_is_the_sum_over_all_sequences(seed, times_s):
    """By definition of the model: 2048 sequences of eleven states and up to 133 delays of each of three blowers."""
    draw = random.Random(seed)
    rows = [[draw.choice([0.0, 1.0, 2.0, 2.1, 4.0]) for _ in MINUTES_S] for _ in range(2)] + [FOLLOWS]
    running_a = [draw.uniform(1.0, 5.0), 4.0, 4.0]
    noise_a, run_on_s, delay_s, none = (
        draw.choice([0.0, 0.5, 3.0]),
        draw.choice([0.0, 40, 90]),
        draw.choice([0, 30]),
        0.2,
    )
    found = fan_pattern(
        SWITCHED_S, times_s, rows, running_a=running_a, noise_a=noise_a, run_on_s=run_on_s, start_delay_s=delay_s,
        none_prior=none,
    )  # fmt: skip
    each, of_none = by_enumeration(SWITCHED_S, times_s, rows, running_a, noise_a, run_on_s, delay_s, none)
    assert found.probabilities == pytest.approx(each, rel=1e-9)
    assert found.none_probability == pytest.approx(of_none, rel=1e-9)
    assert sum(found.probabilities) + found.none_probability == pytest.approx(1)


def test_the_defaults_are_a_run_on_of_90_s_a_delay_of_30_s_and_one_in_ten_for_another():
    found = fan_pattern(SWITCHED_S, MINUTES_S, [FOLLOWS, FOLLOWS[::-1]], running_a=[4, 4], noise_a=1.0)
    each, of_none = by_enumeration(SWITCHED_S, MINUTES_S, [FOLLOWS, FOLLOWS[::-1]], [4, 4], 1.0, 90, 30, 0.1)
    assert (*found.probabilities, found.none_probability) == pytest.approx((*each, of_none), rel=1e-9)


def blowers(seed, follows, run_on_s, delay_s, minutes=20, noise_a=0.15):
    """Four blowers, sampled each second with noise, of which one may follow; the others cycle by chance."""
    draw = np.random.default_rng(seed)
    switched_s = np.array([60, 210, 400, 530, 730, 900], float)
    times_s = np.arange(0, 60 * minutes, 1.0)
    rows = []
    for index in range(4):
        edges = np.cumsum(draw.exponential(500, 20))
        runs = (np.searchsorted(edges, times_s) + index) % 2 == 1
        if index == follows:
            shifted = switched_s + np.tile([delay_s, run_on_s], 3)
            runs = np.searchsorted(shifted, times_s, side="right") % 2 == 1
        rows.append(np.where(runs, draw.uniform(3.5, 4.5), 0.0) + draw.normal(0, noise_a, times_s.size))
    return switched_s, times_s, rows


@pytest.mark.parametrize("follows", range(4))
@pytest.mark.parametrize(("run_on_s", "delay_s"), [(0, 0), (90, 30), (52, 8)])
def test_the_one_that_follows_is_told_among_four(follows, run_on_s, delay_s):
    for seed in range(5):
        found = fan_pattern(*blowers(seed, follows, run_on_s, delay_s), running_a=[4.0] * 4, noise_a=0.15)
        assert (found.told, found.probabilities[follows] > 0.95) == (follows, True)


def test_where_none_follows_none_is_told():
    for seed in range(20):
        found = fan_pattern(*blowers(seed, None, 0, 0), running_a=[4.0] * 4, noise_a=0.15)
        assert (found.told, found.none_probability > 0.95) == (None, True)


def test_two_that_follow_alike_share_it():
    found = fan_pattern(SWITCHED_S, MINUTES_S, [FOLLOWS, FOLLOWS], running_a=[4, 4], noise_a=0.1)
    assert found.told is None
    assert found.probabilities[0] == found.probabilities[1] == pytest.approx(0.5, abs=1e-3)


def test_a_noise_that_hides_all_leaves_what_was_thought_before():
    found = fan_pattern(SWITCHED_S, MINUTES_S, [FOLLOWS, FOLLOWS[::-1]], running_a=[4, 4], noise_a=1e4)
    assert (*found.probabilities, found.none_probability) == pytest.approx((0.45, 0.45, 0.1), abs=1e-3)


def test_samples_close_together_or_close_to_a_switching_do_not_count():
    """Five seconds apart, and more than ten from a switching: of a sample a second these are left, by hand."""
    kept_s = [*range(0, 20, 5), *range(41, 200, 5), *range(221, 380, 5), *range(401, 510, 5), 510]
    times_s = np.arange(511.0)
    runs = ((times_s > 55) & (times_s < 290)) | (times_s > 404)
    row = 4.0 * runs
    few = fan_pattern(SWITCHED_S, kept_s, [row[kept_s]], running_a=[4.0], noise_a=6.0)
    row[[time for time in range(510) if time not in kept_s]] = 9.0
    every = fan_pattern(SWITCHED_S, times_s, [row], running_a=[4.0], noise_a=6.0)
    assert every.none_probability == few.none_probability
    for counts in (15, 41, 506):
        row[counts] = 4.0 - row[counts]
        changed = fan_pattern(SWITCHED_S, times_s, [row], running_a=[4.0], noise_a=6.0)
        assert changed.none_probability != every.none_probability
        every = changed


@pytest.mark.parametrize(
    ("switched_s", "says"),
    [
        ([30.0, 149.9, 390.0], "a state of 120 s is too short: hold each for 2 min"),
        ([30.0, 100.0, 390.0], "a state of 70 s is too short.*Never make it quicker by the cooling call.*5 min"),
        ([30.0, 210.0, 200.0], "a state of -10 s is too short"),
        ([30.0, math.nan, 390.0], "a state of nan s is too short"),
        ([30.0], "at least twice"),
        ([], "at least twice"),
    ],
)
def test_patterns_that_are_too_quick_are_refused(switched_s, says):
    """Hold each state 2 min or longer (common practice); makers of compressors ask for 5 min between starts."""
    with pytest.raises(ArgumentError, match=says):
        fan_pattern(switched_s, MINUTES_S, [FOLLOWS], running_a=[4.0], noise_a=0.1)
    assert fan_pattern([30.0, 150.0], MINUTES_S, [FOLLOWS], running_a=[4.0], noise_a=0.1).probabilities


@pytest.mark.parametrize(
    ("run_on_s", "delay_s", "says"),
    [(180.0, 0.0, "a run-on of 180 s would hide a state of off of 180 s"), (-1.0, 0.0, "a run-on of -1 s"),
     (0.0, 180.0, "a delay of 180 s would hide a state of on of 180 s"), (0.0, -1.0, "a delay of -1 s"),
     (math.nan, 0.0, "a run-on of nan s")],
)  # fmt: skip
def test_delays_that_would_hide_a_state_are_refused(run_on_s, delay_s, says):
    def with_delays(run_on, delay):
        return fan_pattern(SWITCHED_S, MINUTES_S, [FOLLOWS], running_a=[4.0], noise_a=0.1, run_on_s=run_on,
                           start_delay_s=delay)  # fmt: skip

    with pytest.raises(ArgumentError, match=says):
        with_delays(run_on_s, delay_s)
    assert with_delays(179.0, 179.0).probabilities
    assert fan_pattern([30.0, 210.0], MINUTES_S, [FOLLOWS], running_a=[4.0], noise_a=0.1, run_on_s=500.0).probabilities


@pytest.mark.parametrize(
    ("states_s", "run_on_s", "delay_s", "says"),
    [
        ((200, 130, 160, 300), 0, 135, ""),
        ((200, 130, 160, 300), 0, 165, "a delay of 165 s would hide a state of on of 160 s"),
        ((130, 160, 140, 150), 145, 0, ""),
        ((130, 160, 140, 150), 155, 0, "a run-on of 155 s would hide a state of off of 150 s"),
    ],
)
def test_a_start_is_held_against_the_states_of_on_and_a_run_on_against_those_of_off(states_s, run_on_s, delay_s, says):
    switched_s = np.cumsum([30, *states_s])
    times_s = np.arange(0, switched_s[-1] + 151, 30.0)

    def found():
        return fan_pattern(switched_s, times_s, [0 * times_s], running_a=[4.0], noise_a=0.1, run_on_s=run_on_s,
                           start_delay_s=delay_s)  # fmt: skip

    if not says:
        assert found().told is None
        return
    with pytest.raises(ArgumentError, match=says):
        found()


@pytest.mark.parametrize(
    ("times_s", "rows", "says"),
    [
        (MINUTES_S, [FOLLOWS[:-1]], "needs a row of 11 currents"),
        (MINUTES_S, [FOLLOWS, FOLLOWS], "each of 1 blowers needs"),
        ([], [[]], "needs a row of 0 currents"),
        ([[0.0]], [FOLLOWS], "needs a row"),
        ([*MINUTES_S[:-1], 540.0], [FOLLOWS], "must rise"),
        ([*MINUTES_S[:-1], math.nan], [FOLLOWS], "no sound number"),
        ([*MINUTES_S[:-1], 86400.5], [FOLLOWS], "no sound number"),
        (MINUTES_S, [[*FOLLOWS[:-1], 10000.5]], "no sound number"),
        ([time + 31 for time in MINUTES_S], [FOLLOWS], "from before the first switching"),
        ([0.85 * time - 1 for time in MINUTES_S], [FOLLOWS], "to 2 min after the last"),
    ],
)
def test_records_that_do_not_fit_are_refused(times_s, rows, says):
    with pytest.raises(SeriesError, match=says):
        fan_pattern(SWITCHED_S, times_s, rows, running_a=[4.0], noise_a=0.1)
    with pytest.raises(SeriesError, match="each of 0 blowers"):
        fan_pattern(SWITCHED_S, MINUTES_S, np.empty((0, 11)), running_a=[], noise_a=0.1)
    at_the_edges = [30.0, *(100.0 * step for step in range(1, 5)), 510.0]
    assert fan_pattern(SWITCHED_S, at_the_edges, [FOLLOWS[:6]], running_a=[4.0], noise_a=0.1).probabilities
    whole_day = fan_pattern(SWITCHED_S, [0.0, 86400.0], [[0.0, 1e4]], running_a=[1e4], noise_a=0.1)
    assert whole_day.probabilities


def test_limits():
    def at(running_a=4.0, noise_a=0.1, none_prior=0.1):
        return fan_pattern(
            SWITCHED_S, MINUTES_S, [FOLLOWS], running_a=[running_a], noise_a=noise_a, none_prior=none_prior
        )

    check_edges(lambda value: at(noise_a=value), "noise_a", 0.0, 1e4)
    check_edges(lambda value: at(none_prior=value), "none_prior", 1e-6, 0.99)
    check_edges(lambda value: at(running_a=value), "running_a", 0.01, 1e4)


def test_one_reaches_95_percent_or_none_is_told():
    """Bayes' theorem: with a prior that puts the first just below, and just above."""

    def found(prior):
        return fan_pattern(SWITCHED_S, MINUTES_S, [FOLLOWS], running_a=[4.0], noise_a=2.0, none_prior=prior)

    ratio = found(0.5).probabilities[0] / found(0.5).none_probability
    edge = ratio / (19 + ratio)
    assert (found(edge * (1 - 1e-4)).told, found(edge * (1 + 1e-4)).told) == (0, None)


def test_by_name():
    found = json.loads(catalogue.run("fan_switch_pattern", BY_NAME).as_json())
    assert found["unit"] == "north"
    assert found["probabilities"] == ["north: above 99.9 %", "south: below 0.1 %", "none of these: below 0.1 %"]
    assert found["none_probability"] < 0.001
    assert "never the cooling call" in found["caution"]
    assert "5 min" in found["caution"]
    still = BY_NAME | {
        "blowers": NAMED.replace("north: 0 A", "north: 4 A").replace("4 A, 0 A, 0 A, 0 A,", "4 A, 4 A, 4 A, 4 A,")
    }
    assert "look for another unit" in catalogue.run("fan_switch_pattern", still).values["unit"]
    doubtful = catalogue.run("fan_switch_pattern", BY_NAME | {"current_accuracy": "20 A"}).values
    assert isinstance(doubtful["unit"], Unknown)
    assert any(re_is_plain(sentence) for sentence in doubtful["probabilities"])


def re_is_plain(sentence):
    return "above" not in sentence and "below" not in sentence and sentence.endswith(" %")


@pytest.mark.parametrize(
    ("changed", "error", "says"),
    [
        ({"blowers": "0 A, 4 A"}, UnitError, "blowers: '0 A, 4 A' cannot be read: write a name"),
        ({"blowers": " : 0 A, 4 A"}, UnitError, "write a name and its amps"),
        ({"blowers": "north: 0 A, 4 V"}, UnitError, "blowers: "),
        ({"blowers": "north: 0 A, 4 A; south: 1 A"}, UnitError, "as many currents"),
        ({"switched": "30 s, 90 s"}, ArgumentError, "too short"),
    ],
)
def test_by_name_what_cannot_be_is_told(changed, error, says):
    with pytest.raises(error, match=says):
        catalogue.run("fan_switch_pattern", BY_NAME | changed)


@fuzz
@given(st.lists(st.floats(), max_size=4), st.lists(st.floats(), max_size=6), st.tuples(*(st.floats(),) * 5))
def test_any_numbers_give_an_answer_or_a_calc_error(switched_s, times_s, numbers):
    with suppress(CalcError):
        found = fan_pattern(
            switched_s, times_s, [times_s], running_a=[numbers[0]], noise_a=numbers[1], run_on_s=numbers[2],
            start_delay_s=numbers[3], none_prior=numbers[4],
        )  # fmt: skip
        assert sum(found.probabilities) + found.none_probability == pytest.approx(1)
