"""Supervision: whatever an instrument does, it is tried again, alone, and without noise."""

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Callable, Mapping

import pytest

from ingest.backoff import Backoff
from ingest.frames import (
    Connected,
    Decode,
    Deliver,
    Frame,
    FrameError,
    Link,
    LinkError,
    LinkSetupError,
    Notice,
    Stamp,
    Value,
)
from ingest.supervise import Instrument, LinkState, Surroundings

SHORTEST_S = 0.5
"""A plug that is put back is read again at once, as a person sees it."""
LONGEST_S = 15.0
"""Nobody stands and waits longer for an instrument that is back."""
HEALTHY_S = 10.0
"""Who stayed so long has recovered."""
SLOWLY_S = 30.0
"""A mistake in a file is corrected by a person, in minutes."""
UNREAD_IN_A_ROW = 5
"""So many are no passing disturbance: common practice, no source."""

Script = list[BaseException | list[bytes]]


class Unseen:
    """What every link here has in common: nothing shows that it is back, until `is_seen` is set."""

    def __init__(self) -> None:
        self.is_seen = asyncio.Event()

    async def seen_again(self) -> None:
        await self.is_seen.wait()


class ScriptedLink(Unseen):
    """Plays one entry a run: bytes to deliver before it is lost, or an error before it connects."""

    def __init__(self, script: Script) -> None:
        super().__init__()
        self.script = script
        self.runs = 0

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        self.runs += 1
        if not self.script:
            connected()
            await asyncio.Event().wait()
        entry = self.script.pop(0)
        if isinstance(entry, BaseException):
            raise entry
        connected()
        for payload in entry:
            deliver(Frame(payload, Stamp(0, 0)))
        raise LinkError("unplugged")


def decode(frame: Frame) -> Mapping[str, Value]:
    if not frame.payload.isdigit():
        raise FrameError("not a number")
    return {"pressure": float(frame.payload)}


class Watched:
    """An instrument under supervision, and what came of it."""

    def __init__(self, build: Callable[[], tuple[Link, Decode]]) -> None:
        self.values: list[float] = []
        self.changes: list[LinkState] = []
        self.waits_s: list[float] = []
        self.sleep_for_ever = False
        self.time_s = 1_700_000_000.0
        around = Surroundings(self._accept, self._changed, lambda: self.time_s, self._sleep)
        self.instrument = Instrument("probe", "serial_lines", build, around, Backoff(lambda: 1.0))

    def _accept(self, instrument: str, stamp: Stamp, values: Mapping[str, Value]) -> None:
        assert instrument == "probe"
        self.values += [value for value in values.values() if isinstance(value, float)]

    def _changed(self, instrument: str, former: LinkState, state: LinkState) -> None:
        assert (instrument, former) == ("probe", self.changes[-1] if self.changes else LinkState.CONNECTING)
        self.changes.append(state)

    async def _sleep(self, seconds: float) -> None:
        self.waits_s.append(seconds)
        self.time_s += seconds
        await asyncio.sleep(3600 if self.sleep_for_ever else 0)


@contextlib.asynccontextmanager
async def supervised(watched: Watched) -> AsyncIterator[asyncio.Task[None]]:
    task = asyncio.create_task(watched.instrument.supervise())
    try:
        yield task
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


async def settle() -> None:
    for _ in range(200):
        await asyncio.sleep(0)


async def test_a_lost_instrument_is_found_again() -> None:
    link = ScriptedLink([[b"1", b"2"], [b"3"]])
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        assert watched.values == [1.0, 2.0, 3.0]
        assert link.runs == 3
        about = watched.instrument.about()
        assert (about.state, about.frames, about.rejected_frames, about.reason) == ("connected", 3, 0, "")
    cycle = [LinkState.CONNECTED, LinkState.WAITING, LinkState.CONNECTING]
    assert watched.changes == [*cycle, *cycle, LinkState.CONNECTED]


async def test_it_is_lost_since_it_was_lost_however_often_it_is_tried_again() -> None:
    watched = Watched(lambda: (ScriptedLink([[b"1"], *[LinkError("not there")] * 50]), decode))
    began_s = watched.time_s
    async with supervised(watched):
        while len(watched.waits_s) < 20:
            await settle()
            assert watched.instrument.about().since_s == began_s
        await settle()
    assert watched.time_s > began_s


async def test_refused_frames_are_counted_and_the_next_good_one_counts() -> None:
    link = ScriptedLink([[b"garbage", b"\xff", b"7"]])
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        about = watched.instrument.about()
        assert (about.frames, about.rejected_frames, watched.values) == (3, 2, [7.0])


class TalkingLink(Unseen):
    """Stays connected, and delivers what a test puts in."""

    def __init__(self) -> None:
        super().__init__()
        self.deliver: Deliver = lambda _: None

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        self.deliver = deliver
        connected()
        await asyncio.Event().wait()


async def test_what_comes_and_can_never_be_read_is_told_until_something_can() -> None:
    link = TalkingLink()
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        for _ in range(UNREAD_IN_A_ROW - 1):
            link.deliver(Frame(b"garbage", Stamp(0, 0)))
        assert watched.instrument.about().reason == ""
        link.deliver(Frame(b"garbage", Stamp(0, 0)))
        about = watched.instrument.about()
        assert (about.state, about.reason) == ("connected", "the last 5 messages could not be read: not a number")
        link.deliver(Frame(b"7", Stamp(0, 0)))
        assert watched.instrument.about().reason == ""


async def test_waits_grow_and_only_the_first_failure_is_loud(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG, "ingest.supervise")
    link = ScriptedLink([LinkError("no such device") for _ in range(8)])
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
    assert watched.waits_s == [0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 15.0, 15.0]
    warnings = [record.message for record in caplog.records if record.levelno >= logging.WARNING]
    assert warnings == ["probe: no such device; trying again until it is back"]


async def test_a_setup_that_cannot_be_built_stops_that_instrument(caplog: pytest.LogCaptureFixture) -> None:
    def build() -> tuple[Link, Decode]:
        raise LinkSetupError("port is empty")

    watched = Watched(build)
    async with supervised(watched) as task:
        await settle()
        assert task.done()
        assert task.exception() is None
    about = watched.instrument.about()
    assert (about.state, about.reason) == ("misconfigured", "port is empty")
    assert "probe cannot work as configured: port is empty" in caplog.text


async def test_what_refuses_at_first_is_told_once_and_tried_again_slowly(caplog: pytest.LogCaptureFixture) -> None:
    link = ScriptedLink([LinkSetupError("exception 2"), LinkSetupError("exception 2"), [b"5"]])
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        assert watched.values == [5.0]
    assert watched.waits_s[:2] == [SLOWLY_S, SLOWLY_S]
    assert watched.changes[:2] == [LinkState.MISCONFIGURED, LinkState.CONNECTED]
    assert caplog.text.count("cannot work as configured: exception 2") == 1


async def test_what_once_worked_and_refuses_is_tried_again_soon() -> None:
    link = ScriptedLink([[b"5"], LinkSetupError("exception 2, while it boots"), [b"6"]])
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        assert watched.values == [5.0, 6.0]
    assert max(watched.waits_s) < LONGEST_S
    assert LinkState.MISCONFIGURED not in watched.changes


async def test_a_wait_ends_when_the_instrument_is_seen_again() -> None:
    link = ScriptedLink([LinkError("away")])
    watched = Watched(lambda: (link, decode))
    watched.sleep_for_ever = True
    async with supervised(watched):
        await settle()
        assert (link.runs, watched.changes[-1]) == (1, LinkState.WAITING)
        link.is_seen.set()
        await settle()
        assert (link.runs, watched.changes[-1]) == (2, LinkState.CONNECTED)


async def test_where_no_sign_can_be_had_the_wait_goes_on() -> None:
    class Deaf(ScriptedLink):
        async def seen_again(self) -> None:
            raise LinkError("no radio")

    link = Deaf([LinkError("away")])
    watched = Watched(lambda: (link, decode))
    watched.sleep_for_ever = True
    async with supervised(watched):
        await settle()
        assert link.runs == 1


async def test_a_part_that_does_not_work_is_named_until_it_does(caplog: pytest.LogCaptureFixture) -> None:
    link = TalkingLink()
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        for times in (1, 2, 3):
            link.deliver(Notice("device 7", f"device 7 does not answer ({times} in a row)"))
        about = watched.instrument.about()
        assert (about.state, about.reason) == ("connected", "device 7 does not answer (3 in a row)")
        link.deliver(Notice("device 7", ""))
        assert watched.instrument.about().reason == ""
    assert [record.levelname for record in caplog.records] == ["WARNING"]


async def test_a_link_that_does_not_end_is_left_behind_and_told_of(caplog: pytest.LogCaptureFixture) -> None:
    may_end = asyncio.Event()

    class Stubborn(ScriptedLink):
        async def run(self, deliver: Deliver, connected: Connected) -> None:
            while not may_end.is_set():
                with contextlib.suppress(asyncio.CancelledError):
                    await may_end.wait()

    watched = Watched(lambda: (Stubborn([]), decode))
    task = asyncio.create_task(watched.instrument.supervise())
    await settle()
    task.cancel()
    await asyncio.wait({task}, timeout=30)
    assert task.cancelled()
    assert "probe: its link does not end when it is told to, and is left behind" in caplog.text
    may_end.set()
    await settle()


async def test_a_mistake_in_a_link_ends_only_that_link(caplog: pytest.LogCaptureFixture) -> None:
    link = ScriptedLink([ZeroDivisionError("a mistake"), [b"5"]])
    watched = Watched(lambda: (link, decode))
    async with supervised(watched):
        await settle()
        assert watched.values == [5.0]
    assert "in a way it should not" in caplog.text
    assert "ZeroDivisionError" in caplog.text


async def test_stopping_supervision_ends_the_link() -> None:
    ended = asyncio.Event()

    class Waiting(Unseen):
        async def run(self, deliver: Deliver, connected: Connected) -> None:
            try:
                await asyncio.Event().wait()
            finally:
                ended.set()

    watched = Watched(lambda: (Waiting(), decode))
    async with supervised(watched):
        await settle()
    assert ended.is_set()


def test_a_wait_lies_between_half_a_second_and_fifteen() -> None:
    for spread in (0.0, 0.3, 1.0):
        backoff = Backoff(lambda spread=spread: spread)  # type: ignore[misc]
        assert all(SHORTEST_S <= backoff.next_wait_s(0.0) <= LONGEST_S for _ in range(100))


def test_a_healthy_spell_starts_over() -> None:
    backoff = Backoff(lambda: 1.0)
    for _ in range(5):
        backoff.next_wait_s(0.0)
    assert backoff.next_wait_s(HEALTHY_S) == SHORTEST_S
    assert backoff.failures == 1
