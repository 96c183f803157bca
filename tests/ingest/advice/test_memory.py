"""What a later session takes up again: the marks that came after the one that was taken last."""

import pytest

from ingest.advice.memory import Earlier
from ingest.wire.messages import Note

MARKS = [Note(f"n{number}", float(number), by="Sam", role="technician", text="look") for number in range(4)]


@pytest.mark.parametrize(
    ("taken", "left"),
    [
        ("", ["n0", "n1", "n2", "n3"]),
        ("n0", ["n1", "n2", "n3"]),
        ("n2", ["n3"]),
        ("n3", []),
        ("of another visit", ["n0", "n1", "n2", "n3"]),
    ],
)
def test_what_came_after_the_mark_that_was_taken_last_is_left(taken: str, left: list[str]) -> None:
    assert [mark.id for mark in Earlier(marks=MARKS).marks_after(taken)] == left


def test_of_a_visit_that_begins_nothing_is_left() -> None:
    assert Earlier().marks_after("") == []
