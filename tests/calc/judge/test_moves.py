"""What moving refrigerant did: kept by what a person beside the scale would write down."""

import pytest

from calc.estimate import Estimate
from calc.judge.moves import Moves, OpenStep
from calc.situation import Move


def dk(value: float) -> Estimate:
    return Estimate(value, 0.1)


@pytest.fixture
def moves() -> Moves:
    """The figure stood at 3 K; 0.2 kg were added as "a", and it came to 5 K."""
    moves = Moves()
    moves.settled(dk(3.0))
    moves.moved("a", 0.2)
    moves.settled(dk(5.0))
    return moves


def test_a_step_is_the_sum_of_what_was_moved_before_it_settled_again(moves: Moves) -> None:
    moves.moved("b", 0.1)
    moves.moved("c", 0.2)
    moves.settled(dk(8.0))
    assert moves.made[0] == Move(0.2, dk(3.0), dk(5.0))
    assert moves.made[1] == Move(pytest.approx(0.3), dk(5.0), dk(8.0))
    moves.moved("d", -0.4)
    moves.settled(dk(4.0))
    assert moves.made[2] == Move(-0.4, dk(8.0), dk(4.0))


def test_without_a_move_a_figure_that_wanders_teaches_nothing(moves: Moves) -> None:
    moves.settled(dk(5.5))
    moves.moved("b", 0.1)
    moves.moved("c", -0.1)
    moves.settled(dk(6.0))
    moves.moved("d", 0.1)
    moves.settled(dk(7.0))
    assert moves.made == [Move(0.2, dk(3.0), dk(5.0)), Move(0.1, dk(6.0), dk(7.0))]


def test_what_was_moved_before_the_figure_first_settled_teaches_nothing() -> None:
    moves = Moves()
    moves.moved("a", 0.2)
    moves.settled(dk(5.0))
    assert moves.made == []


def test_a_correction_before_it_has_settled_counts_with_the_rest(moves: Moves) -> None:
    moves.moved("b", 1.0)
    moves.corrected("b", -0.9)
    moves.settled(dk(6.0))
    assert moves.made[1].mass_kg == pytest.approx(0.1)


def test_a_correction_afterwards_changes_its_own_step_alone(moves: Moves) -> None:
    moves.moved("b", 1.0)
    moves.settled(dk(6.0))
    moves.corrected("b", -0.9)
    assert [move.mass_kg for move in moves.made] == [0.2, pytest.approx(0.1)]
    moves.corrected("a", -0.2)  # it never was
    assert [move.before_dk for move in moves.made] == [dk(5.0)]


def test_of_what_an_earlier_run_knew_nobody_can_tell_which_step_it_was() -> None:
    moves = Moves([Move(0.2, dk(3.0), dk(5.0)), Move(0.1, dk(5.0), dk(6.0))])
    assert len(moves.made) == 2
    moves.corrected("a", -0.1)
    assert moves.made == []


def test_measured_by_something_else_before_and_after_do_not_compare(moves: Moves) -> None:
    moves.moved("b", 0.1)
    moves.forget()
    moves.settled(dk(9.0))
    assert len(moves.made) == 1
    moves.moved("c", 0.3)
    moves.settled(dk(10.0))
    assert moves.made[1] == Move(0.3, dk(9.0), dk(10.0))


def test_a_step_that_is_open_is_answered_in_the_next_run(moves: Moves) -> None:
    moves.moved("b", 0.5)
    again = Moves(moves.made, moves.open_step)
    again.corrected("b", -0.2)
    again.settled(dk(8.0))
    assert again.made == [Move(0.2, dk(3.0), dk(5.0)), Move(pytest.approx(0.3), dk(5.0), dk(8.0))]


def test_before_anything_was_moved_no_step_is_open() -> None:
    assert Moves().open_step == OpenStep((), 0.0, None)
