"""Photographs in the record: kept with their mark or not at all, and read by whoever may only read."""

import sqlite3
from pathlib import Path

import pytest

from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.migrations import STEPS, migrate
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Photograph
from tests.recording import run_of

T0_S = 1_700_000_000.0
JPEG = b"\xff\xd8 invented \xff\xd9"


def begun(rig: Rig) -> Record:
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S)
    return record


def photograph(name: str) -> Photograph:
    return Photograph(
        name, T0_S, "Sam", "technician", digest="0" * 64, sent_digest="1" * 64, width=4, height=3, check="panels"
    )


def test_a_photograph_is_kept_with_its_mark_and_read_by_its_id(rig: Rig) -> None:
    record = begun(rig)
    record.add_photograph(photograph("p1"), JPEG)
    assert record.marks() == [photograph("p1")]
    assert [entry.payload for entry in record.outbox("mqtt marks", 9)]  # and is published
    read = RecordFile(rig.record)
    assert (read.photograph("p1"), read.photograph("p2")) == (JPEG, None)
    record.close()


def test_where_the_disk_refuses_the_picture_there_is_no_mark_of_it(rig: Rig) -> None:
    record = begun(rig)
    record._database.execute("DROP TABLE photographs")
    with pytest.raises(NotSavedError):
        record.add_photograph(photograph("p1"), JPEG)
    assert record.marks() == []
    record.close()


def test_an_id_that_is_taken_keeps_the_picture_that_it_had(rig: Rig) -> None:
    record = begun(rig)
    record.add_photograph(photograph("p1"), JPEG)
    with pytest.raises(NotSavedError):
        record.add_photograph(photograph("p1"), b"another")
    assert RecordFile(rig.record).photograph("p1") == JPEG
    record.close()


@pytest.mark.parametrize("version", [1, 4, 5])
def test_a_record_from_before_photographs_has_none_and_takes_them_once_it_is_opened(rig: Rig, version: int) -> None:
    with sqlite3.connect(rig.record, isolation_level=None) as database:
        migrate(database, STEPS[:version])
    database.close()
    assert RecordFile(rig.record).photograph("p1") is None
    record = begun(rig)
    record.add_photograph(photograph("p1"), JPEG)
    assert RecordFile(rig.record).photograph("p1") == JPEG
    record.close()


def test_no_record_has_no_photograph(tmp_path: Path) -> None:
    assert RecordFile(tmp_path / "none.sqlite").photograph("p1") is None


def test_a_record_that_was_deleted_comes_back_with_its_pictures(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    custody.add_photograph(photograph("p1"), JPEG)
    for suffix in ("", "-wal", "-shm"):
        Path(f"{rig.record}{suffix}").unlink(missing_ok=True)
    custody.use(lambda _: None)
    assert RecordFile(rig.record).photograph("p1") == JPEG
    custody.close()


def test_of_a_record_that_was_set_aside_the_mark_goes_on_and_the_picture_stays_in_that(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    custody.add_photograph(photograph("p1"), JPEG)
    custody.use(lambda record: record._database.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall())
    damaged = bytearray(rig.record.read_bytes())
    damaged[:100] = bytes(100)
    rig.record.write_bytes(damaged)
    for _ in range(4):  # the first finds it, a later one is in the new record
        try:
            marks = custody.use(lambda record: record.marks())
        except NotSavedError:
            continue
    assert [mark.id for mark in marks] == ["p1"]
    assert RecordFile(rig.record).photograph("p1") is None
    custody.close()
