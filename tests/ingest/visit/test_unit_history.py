"""What is remembered of a unit's visits: each summed up, newest first, in one message however many there were."""

from ingest.visit.part_readings import PartReadings
from ingest.visit.unit_history import unit_history, visit_before
from ingest.wire.messages import (
    Added,
    CircuitMoved,
    Correction,
    Finding,
    FindingStands,
    Mark,
    Placed,
    Question,
    Recovered,
    Reply,
    Signed,
    VisitBefore,
    VisitOpened,
    Wording,
    encode,
)
from tests.ingest.visit.checks import TIME_S

BY = ("Sam", "technician")


def found(name: str, check: str, outcome: str, after_s: float, **fields: object) -> Finding:
    return Finding(name, TIME_S + after_s, *BY, check=check, grade="said", outcome=outcome, **fields)


HANDED_OVER = {
    "complaint": "better", "left": "concern", "next_person": "The fan bearing hums.", "next_reading": "in 30 days",
    "owner": "wants an offer",
}  # fmt: skip
VISIT: list[Mark] = [
    VisitOpened("o", TIME_S, unit="RTU-K7Q-4", circuit="1"),
    found("c", "complaint", "met", 10, choices={"complaint": "Warm since Monday"}),
    found("l1", "leaks", "not_met", 20, circuit="1"),
    found("a", "capacitor_measured", "cannot_tell", 30, part="run capacitor"),
    found("a2", "capacitor_measured", "not_met", 40, part="run capacitor"),
    found("r", "replacement", "met", 50, part="run capacitor"),
    found("l2", "panels", "not_met", 60),
    found("l3", "panels", "met", 70),
    Added("m1", TIME_S + 80, *BY, mass_kg=0.3),
    Placed("p", TIME_S + 85, *BY, on="2", channels=["suction_pressure"]),
    Added("m2", TIME_S + 90, *BY, mass_kg=0.1),
    Recovered("m3", TIME_S + 95, *BY, mass_kg=0.05),
    Correction("x", TIME_S + 96, *BY, of="m1", mass_kg=0.2),
    Question("q1", TIME_S + 100, *BY, text="Is that bearing worth it?"),
    Question("q2", TIME_S + 110, *BY, text="Who has the key?"),
    Reply("q3", TIME_S + 120, "Robin", "lead", text="Sam has.", of="q2"),
    found("h", "handover", "met", 130, choices=HANDED_OVER),
    Signed("s", TIME_S + 140, *BY, name="Sam Example", digest="0" * 64),
]


def test_a_visit_is_summed_up_as_the_next_person_wants_to_know_it() -> None:
    told = visit_before("v1", VISIT)
    assert told is not None
    assert (told.began_s, told.technician, told.signed_by, told.signed_s) == (
        TIME_S,
        "Sam",
        "Sam Example",
        TIME_S + 140,
    )
    assert (told.complaint, told.was_answered, told.left) == ("Warm since Monday", "better", "concern")
    assert [(it.check, it.outcome, it.part or it.circuit) for it in told.found] == [
        ("leaks", "not_met", "1"),
        ("capacitor_measured", "not_met", "run capacitor"),
        ("replacement", "met", "run capacitor"),
    ]
    assert told.moved == [CircuitMoved("1", added_kg=0.2), CircuitMoved("2", added_kg=0.1, recovered_kg=0.05)]
    assert (told.next_person, told.next_reading, told.owner) == (
        "The fan bearing hums.", "in 30 days", "wants an offer",
    )  # fmt: skip
    assert told.open_questions == ["Is that bearing worth it?"]


def test_what_was_found_of_each_circuit_and_part_stands_by_itself_the_newest_last() -> None:
    marks = [
        found("l1", "leaks", "not_met", 1, circuit="1"),
        found("l2", "leaks", "not_met", 2, circuit="2"),
        found("a", "windings", "cannot_tell", 3, part="compressor"),
        found("b", "windings", "not_met", 4, part="blower"),
        found("l3", "leaks", "cannot_tell", 5, circuit="1"),
    ]
    told = visit_before("v1", marks)
    assert told is not None
    assert [it.id for it in told.found] == ["l2", "a", "b", "l3"]
    (sent,) = unit_history("RTU-K7Q-4", [told], PartReadings(None)).visits
    assert [it.id for it in sent.found] == ["l2", "a", "b", "l3"]


def test_where_it_was_isolated_and_how_many_screws_came_out_are_told_and_whose_lock_it_was_is_not() -> None:
    locked = {
        "disconnect": "Left of the unit", "other_feeds": "locked", "control_feed": "locked",
        "disconnect_state": "locked_by_me", "locked_by": "Sam",
    }  # fmt: skip
    marks = [
        found("i1", "isolate", "cannot_tell", 1, choices={"disconnect": "On the wall"}),
        found("i2", "isolate", "met", 2, choices=locked),
        found("s1", "close_panel", "met", 3, values={"screws.out": 6.0, "screws.back": 6.0}),
        found("s2", "panels", "skipped", 4, values={"screws.out": 8.0}, reason="other"),
        found("s3", "as_it_was", "met", 5, values={"jumpers.out": 1.0}),
    ]
    told = visit_before("v1", marks)
    assert told is not None
    assert told.isolated == {"disconnect": "Left of the unit", "other_feeds": "locked", "control_feed": "locked"}
    assert told.screws == {"close_panel": 6.0}


def test_a_visit_that_was_left_says_what_it_can() -> None:
    assert visit_before("v1", []) is None
    told = visit_before("v1", VISIT[:1])
    assert told == VisitBefore("v1", TIME_S, found=[], moved=[], open_questions=[])


def test_years_of_visits_are_one_message_with_the_newest_and_how_many_there_are_more() -> None:
    """A broker refuses more than 64 KiB (docs/asyncapi.yaml)."""
    long = VisitBefore("v", TIME_S, complaint="x" * 500, next_person="y" * 500)
    parts = PartReadings(None)
    for number in range(2000):
        mark = Finding(
            f"f{number}", TIME_S + number, check="motor_amps", grade="typed", outcome="met", part=f"fan {number % 40}",
            values={"amps.a": 1.0},
        )  # fmt: skip
        parts.take(f"v{number}", mark)
    visits = [VisitBefore(f"v{number}", TIME_S, complaint=long.complaint, owner="z" * 500) for number in range(400)]
    told = unit_history("RTU-K7Q-4", visits, parts)
    assert len(encode(told)) <= 64 * 1024
    assert [it.visit for it in told.visits] == [f"v{number}" for number in range(len(told.visits))]
    assert len(told.visits) + told.more_visits == 400
    assert len(told.visits) > 10
    assert sum(len(part.readings) for part in told.parts) + told.more_readings == 2000
    assert len(told.parts) == 40
    assert all(part.readings[0].time_s >= TIME_S + 1960 for part in told.parts)  # of each the newest


def test_few_visits_are_told_whole() -> None:
    told = unit_history("RTU-K7Q-4", [VisitBefore("v2", TIME_S), VisitBefore("v1", TIME_S)], PartReadings(None))
    assert ([it.visit for it in told.visits], told.more_visits, told.more_readings) == (["v2", "v1"], 0, 0)


def test_the_newest_visit_is_told_whatever_people_wrote() -> None:
    """500 letters of four bytes each are the longest text; what is left out is counted."""
    long = "\U0001f9ca" * 500
    found = [
        FindingStands(f"check {number}", "not_met", "said", TIME_S, f"f{number}", says=Wording(long, long))
        for number in range(40)
    ]
    texts = dict.fromkeys(("complaint", "next_person", "next_reading", "owner"), long)
    visit = VisitBefore("v1", TIME_S, found=found, open_questions=[long] * 9, **texts)
    told = unit_history("RTU-K7Q-4", [visit], PartReadings(None))
    (newest,) = told.visits
    assert (newest.next_person, newest.owner) == (long, long)
    assert [it.id for it in newest.found] == ["f39"]  # 4 kB each, twice
    assert len(newest.open_questions) == 2
    assert newest.more == 39 + 7
    assert len(encode(told)) <= 64 * 1024
    few = unit_history("RTU-K7Q-4", [VisitBefore("v1", TIME_S, found=found[:1])], PartReadings(None)).visits[0]
    assert (len(few.found), few.more) == (1, 0)
