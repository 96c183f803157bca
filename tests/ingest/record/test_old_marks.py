"""Marks of an earlier version, when one struct served every kind: each comes back from the record as its own."""

import json
from pathlib import Path

import pytest

from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    Added,
    AddedAsk,
    AlarmChanged,
    Checked,
    ClockStepped,
    Corrected,
    CorrectionAsk,
    LinkChanged,
    Mark,
    Note,
    ReadingTaken,
    RecordChanged,
    Recovered,
    Reloaded,
    SessionBegan,
    VisitOpened,
    decode_ask,
)
from ingest.wire.sheet import Circuit
from tests.rigs import make_rig

T0_S = 1_700_000_000.0
LINE = {"slope": 1.0, "offset": 0.0, "standard_uncertainty": 0.25}
FOUND = {
    "kind": "ice_point",
    "channel": "suction_line_temperature",
    "sent": 32.9,
    "reading": 273.65,
    "reference": 273.15,
    "offset": 0.5,
    "offset_standard_uncertainty": 0.06,
    "standard_uncertainty": 0.25,
    "verdict": "within",
    "corrected_standard_uncertainty": 0.19,
}
CALIBRATION = {
    "channel": "suction_line_temperature",
    "before": LINE,
    "after": LINE | {"offset": -0.9},
    "checks": ["c1"],
}
PERSON = {"by": "Sam", "role": "technician"}
OLD: list[tuple[dict[str, object], type]] = [
    ({"kind": "session", "text": "session 1"}, SessionBegan),
    ({"kind": "visit", "text": "visit at RTU-K7Q-4"}, VisitOpened),
    ({"kind": "link", "text": "low side probe: waiting"}, LinkChanged),
    ({"kind": "clock_step", "text": "the clock was set by +3.000 s"}, ClockStepped),
    ({"kind": "alarm", "text": "floodback: stop"}, AlarmChanged),
    ({"kind": "record", "text": "saved again"}, RecordChanged),
    ({"kind": "added", "mass_kg": 0.3, "phase": "liquid", "text": "cylinder 4", **PERSON}, Added),
    ({"kind": "recovered", "mass_kg": 0.1, **PERSON}, Recovered),
    ({"kind": "reading", "figures": {"superheat": 10.0, "subcooling": None}, **PERSON}, ReadingTaken),
    ({"kind": "note", "text": "Let it sit.", "by": "Robin", "role": "lead"}, Note),
    ({"kind": "note", "text": "Look at the coil.", "by": "Robin", "role": "lead"}, Note),
    ({"kind": "acknowledge", "of": "m9", **PERSON}, Acknowledged),
    ({"kind": "reload", "text": "instruments: added clamp meter", **PERSON}, Reloaded),
    ({"kind": "check", "check": FOUND, **PERSON}, Checked),
    ({"kind": "correct", "calibration": CALIBRATION, **PERSON}, Corrected),
]
"""As they were written: what was left at its default was left out."""


@pytest.fixture
def earlier(tmp_path: Path) -> Path:
    """A record with one mark of every kind, as the earlier version left it."""
    rig = make_rig(tmp_path)
    record = Record(rig.record)
    session = record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S)
    for number, (told, _) in enumerate(OLD):
        payload = json.dumps({"id": f"m{number}", "time_s": T0_S + number} | told).encode()
        record._database.execute(
            "INSERT INTO marks (id, visit, session, kind, time_s, payload) VALUES (?, ?, ?, ?, ?, ?)",
            (f"m{number}", session.visit, session.number, told["kind"], T0_S + number, payload),
        )
    record.close()
    return tmp_path


def again(folder: Path) -> list[Mark]:
    """The marks as the next session of the same visit finds them."""
    rig = make_rig(folder)
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="visit-2", time_s=T0_S + 60)
    marks = record.marks()
    record.close()
    return marks


def test_every_mark_of_an_earlier_version_is_read_as_its_own_kind(earlier: Path) -> None:
    marks = again(earlier)
    assert [type(mark) for mark in marks] == [kind for _, kind in OLD]
    assert [(mark.id, mark.kind, mark.time_s) for mark in marks] == [
        (f"m{number}", told["kind"], T0_S + number) for number, (told, _) in enumerate(OLD)
    ]
    assert [mark.by for mark in marks] == [told.get("by", "") for told, _ in OLD]
    assert [found.mark for found in RecordFile(make_rig(earlier).record).marks_after("visit-1", 0)] == marks


def test_a_visit_that_an_earlier_version_began_stands_as_it_was_left(earlier: Path) -> None:
    standing = Standing("visit-1", again(earlier)).message()
    assert (standing.added_kg, standing.recovered_kg, standing.moves) == (0.3, 0.1, 2)
    assert [note.text for note in standing.notes] == ["Look at the coil."]


def test_an_ask_of_an_earlier_version_is_read_as_it_was_meant() -> None:
    """Of a page that knows nothing of circuits and cylinders."""
    added = decode_ask(b'{"kind":"added","id":"a1","by":"Sam","mass_kg":0.3,"phase":"liquid"}')
    assert added == AddedAsk("a1", "Sam", mass_kg=0.3, phase="liquid")
    correction = decode_ask(b'{"kind":"correction","id":"a2","by":"Sam","of":"a1","mass_kg":0.2}')
    assert correction == CorrectionAsk("a2", "Sam", of="a1", mass_kg=0.2)
    assert (added.circuit, added.cylinder, added.how, added.port, added.purpose) == ("", "", "", "", "")


def test_what_an_earlier_version_moved_is_of_the_circuit_that_it_knew(earlier: Path) -> None:
    standing = Standing("visit-1", again(earlier))
    standing.moved.know([Circuit("1", "R-410A", "txv")], "1")
    (account,) = standing.message().circuits
    assert (account.circuit, account.added_kg, account.recovered_kg, account.moves) == ("1", 0.3, 0.1, 2)
