"""Masses that left a cylinder, told from scales in the open; `tests/calc/scales.py` has where its errors are from."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.estimate import Estimate
from calc.sentences import say
from calc.weighed_moves import UnderWay, Weighed, WeighedMoves, question, so_far
from tests.calc.scales import OZ, Array, Flow, Scale, moves_of

LB = 16 * OZ
FASTEST_KG_PER_S = 0.2
"""10 lb in 23 s: as fast as a quarter-inch hose goes (common practice, no source)."""

seeds = st.integers(0, 2**32 - 1)


def step(*levels: tuple[float, float], interval_s: float = 0.5) -> tuple[Array, Array]:
    """Readings without noise: each level from its moment on, until the last moment."""
    times = np.arange(0.0, levels[-1][0], interval_s)
    begins = np.array([begin for begin, _ in levels])
    masses = np.array([mass for _, mass in levels])[np.searchsorted(begins, times, side="right") - 1]
    return times, masses


def with_noise(readings: tuple[Array, Array], seed: int = 1) -> tuple[Array, Array]:
    times, masses = readings
    return times, masses + np.random.default_rng(seed).normal(0.0, 0.05 * OZ, times.size)


@pytest.mark.parametrize("seed", [0, *(pytest.param(seed, marks=pytest.mark.hours) for seed in (1, 2))])
def test_eight_hours_of_weather_wind_and_hands_are_no_move(seed: int) -> None:
    assert moves_of(Scale(seed, hours=8.0, wind=1.0).readings()) == []


@given(seed=seeds, ounces=st.floats(0.5, 160.0), fast=st.booleans(), out=st.booleans(), data=st.data())
@settings(max_examples=12, deadline=None)
def test_a_real_move_is_told_within_half_an_ounce(
    seed: int, ounces: float, fast: bool, out: bool, data: st.DataObject
) -> None:
    mass_kg = math.copysign(ounces * OZ, 1 if out else -1)
    least_s = ounces * OZ / FASTEST_KG_PER_S
    lasts_s = max(least_s, data.draw(st.floats(1.0, 20.0) if fast else st.floats(60.0, 300.0)))
    spurts = 1 if fast else data.draw(st.integers(1, 5))
    scale = Scale(seed, hours=0.5, flows=[Flow(600.0, lasts_s, mass_kg, spurts)], touches_per_h=0.0)
    told = moves_of(scale.readings())
    if not told and scale.wind == 1.0 and ounces < 0.8:
        return  # in gusts of 0.3 oz it hides: one of a hundred, see the trial below
    assert [round(move.mass.value / OZ, 2) for move in told] == [pytest.approx(mass_kg / OZ, abs=0.5)]
    assert told[0].began_s == pytest.approx(600.0, abs=lasts_s / 2 + (15.0 if scale.wind == 0.0 else 90.0))
    assert not told[0].was_cut_short


@pytest.mark.hours
@pytest.mark.timeout(3000)
def test_hours_of_weather_and_hundreds_of_moves() -> None:
    """Phantoms in 520 h of the worst wind, and of 400 small moves in it how many hide."""
    phantoms = sum(len(moves_of(Scale(seed, hours=8.0, wind=1.0).readings())) for seed in range(100, 140))
    hidden, worst_oz = 0, 0.0
    for seed in range(400):
        drawn = np.random.default_rng([seed, 1])
        ounces, lasts_s = drawn.choice([0.5, 1.0, 4.0]), drawn.uniform(2.0, 300.0)
        flow = Flow(600.0, lasts_s, ounces * OZ, int(drawn.integers(1, 6)))
        told = moves_of(Scale(seed, hours=0.5, flows=[flow], wind=1.0, touches_per_h=0.0).readings())
        ours = [move for move in told if move.began_s < 600.0 + lasts_s and move.ended_s > 510.0]
        phantoms += len(told) - len(ours)
        hidden += not ours
        if ours:
            worst_oz = max(worst_oz, abs(sum(move.mass.value for move in ours) / OZ - ounces))
    print(f"{phantoms} phantoms in 520 h, {hidden} of 400 moves hidden, at most {worst_oz:.2f} oz off")
    assert phantoms <= 3
    assert hidden <= 12
    assert worst_oz <= 0.5


def test_what_is_under_way_is_told_as_it_goes() -> None:
    times, masses = with_noise(step((0.0, 12.0), (900.0, 0.0)))
    masses -= Flow(300.0, 240.0, 8 * OZ).left_kg(times)
    moves, told = WeighedMoves(), {}
    for time_s, mass_kg in zip(times, masses, strict=True):
        moves.take(time_s, mass_kg)
        told[time_s] = moves.under_way
    assert told[290.0] is None
    half_way = told[420.0]
    assert half_way is not None
    assert half_way.mass.value / OZ == pytest.approx(4.0, abs=0.2)
    assert half_way.began_s == pytest.approx(300.0, abs=15.0)
    assert told[890.0] is None


@pytest.mark.parametrize(("lasts_s", "ounces"), [(240.0, 8.0), (1500.0, 30.0), (900.0, -20.0)])
def test_what_is_under_way_began_when_it_was_first_said_to_have_begun(lasts_s: float, ounces: float) -> None:
    """However long it is metered, and whatever of it is forgotten meanwhile."""
    times, masses = with_noise(step((0.0, 12.0), (400.0 + lasts_s, 0.0)))
    masses -= Flow(300.0, lasts_s, ounces * OZ).left_kg(times)
    moves, began_s = WeighedMoves(), []
    for time_s, mass_kg in zip(times, masses, strict=True):
        moves.take(time_s, mass_kg)
        if moves.under_way is not None:
            began_s.append(moves.under_way.began_s)
    assert len(began_s) > lasts_s
    assert set(began_s) == {began_s[0]}
    assert began_s[0] == pytest.approx(300.0, abs=30.0)


def test_what_begins_after_another_has_a_beginning_of_its_own() -> None:
    times, masses = with_noise(step((0.0, 12.0), (1200.0, 0.0)))
    for start_s in (300.0, 700.0):
        masses -= Flow(start_s, 60.0, 6 * OZ).left_kg(times)
    moves, began_s = WeighedMoves(), []
    for time_s, mass_kg in zip(times, masses, strict=True):
        moves.take(time_s, mass_kg)
        began_s.append(None if moves.under_way is None else moves.under_way.began_s)
    told = [each for each in dict.fromkeys(began_s) if each is not None]
    assert told == [pytest.approx(300.0, abs=15.0), pytest.approx(700.0, abs=15.0)]


def test_additions_with_short_pauses_are_one_and_with_long_ones_several() -> None:
    def three(pause_s: float) -> list[Weighed]:
        times, masses = with_noise(step((0.0, 12.0), (1800.0, 0.0)))
        for number in range(3):
            masses -= Flow(300.0 + number * (20.0 + pause_s), 20.0, 2 * OZ).left_kg(times)
        return moves_of((times, masses))

    assert [round(move.mass.value / OZ) for move in three(30.0)] == [6]
    assert [round(move.mass.value / OZ) for move in three(150.0)] == [2, 2, 2]


@pytest.mark.parametrize("lasts_s", [1.0, 10.0, 60.0, 150.0])
@pytest.mark.parametrize("ounces", [-6.0, 1.0, 10.0])
def test_what_comes_back_is_no_move(lasts_s: float, ounces: float) -> None:
    """A hand on the hose, a tool on the scale."""
    readings = step((0.0, 12.0), (300.0, 12.0 + ounces * OZ), (300.0 + lasts_s, 12.0), (900.0, 0.0))
    assert moves_of(with_noise(readings)) == []


def test_another_cylinder_is_no_move_and_a_new_baseline() -> None:
    times, masses = with_noise(step((0.0, 12.0), (300.0, 0.0), (330.0, 14.0), (1200.0, 0.0)))
    masses -= Flow(700.0, 30.0, 3 * OZ).left_kg(times)
    told = moves_of((times, masses))
    assert [round(move.mass.value / OZ, 1) for move in told] == [pytest.approx(3.0, abs=0.2)]


@pytest.mark.parametrize("filter_s", [0.5, 1.0])
def test_a_cylinder_that_swings_as_it_is_put_on_is_no_move(filter_s: float) -> None:
    times = np.arange(0.0, 900.0, 0.5)
    since_s = np.clip(times - 300.0, 0.0, None)
    masses = 15.0 * (1 - np.exp(-since_s / filter_s)) + 0.5 * np.exp(-since_s / 2.0) * np.sin(5 * since_s)
    assert moves_of(with_noise((times, masses))) == []


def test_a_cylinder_lifted_and_put_back_otherwise_is_no_move() -> None:
    """Its hose hangs otherwise now."""
    assert moves_of(with_noise(step((0.0, 12.0), (300.0, 0.4), (308.0, 12.0 + 5 * OZ), (900.0, 0.0)))) == []


def test_a_move_is_told_though_the_cylinder_is_taken_off_at_once() -> None:
    times, masses = with_noise(step((0.0, 12.0), (345.0, 0.0), (700.0, 0.0)))
    masses -= np.where(times < 345.0, Flow(300.0, 40.0, 6 * OZ).left_kg(times), 0.0)
    told = moves_of((times, masses))
    assert [round(move.mass.value / OZ, 1) for move in told] == [pytest.approx(6.0, abs=0.5)]
    assert told[0].was_cut_short


def test_the_key_that_zeroes_the_scale_is_no_move() -> None:
    """With the cylinder on; and again after an addition, when it stood at a few ounces."""
    times, masses = with_noise(step((0.0, 12.0), (200.0, 0.0), (1200.0, 0.0)))
    masses -= Flow(400.0, 30.0, 4 * OZ).left_kg(times)
    masses[times >= 800.0] += 4 * OZ
    told = moves_of((times, masses))
    assert [round(move.mass.value / OZ, 1) for move in told] == [pytest.approx(4.0, abs=0.2)]


def test_what_passes_zero_goes_on() -> None:
    """Zeroed with something on it that was taken off since: 3 oz come in, and it stands at zero for a moment."""
    times, masses = with_noise(step((0.0, -2 * OZ), (300.0, 0.0), (302.0, 1 * OZ), (900.0, 0.0)))
    told = moves_of((times, masses))
    assert [round(move.mass.value / OZ, 1) for move in told] == [pytest.approx(-3.0, abs=0.2)]


def test_a_blow_is_left_out() -> None:
    times, masses = with_noise(step((0.0, 12.0), (300.0, 15.0), (301.0, 12.0), (900.0, 0.0)))
    masses -= Flow(270.0, 60.0, 5 * OZ).left_kg(times)
    told = moves_of((times, masses))
    assert [round(move.mass.value / OZ, 1) for move in told] == [pytest.approx(5.0, abs=0.2)]
    assert not told[0].was_cut_short


def test_a_long_silence_and_a_clock_that_was_set_begin_anew() -> None:
    times, masses = with_noise(step((0.0, 12.0), (600.0, 12.0 - 5 * OZ), (1200.0, 0.0)))
    later = np.where(times < 600.0, times, times + 400.0)
    assert moves_of((later, masses)) == []
    assert moves_of((np.where(times < 600.0, times, times - 3600.0), masses)) == []


def test_a_short_silence_in_a_move_costs_nothing() -> None:
    times, masses = with_noise(step((0.0, 12.0), (1200.0, 0.0)))
    masses -= Flow(500.0, 120.0, 9 * OZ).left_kg(times)
    heard = (times < 510.0) | (times > 640.0)
    told = moves_of((times[heard], masses[heard]))
    assert [round(move.mass.value / OZ, 1) for move in told] == [pytest.approx(9.0, abs=0.2)]


def test_what_the_scale_does_not_resolve_is_not_told() -> None:
    """It shows steps of half an ounce, and drifts over the middle between two."""
    times, masses = step((0.0, 12.0), (3600.0, 0.0))
    shown = 0.5 * OZ * np.round((masses - 0.3 * OZ * times / 3600.0 + 0.15 * OZ) / (0.5 * OZ))
    assert np.unique(shown).size == 2
    assert moves_of((times, shown)) == []


def test_missing_and_repeated_readings_are_left_out() -> None:
    moves = WeighedMoves()
    told = [moves.take(0.5 * (index // 2), mass) for index in range(2000) for mass in (12.0, None, math.nan)]
    assert not any(told)
    assert moves.under_way is None


def test_an_hour_of_flow_is_one_move_and_needs_no_more_memory() -> None:
    times, masses = with_noise(step((0.0, 40.0), (5400.0, 0.0)))
    masses -= Flow(600.0, 3600.0, 20 * LB).left_kg(times)
    moves, told, most = WeighedMoves(), [], 0
    for time_s, mass_kg in zip(times, masses, strict=True):
        told += [move for move in [moves.take(time_s, mass_kg)] if move]
        most = max(most, len(moves._points) + len(moves._open))
    assert [round(move.mass.value / LB, 1) for move in told] == [20.0]
    assert told[0].ended_s - told[0].began_s == pytest.approx(3600.0, abs=20.0)
    assert most <= 100


def test_the_uncertainty_is_as_wide_as_the_errors_are() -> None:
    """A normal error is within two standard uncertainties in 95 of 100 (JCGM 100, G.1.3)."""
    within = 0
    for seed in range(20):
        scale = Scale(seed, hours=0.4, flows=[Flow(600.0, 40.0, 6 * OZ)], touches_per_h=0.0)
        (move,) = moves_of(scale.readings())
        within += abs(move.mass.value - 6 * OZ) <= move.mass.expanded()
    assert within >= 16  # fewer by chance three times in a thousand


def test_it_is_asked_in_either_system_of_units() -> None:
    """1 oz = 28.349523125 g (NIST SP 811, B.8)."""
    assert say(question(6.2 * OZ), "us") == "6.2 oz left the cylinder. Keep?"
    assert say(question(6.2 * OZ), "si") == "176 g left the cylinder. Keep?"
    assert say(question(6.2 * OZ, 0.4 * OZ), "si").endswith("11 g of it is in the hose. Keep 164 g?")
    assert str(so_far(UnderWay(0.0, Estimate(2.1 * OZ, 0.0)))) == "2.1 oz has left the cylinder so far."
    assert str(so_far(UnderWay(0.0, Estimate(-2.1 * OZ, 0.0)))) == "2.1 oz has come into the cylinder so far."


def test_what_is_under_way_is_that_of_the_last_seconds() -> None:
    """Not of the last ten: a third of an ounce less, at two a minute."""
    times, masses = with_noise(step((0.0, 12.0), (900.0, 0.0)))
    left_kg = Flow(300.0, 240.0, 8 * OZ).left_kg(times)
    moves, off_oz = WeighedMoves(), []
    for time_s, mass_kg, gone_kg in zip(times, masses - left_kg, left_kg, strict=True):
        moves.take(time_s, mass_kg)
        if 400.0 <= time_s <= 520.0 and moves.under_way is not None:
            off_oz.append(abs(moves.under_way.mass.value - gone_kg) / OZ)
    assert len(off_oz) > 200
    assert max(off_oz) < 0.2


def test_hands_that_lift_a_cylinder_press_on_it_first_and_count_for_nothing() -> None:
    times, masses = with_noise(step((0.0, 12.0), (343.75, 12.0 + 20 * OZ), (347.0, 0.0), (700.0, 0.0)))
    masses -= np.where(times < 347.0, Flow(295.0, 40.0, 6 * OZ).left_kg(times), 0.0)
    (told,) = moves_of((times, masses))
    assert told.mass.value / OZ == pytest.approx(6.0, abs=0.3)
    assert told.was_cut_short


def test_a_coarse_scale_tells_twice_its_step() -> None:
    times, masses = with_noise(step((0.0, 100.0 * OZ), (300.0, 99.0 * OZ), (900.0, 0.0)))
    (told,) = moves_of((times, np.round(masses / (0.5 * OZ)) * 0.5 * OZ))
    assert told.mass.value / OZ == pytest.approx(1.0, abs=0.2)


def test_when_a_long_move_began_is_known_though_the_rest_before_it_was_long() -> None:
    times, masses = with_noise(step((0.0, 12.0), (2700.0, 0.0)))
    masses -= Flow(1200.0, 900.0, 32 * OZ).left_kg(times)
    (told,) = moves_of((times, masses))
    assert told.began_s == pytest.approx(1200.0, abs=20.0)
    assert told.ended_s == pytest.approx(2100.0, abs=20.0)
    assert told.mass.value / OZ == pytest.approx(32.0, abs=0.3)
