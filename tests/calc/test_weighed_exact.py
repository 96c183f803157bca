"""When a move is told and when it is none, on a made-up scale that hardly errs: what was put on it is known exactly.

The times and bounds are those that the module states: common practice, no source.
"""

import math

import numpy as np
import pytest

from calc.scale_steps import Sample
from calc.weighed_moves import UnderWay, Weighed, WeighedMoves, _point, _scatter, question
from tests.calc.scales import OZ, Array, Flow

PAUSE_S, LONGEST_PAUSE_S, POINT_S = 60.0, 180.0, 10.0
"""A pause of a minute ends a move; what came at once is told after three; readings of ten seconds are averaged."""


def course(lasts_s: float, *flows: Flow, load_kg: float = 12.0, noise_oz: float = 0.01) -> tuple[Array, Array]:
    """Two readings a second of a load that loses what flows out of it."""
    times = np.arange(0.0, lasts_s, 0.5)
    masses = load_kg - sum((flow.left_kg(times) for flow in flows), np.zeros(times.size))
    return times, masses + np.random.default_rng(7).normal(0.0, noise_oz * OZ, times.size)


def told(times: Array, masses: Array) -> list[tuple[float, Weighed]]:
    """Give each move with the moment at which it was told."""
    moves = WeighedMoves()
    each = ((float(at), moves.take(float(at), float(kg))) for at, kg in zip(times, masses, strict=True))
    return [(at, move) for at, move in each if move is not None]


@pytest.mark.parametrize(("ounces", "is_told"), [(0.22, False), (0.45, True), (-0.22, False), (-0.45, True)])
def test_nothing_below_three_tenths_of_an_ounce_is_told(ounces: float, is_told: bool) -> None:
    found = told(*course(700.0, Flow(300.0, 20.0, ounces * OZ)))
    assert [round(move.mass.value / OZ, 1) for _, move in found] == ([pytest.approx(ounces, abs=0.06)] * is_told)


@pytest.mark.parametrize(("lasts_s", "is_told"), [(30.0, True), (400.0, False)])
def test_what_took_longer_must_be_more_for_a_scale_drifts(lasts_s: float, is_told: bool) -> None:
    """0.4 oz in half a minute, or in seven: 0.02 oz a minute is of a load cell and the weather (OIML R 60)."""
    found = told(*course(900.0 + lasts_s, Flow(400.0, lasts_s, 0.4 * OZ)))
    assert bool(found) is is_told


def test_a_minute_without_flow_ends_a_move() -> None:
    ((at_s, move),) = told(*course(900.0, Flow(300.0, 40.0, 4 * OZ)))
    assert 340.0 + PAUSE_S <= at_s <= 340.0 + PAUSE_S + 2 * POINT_S
    assert move.mass.value / OZ == pytest.approx(4.0, abs=0.02)
    assert (move.began_s, move.ended_s) == (pytest.approx(300.0, abs=POINT_S), pytest.approx(340.0, abs=POINT_S))
    assert not move.was_cut_short


def test_what_came_at_once_is_told_after_three_minutes_if_it_stays() -> None:
    """A tool that is laid on the scale: no valve opens within one reading."""
    times, masses = course(900.0)
    masses[times >= 304.0] += 5 * OZ
    ((at_s, move),) = told(times, masses)
    assert 304.0 + LONGEST_PAUSE_S - POINT_S <= at_s <= 304.0 + LONGEST_PAUSE_S + 2 * POINT_S
    assert move.mass.value / OZ == pytest.approx(-5.0, abs=0.02)
    masses[times >= 440.0] -= 5 * OZ
    assert told(times, masses) == []


def test_what_flowed_within_seconds_is_told_after_a_minute_all_the_same() -> None:
    ((at_s, _),) = told(*course(900.0, Flow(303.0, 4.0, 5 * OZ)))
    assert at_s <= 307.0 + PAUSE_S + 2 * POINT_S


def test_a_slow_flow_goes_on_and_is_no_pause() -> None:
    """Three tenths of an ounce a minute after a burst: it is one move, told once, when all of it has flowed."""
    found = told(*course(1500.0, Flow(300.0, 20.0, 4 * OZ), Flow(320.0, 600.0, 3 * OZ)))
    assert [round(move.mass.value / OZ, 1) for _, move in found] == [pytest.approx(7.0, abs=0.1)]
    assert found[0][0] >= 920.0 + PAUSE_S


def test_what_still_flows_slowly_is_no_pause_for_three_minutes() -> None:
    """A tenth of an ounce a minute after a burst: more than a pause may hide, 0.03 oz a minute."""
    ((at_s, _),) = told(*course(1500.0, Flow(300.0, 20.0, 4 * OZ), Flow(320.0, 900.0, 1.5 * OZ)))[:1]
    assert at_s >= 320.0 + LONGEST_PAUSE_S - POINT_S


def test_a_scale_that_tells_every_second_and_a_half_shows_what_came_at_once() -> None:
    times, masses = course(900.0)
    masses[times >= 304.5] += 5 * OZ
    seldom = slice(None, None, 3)
    ((at_s, _),) = told(times[seldom], masses[seldom])
    assert at_s >= 304.5 + LONGEST_PAUSE_S - POINT_S


def test_what_is_in_the_hose_leaves_no_less_than_nothing_to_keep() -> None:
    assert str(question(0.3 * OZ, 0.4 * OZ)).endswith("Keep 0 oz?")


def test_a_hand_that_presses_as_the_cylinder_is_lifted_counts_for_nothing_however_short_the_rest_was() -> None:
    """Of the last ten seconds it is there for most: only what was before its three seconds is taken."""
    times, masses = course(700.0, Flow(285.0, 30.0, 6 * OZ))
    masses[(times >= 341.0) & (times < 344.0)] += 4 * OZ  # less is no other load, `calc.scale_steps`
    masses[times >= 344.0] = 0.0
    ((_, move),) = told(times, masses)
    assert move.mass.value / OZ == pytest.approx(6.0, abs=0.05)
    assert move.was_cut_short
    assert move.ended_s == pytest.approx(315.0, abs=POINT_S)


def test_nothing_is_told_of_a_load_that_was_changed_where_nothing_was_under_way() -> None:
    times, masses = course(700.0)
    masses[times >= 344.0] = 0.0
    assert told(times, masses) == []


def test_what_is_under_way_grows_with_what_has_left_and_ends_with_the_move() -> None:
    times, masses = course(900.0, Flow(300.0, 200.0, 10 * OZ))
    moves, seen = WeighedMoves(), dict[float, UnderWay | None]()
    for at, kg in zip(times, masses, strict=True):
        moves.take(float(at), float(kg))
        seen[float(at)] = moves.under_way
    assert seen[299.0] is None
    for at, ounces in ((400.0, 5.0), (450.0, 7.5), (520.0, 10.0)):
        now = seen[at]
        assert now is not None
        assert now.mass.value / OZ == pytest.approx(ounces, abs=0.15)  # the mean of three seconds at 3 oz a minute
        assert now.began_s == pytest.approx(300.0, abs=POINT_S)
    assert seen[890.0] is None


def test_what_is_metered_slowly_began_when_it_began_though_it_is_seen_late() -> None:
    """Half an ounce a minute: three tenths must have left before anything is told."""
    times, masses = course(700.0, Flow(300.0, 240.0, 2 * OZ))
    moves, seen = WeighedMoves(), list[tuple[float, float]]()
    for at, kg in zip(times, masses, strict=True):
        moves.take(float(at), float(kg))
        if moves.under_way is not None:
            seen.append((float(at), moves.under_way.began_s))
    assert seen[0][0] >= 300.0 + 36.0
    assert seen[0][1] == pytest.approx(300.0, abs=POINT_S)


@pytest.mark.parametrize("count", [4, 5, 20])
def test_the_scatter_of_readings_is_that_about_their_line(count: int) -> None:
    """As numpy's least squares have it: the sum of squares left by a line through `count` points, over count - 2."""
    times = np.arange(count) * 0.5
    masses = 3.0 + 0.2 * times + np.random.default_rng(count).normal(0.0, 0.01, count)
    _, (left, *_), *_ = np.polyfit(times, masses, 1, full=True)
    found = _scatter(times - times.mean(), masses - masses.mean())
    assert found == pytest.approx(math.sqrt(left / (count - 2)), rel=1e-9)


def test_of_three_readings_nobody_knows_the_scatter() -> None:
    times = np.array([-0.5, 0.0, 0.5])
    assert math.isnan(_scatter(times, np.array([0.1, -0.2, 0.1])))


def test_readings_of_some_seconds_are_the_mean_of_their_middle_half_at_their_middle() -> None:
    """The interquartile mean of 8 values is that of the four in the middle."""
    values = [5.0, 1.0, 2.0, 3.0, 4.0, 90.0, -90.0, 2.5]
    samples = [Sample(float(second), value) for second, value in enumerate(values)]
    point = _point(samples)
    assert point.mass_kg == pytest.approx((2.0 + 2.5 + 3.0 + 4.0) / 4)
    assert point.time_s == 3.5
    assert point.at_once_kg == -180.0
    assert _point(samples, Sample(8.0, 900.0)).at_once_kg == 897.5
    assert _point(samples, Sample(9.5, 900.0)).at_once_kg == -180.0  # so long after the last it need not be at once
