"""How a visit stands: totals and notes, from all of its marks."""

from typing import Any

import pytest

from calc.quantities import CHANNELS
from ingest.visit.leading import Now
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    Added,
    Circuit,
    Correction,
    Finding,
    Hold,
    LinkChanged,
    Mark,
    Note,
    Placed,
    Proposed,
    ProposedFinding,
    Question,
    Recovered,
    SettledSince,
    Stop,
    Visit,
    VisitOpened,
    Waiting,
    Want,
    Wording,
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


def test_that_it_runs_is_so_only_as_long_as_the_rig_reads_it() -> None:
    standing = Standing("v1")
    for runs, is_told in ((True, True), (False, False), (None, False)):
        standing.judged("", TIME_S, now=Now(runs))
        assert ("runs" in standing.message().facts) is is_told


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
    for letter, least in (("ü", 10), ("\N{WRENCH}", 5)):  # of two bytes, and of four
        notes = [Note(f"n{number}", TIME_S, "R" * 64, "lead", letter * 500) for number in range(500)]
        said = decode(Standing("v1", notes).encoded(), Visit)
        assert [each.id for each in said.notes] == [f"n{number}" for number in range(len(said.notes))]
        assert len(said.notes) >= least


@pytest.mark.parametrize("letter", ["x", "\N{WRENCH}"])  # of one byte, and of four
def test_a_unit_of_twelve_circuits_of_which_everything_is_told_is_one_message(letter: str) -> None:
    """64 KiB: docs/asyncapi.yaml. A broker of ours ends the connection of who sends more."""
    names = [letter * 60 + f"{number}" for number in range(12)]
    standing = Standing("v1")
    circuits = [Circuit(name, "R-410A", "txv", 30.0, appliance="comfort_cooling") for name in names]
    standing.moved.know(circuits, names[0])
    by, text = letter * 64, letter * 500
    for number, name in enumerate(names):
        standing.take(Added(f"a{number}", TIME_S, by, "technician", mass_kg=1.0, circuit=name))
    alone = decode(standing.encoded(), Visit)
    assert [account.circuit for account in alone.circuits] == names
    standing.take(Placed("p1", TIME_S, by, "technician", channels=tuple(CHANNELS), on=names[1]))
    standing.take(Waiting("wait", TIME_S, by, "technician", text, reason="other"))
    for number in range(50):
        standing.take(Note(f"n{number}", TIME_S, by, "lead", text))
        standing.take(Want(f"w{number}", TIME_S, by, "lead", text, what="reading"))
        standing.take(Hold(f"h{number}", TIME_S, by, "lead", text, before="power"))
        standing.take(Stop(f"s{number}", TIME_S, by, "lead", text))
        standing.take(Question(f"q{number}", TIME_S, by, "technician", text))
    assert len(standing.encoded()) <= 65_536
    said = decode(standing.encoded(), Visit)
    assert [account.circuit for account in said.circuits] == names[: len(said.circuits)]
    for first, listed in (("n0", said.notes), ("w0", said.wants), ("h0", said.holds), ("q0", said.questions)):
        assert listed[0].id == first
    assert said.circuits


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


def test_what_the_judge_said_before_a_move_is_over_with_it() -> None:
    standing = Standing("v1")
    standing.take(Added("a", TIME_S + 5, mass_kg=0.1))
    standing.judged("subcooling", TIME_S + 5)  # of the pack before
    assert standing.message().settled is None
    assert standing.settled == ""


def test_a_circuit_is_waited_for_after_its_own_moves_and_as_long_as_was_claimed() -> None:
    standing = Standing("v1", [VisitOpened("o", TIME_S, circuit="1")])
    assert (standing.moved_in_view_s, standing.least_wait_s) == (None, 0.0)
    standing.take(Added("a", TIME_S + 5, mass_kg=0.1))
    standing.take(Recovered("r", TIME_S + 9, mass_kg=0.1, circuit="2"))
    assert (standing.moved_in_view_s, standing.last_move_s) == (TIME_S + 5, TIME_S + 9)
    choices = {"claimed": "title_24_installer"}
    standing.take(
        Finding("f", TIME_S + 60, check="readings_after", outcome="not_met", grade="seen", choices=choices, circuit="1")
    )
    assert standing.least_wait_s == 900.0  # California Title 24, RA3.2: 15 min
    values = {"maker_wait": 600.0}
    standing.take(
        Finding("g", TIME_S + 90, check="readings_after", outcome="met", grade="seen", values=values, circuit="1")
    )
    assert standing.least_wait_s == 600.0


def test_a_circuit_is_unmeasured_until_it_has_settled_or_its_readings_were_kept_or_put_aside() -> None:
    standing = Standing("v1", [VisitOpened("o", TIME_S, circuit="2")])
    standing.moved.know([Circuit(name, "R-410A", "txv") for name in "2134"], "1")
    assert standing.unmeasured == ["1", "3", "4"]
    kept = Finding("f", TIME_S, check="readings_before", outcome="met", grade="measured", circuit="3")
    put_aside = Finding("g", TIME_S, check="readings_after", outcome="skipped", grade="said", circuit="4")
    standing.take(kept)
    assert standing.unmeasured == ["1", "4"]
    standing.take(put_aside)
    standing.take(Finding("h", TIME_S, check="connections", outcome="met", grade="seen", circuit="1"))
    assert standing.unmeasured == ["1"]
    standing.take(Placed("p", TIME_S + 1, on="1", channels=("suction_pressure",)))
    standing.judged("subcooling", TIME_S + 900)
    standing.take(Placed("q", TIME_S + 901, on="2", channels=("suction_pressure",)))
    assert standing.unmeasured == []


def test_since_when_it_has_settled_travels_to_the_millisecond_as_every_stamp_does() -> None:
    standing = Standing("v1")
    standing.judged("superheat", TIME_S + 0.1234567)
    assert standing.message().settled == SettledSince("superheat", TIME_S + 0.123)


def test_the_readings_before_are_those_that_were_kept_or_that_still_wait_for_a_person() -> None:
    def proposed(name: str, outdoor_k: float, circuit: str = "") -> Proposed:
        what = ProposedFinding("readings_before", {"outdoor": outdoor_k}, circuit=circuit)
        return Proposed(name, 1.0, what=what, from_s=0.0, to_s=1.0, says=Wording("It", "It"))

    def found(name: str, outcome: Any, proposal: str = "") -> Finding:
        of: dict[str, Any] = {"check": "readings_before", "grade": "measured", "outcome": outcome, "proposal": proposal}
        return Finding(name, 2.0, "Sam", "technician", values={"outdoor": 300.0}, **of)

    assert Standing("v1").read_before("") == {}
    waiting = proposed("p1", 305.0)
    assert Standing("v1", [waiting, proposed("p2", 310.0, "2")]).read_before("") == {"outdoor": 305.0}
    assert Standing("v1", [waiting, found("f1", "met", "p1")]).read_before("") == {"outdoor": 300.0}
    assert Standing("v1", [waiting, found("f1", "skipped")]).read_before("") == {}
