"""Simulated units of one and three phases start through instruments of the trade; see `tests/starts/drawn.py`."""

import pytest

from tests.starts.trial import counted, told


def test_what_keeps_it_from_starting_is_told_where_the_rig_is_as_it_asks_for() -> None:
    """Four of the twelve matters; the trial of hours below has hundreds of all of them."""
    counts = counted(told(seed, well_equipped=True) for seed in range(0, 12, 3))
    assert counts["wrong"] == 0
    assert counts["right"] >= 3


@pytest.mark.hours
def test_gaps_in_the_rig_make_it_say_so_and_not_guess() -> None:
    counts = counted(told(seed, well_equipped=False) for seed in range(1200, 1204))
    assert counts["wrong"] == 0


@pytest.mark.hours
@pytest.mark.timeout(7200)
@pytest.mark.parametrize(("well_equipped", "least_right"), [(True, 0.9), (False, 0.4)])
def test_of_hundreds_nearly_all_are_told_and_hardly_any_wrongly(well_equipped: bool, least_right: float) -> None:
    """Nine in ten with the instruments that the rig asks for; with gaps, whatever can be told."""
    counts = counted(told(seed, well_equipped=well_equipped) for seed in range(5000, 5300))
    print(dict(counts))
    assert counts["right"] >= least_right * counts.total()
    assert counts["wrong"] <= 0.01 * counts.total()
