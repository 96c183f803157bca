"""How a session begins: told of once, whoever waits for the record meanwhile; and after a record that was lost."""

import asyncio
import os
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from msgspec import structs

from ingest.record.custody import Custody
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Note, Signed, VisitOpened
from tests.recording import T0_S, Recording, run_of
from tests.rigs import make_rig

SIGNED = Signed("s1", T0_S + 60, "Sam", "technician", name="Sam", digest="0" * 64)


def lost(custody: Custody, rig: Rig) -> None:
    """Overwrite the record under a custody that goes on in a new one."""
    rig.record.write_bytes(os.urandom(20_000))
    custody.use(Record.marks)


def visits(rig: Rig) -> list[tuple[str, str, float | None]]:
    with closing(sqlite3.connect(rig.record)) as database:
        return database.execute("SELECT id, unit, ended_s FROM visits ORDER BY started_s, id").fetchall()


def test_a_visit_that_was_signed_stays_signed_in_the_record_that_takes_the_place_of_its_own(tmp_path: Path) -> None:
    """As in a record that nothing befell: it has its end, and whoever opens its unit again begins another visit."""
    rig = make_rig(tmp_path)
    custody = Custody(rig.record, run_of(rig, "v1"))
    custody.add_mark(Note("n1", T0_S, "Sam", "technician", "looked"))
    custody.add_mark(SIGNED)
    intact = visits(rig)
    lost(custody, rig)
    assert visits(rig) == intact == [("v1", rig.unit.tag, SIGNED.time_s)]
    assert [mark.id for mark in custody.use(Record.marks)] == ["n1", "s1"]
    custody.open_visit(rig.unit, "v2", VisitOpened("o1", T0_S + 90, "Sam", "technician", unit=rig.unit.tag))
    assert [(visit, ended) for visit, _, ended in visits(rig)] == [("v1", SIGNED.time_s), ("v2", None)]
    custody.close()


def test_a_visit_at_a_unit_that_somebody_opened_goes_on_there_in_a_new_record(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    there = structs.replace(rig.unit, tag="RTU-9")
    custody = Custody(rig.record, replace(run_of(rig, "v1"), rig=lambda unit: replace(rig, unit=unit or rig.unit)))
    custody.open_visit(there, "v2", VisitOpened("o1", T0_S, "Sam", "technician", unit="RTU-9", circuit="1"))
    lost(custody, rig)
    assert visits(rig)[-1] == ("v2", "RTU-9", None)
    assert custody.unit == there
    custody.close()


async def test_of_many_who_ask_while_another_unit_is_opened_one_hears_that_a_session_began(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    recording = Recording(Custody(rig.record, run_of(rig)))
    recorder = recording.recorder
    await asyncio.gather(*(recorder.call(Record.sheets) for _ in range(8)))
    assert [begun.session.number for begun in recording.began] == [1]
    opened = VisitOpened("o1", T0_S, "Sam", "technician", unit=rig.unit.tag, circuit="1", grade="seen")
    opening = recorder.open_visit(rig.unit, "another", opened, check=lambda: None)
    await asyncio.gather(opening, *(recorder.call(Record.sheets) for _ in range(8)))
    assert [begun.session.number for begun in recording.began] == [1, 2]
    recorder.close(T0_S)
