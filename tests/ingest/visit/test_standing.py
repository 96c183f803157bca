"""How a visit stands: totals and notes, from all of its marks."""

from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    Added,
    Correction,
    LinkChanged,
    Mark,
    Note,
    Recovered,
    SettledSince,
    Visit,
    decode,
)

TIME_S = 1.7e9


def note(name: str, role: str = "lead") -> Note:
    return Note(name, TIME_S, by="Robin", role=role, text=f"Let it sit, {name}.")


def test_what_was_recovered_is_never_counted_as_added() -> None:
    standing = Standing("v1")
    assert standing.take(Added("a", TIME_S, mass_kg=0.3)) == 0.3
    assert standing.take(Recovered("b", TIME_S + 60, mass_kg=0.1)) == -0.1
    said = standing.message()
    assert (said.added_kg, said.recovered_kg, said.moves, said.last_move_s) == (0.3, 0.1, 2, TIME_S + 60)


def test_a_correction_changes_the_sum_and_not_when_something_was_moved() -> None:
    standing = Standing("v1", [Added("a", TIME_S, mass_kg=2.0)])
    assert standing.take(Correction("c", TIME_S + 600, of="a", mass_kg=0.2)) == -1.8
    said = standing.message()
    assert (said.added_kg, said.moves, said.last_move_s) == (0.2, 1, TIME_S)


def test_thousands_of_other_marks_push_no_move_out_of_the_sum() -> None:
    links = (LinkChanged(f"l{number}", TIME_S, text="probe: waiting") for number in range(5000))
    standing = Standing("v1", [Added("a", TIME_S, mass_kg=0.3), *links])
    assert standing.message().added_kg == 0.3


def test_the_notes_of_a_lead_wait_oldest_first_until_each_is_acknowledged_by_name() -> None:
    marks: list[Mark] = [note("n1"), note("n2", role="technician"), note("n3"), note("n4")]
    assert [each.id for each in Standing("v1", marks).message().notes] == ["n1", "n3", "n4"]
    marks.append(Acknowledged("a", TIME_S, of="n3"))
    assert [each.id for each in Standing("v1", marks).message().notes] == ["n1", "n4"]
    assert Standing("v1", [*marks, note("n3")]).message().notes[-1].id == "n3"


def test_a_gram_and_a_note_reach_the_wire_whole() -> None:
    """A scale shows 5 g (common practice, no source)."""
    said = Standing(
        "v1", [Added("a", TIME_S, mass_kg=0.305), Recovered("b", TIME_S, mass_kg=0.025), note("n1")]
    ).message()
    assert (said.added_kg, said.recovered_kg) == (0.305, 0.025)
    (waiting,) = said.notes
    assert (waiting.id, waiting.by, waiting.time_s, waiting.text) == ("n1", "Robin", TIME_S, "Let it sit, n1.")


def test_what_is_no_refrigerant_changes_no_charge_and_a_sum_travels_to_the_milligram() -> None:
    standing = Standing("v1")
    assert standing.take(note("n1")) == 0.0
    standing.take(Added("a", TIME_S, mass_kg=0.1234564))
    standing.take(Recovered("b", TIME_S, mass_kg=0.2345675))
    said = standing.message()
    assert (said.added_kg, said.recovered_kg) == (0.123456, 0.234568)


def test_a_flood_of_notes_still_fits_into_a_message() -> None:
    notes = [Note(f"n{number}", TIME_S, "R" * 64, "lead", "ü" * 500) for number in range(500)]
    said = decode(Standing("v1", notes).encoded(), Visit)
    assert [each.id for each in said.notes] == [f"n{number}" for number in range(40)]


def test_it_says_since_when_it_has_settled_until_something_is_moved() -> None:
    standing = Standing("v1")
    assert standing.message().settled is None
    for later_s in (0.0, 2.0, 4.0):
        standing.judged("subcooling", TIME_S + later_s)
    assert standing.message().settled == SettledSince("subcooling", TIME_S)
    standing.take(note("n1"))
    assert decode(standing.encoded(), Visit).settled == SettledSince("subcooling", TIME_S)
    standing.take(Added("a", TIME_S + 5, mass_kg=0.1))
    assert standing.message().settled is None
    standing.judged("subcooling", TIME_S + 600)
    assert standing.message().settled == SettledSince("subcooling", TIME_S + 600)
    standing.judged("", TIME_S + 602)
    assert standing.message().settled is None
    standing.judged("superheat", TIME_S + 604)
    assert standing.message().settled == SettledSince("superheat", TIME_S + 604)


def test_since_when_it_has_settled_travels_to_the_millisecond_as_every_stamp_does() -> None:
    standing = Standing("v1")
    standing.judged("superheat", TIME_S + 0.1234567)
    assert standing.message().settled == SettledSince("superheat", TIME_S + 0.123)
