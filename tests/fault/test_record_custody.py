"""A record that refuses or is taken away: told with its cure, never called saved, and put right unaided."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec import structs

from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Added, Described, VisitOpened, decode_pack
from tests.nobody import as_nobody
from tests.recording import T0_S, recording, run_of
from tests.rigs import make_pack, make_rig
from tests.units import CORRECT


@pytest.fixture
def rig(tmp_path: Path) -> Rig:
    folder = tmp_path / "drive"
    folder.mkdir()
    return make_rig(folder)


def sequences(path: Path) -> list[int]:
    with closing(sqlite3.connect(path)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    return [pack.sequence or 0 for pack in RecordFile(path).packs_after(0)]


def beside(path: Path, suffix: str) -> Path:
    return path.with_name(path.name + suffix)


def kept(path: Path, word: str) -> list[Path]:
    """The files that were set aside."""
    return sorted(path.parent.glob(f"{path.stem}.{word}-*{path.suffix}"))


def test_going_to_another_unit_is_recorded_with_its_mark_or_not_at_all(rig: Rig) -> None:
    there = structs.replace(rig.unit, tag="RTU-9")
    custody = Custody(rig.record, replace(run_of(rig), rig=lambda unit: replace(rig, unit=unit or rig.unit)))
    custody.add_mark(Added("a1", T0_S, "Sam", "technician", mass_kg=0.1))
    before = custody.session
    with pytest.raises(NotSavedError):  # that id is another mark's
        custody.open_visit(there, "v2", VisitOpened("a1", T0_S, "Sam", "technician", unit="RTU-9", circuit="1"))
    assert (custody.session, custody.use(lambda record: record.session)) == (before, before)
    custody.open_visit(there, "v2", VisitOpened("o1", T0_S, "Sam", "technician", unit="RTU-9", circuit="1"))
    custody.close()  # as if it were killed now: nothing is added after
    record = Record(rig.record)
    assert record.unit_at_work() == there
    record.close()


async def test_a_new_record_in_place_of_a_damaged_one_stays_where_somebody_went_last(rig: Rig) -> None:
    """The configuration names another unit by then; its own visit was opened by the rig, and then by Sam."""
    here, there, named = rig.unit, structs.replace(rig.unit, tag="RTU-9"), structs.replace(rig.unit, tag="RTU-8")
    configured = [here]
    run = replace(run_of(rig), rig=lambda unit: replace(rig, unit=unit or configured[0]))
    custody = Custody(rig.record, run)
    custody.add_mark(VisitOpened("o0", T0_S, unit=here.tag, circuit="1"))
    for name, unit in (("o1", there), ("o2", here)):
        opened = VisitOpened(name, T0_S, "Sam", "technician", unit=unit.tag, circuit="1")
        custody.open_visit(unit, f"visit-{name}", opened)
    visit = custody.session.visit if custody.session else ""
    configured[0] = named
    custody.use(lambda record: record._database.execute("PRAGMA wal_checkpoint(TRUNCATE)"))  # all of it is in the file
    overwrite(rig.record)
    with suppress(NotSavedError):
        custody.use(lambda record: record.commit([make_pack()]))
    custody.use(lambda record: record.commit([make_pack()]))
    assert custody.unit == here
    assert custody.session is not None
    assert custody.session.visit == visit == "visit"
    custody.close()


# --- at the start


@contextmanager
def read_only_file(rig: Rig) -> Iterator[None]:
    rig.record.touch()
    with as_nobody(rig.record.parent):
        rig.record.chmod(0o444)
        yield
        rig.record.chmod(0o644)


@contextmanager
def read_only_folder(rig: Rig) -> Iterator[None]:
    with as_nobody(rig.record.parent):
        rig.record.parent.chmod(0o555)
        yield
        rig.record.parent.chmod(0o755)


@contextmanager
def folder_that_may_not_be_entered(rig: Rig) -> Iterator[None]:
    with as_nobody(rig.record.parent):
        rig.record.parent.chmod(0o666)
        yield
        rig.record.parent.chmod(0o755)


@contextmanager
def missing_folder(rig: Rig) -> Iterator[None]:
    away = rig.record.parent.rename(rig.record.parent.with_name("away"))
    yield
    away.rename(rig.record.parent)


@contextmanager
def locked_by_a_program(rig: Rig) -> Iterator[None]:
    Record(rig.record).close()
    with closing(sqlite3.connect(rig.record, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield


@contextmanager
def written_by_another_daemon(rig: Rig) -> Iterator[None]:
    other = Custody(rig.record, run_of(rig))
    other.use(lambda record: record.commit([make_pack()]))
    yield
    other.close()


@contextmanager
def folder_in_its_place(rig: Rig) -> Iterator[None]:
    rig.record.mkdir()
    yield
    rig.record.rmdir()


@contextmanager
def database_of_another_program(rig: Rig) -> Iterator[None]:
    with closing(sqlite3.connect(rig.record)) as other:
        other.execute("CREATE TABLE recipes (name TEXT)")
    before = rig.record.read_bytes()
    yield
    assert rig.record.read_bytes() == before
    rig.record.unlink()


@contextmanager
def full_disk(rig: Rig) -> Iterator[None]:
    """A disk of its own with no room; only root can make one."""
    folder = rig.record.parent
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=1m", "none", str(folder)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("needs the right to mount a small disk")
    filler = folder / "filler"
    try:
        with filler.open("wb", buffering=0) as file, suppress(OSError):
            while file.write(bytes(4096)):
                pass
        yield
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


AT_THE_START = [
    (read_only_file, "bench.sqlite is read-only", "Let them write to"),
    (read_only_folder, "the folder .* is read-only", "Let them write to"),
    (folder_that_may_not_be_entered, "the folder .* may not be entered", "Let them enter"),
    (missing_folder, "the folder .* is missing", "Connect the drive"),
    (locked_by_a_program, "another program keeps the file locked", "Close the program"),
    (written_by_another_daemon, r"another daemon writes this record \(process \d+ on ", "Stop that one"),
    (folder_in_its_place, "a folder, not a file", "Name another file"),
    (database_of_another_program, "a database of another program", "Name another file"),
]


@pytest.mark.parametrize(("fault", "reason", "cure"), AT_THE_START)
async def test_what_refuses_at_the_start_is_told_with_its_cure_and_recording_begins_by_itself(
    rig: Rig, fault: Callable[[Rig], AbstractContextManager[None]], reason: str, cure: str
) -> None:
    async with recording(rig) as it:
        with fault(rig):
            await it.recorder.open()
            await it.put(3)
        assert it.saved == []
        assert [pack.unsaved_packs for pack in it.unsaved] == [1, 2, 3]
        refused = it.refusal
        assert refused.path == str(rig.record)
        assert re.search(reason, refused.reason)
        assert cure in refused.cure
        await it.put(2)
        assert it.statuses[-1] is None
        assert [pack.unsaved_packs for pack in it.saved] == [3, 3]
        assert len(it.began) == 1


def test_a_full_disk_at_the_start(rig: Rig) -> None:
    with full_disk(rig):
        custody = Custody(rig.record, run_of(rig))
        with pytest.raises(
            NotSavedError, match=f"the disk is full. Make room on the disk that holds {rig.record.parent}"
        ):
            custody.use(lambda record: record.commit([make_pack()]))
        (rig.record.parent / "filler").unlink()
        custody.use(lambda record: record.commit([make_pack()]))
        custody.close()
        assert sequences(rig.record) == [1]


async def test_a_record_damaged_at_the_start_is_set_aside_with_its_log_as_they_were_found(rig: Rig) -> None:
    async with recording(rig) as it:
        it.recorder.put(make_pack())
        await it.recorder.flush()
        assert it.custody._record is not None
        it.custody._record._database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        await it.put(3)
        file, log = rig.record.read_bytes(), beside(rig.record, "-wal").read_bytes()
    damaged = file[:8192] + b"\xff" * (len(file) - 8192)  # the first two pages are whole
    assert len(log) > 4096
    rig.record.write_bytes(damaged)
    beside(rig.record, "-wal").write_bytes(log)
    async with recording(rig) as it:
        await it.put(2)
        (aside,) = kept(rig.record, "damaged")
        assert (aside.read_bytes(), beside(aside, "-wal").read_bytes()) == (damaged, log)
        assert it.unsaved == []


def test_a_database_of_another_program_keeps_its_log(rig: Rig) -> None:
    with closing(sqlite3.connect(rig.record, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode = WAL")
        other.execute("CREATE TABLE recipes (name TEXT)")
        file, log = rig.record.read_bytes(), beside(rig.record, "-wal").read_bytes()
    rig.record.write_bytes(file)
    beside(rig.record, "-wal").write_bytes(log)
    custody = Custody(rig.record, run_of(rig))
    with pytest.raises(NotSavedError, match="a database of another program"):
        custody.use(lambda _: None)
    custody.close()
    assert (rig.record.read_bytes(), beside(rig.record, "-wal").read_bytes()) == (file, log)


@pytest.mark.parametrize("with_log", [True, False])
async def test_a_damaged_record_is_set_aside_untouched_and_a_new_one_begun(rig: Rig, with_log: bool) -> None:
    async with recording(rig) as it:
        await it.put(3)
        crashed = rig.record.parent / "crashed.sqlite"
        for suffix in ("", "-wal"):
            shutil.copy(beside(rig.record, suffix), beside(crashed, suffix))
    damaged = bytes(50) + crashed.read_bytes()[50:]
    log = beside(crashed, "-wal").read_bytes() if with_log else None
    rig.record.write_bytes(damaged if not with_log else b"")
    if log:
        beside(rig.record, "-wal").write_bytes(log)
    async with recording(rig) as it:
        await it.put(2)
        assert [pack.unsaved_packs for pack in it.saved] == [0, 0]
        (aside,) = kept(rig.record, "damaged")
        assert aside.name in it.news[0]
        assert "a new record was begun" in it.news[0]
        assert aside.read_bytes() == (b"" if with_log else damaged)
        assert not log or beside(aside, "-wal").read_bytes() == log
        first, second = (pack.sequence or 0 for pack in it.saved)
        assert second == first + 1
        assert first > 10 * T0_S, "no number may come twice"
        assert it.began[0].session.number > T0_S


# --- at work


def delete(path: Path) -> None:
    for suffix in ("", "-wal", "-shm"):
        beside(path, suffix).unlink()


def delete_the_file_alone(path: Path) -> None:
    path.unlink()


def delete_the_log(path: Path) -> None:
    beside(path, "-wal").unlink()


def replace_by_another(path: Path) -> None:
    other = path.with_name("other.sqlite")
    with closing(sqlite3.connect(other)) as database:
        database.execute("CREATE TABLE recipes (name TEXT)")
    other.replace(path)


def replace_by_a_text(path: Path) -> None:
    path.with_name("notes").write_text("nothing to see here")
    path.with_name("notes").replace(path)


@pytest.mark.parametrize(
    "take_away", [delete, delete_the_file_alone, delete_the_log, replace_by_another, replace_by_a_text]
)
async def test_a_record_that_is_taken_away_is_restored_with_all_that_was_committed(
    rig: Rig, take_away: Callable[[Path], None]
) -> None:
    async with recording(rig) as it:
        await it.put(5)
        mark = Added(id="m1", time_s=T0_S, by="Sam", role="technician", mass_kg=0.1, phase="liquid")
        await it.recorder.add_mark(mark)
        take_away(rig.record)
        await it.put()  # the very next pack notices
        assert "was restored with all that was in it" in it.news[-1]
        await it.put(4)
        assert it.unsaved == []
        assert it.recorder.unsaved_packs == 0
        assert [pack.sequence for pack in it.saved] == list(range(1, 11))
        assert len(it.began) == 1, "the session goes on"
        assert list(RecordFile(rig.record).packs_after(0)) == it.saved
        assert len(kept(rig.record, "found")) == ("replace" in take_away.__name__)
    assert sequences(rig.record) == list(range(1, 11))
    assert [found.mark for found in RecordFile(rig.record).marks_after("visit", 0)] == [mark]


async def test_a_record_whose_folder_is_taken_away_is_restored_when_that_is_back(rig: Rig) -> None:
    async with recording(rig) as it:
        await it.put(2)
        shutil.rmtree(rig.record.parent)
        await it.put(3)
        assert it.refusal.reason == f"the folder {rig.record.parent} is missing"
        assert [pack.unsaved_packs for pack in it.unsaved] == [1, 2, 3]
        rig.record.parent.mkdir()
        await it.put(1)
        assert it.statuses[-1] is None
        assert it.saved[-1].unsaved_packs == 3
    assert sequences(rig.record) == [1, 2, 3]


def truncate(path: Path) -> None:
    os.truncate(path, 0)


def truncate_half(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def overwrite(path: Path) -> None:
    path.write_bytes(os.urandom(20_000))


def overwrite_by_a_text(path: Path) -> None:
    path.write_text("nothing to see here")


def overwrite_by_a_record(path: Path) -> None:
    other = path.with_name("other.sqlite")
    record = Record(other)
    record.begin_session(make_rig(path.parent), boot="other", new_visit="other", time_s=T0_S)
    record.close()
    path.write_bytes(other.read_bytes())


@pytest.mark.parametrize("spoil", [truncate, truncate_half, overwrite, overwrite_by_a_text, overwrite_by_a_record])
async def test_a_record_that_is_overwritten_is_set_aside_and_a_new_one_goes_on(
    rig: Rig, spoil: Callable[[Path], None]
) -> None:
    async with recording(rig) as it:
        await it.put(5)
        assert it.custody._record is not None
        it.custody._record._database.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # all of it is in the file
        await it.put()
        mark = Added(id="m1", time_s=T0_S, by="Sam", role="technician", mass_kg=0.1, phase="liquid")
        await it.recorder.add_mark(mark)
        spoil(rig.record)
        spoiled, log = rig.record.read_bytes(), beside(rig.record, "-wal").read_bytes()
        await it.put(4)
        (aside,) = kept(rig.record, "damaged")
        assert aside.name in it.news[-1]
        assert (aside.read_bytes(), beside(aside, "-wal").read_bytes()) == (spoiled, log), "it was touched"
        numbers = [pack.sequence for pack in it.saved]
        assert numbers == list(range(1, 7 + 4 - len(it.unsaved)))
        assert it.recorder.unsaved_packs == len(it.unsaved) <= 1
        first, second = (begun.session for begun in it.began)
        assert (second.number, second.visit, second.visit_started_s) == (
            first.number + 1, first.visit, first.visit_started_s,
        )  # fmt: skip
        assert it.began[-1].marks == [mark], "what was done to the unit is not forgotten"
    assert sequences(rig.record) == numbers[6:]


def test_at_another_unit_a_new_record_goes_on_with_what_was_done_there_alone(rig: Rig) -> None:
    there = structs.replace(rig.unit, tag="RTU-9")
    custody = Custody(rig.record, replace(run_of(rig), rig=lambda unit: replace(rig, unit=unit or rig.unit)))
    custody.add_mark(Added("a1", T0_S, "Sam", "technician", mass_kg=0.1))
    custody.open_visit(there, "v2", VisitOpened("o1", T0_S, "Sam", "technician", unit="RTU-9", circuit="1"))
    custody.use(lambda record: record._database.execute("PRAGMA wal_checkpoint(TRUNCATE)"))  # all of it is in the file
    overwrite_by_a_text(rig.record)
    custody.add_mark(Added("a2", T0_S + 5, "Sam", "technician", mass_kg=0.2))
    custody.close()
    assert [it.mark.id for it in RecordFile(rig.record).marks_after("v2", 0)] == ["o1", "a2"]


async def test_the_register_goes_on_in_a_new_record(rig: Rig) -> None:
    """What was described in this run, and what was there before it."""
    with closing(Record(rig.record)) as before:
        before.add_sheets([structs.replace(CORRECT, tag="AHU-1")], T0_S - 60)
    async with recording(rig) as it:
        await it.put()
        await it.recorder.add_mark(Described("m1", T0_S, "Sam", "technician", sheet=CORRECT))
        overwrite_by_a_text(rig.record)
        await it.put(3)
        assert len(it.began) == 2
        assert [known.sheet.tag for known in it.began[-1].sheets] == ["AHU-1", "RTU-K7Q-4", "RTU-M2D-1"]
    assert [known.sheet.tag for known in RecordFile(rig.record).sheets()] == ["AHU-1", "RTU-K7Q-4", "RTU-M2D-1"]
    found = RecordFile(rig.record).sheet("RTU-M2D-1")
    assert found is not None
    assert (found.mark, found.sheet.place) == ("m1", CORRECT.place)


async def test_a_record_that_is_only_touched_goes_on(rig: Rig) -> None:
    async with recording(rig) as it:
        await it.put(2)
        os.utime(rig.record)
        await it.put(2)
        assert it.news == it.unsaved == []
    assert sequences(rig.record) == [1, 2, 3, 4]


async def test_damage_at_work_is_set_aside(rig: Rig) -> None:
    """What SQLite finds damaged only as it reads it."""
    async with recording(rig) as it:
        await it.put(2)

        def broken(record: Record) -> None:
            record._database.execute("PRAGMA writable_schema = ON")
            record._database.execute("UPDATE sqlite_schema SET rootpage = 1 WHERE name = 'packs_by_time'")
            record._database.execute("PRAGMA writable_schema = RESET")

        await it.recorder.call(broken)
        await it.put(3)
        assert len(kept(rig.record, "damaged")) == 1
        assert it.recorder.unsaved_packs == 1
        assert [pack.sequence for pack in it.saved] == [1, 2, 3, 4]


# --- two daemons


async def test_a_second_daemon_does_not_disturb_the_first_and_takes_over_when_it_ends(rig: Rig) -> None:
    async with recording(rig) as second:
        async with recording(rig) as first:
            await first.put(2)
            await second.put(3)
            await first.put(2)
            assert [pack.sequence for pack in first.saved] == [1, 2, 3, 4]
            assert first.unsaved == []
            assert f"process {os.getpid()} on " in second.refusal.reason
        await second.put(2)
        assert [pack.sequence for pack in second.saved] == [5, 6]
        assert second.saved[0].unsaved_packs == 3
        assert second.began[0].session.number == 2


async def test_without_the_file_of_the_lock_there_is_still_one_writer(rig: Rig) -> None:
    async with recording(rig) as first:
        await first.put()
        beside(rig.record, ".lock").unlink()
        await first.put()
        async with recording(rig) as second:
            await second.put()
            assert "another daemon" in second.refusal.reason
        await first.put()
        assert [pack.sequence for pack in first.saved] == [1, 2, 3]


def test_a_killed_daemon_leaves_no_lock(rig: Rig) -> None:
    code = f"""
import os, pathlib
from ingest.record.lock import Lock
lock = Lock(pathlib.Path({str(rig.record)!r}))
os.kill(os.getpid(), 9)
"""
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == -9
    custody = Custody(rig.record, run_of(rig))
    custody.use(lambda record: record.commit([make_pack()]))
    custody.close()


async def test_a_record_that_cannot_be_opened_is_tried_once_a_second_and_no_more(rig: Rig) -> None:
    rig.record.mkdir()
    custody = Custody(rig.record, run_of(rig, patient=True))
    with pytest.raises(NotSavedError, match="a folder"):
        custody.use(lambda _: None)
    rig.record.rmdir()
    with pytest.raises(NotSavedError, match="a folder"):
        custody.use(lambda _: None)
    custody.close()


@pytest.mark.parametrize(
    "error",
    [each for each in vars(sqlite3).values() if isinstance(each, type) and issubclass(each, sqlite3.Error)],
)
async def test_whatever_sqlite_says_no_with_is_not_saved_and_ends_nothing(
    rig: Rig, error: type[sqlite3.Error], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(record: Record, packs: object) -> list[bytes]:
        raise error("no")

    async with recording(rig) as it:
        await it.put()
        with monkeypatch.context() as patched:
            patched.setattr(Record, "commit", fail)
            await it.put(2)
        await it.put()
        assert it.recorder.unsaved_packs == 2
        assert [pack.sequence for pack in it.saved] == [1, 2]


# --- the pace, the names and the numbers


@pytest.mark.parametrize("began_s", [0.0, 64.0])  # 0.9 beyond 64 is no less in binary digits
def test_a_record_that_refuses_is_tried_again_after_nine_tenths_of_a_second(rig: Rig, began_s: float) -> None:
    clock = SimpleNamespace(now_s=began_s)
    custody = Custody(rig.record, replace(run_of(rig), monotonic_s=lambda: clock.now_s))
    rig.record.mkdir()
    with pytest.raises(NotSavedError, match="a folder"):
        custody.use(lambda _: None)
    rig.record.rmdir()
    for clock.now_s in (began_s, began_s + 0.89):
        with pytest.raises(NotSavedError, match="a folder"):
            custody.use(lambda _: None)
    clock.now_s = began_s + 0.9
    custody.use(lambda record: record.commit([make_pack()]))
    custody.close()
    assert sequences(rig.record) == [1]


def test_what_is_set_aside_in_one_second_has_names_of_its_own_and_keeps_its_log(rig: Rig) -> None:
    for number in range(3):
        rig.record.write_bytes(b"\0damaged %d" % number + bytes(2000))
        beside(rig.record, "-wal").write_bytes(b"log %d" % number)
        custody = Custody(rig.record, run_of(rig))
        custody.use(lambda record: record.commit([make_pack()]))
        news = custody.take_news()
        custody.close()
        assert custody.take_news() == []
        # T0_S, 1,700,000,000 s since 1970, is 22:13:20 on 14 November 2023 in UTC.
        name = f"bench.damaged-20231114-221320{number or ''}.sqlite"
        aside = rig.record.with_name(name)
        assert aside.read_bytes().startswith(b"\0damaged %d" % number)
        assert beside(aside, "-wal").read_bytes() == b"log %d" % number
        assert len(news) == 1
        assert news[0].startswith(f"{rig.record}: the file is damaged (")
        assert news[0].endswith(f"; it is kept as {name}, and a new record was begun")
        for suffix in ("", "-wal", "-shm"):
            beside(rig.record, suffix).unlink(missing_ok=True)


def test_a_record_after_one_that_could_not_be_read_counts_from_the_clock(rig: Rig) -> None:
    """T0_S is 1,700,000,000 s: no rig has made four packs and ten sessions a second since 1970."""
    rig.record.write_bytes(bytes(2000))
    custody = Custody(rig.record, replace(run_of(rig), now_s=lambda: T0_S + 0.1234567))
    (payload,) = custody.use(lambda record: record.commit([make_pack()]))
    custody.close()
    assert decode_pack(payload).sequence == 17_000_000_002
    assert custody.session is not None
    assert custody.session.number == 1_700_000_001
    assert custody.session.visit_started_s == T0_S + 0.123


def test_a_record_of_its_own_begins_at_one(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    (payload,) = custody.use(lambda record: record.commit([make_pack()]))
    custody.close()
    assert decode_pack(payload).sequence == 1
    assert custody.session is not None
    assert (custody.session.number, custody.session.resumed) == (1, False)
    assert custody.take_news() == []


def test_what_was_in_the_place_of_a_record_keeps_what_is_in_it(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    custody.use(lambda record: record.commit([make_pack()]))
    beside(rig.record, ".restoring").write_text("left by a crash")
    replace_by_another(rig.record)
    custody.use(lambda record: record.commit([make_pack()]))
    (found,) = kept(rig.record, "found")
    assert found.name == "bench.found-20231114-221320.sqlite"
    assert [news.removeprefix(f"{rig.record}: ") for news in custody.take_news()] == [
        f"another file was in the place of the record; it is kept as {found.name}",
        "the record was deleted or replaced; it was restored with all that was in it",
    ]
    with closing(sqlite3.connect(found)) as database:
        assert database.execute("SELECT name FROM sqlite_schema").fetchall() == [("recipes",)]
    custody.use(lambda record: record.commit([make_pack()]))
    custody.close()
    assert sequences(rig.record) == [1, 2, 3]
    assert not beside(rig.record, ".restoring").exists()


def test_what_is_taken_away_while_something_is_written_is_back_before_that_is_confirmed(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    custody.use(lambda record: record.commit([make_pack()]))

    def write_and_lose(record: Record) -> None:
        record.commit([make_pack()])
        delete_the_file_alone(rig.record)

    custody.use(write_and_lose)
    assert not any(beside(rig.record, suffix).exists() for suffix in ("-wal", "-shm")), "a log of another file stayed"
    assert sequences(rig.record) == [1, 2]
    custody.use(lambda record: record.commit([make_pack()]))
    custody.close()
    assert sequences(rig.record) == [1, 2, 3]


def test_what_was_in_the_place_of_a_record_keeps_a_log_of_its_own(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    custody.use(lambda record: record.commit([make_pack()]))
    other = rig.record.with_name("other.sqlite")
    with closing(sqlite3.connect(other, isolation_level=None)) as database:
        database.execute("PRAGMA journal_mode = WAL")
        database.execute("CREATE TABLE recipes (name TEXT)")
        for suffix in ("-wal", ""):  # as a copy of both would come
            shutil.copy(beside(other, suffix), beside(rig.record, suffix + ".new"))
            beside(rig.record, suffix + ".new").replace(beside(rig.record, suffix))
    custody.use(lambda record: record.commit([make_pack()]))
    (found,) = kept(rig.record, "found")
    with closing(sqlite3.connect(found)) as database:
        assert database.execute("SELECT name FROM sqlite_schema").fetchall() == [("recipes",)]
    custody.close()
    assert sequences(rig.record) == [1, 2]


def test_a_custody_that_is_closed_holds_nothing_and_can_be_used_again(rig: Rig) -> None:
    custody = Custody(rig.record, run_of(rig))
    for number in (1, 2):
        custody.use(lambda record: record.commit([make_pack()]))
        custody.close()
        custody.close()
        assert not beside(rig.record, "-wal").exists(), "the log went into the file"
        assert sequences(rig.record) == list(range(1, number + 1))
    assert custody.session is not None
    assert custody.session.number == 1, "the session of this run goes on"
