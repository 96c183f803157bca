"""Which of a visit's marks are told to those who have just come."""

from msgspec.structs import replace

from ingest.parts.known_marks import known_marks, newest_marks
from ingest.wire.messages import LinkChanged, Mark, Note, encode

ROOM_KIB = 40
"""Of a message of 64 KiB at most; the rest of About needs its own."""


def note_of(number: int, size_bytes: int) -> Note:
    """A note of a person, as large as that on the wire with the comma behind it."""
    least = Note(f"{number:05}", 0.0, "Sam", "technician", "x")
    return replace(least, text="x" * (size_bytes - len(encode(least))))


def link_of(number: int) -> LinkChanged:
    return LinkChanged(f"{number:05}", 0.0, text="low side probe: waiting")


def test_as_many_marks_as_just_fit_are_told_oldest_first() -> None:
    marks = [note_of(number, 1024) for number in range(ROOM_KIB + 1)]
    assert {len(encode(mark)) for mark in marks} == {1023}
    assert newest_marks(marks) == marks[1:]
    assert newest_marks([*marks[:-1], note_of(40, 1025)]) == [*marks[2:-1], note_of(40, 1025)]
    assert newest_marks(marks[:3]) == marks[:3]


def test_marks_of_people_come_before_newer_ones_of_the_rig_itself() -> None:
    people: list[Mark] = [note_of(number, 1024) for number in range(39)]
    links: list[Mark] = [link_of(number) for number in range(39, 100)]
    many = 1024 // (len(encode(links[0])) + 1)
    assert newest_marks([*people, *links]) == [*people, *links[-many:]]


def test_nothing_older_fills_the_place_of_what_did_not_fit() -> None:
    """Or the time line would have holes that nobody sees."""
    old, large, newest = note_of(1, 100), note_of(2, 2048), [note_of(number, 1024) for number in range(3, 42)]
    assert newest_marks([old, large, *newest]) == newest


def test_a_thousand_marks_are_kept() -> None:
    marks = [link_of(number) for number in range(1001)]
    assert list(known_marks(marks)) == marks[1:]
