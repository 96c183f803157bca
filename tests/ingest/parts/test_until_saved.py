"""What is shown though the disk refuses it, and recorded as soon as the disk takes it."""

import asyncio
from collections.abc import Callable, Sequence

import pytest

from ingest.parts.until_saved import UntilSaved
from ingest.record.errors import NotSavedError
from ingest.wire.messages import Acknowledged, Mark, Seen, Stop

TIME_S = 1.7e9
STOP = Stop("s1", TIME_S, "Robin", "lead", text="Hands off.")
SEEN = Seen("e1", TIME_S + 1, "Sam", "technician", of="s1")
READ = Acknowledged("k1", TIME_S + 2, "Sam", "technician", of="s1")


class Disk:
    """A record that may be full, with what was told of it."""

    def __init__(self) -> None:
        self.is_full = True
        self.marks: list[Mark] = []
        self.tries = 0
        self.meanwhile: Callable[[], object] = lambda: None
        self.shown: list[Sequence[Mark]] = []
        self.until_saved = UntilSaved(self._find, self._add, self.shown.append)

    async def _find(self, mark_id: str) -> Mark | None:
        self.tries += 1
        self.meanwhile()
        return next((mark for mark in self.marks if mark.id == mark_id), None)

    async def _add(self, mark: Mark) -> None:
        if self.is_full:
            raise NotSavedError("the disk is full")
        self.marks.append(mark)

    async def until(self, so: Callable[[], bool]) -> None:
        async with asyncio.timeout(10):
            while not so():  # noqa: ASYNC110 - what is waited for is no event
                await asyncio.sleep(0.01)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    monkeypatch.setattr("ingest.parts.until_saved.RETRIED_AFTER_S", 0.02)
    return Disk()


async def test_it_is_recorded_in_order_once_the_disk_takes_it_and_not_shown_as_unsaved_any_more(disk: Disk) -> None:
    task = asyncio.create_task(disk.until_saved.run())
    for mark in (STOP, SEEN, READ):
        assert disk.until_saved.put(mark)
    assert disk.shown == [(STOP,), (STOP, SEEN), (STOP, SEEN, READ)]
    await disk.until(lambda: disk.tries > 2)
    assert disk.until_saved.marks == (STOP, SEEN, READ)
    disk.is_full = False
    await disk.until(lambda: not disk.until_saved.marks)
    assert disk.marks == [STOP, SEEN, READ]
    assert disk.shown[-1] == ()
    disk.until_saved.put(Stop("s2", TIME_S, "Robin", "lead", text="Again."))
    await disk.until(lambda: len(disk.marks) == 4)
    task.cancel()


async def test_what_comes_while_another_is_being_recorded_is_not_forgotten(disk: Disk) -> None:
    disk.is_full = False
    disk.meanwhile = lambda: disk.until_saved.put(SEEN)
    disk.until_saved.put(STOP)
    task = asyncio.create_task(disk.until_saved.run())
    await disk.until(lambda: disk.marks == [STOP, SEEN])
    task.cancel()


async def test_what_was_recorded_by_another_way_meanwhile_is_not_recorded_twice(disk: Disk) -> None:
    disk.marks.append(STOP)
    disk.is_full = False
    disk.until_saved.put(STOP)
    task = asyncio.create_task(disk.until_saved.run())
    await disk.until(lambda: not disk.until_saved.marks)
    assert disk.marks == [STOP]
    task.cancel()


async def test_what_says_the_same_waits_once_and_there_is_a_most(disk: Disk) -> None:
    """A page tells again that it shows a stop for as long as it has no answer that says so."""
    for number in range(30):
        assert disk.until_saved.put(Seen(f"e{number}", TIME_S, "Sam", "technician", of="s1"))
    assert [mark.id for mark in disk.until_saved.marks] == ["e0"]
    taken = [disk.until_saved.put(Stop(f"s{number}", TIME_S, "Robin", "lead", text="Stop.")) for number in range(30)]
    assert taken == [True] * 20 + [False] * 10


async def test_what_is_said_to_a_stop_is_not_counted_and_is_held_however_many_wait(disk: Disk) -> None:
    said = [
        disk.until_saved.put(mark)
        for number in range(20)
        for mark in (
            Stop(f"s{number}", TIME_S, "Robin", "lead", text="Stop."),
            Seen(f"e{number}", TIME_S, "Sam", "technician", of=f"s{number}"),
            Acknowledged(f"k{number}", TIME_S, "Sam", "technician", of=f"s{number}"),
        )
    ]
    assert said == [True] * 60
    assert len(disk.until_saved.marks) == 60


async def test_a_second_technician_who_acknowledges_the_same_stop_is_recorded_too(disk: Disk) -> None:
    by_another = Acknowledged("k2", TIME_S + 3, "Kim", "technician", of="s1")
    for mark in (STOP, READ, by_another):
        assert disk.until_saved.put(mark)
    assert disk.until_saved.marks == (STOP, READ, by_another)


async def test_one_whose_id_was_used_where_nobody_could_read_that_is_told_as_lost(
    disk: Disk, caplog: pytest.LogCaptureFixture
) -> None:
    disk.marks.append(Stop("s1", TIME_S - 1, "Robin", "lead", text="An earlier one."))
    disk.until_saved.put(STOP)
    task = asyncio.create_task(disk.until_saved.run())
    await disk.until(lambda: not disk.until_saved.marks)
    task.cancel()
    assert "NOT SAVED, and lost: stop of Robin: Hands off." in caplog.text


async def test_what_still_waits_at_the_end_is_lost_and_told(disk: Disk, caplog: pytest.LogCaptureFixture) -> None:
    task = asyncio.create_task(disk.until_saved.run())
    disk.until_saved.put(STOP)
    await disk.until(lambda: disk.tries > 1)
    task.cancel()
    await asyncio.wait([task])
    assert "NOT SAVED, and lost: stop of Robin: Hands off." in caplog.text


async def test_a_disk_that_refuses_is_asked_about_once_a_second_and_not_without_end() -> None:
    """By its own pace, which the others shorten: a rig that is busy with a full disk reads nothing."""
    disk = Disk()
    disk.until_saved.put(STOP)
    task = asyncio.create_task(disk.until_saved.run())
    await asyncio.sleep(0.05)
    task.cancel()
    assert disk.tries == 0
