"""Holes are told from the numbers alone, whatever order they come in."""

from hypothesis import given
from hypothesis import strategies as st

from dashboard.numbering import Numbering


def test_the_first_reading_of_the_record_is_always_wanted() -> None:
    numbering = Numbering()
    assert numbering.hear(41)
    numbering.recalled(42)
    assert numbering.whole_until == 42
    assert not numbering.hear(43)
    assert numbering.whole_until == 43


def test_a_hole_is_told_until_it_is_filled() -> None:
    numbering = Numbering()
    numbering.recalled(10)
    assert not numbering.hear(11)
    assert numbering.hear(14)
    assert numbering.hear(13)
    assert numbering.whole_until == 11
    assert not numbering.hear(12)
    assert numbering.whole_until == 14


def test_what_the_record_does_not_have_is_not_asked_for_twice() -> None:
    numbering = Numbering()
    numbering.recalled(10)
    assert numbering.hear(14)
    numbering.recalled(numbering.heard_until)
    assert not numbering.hear(15)


@given(st.permutations(range(1, 13)), st.integers(0, 12))
def test_in_any_order_it_is_whole_when_all_are_heard(order: list[int], recorded: int) -> None:
    numbering = Numbering()
    numbering.recalled(recorded)
    holes = [numbering.hear(sequence) for sequence in order]
    assert numbering.whole_until == 12
    assert not holes[-1]
