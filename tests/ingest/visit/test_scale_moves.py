"""What a scale shows becomes moves to propose, by the wall's clock."""

import numpy as np
import pytest

from calc.sentences import say
from ingest.visit.scale_moves import MoveSeen, MoveUnderWay, ScaleMoves
from ingest.wire.packs import Reading

OZ = 0.028349523125
"""NIST SP 811, B.8: 1 oz = 0.028 349 523 125 kg."""
START_S = 1_800_000_000.0
ADDED_KG = 6.2 * OZ


def followed(
    *, sign: float = 1.0, speed: float = 1.0, hose_kg: float = 0.0, scale_kg: float = 0.0
) -> tuple[list[MoveSeen], MoveUnderWay | None]:
    """Ten minutes of a scale of two readings a second, looked at four times a second; 6.2 oz go within 40 s."""
    moves, seen, half_way = ScaleMoves(), [], None
    noise = np.random.default_rng(7)
    for tick in range(2400):
        unit_s = 0.25 * tick
        if tick % 2 == 0:
            share = min(max((unit_s - 300.0) / 40.0, 0.0), 1.0)
            mass_kg = 11.0 - sign * share * ADDED_KG + noise.normal(0.0, 0.001)
            reading = Reading(mass_kg, START_S + unit_s / speed, standard_uncertainty=scale_kg)
        found = moves.take(reading, unit_s, START_S + unit_s / speed, cylinder="c1", hose_kg=hose_kg)
        seen += [found] if found else []
        half_way = moves.under_way if unit_s == 330.0 else half_way
    return seen, half_way


def test_a_move_is_proposed_with_its_times_and_its_question() -> None:
    (seen,), half_way = followed()
    assert seen.what.mass_kg == pytest.approx(ADDED_KG, abs=0.05 * OZ)
    assert seen.what.cylinder == "c1"
    assert (seen.from_s - START_S, seen.to_s - START_S) == (pytest.approx(300, abs=12), pytest.approx(340, abs=12))
    assert say(seen.says, "us") == "6.2 oz left the cylinder. Keep?"
    assert say(seen.says, "si") == f"{1000 * seen.what.mass_kg:.0f} g left the cylinder. Keep?"
    assert half_way is not None
    assert half_way.from_s - START_S == pytest.approx(300, abs=12)
    assert str(half_way.says).endswith("oz has left the cylinder so far.")


def test_the_beginning_of_what_is_under_way_stays_though_the_clock_is_set() -> None:
    moves, from_s = ScaleMoves(), []
    noise = np.random.default_rng(7)
    for second in range(520):
        mass_kg = 11.0 - min(max((second - 300.0) / 200.0, 0.0), 1.0) * 4 * ADDED_KG + noise.normal(0.0, 0.001)
        wall_s = START_S + second + (20.0 if second > 420 else 0.0)
        moves.take(Reading(mass_kg, wall_s), float(second), wall_s)
        from_s += [moves.under_way.from_s] if moves.under_way else []
    assert len(from_s) > 100
    assert set(from_s) == {from_s[0]}
    assert from_s[0] - START_S == pytest.approx(300, abs=20)


def test_what_a_bench_runs_faster_is_told_by_the_wall_clock() -> None:
    (seen,), _ = followed(speed=10.0)
    assert (seen.from_s - START_S, seen.to_s - START_S) == (pytest.approx(30, abs=1.2), pytest.approx(34, abs=1.2))


def test_what_came_in_is_below_zero_and_takes_no_hose_off() -> None:
    (seen,), _ = followed(sign=-1.0, hose_kg=0.5 * OZ)
    assert seen.what.mass_kg == pytest.approx(-ADDED_KG, abs=0.05 * OZ)
    assert str(seen.says) == "6.2 oz came into the cylinder. Keep?"


def test_the_hose_is_taken_off_where_it_is_given() -> None:
    (seen,), _ = followed(hose_kg=0.5 * OZ)
    assert seen.what.mass_kg == pytest.approx(5.7 * OZ, abs=0.05 * OZ)
    assert str(seen.says) == "6.2 oz left the cylinder, and 0.5 oz of it is in the hose. Keep 5.7 oz?"


def test_the_uncertainty_of_the_scale_comes_on_top() -> None:
    """By the root of the sum of the squares (JCGM 100, 5.1.2)."""
    (bare,), _ = followed()
    (with_scale,), _ = followed(scale_kg=0.008)
    squares = bare.what.standard_uncertainty_kg**2 + 0.008**2
    assert with_scale.what.standard_uncertainty_kg**2 == pytest.approx(squares, rel=0.01)


def test_what_is_not_believed_and_what_was_taken_before_is_left_out() -> None:
    moves = ScaleMoves()
    assert moves.take(None, 0.0, START_S) is None
    assert moves.take(Reading(None, START_S, reason="no answer"), 0.25, START_S) is None
    assert moves.under_way is None
