"""The past from a real record, written by the recorder's own code."""

import math
import sqlite3
from pathlib import Path

import pytest

from dashboard.errors import HistoryError
from dashboard.history import read_past
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.wire.messages import Note
from tests.rigs import make_pack, make_rig

START_S = 1.7e9


def record(directory: Path, packs: int) -> Path:
    path = directory / "visit.sqlite"
    writer = Record(path)
    writer.begin_session(make_rig(directory), boot="b", new_visit="v", time_s=START_S)
    writer.commit([make_pack(START_S + number, superheat=10.0 + number) for number in range(packs)])
    writer.close()
    return path


def test_the_newest_packs_come_in_order(tmp_path: Path) -> None:
    past = read_past(RecordFile(record(tmp_path, 20)), capacity=8)
    rows = past.packs.rows()
    assert rows["time_s"].tolist() == [START_S + number for number in range(12, 20)]
    assert rows["superheat"].tolist() == [22.0, 23, 24, 25, 26, 27, 28, 29]
    assert rows["sequence"].tolist() == list(range(13, 21))


def test_what_cannot_be_is_no_figure_from_a_record_either(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """As of what is heard: nothing in this trade reads 10^17 K of superheat, nor was anything read in the year 5138."""
    path = tmp_path / "visit.sqlite"
    writer = Record(path)
    writer.begin_session(make_rig(tmp_path), boot="b", new_visit="v", time_s=START_S)
    stamped = [(START_S, 10.0), (START_S + 1, 1e17), (1e11, 10.0), (START_S + 3, 10.0)]
    writer.commit([make_pack(time_s, superheat=superheat_dk) for time_s, superheat_dk in stamped])
    writer.close()
    past = read_past(RecordFile(path), capacity=8)
    rows = past.packs.rows()
    assert rows["time_s"].tolist() == [START_S, START_S + 1, START_S + 3]
    assert [math.isnan(it) for it in rows["superheat"]] == [False, True, False]
    assert "pack 3 of the record is not shown" in caplog.text


def test_a_record_that_is_being_written_can_be_read(tmp_path: Path) -> None:
    path = tmp_path / "visit.sqlite"
    writer = Record(path)
    writer.begin_session(make_rig(tmp_path), boot="b", new_visit="v", time_s=START_S)
    writer.commit([make_pack(START_S)])
    assert len(read_past(RecordFile(path), capacity=8).packs) == 1
    writer.commit([make_pack(START_S + 1)])  # reading has locked nothing
    writer.close()


def test_reading_writes_nothing(tmp_path: Path) -> None:
    path = record(tmp_path, 3)
    before = path.read_bytes()
    read_past(RecordFile(path), capacity=8)
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"no database", b"SQLite format 3\x00" + bytes(200)])
def test_what_is_no_record_is_told_with_its_path(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "visit.sqlite"
    path.write_bytes(content)
    with pytest.raises(HistoryError, match=r"visit\.sqlite.*hears from now on"):
        read_past(RecordFile(path), capacity=8)


@pytest.mark.parametrize("content", [None, b""])
def test_where_nothing_is_recorded_yet_there_is_no_past_yet(content: bytes | None, tmp_path: Path) -> None:
    path = tmp_path / "visit.sqlite"
    if content is not None:
        path.write_bytes(content)
    past = read_past(RecordFile(path), capacity=8)
    assert (len(past.packs), past.until, past.newest, past.marks) == (0, 0, None, [])
    assert path.exists() == (content is not None)


def test_a_record_that_is_gone_though_it_was_heard_is_asked_again(tmp_path: Path) -> None:
    path = record(tmp_path, 3)
    assert read_past(RecordFile(path), capacity=8, after=3).until == 3
    path.unlink()
    with pytest.raises(HistoryError, match="asks it again"):
        read_past(RecordFile(path), capacity=8, after=3)


def test_nothing_of_another_rigs_record_is_read(tmp_path: Path) -> None:
    path = record(tmp_path, 3)
    assert len(read_past(RecordFile(path), capacity=8, visit="v").packs) == 3
    with pytest.raises(HistoryError, match="another rig's record"):
        read_past(RecordFile(path), capacity=8, visit="of another rig")


def test_a_damaged_pack_hides_no_other_and_is_told(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    path = record(tmp_path, 3)
    with sqlite3.connect(path) as database:
        database.execute("UPDATE packs SET payload = x'00' WHERE sequence = 2")
    database.close()
    past = read_past(RecordFile(path), capacity=8)
    assert past.packs.rows()["sequence"].tolist() == [1, 3]
    assert "pack 2 of the record cannot be read" in caplog.text


def test_a_channel_that_came_later_is_unknown_before(tmp_path: Path) -> None:
    path = tmp_path / "visit.sqlite"
    writer = Record(path)
    writer.begin_session(make_rig(tmp_path), boot="b", new_visit="v", time_s=START_S)
    writer.commit([make_pack(START_S, superheat=5.0), make_pack(START_S + 1, superheat=6.0, subcooling=3.0)])
    writer.close()
    subcooling = read_past(RecordFile(path), capacity=8).packs.rows()["subcooling"]
    assert math.isnan(subcooling[0])
    assert subcooling[1] == 3.0


def test_only_what_came_after_a_pack_is_read_again_with_every_mark_of_the_visit(tmp_path: Path) -> None:
    path = record(tmp_path, 20)
    writer = Record(path)
    writer.begin_session(make_rig(tmp_path), boot="b", new_visit="another", time_s=START_S + 1)
    for number in range(3):
        writer.add_mark(Note(f"m{number}", START_S + number, by="Robin", text="x"))
    writer.close()
    past = read_past(RecordFile(path), capacity=8, after=17)
    assert past.packs.rows()["sequence"].tolist() == [18, 19, 20]
    assert past.until == 20
    assert past.newest is not None
    assert past.newest.sequence == 20
    assert [mark.id for mark in past.marks] == ["m0", "m1", "m2"]
    assert read_past(RecordFile(path), capacity=8, after=20).until == 20
