"""Reading a record beside its writer: after a pack, in a span of time, whether kept as packs or in chunks."""

import dataclasses
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

import pytest
from msgspec.structs import replace

from ingest.record.errors import RecordError
from ingest.record.migrations import STEPS, migrate
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.wire.messages import Advice, Note, Pack, Wording, encode
from tests.recording import T0_S
from tests.rigs import make_pack, make_rig


def numbers(packs: Iterable[Pack]) -> list[int]:
    return [pack.sequence or 0 for pack in packs]


@pytest.mark.parametrize("after", [0, 1, 239, 240, 241, 299, 300])
def test_what_comes_after_a_pack(writer: Record, path: Path, after: int) -> None:
    assert numbers(RecordFile(path).packs_after(after)) == list(range(after + 1, 301))


def test_the_newest_packs(writer: Record, path: Path) -> None:
    history = RecordFile(path)
    assert numbers(history.newest_packs(5)) == list(range(296, 301))
    assert numbers(history.newest_packs(70)) == list(range(231, 301))
    assert numbers(history.newest_packs(1000)) == list(range(1, 301))
    assert numbers(history.newest_packs(70, after=290)) == list(range(291, 301))


def test_the_newest_packs_of_one_visit_hold_none_of_another(writer: Record, path: Path, tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    another = dataclasses.replace(rig, unit=replace(rig.unit, tag="another"))
    writer.begin_session(another, boot="b", new_visit="v2", time_s=T0_S + 300)
    writer.commit([make_pack(T0_S + 300)])
    history = RecordFile(path)
    assert numbers(history.newest_packs(5, visit="v1")) == list(range(297, 301))
    assert numbers(history.newest_packs(1000, visit="v1")) == list(range(1, 301))
    assert numbers(history.newest_packs(1000, visit="v2")) == [301]


def test_a_span_of_time_of_one_visit(writer: Record, path: Path) -> None:
    history = RecordFile(path)
    assert numbers(history.packs_between("v1", T0_S + 230, T0_S + 250)) == list(range(231, 252))
    assert numbers(history.packs_between("v1", T0_S + 10, T0_S + 11)) == [11, 12]
    assert numbers(history.packs_between("v2", T0_S, T0_S + 300)) == []


def test_marks_are_numbered_and_come_after_a_number(writer: Record, path: Path) -> None:
    marks = [Note(id=f"m{number}", time_s=T0_S, text="looked") for number in range(4)]
    for mark in marks:
        writer.add_mark(mark)
    history = RecordFile(path)
    assert history.newest_visit() == "v1"
    everything = list(history.marks_after("v1", 0))
    assert [found.mark for found in everything] == marks
    assert [found.mark for found in history.marks_after("v1", everything[1].number)] == marks[2:]
    assert list(history.marks_after("v2", 0)) == []


def test_reading_sees_one_point_in_time_and_holds_up_nobody(writer: Record, path: Path) -> None:
    reading = RecordFile(path).packs_after(0)
    assert next(reading).sequence == 1
    assert writer.compact(newest_packs=0) == 60  # what is a pack to the reader is a chunk by now
    writer.commit([make_pack(T0_S + 300)])
    assert numbers(reading) == list(range(2, 301))
    assert numbers(RecordFile(path).packs_after(300)) == [301]


@pytest.mark.parametrize("content", [None, b""])
def test_a_record_that_is_not_there_yet_holds_nothing_yet(path: Path, content: bytes | None) -> None:
    if content is not None:
        path.write_bytes(content)
    history = RecordFile(path)
    assert numbers(history.newest_packs(10)) == numbers(history.packs_after(1)) == []
    assert numbers(history.packs_between("v1", 0, T0_S)) == list(history.marks_after("v1", 0)) == []
    assert history.newest_visit() is None
    assert list(history.advices()) == []
    assert path.exists() == (content is not None)


def test_reading_leaves_the_log_of_an_emptied_record_alone(writer: Record, path: Path) -> None:
    log = path.with_name("bench.sqlite-wal")
    before = log.read_bytes()
    path.write_bytes(b"")
    assert numbers(RecordFile(path).packs_after(0)) == []
    assert log.read_bytes() == before != b""


def test_what_cannot_be_read_is_told_with_its_path(path: Path) -> None:
    path.write_bytes(b"no database" * 100)
    with pytest.raises(RecordError, match=r"bench\.sqlite cannot be read"):
        list(RecordFile(path).newest_packs(10))


def test_a_file_in_place_of_its_folder_is_told(path: Path) -> None:
    path.write_bytes(b"")
    with pytest.raises(RecordError, match=r"other\.sqlite cannot be read"):
        list(RecordFile(path / "other.sqlite").newest_packs(10))


def test_a_record_of_a_newer_version_is_told(writer: Record, path: Path) -> None:
    with closing(sqlite3.connect(path)) as database:
        database.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    with pytest.raises(RecordError, match="newer"):
        list(RecordFile(path).marks_after("v1", 0))


def test_the_packs_nearest_to_moments_whether_kept_as_packs_or_in_a_chunk(writer: Record, path: Path) -> None:
    history = RecordFile(path)
    moments = [T0_S - 5.0, T0_S + 10.4, T0_S + 239.6, T0_S + 299.0, T0_S + 400.0]
    found = history.packs_at("v1", moments, 2.0)
    assert [pack and pack.sequence for pack in found] == [None, 11, 241, 300, None]
    assert found[1] == next(history.packs_between("v1", T0_S + 10, T0_S + 10))
    assert history.packs_at("v2", moments, 2.0) == [None] * 5


def test_the_marks_of_several_visits_are_read_at_once(writer: Record, path: Path, tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    other = dataclasses.replace(rig, unit=replace(rig.unit, tag="another"))
    first = Note(id="m1", time_s=T0_S, text="looked")
    writer.add_mark(first)
    writer.begin_session(other, boot="b", new_visit="v2", time_s=T0_S + 300)
    writer.add_mark(replace(first, id="m2"))
    history = RecordFile(path)
    assert history.marks_of(["v2", "v1", "v3"]) == {"v2": [replace(first, id="m2")], "v1": [first], "v3": []}
    assert [history.unit_of(visit) for visit in ("v1", "v2", "v3")] == [rig.unit.tag, "another", None]


def test_the_advices_and_channels_of_a_visit_are_its_own(writer: Record, path: Path, tmp_path: Path) -> None:
    said = Wording("Wait.", "Wait.")
    advice = Advice(T0_S, said, (), (), {})
    writer.add_mark(Note(id="m1", time_s=T0_S, text="looked"))
    writer.add_advice(T0_S, b"{}", encode(advice))
    rig = dataclasses.replace(make_rig(tmp_path), unit=replace(make_rig(tmp_path).unit, tag="another"))
    writer.begin_session(rig, boot="b", new_visit="v2", time_s=T0_S + 300)
    writer.add_mark(Note(id="m2", time_s=T0_S + 300, text="looked"))
    writer.add_advice(T0_S + 300, b"{}", encode(replace(advice, time_s=T0_S + 300)))
    history = RecordFile(path)
    for visit, number, time_s in (("v1", 1, T0_S), ("v2", 2, T0_S + 300)):
        (given,) = history.advices_of(visit)
        assert (given.number, given.advice.time_s, given.grounds) == (number, time_s, b"{}")
        channels = {it.name: it for it in history.channels(visit)}
        assert channels.keys() == {channel.name for it in rig.instruments for channel in it.channels}
    assert history.channels("v3") == list(history.advices_of("v3")) == []


@pytest.mark.parametrize("version", [1, 2, 3])
def test_a_record_of_an_older_version_says_how_it_is_brought_forward(tmp_path, version):
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        migrate(database, STEPS[:version])
    with pytest.raises(RecordError, match=f"is of version {version}, and this program reads 8: start a daemon with it"):
        list(RecordFile(path).advices())
