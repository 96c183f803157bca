"""What the record knows of a unit's earlier visits as the next one begins."""

from dataclasses import replace
from pathlib import Path

from msgspec.structs import replace as replace_struct

from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.visit.earlier import history
from ingest.visit.seal import digest
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    Added,
    Correction,
    Described,
    Finding,
    LinkChanged,
    Mark,
    Note,
    Recovered,
    Released,
    Seen,
    Signed,
    Stop,
    VisitOpened,
)
from ingest.wire.talk import StopStands
from tests.rigs import make_rig
from tests.units import CORRECT

T0_S = 1_700_000_000.0
DAY_S = 86_400.0


def signed(visit: str, *before: Mark) -> Signed:
    return Signed(f"{visit} signed", T0_S, "Sam", "technician", name="Sam", digest=digest(before))


def visit(rig: Rig, name: str, start_s: float, marks: list[Mark]) -> list[tuple[str, list[Mark]]]:
    """Make a visit, and give what it found of those before."""
    record = Record(rig.record)
    record.begin_session(rig, boot=name, new_visit=name, time_s=start_s)
    found = [(earlier, list(known)) for earlier, known in record.earlier_marks()]
    for mark in [*marks, replace_struct(signed(name), digest="")]:  # the record takes the digest
        record.add_mark(mark)
    record.end_session(start_s + 60)
    record.close()
    return found


def test_what_was_moved_and_found_at_the_same_unit_is_known_and_nothing_else(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    elsewhere = replace(rig, unit=replace_struct(rig.unit, tag="RTU-9"))
    leak = Finding("f1", T0_S, check="leaks", grade="seen", outcome="not_met", choices={"joints": "leak"})
    named = Described("d1", T0_S, sheet=CORRECT, circuits_were=["A"])  # by which name a circuit was moved into
    moved: list[Mark] = [Added("m1", T0_S, mass_kg=0.3), Correction("c1", T0_S, of="m1", mass_kg=0.2), leak, named]
    others: list[Mark] = [Note("n1", T0_S, text="x"), LinkChanged("l1", T0_S, text="probe: waiting")]
    assert visit(rig, "visit-1", T0_S, [*others, *moved]) == []
    assert visit(elsewhere, "visit-2", T0_S + DAY_S, [Added("m2", T0_S, mass_kg=0.5)]) == []
    assert visit(rig, "visit-3", T0_S + 2 * DAY_S, [Recovered("m3", T0_S, mass_kg=0.1)]) == [
        ("visit-1", [*moved, signed("visit-1", *others, *moved)])
    ]
    found = visit(rig, "visit-4", T0_S + 4 * DAY_S, [])
    assert [earlier for earlier, _ in found] == ["visit-1", "visit-3"]
    known = history(found)
    assert [[(it.sign, it.mass_kg) for it in entries] for entries in known.of("")] == [[(1, 0.2)], [(-1, 0.1)]]
    assert known.open_leaks == {"": T0_S}


def test_a_lock_that_was_left_at_a_unit_is_known_there_again_wherever_the_rig_was_since(tmp_path: Path) -> None:
    """29 CFR 1910.147(e)(3), from memory: it hangs there whatever the visit, until its owner takes it off."""
    rig = make_rig(tmp_path)
    elsewhere = replace(rig, unit=replace_struct(rig.unit, tag="RTU-9"))
    sam, kim = (
        Finding(f"i{name}", T0_S, name, check="isolate", grade="seen", outcome="met", choices={"locked_by": name})
        for name in ("Sam", "Kim")
    )
    off = Finding(
        "p1", T0_S, "Sam", check="power_back", grade="seen", outcome="not_met", choices={"lock_removed_by": "Sam"}
    )
    visit(rig, "visit-1", T0_S, [sam, kim])
    assert history(visit(elsewhere, "visit-2", T0_S + DAY_S, [])).locks == ()
    back = history(visit(rig, "visit-3", T0_S + 2 * DAY_S, [off]))
    assert Standing("visit-3", history=back).message().locks == ("Sam", "Kim")
    assert Standing("visit-3", [off], back).message().locks == ("Kim",)
    visit(elsewhere, "visit-4", T0_S + 3 * DAY_S, [])
    assert history(visit(rig, "visit-5", T0_S + 4 * DAY_S, [])).locks == ("Kim",)


def test_a_stop_that_came_as_the_rig_went_elsewhere_stands_where_it_was_asked_until_it_is_answered(
    tmp_path: Path,
) -> None:
    rig = make_rig(tmp_path)
    elsewhere = replace(rig, unit=replace_struct(rig.unit, tag="RTU-9"))
    record = Record(rig.record)
    record.begin_session(rig, boot="b1", new_visit="visit-1", time_s=T0_S)
    record.begin_session(elsewhere, boot="b2", new_visit="visit-2", time_s=T0_S)
    stop = Stop("s1", T0_S, "Robin", "lead", "Hands off.", asked_at="visit-1")
    for mark in (stop, Stop("s2", T0_S, "Robin", "lead", "Wait.", asked_at="visit-2")):
        record.add_mark(mark)
    assert record.stops_elsewhere() == []
    record.begin_session(rig, boot="b3", new_visit="-", time_s=T0_S)
    assert record.stops_elsewhere() == [stop]
    record.begin_session(elsewhere, boot="b4", new_visit="-", time_s=T0_S)
    answered = Acknowledged("k1", T0_S + 2, "Sam", "technician", of="s1")
    record.add_mark(answered)
    record.begin_session(rig, boot="b5", new_visit="-", time_s=T0_S)
    standing = Standing("visit-1", record.marks())
    standing.stops_elsewhere = record.stops_elsewhere()
    assert standing.stops_elsewhere == [stop, answered]
    assert (standing.stops.unanswered, standing.stops.closed) == ((), 1)


def test_what_was_said_elsewhere_to_the_stops_of_a_visit_ends_them_there(tmp_path: Path) -> None:
    """Told at the first unit, carried over to the second and answered at it; what else was read there is not theirs."""
    rig = make_rig(tmp_path)
    elsewhere = replace(rig, unit=replace_struct(rig.unit, tag="RTU-9"))
    stop = Stop("s1", T0_S, "Robin", "lead", "Hands off.")
    over = VisitOpened("o2", T0_S, unit="RTU-9", stops=[StopStands("s1", "Robin", "Hands off.", T0_S)])
    seen = Seen("e1", T0_S + 1, "Sam", "technician", of="s1")
    answered = Acknowledged("k1", T0_S + 2, "Sam", "technician", of="s1")
    read = Acknowledged("k2", T0_S + 2, "Sam", "technician", of="n1")
    goes_on = Released("g1", T0_S + 3, "Robin", "lead", of="s1")
    record = Record(rig.record)

    def at(rig: Rig, name: str, *marks: Mark) -> list[Mark]:
        record.begin_session(rig, boot=name, new_visit=name, time_s=T0_S)
        for mark in marks:
            record.add_mark(mark)
        return record.stops_elsewhere()

    assert at(rig, "visit-1", Note("n1", T0_S, "Robin", "lead", "Look."), stop) == []
    assert at(elsewhere, "visit-2", over, seen, answered, goes_on, read) == []  # said here
    assert at(rig, "visit-1") == [seen, answered, goes_on]
    before = record.visit_before()
    assert before is not None
    assert Standing("", before[1]).stops.unanswered == ()
    standing = Standing("visit-1", record.marks())
    assert [it.id for it in standing.stops.unanswered] == ["s1"]
    standing.stops_elsewhere = record.stops_elsewhere()
    assert standing.stops.unanswered == ()
    stands = standing.message().stop
    assert stands is not None
    assert (stands.seen_s, stands.acknowledged_by, stands.saved) == (T0_S + 1, "Sam", True)
    assert stands.released_by == "Robin"
    at(elsewhere, "visit-2")
    before = record.visit_before()
    assert before is not None
    assert Standing("", before[1]).stops.standing == ()  # nor is it carried over once more
    assert [mark.id for mark in before[1]][-3:] == ["e1", "k1", "g1"]
    record.close()


def test_a_mark_that_is_damaged_is_left_out(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    damaged, whole = Added("m1", T0_S, mass_kg=0.3), Added("m2", T0_S, mass_kg=0.2)
    visit(rig, "visit-1", T0_S, [damaged, whole])
    record = Record(rig.record)
    record._database.execute("UPDATE marks SET payload = x'00' WHERE id = 'm1'")
    record.close()
    assert visit(rig, "visit-2", T0_S + DAY_S, []) == [("visit-1", [whole, signed("visit-1", damaged, whole)])]


def test_visits_stand_in_the_order_in_which_they_began_whatever_the_clock_showed(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    moved: list[Mark] = [Added("m1", T0_S, mass_kg=0.3)]
    visit(rig, "visit-b", T0_S, moved)
    visit(rig, "visit-a", T0_S, [])
    found = visit(rig, "visit-0", T0_S - DAY_S, [])
    assert [earlier for earlier, _ in found] == ["visit-b", "visit-a"]
    assert [earlier for earlier, _ in visit(rig, "visit-c", T0_S, [])] == ["visit-b", "visit-a", "visit-0"]
    assert RecordFile(rig.record).newest_visit() == "visit-c"
    told = RecordFile(rig.record).visits_of(rig.unit.tag)
    assert [it.id for it in told] == ["visit-c", "visit-0", "visit-a", "visit-b"]
