"""A row that was damaged on the disk is left out and told; all the others are read, and recording goes on."""

import logging
import sqlite3
import zlib
from contextlib import closing
from pathlib import Path

import pytest

from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.wire.messages import Note
from tests.recording import T0_S
from tests.rigs import make_pack

DAMAGES = [b"{}", b"\xff", b"", b"\x00" * 40]


@pytest.fixture
def writer(writer: Record) -> Record:
    """Three notes and two advices more."""
    for number in range(3):
        writer.add_mark(Note(f"n{number}", T0_S + number, by="Sam", role="technician", text="look"))
    writer.add_advice(T0_S, b"earlier", b"one")
    writer.add_advice(T0_S + 1, b"newest", b"two")
    return writer


def damage(path: Path, statement: str, data: bytes) -> None:
    with closing(sqlite3.connect(path)) as database, database:
        assert database.execute(statement, (data,)).rowcount == 1


@pytest.mark.parametrize("data", DAMAGES)
def test_a_damaged_mark_hides_no_other(
    writer: Record, path: Path, data: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    damage(path, "UPDATE marks SET payload = ? WHERE id = 'n1'", data)
    with caplog.at_level(logging.WARNING):
        assert [mark.id for mark in writer.marks()] == ["n0", "n2"]
    assert "mark n1 of the record cannot be read and is left out" in caplog.text
    assert [found.mark.id for found in RecordFile(path).marks_after("v1", 0)] == ["n0", "n2"]
    assert writer.find_mark("n2")
    assert writer.find_mark("n3") is None


@pytest.mark.parametrize("data", DAMAGES)
def test_a_damaged_mark_is_not_taken_for_one_that_never_was(writer: Record, path: Path, data: bytes) -> None:
    damage(path, "UPDATE marks SET payload = ? WHERE id = 'n1'", data)
    with pytest.raises(NotSavedError, match="the mark n1 is damaged in the record"):
        writer.find_mark("n1")


@pytest.mark.parametrize("data", DAMAGES)
@pytest.mark.parametrize("column", ["grounds", "payload"])
def test_a_damaged_advice_is_left_out(writer: Record, path: Path, column: str, data: bytes) -> None:
    damage(path, f"UPDATE advices SET {column} = ? WHERE number = 2", data)
    assert [advice.payload for advice in RecordFile(path).advices()] == [b"one"]
    assert writer.newest_grounds() == (b"earlier" if column == "grounds" else b"newest")


@pytest.mark.parametrize("data", DAMAGES)
def test_a_damaged_pack_takes_no_other_along(writer: Record, path: Path, data: bytes) -> None:
    damage(path, "UPDATE packs SET payload = ? WHERE sequence = 290", data)
    history = RecordFile(path)
    assert [pack.sequence for pack in history.packs_after(285)] == [286, 287, 288, 289, *range(291, 301)]
    assert [pack.sequence for pack in history.packs_between("v1", T0_S + 287, T0_S + 292)] == [288, 289, 291, 292, 293]
    assert writer.commit([make_pack(T0_S + 300)])


@pytest.mark.parametrize("data", [*DAMAGES, zlib.compress(b"[]"), zlib.compress(b'["r",1,1,[[9,1]],[],[1],[1,2],[]]')])
def test_a_damaged_minute_takes_no_other_along(writer: Record, path: Path, data: bytes) -> None:
    damage(path, "UPDATE chunks SET data = ? WHERE first_sequence = 1", data)
    assert [pack.sequence for pack in RecordFile(path).packs_after(0)] == list(range(241, 301))
