"""Faults of the machine: killed at any moment, a disk that is full or fails. Nothing confirmed is lost."""

import asyncio
import os
import random
import resource
import signal
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager

import pytest

from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Note, decode_pack
from tests.recording import Recording, recording, run_of
from tests.rigs import make_pack

T0_S = 1_700_000_000.0
KILLS = 30


def open_record(rig: Rig) -> Record:
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="visit", time_s=T0_S)
    return record


def sequences(rig: Rig) -> list[int]:
    """The numbers of the packs in the record, whether kept as packs or in chunks."""
    record = Record(rig.record)
    assert record._database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    record.close()
    return [pack.sequence or 0 for pack in RecordFile(rig.record).packs_after(0)]


def commit_until_killed(rig: Rig, confirmed: int) -> None:
    """In a child: commit and compact, and say after each commit up to where."""
    record = open_record(rig)
    while True:
        payloads = record.commit([make_pack() for _ in range(random.randint(1, 4))])
        record.advance("mqtt packs", decode_pack(payloads[0]).sequence or 0)
        os.write(confirmed, b"%d\n" % (decode_pack(payloads[-1]).sequence or 0))
        record.compact(newest_packs=10)


def last_confirmed(rig: Rig, after_s: float) -> int:
    """Kill a recording child, and say what it had confirmed."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            commit_until_killed(rig, write)
        finally:
            os._exit(1)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        lines = [pipe.readline()]  # it has begun
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        lines += pipe.readlines()
    return int(lines[-1] if lines[-1].endswith(b"\n") else lines[-2])


def test_killed_at_any_moment_nothing_confirmed_is_lost(rig: Rig) -> None:
    chance = random.Random(20_260_601)
    for _ in range(KILLS):
        confirmed = last_confirmed(rig, chance.uniform(0.0, 0.03))
        found = sequences(rig)
        assert found == list(range(1, len(found) + 1))
        assert found[-1] >= confirmed


@contextmanager
def full_disk(record: Record) -> Iterator[None]:
    """The file may not grow by a page."""
    database = record._database
    database.execute("VACUUM")  # nor has it free pages left
    database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    (pages,) = database.execute("PRAGMA page_count").fetchone()
    database.execute(f"PRAGMA max_page_count = {pages}")
    yield
    database.execute("PRAGMA max_page_count = 1073741823")


@contextmanager
def no_room_for_a_larger_file(record: Record) -> Iterator[None]:
    """The operating system refuses to let any file grow beyond a page or two."""
    record._database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (8192, hard))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.parametrize("fault", [full_disk, no_room_for_a_larger_file])
async def test_a_disk_that_refuses_is_counted_exactly_and_recovers_unaided(
    rig: Rig, fault: Callable[[Record], AbstractContextManager[None]], caplog: pytest.LogCaptureFixture
) -> None:
    async with recording(rig) as it:
        await it.put(3)
        assert it.custody._record is not None
        with fault(it.custody._record):
            await it.put(40)  # the last page of the file holds a few more
        before = len(it.saved)
        refused = 43 - before
        await it.put(2)
        assert refused >= 20
        assert [pack.sequence for pack in it.unsaved] == [None] * refused
        assert [pack.unsaved_packs for pack in it.unsaved] == list(range(1, refused + 1))
        assert [pack.unsaved_packs for pack in it.saved[before:]] == [refused, refused]
        assert it.recorder.unsaved_packs == refused
        assert it.statuses[-1] is None
    assert sequences(rig) == list(range(1, before + 3))
    assert caplog.text.count("NOT SAVED") == caplog.text.count("saving again") >= 1


def test_a_mark_that_the_disk_refuses_is_not_confirmed(rig: Rig) -> None:
    record = open_record(rig)
    large = Note(id="large", time_s=T0_S, text="x" * 40_000)
    with full_disk(record), pytest.raises(NotSavedError, match="full"):
        record.add_mark(large)
    assert record.marks() == []
    record.add_mark(large)
    assert record.marks() == [large]
    record.close()


async def test_a_record_that_is_locked_for_a_moment_is_written_later(rig: Rig) -> None:
    async with recording(rig) as it:
        await it.put()
        with closing(sqlite3.connect(rig.record, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            for _ in range(5):
                it.recorder.put(make_pack())
            await asyncio.sleep(0.1)
            assert len(it.saved) == 1
        await it.recorder.flush()
        assert it.unsaved == []
        assert it.saved[-1].sequence == 6


async def test_packs_that_wait_go_in_one_transaction(rig: Rig) -> None:
    async with recording(rig) as it:
        for _ in range(50):
            it.recorder.put(make_pack())
        await it.recorder.flush()
        assert it.saved[-1].sequence == 50
        assert len(it.saved) <= 2


async def test_64_packs_go_in_one_transaction_at_most(rig: Rig) -> None:
    it = Recording(Custody(rig.record, run_of(rig)))
    await it.recorder.open()
    for _ in range(130):
        it.recorder.put(make_pack())
    running = asyncio.create_task(it.recorder.run())
    await it.recorder.flush()
    running.cancel()
    await asyncio.wait([running])
    it.recorder.close(T0_S)
    assert [pack.sequence for pack in it.saved] == [64, 128, 130]


async def test_all_that_is_asked_of_a_record_happens_in_one_thread(rig: Rig) -> None:
    def who(_: Record) -> int:
        time.sleep(0.01)  # so that a second thread would be wanted
        return threading.get_ident()

    async with recording(rig) as it:
        threads = await asyncio.gather(*(it.recorder.call(who) for _ in range(5)))
    assert len(set(threads)) == 1
    assert threads[0] != threading.get_ident()


async def test_since_when_nothing_is_saved_stays_and_each_new_reason_is_told_once(rig: Rig) -> None:
    times_s = iter((T0_S + 0.0064, T0_S + 1.0, T0_S + 2.0, T0_S + 3.0, T0_S + 4.0))
    it = Recording(Custody(rig.record, run_of(rig)))
    it.recorder._now_s = lambda: next(times_s)
    rig.record.mkdir()
    await it.recorder.open()
    await it.recorder.open()
    rig.record.rmdir()
    rig.record.write_text("Readings of last week, by hand.")
    await it.recorder.open()
    assert [(status.reason, status.since_s) for status in it.statuses if status] == [
        ("it is a folder, not a file", T0_S + 0.006),
        ("it is a text, not a record", T0_S + 0.006),
    ]
    rig.record.unlink()
    it.recorder.close(T0_S)


async def test_a_disk_that_hangs_does_not_fill_the_memory(rig: Rig) -> None:
    it = Recording(Custody(rig.record, run_of(rig)))  # its queue is never emptied
    for _ in range(1200 + 7):
        it.recorder.put(make_pack())
    assert len(it.unsaved) == it.recorder.unsaved_packs == 7
    assert [pack.unsaved_packs for pack in it.unsaved] == list(range(1, 8))
    assert it.refusal.reason == "the disk hangs"
    assert it.refusal.cure == f"Look at the disk that holds {rig.record.parent} and its cable."
    it.recorder.close(T0_S)
