"""What is shown though the disk refuses it, and recorded as soon as the disk takes it."""

import asyncio
from collections.abc import Callable, Sequence

import pytest

from ingest.parts.until_saved import UntilSaved
from ingest.record.errors import NotSavedError, WaitsError
from ingest.wire.messages import Acknowledged, Mark, Seen, Stop

TIME_S = 1.7e9
STOP = Stop("s1", TIME_S, "Robin", "lead", text="Hands off.")
SEEN = Seen("e1", TIME_S + 1, "Sam", "technician", of="s1")
READ = Acknowledged("k1", TIME_S + 2, "Sam", "technician", of="s1")


class Disk:
    """A record that may be full, with what was told of it."""

    def __init__(self) -> None:
        self.is_full = True
        self.hangs = asyncio.Event()
        self.hangs.set()
        self.marks: list[Mark] = []
        self.tries = 0
        self.meanwhile: Callable[[], object] = lambda: None
        self.shown: list[tuple[Mark, ...]] = []
        self.found: list[Mark] = []
        self.until_saved = UntilSaved(self._find, self._add, self.found.append, self._show)

    def _show(self, marks: Sequence[Mark]) -> None:
        self.shown.append(tuple(marks))

    async def _find(self, mark_id: str) -> Mark | None:
        self.tries += 1
        self.meanwhile()
        await self.hangs.wait()
        return next((mark for mark in self.marks if mark.id == mark_id), None)

    async def _add(self, mark: Mark) -> None:
        if self.is_full:
            raise NotSavedError("the disk is full")
        self.marks.append(mark)

    async def shows(self, mark: Mark) -> bool:
        """Keep a mark; tells whether it is shown, saved or not."""
        try:
            await self.until_saved.keep(mark)
        except NotSavedError as error:
            return isinstance(error, WaitsError)
        return True

    async def until(self, so: Callable[[], bool]) -> None:
        async with asyncio.timeout(10):
            while not so():  # noqa: ASYNC110 - what is waited for is no event
                await asyncio.sleep(0.01)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    monkeypatch.setattr("ingest.parts.until_saved.RETRIED_AFTER_S", 0.02)
    monkeypatch.setattr("ingest.parts.until_saved.SHOWN_WITHIN_S", 0.01)
    monkeypatch.setattr("ingest.parts.until_saved.TOLD_WITHIN_S", 0.01)
    return Disk()


async def test_it_is_recorded_in_order_once_the_disk_takes_it_and_not_shown_as_unsaved_any_more(disk: Disk) -> None:
    task = asyncio.create_task(disk.until_saved.run())
    for mark in (STOP, SEEN, READ):
        assert await disk.shows(mark)
    assert list(dict.fromkeys(disk.shown)) == [(STOP,), (STOP, SEEN), (STOP, SEEN, READ)]
    await disk.until(lambda: disk.tries > 4)
    assert disk.until_saved.marks == (STOP, SEEN, READ)
    disk.is_full = False
    await disk.until(lambda: not disk.until_saved.marks)
    assert disk.marks == [STOP, SEEN, READ]
    assert disk.shown[-1] == ()
    another = Stop("s2", TIME_S, "Robin", "lead", text="Again.")
    assert await disk.until_saved.keep(another) == another
    assert disk.marks[-1] == another
    assert (another,) not in disk.shown  # a disk that is well is never told as one that refuses
    task.cancel()


async def test_what_comes_while_another_is_being_recorded_is_not_forgotten(disk: Disk) -> None:
    disk.is_full = False
    others: list[asyncio.Task[Mark]] = []

    def meanwhile() -> None:
        if not others:
            others.append(asyncio.create_task(disk.until_saved.keep(SEEN)))

    disk.meanwhile = meanwhile
    task = asyncio.create_task(disk.until_saved.run())
    assert await disk.shows(STOP)
    await disk.until(lambda: disk.marks == [STOP, SEEN])
    task.cancel()


async def test_a_disk_that_hangs_holds_nothing_back_that_is_shown(disk: Disk) -> None:
    """A lead is told that it is shown, and the unit shows it; recorded once, when the disk goes on."""
    disk.is_full, disk.hangs = False, asyncio.Event()
    task = asyncio.create_task(disk.until_saved.run())
    for mark in (STOP, SEEN, STOP):
        with pytest.raises(WaitsError, match=r"the disk hangs.* It is shown at the unit all the same"):
            await disk.until_saved.keep(mark)
    assert list(dict.fromkeys(disk.shown)) == [(STOP,), (STOP, SEEN)]
    disk.hangs.set()
    await disk.until(lambda: not disk.until_saved.marks)
    assert disk.marks == [STOP, SEEN]
    task.cancel()


async def test_what_the_disk_had_taken_though_it_refused_it_is_told_once_it_is_found(disk: Disk) -> None:
    """As where a drive is pulled after it has written, and before it was looked at."""
    disk.marks.append(STOP)
    disk.is_full = False
    task = asyncio.create_task(disk.until_saved.run())
    assert await disk.until_saved.keep(STOP) == STOP
    assert disk.marks == disk.found == [STOP]
    task.cancel()


async def test_what_says_the_same_waits_once_and_there_is_a_most(disk: Disk) -> None:
    """A page tells again that it shows a stop for as long as it has no answer that says so."""
    for number in range(5):
        assert await disk.shows(Seen(f"e{number}", TIME_S, "Sam", "technician", of="s1"))
    assert [mark.id for mark in disk.until_saved.marks] == ["e0"]
    stops = [Stop(f"s{number}", TIME_S, "Robin", "lead", text="Stop.") for number in range(23)]
    assert [await disk.shows(stop) for stop in stops] == [True] * 20 + [False] * 3
    assert await disk.shows(stops[0])


async def test_what_is_said_to_a_stop_is_not_counted_and_is_held_however_many_wait(disk: Disk) -> None:
    said = [
        await disk.shows(mark)
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
        assert await disk.shows(mark)
    assert disk.until_saved.marks == (STOP, READ, by_another)


async def test_one_whose_id_was_used_where_nobody_could_read_that_is_told_as_lost(
    disk: Disk, caplog: pytest.LogCaptureFixture
) -> None:
    disk.marks.append(Stop("s1", TIME_S - 1, "Robin", "lead", text="An earlier one."))
    task = asyncio.create_task(disk.until_saved.run())
    await disk.shows(STOP)
    await disk.until(lambda: not disk.until_saved.marks)
    task.cancel()
    assert disk.found == []
    assert "NOT SAVED, and lost: stop of Robin: Hands off." in caplog.text


async def test_what_still_waits_at_the_end_is_lost_and_told(disk: Disk, caplog: pytest.LogCaptureFixture) -> None:
    task = asyncio.create_task(disk.until_saved.run())
    await disk.shows(STOP)
    await disk.until(lambda: disk.tries > 1)
    task.cancel()
    await asyncio.wait([task])
    assert "NOT SAVED, and lost: stop of Robin: Hands off." in caplog.text


async def test_a_disk_that_refuses_is_asked_about_once_a_second_and_not_without_end() -> None:
    """By its own pace, which the others shorten: a rig that is busy with a full disk reads nothing."""
    disk = Disk()
    task = asyncio.create_task(disk.until_saved.run())
    assert await disk.shows(STOP)
    await asyncio.sleep(0.05)
    task.cancel()
    assert disk.tries == 1
