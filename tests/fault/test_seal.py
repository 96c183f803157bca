"""What belongs to a visit as it is signed or left, over a disk that takes its time."""

import asyncio
import hashlib
import sqlite3
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from ingest.clock import Clock
from ingest.config.load import load, resolve
from ingest.daemon import Daemon
from ingest.record.earlier import read_stops_elsewhere
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.setup import Setup
from ingest.visit.deciding import RefusedError
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    AcknowledgeAsk,
    Answer,
    Ask,
    BrokerAddress,
    LinkChanged,
    OpenAsk,
    Photograph,
    ReleaseAsk,
    SignAsk,
    Signed,
    StopAsk,
    decode,
    encode,
)
from tests.rigs import write_configuration
from tests.yes import confirming, saying_yes

SIGN = SignAsk("g1", "Sam", name="Sam", confirmed=True)


class AtWork:
    """A daemon whose disk can be held up."""

    def __init__(self, path: Path) -> None:
        config = load(path)
        self.daemon = Daemon(Setup(path, config, resolve(config, path)), BrokerAddress("127.0.0.1", 9), Clock())
        self.record = path.with_name("bench.sqlite")
        self.held: list[threading.Event] = []

    async def hold_the_disk(self) -> Callable[[], None]:
        """Have the disk hang behind what is asked of it already; gives what lets it go on."""
        goes_on = threading.Event()
        self.held.append(goes_on)
        asyncio.get_running_loop().run_in_executor(self.daemon._recorder._thread, goes_on.wait)
        return goes_on.set

    async def ask(self, user: str, ask: Ask) -> Answer:
        return await saying_yes(partial(self._tell, user), ask)

    async def _tell(self, user: str, ask: Ask) -> Answer:
        answer = await self.daemon._publisher._handle_ask(f"{user}/{ask.kind}", encode(ask))
        assert answer is not None
        return decode(answer[1], Answer)

    async def confirmed(self, ask: Ask) -> Ask:
        """The same with a yes to what the rig asks back of it now."""
        return confirming(ask, await self._tell("technician", replace(ask, confirmed=False)))

    def stop(self) -> tuple[str, bool] | None:
        """What the technician's page shows of a stop, and whether it is saved."""
        stop = self.daemon._standing.message().stop
        return (stop.text, stop.saved) if stop and not stop.acknowledged_s else None

    def stops_of(self, visit: str) -> list[str]:
        """The stops of a visit that nobody has answered, as whoever opens it again finds them in the file."""
        marks = [it.mark for it in RecordFile(self.record).marks_after(visit, 0)]
        with closing(sqlite3.connect(self.record)) as database:
            said = read_stops_elsewhere(database, visit, marks)
        standing = Standing(visit, marks)
        standing.stops_elsewhere = said
        return [it.text for it in standing.stops.unanswered]

    def payloads(self) -> dict[str, bytes]:
        """Read the marks as the file holds them, in order, by their ids."""
        with closing(sqlite3.connect(self.record)) as database:
            return dict(database.execute("SELECT id, payload FROM marks ORDER BY number"))


@pytest.fixture
async def at_work(tmp_path: Path) -> AsyncIterator[AtWork]:
    it, end = AtWork(write_configuration(tmp_path)), asyncio.Event()
    working = asyncio.create_task(it.daemon.run(end, asyncio.Event()))
    async with asyncio.timeout(10):
        while not it.daemon._standing.opened:  # noqa: ASYNC110 - what is waited for is no event
            await asyncio.sleep(0.01)
    try:
        yield it
    finally:
        for goes_on in it.held:
            goes_on.set()
        end.set()
        await working


async def as_far_as_the_disk() -> None:
    """Let what was asked come as far as it can while the disk is held up."""
    await asyncio.sleep(0.1)


async def test_the_seal_is_of_what_was_on_its_way_to_the_disk_as_it_was_asked_for(at_work: AtWork) -> None:
    """SHA-256 (FIPS 180-4), chained: of the digest before and the mark's bytes."""
    go_on = await at_work.hold_the_disk()
    signing = asyncio.create_task(at_work.ask("technician", SIGN))
    await as_far_as_the_disk()
    at_work.daemon._own_marks.note(LinkChanged, "clamp meter: connected")
    await as_far_as_the_disk()
    go_on()
    signed = (await signing).mark
    by_hand, before = hashlib.sha256(b"").digest(), list(at_work.payloads().items())
    del before[[name for name, _ in before].index(SIGN.id) :]
    for _, payload in before:
        by_hand = hashlib.sha256(by_hand + payload).digest()
    assert b"clamp meter: connected" in before[-1][1]
    assert isinstance(signed, Signed)
    assert signed.digest == at_work.daemon._standing.progress.digest == by_hand.hex()
    assert decode(at_work.payloads()[SIGN.id], Signed) == signed


async def test_no_photograph_is_kept_that_was_being_developed_as_somebody_signed(at_work: AtWork) -> None:
    sign = await at_work.confirmed(SIGN)
    find = await at_work.hold_the_disk()
    signing = asyncio.create_task(at_work.ask("technician", sign))
    await as_far_as_the_disk()
    add = await at_work.hold_the_disk()
    find()
    await as_far_as_the_disk()  # what it is asked for is decided, and waits to be recorded
    developed = Photograph(
        "p1", 1.7e9, "Sam", "technician", digest="0" * 64, sent_digest="0" * 64, width=640, height=480
    )
    keeping = asyncio.create_task(at_work.daemon._add_photograph(developed, b"", at_work.daemon._standing.visit))
    await as_far_as_the_disk()
    add()
    assert (await signing).ok
    with pytest.raises(RefusedError, match="the visit is signed: open the unit again for another"):
        await keeping
    assert "p1" not in at_work.payloads()


@pytest.mark.parametrize("ask", [SIGN, OpenAsk("o1", "Sam", unit="RTU-K7Q-4", confirmed=True)])
async def test_a_stop_that_comes_before_a_visit_is_left_or_sealed_on_the_disk_stands_in_it(
    at_work: AtWork, ask: Ask
) -> None:
    visit = at_work.daemon._standing.visit
    ask = await at_work.confirmed(ask)
    find = await at_work.hold_the_disk()
    leaving = asyncio.create_task(at_work.ask("technician", ask))
    await as_far_as_the_disk()
    commit = await at_work.hold_the_disk()
    find()
    await as_far_as_the_disk()  # it is decided, and waits to be recorded
    stopping = asyncio.create_task(at_work.ask("lead", StopAsk("s1", "Robin", text="Hands off.")))
    await as_far_as_the_disk()
    commit()
    assert (await leaving).reason == (
        "not saved: the disk has not taken yet what came before: a stop, or what was said to it"
    )
    assert (await stopping).ok
    assert at_work.daemon._standing.visit == visit
    assert ask.id not in at_work.payloads()
    assert "Robin asked to stop" in (await at_work.ask("technician", ask)).reason
    assert (await at_work.ask("technician", AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    assert (await at_work.ask("lead", ReleaseAsk("r1", "Robin", of="s1"))).ok
    assert (await at_work.ask("technician", ask)).ok


@pytest.mark.parametrize("ask", [SIGN, OpenAsk("o1", "Sam", unit="RTU-K7Q-4", confirmed=True)])
async def test_a_stop_that_comes_while_the_disk_writes_that_stands_in_the_visit_at_which_it_was_asked(
    at_work: AtWork, ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is looked at before the write cannot see it: the disk is slow in the very transaction."""
    visit = at_work.daemon._standing.visit
    ask = await at_work.confirmed(ask)
    written = slow_disk(monkeypatch, Record, "begin_session" if isinstance(ask, OpenAsk) else "add_mark")
    leaving = asyncio.create_task(at_work.ask("technician", ask))
    assert await asyncio.to_thread(written.began.wait, 5.0)
    stop = StopAsk("s1", "Robin", text="Hands off.")
    assert (await at_work.ask("lead", stop)).waits
    assert at_work.stop() == ("Hands off.", False)
    written.goes_on.set()
    assert (await leaving).ok
    assert (await at_work.ask("lead", stop)).ok
    assert at_work.stop() == ("Hands off.", True)  # the technician has it, wherever the rig went
    assert "Robin asked to stop" in (await at_work.ask("technician", OpenAsk("o2", "Sam", unit="RTU-K7Q-4"))).reason
    assert at_work.stops_of(visit) == ["Hands off."]  # and the visit at which it was asked knows of it
    assert (await at_work.ask("technician", AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    assert at_work.stops_of(visit) == []


@dataclass
class Slow:
    """A disk in the middle of a transaction."""

    began: threading.Event = field(default_factory=threading.Event)
    goes_on: threading.Event = field(default_factory=threading.Event)


def slow_disk(monkeypatch: pytest.MonkeyPatch, record: type[Record], name: str) -> Slow:
    """Have the first call of this take its time."""
    slow, write = Slow(), getattr(record, name)

    def written(*args: Any, **named: Any) -> Any:
        done = write(*args, **named)
        slow.began.set()
        slow.goes_on.wait(timeout=10.0)
        return done

    monkeypatch.setattr(record, name, written)
    return slow


@pytest.mark.parametrize("by", ["Robin", "Kim"])
async def test_of_two_stops_under_one_id_that_the_record_does_not_know_yet_the_first_stands(
    at_work: AtWork, by: str
) -> None:
    go_on = await at_work.hold_the_disk()
    stop, visit = StopAsk("s1", "Robin", text="Hands off."), at_work.daemon._standing.visit
    asked = (stop, StopAsk("s1", by, text="Another text."), replace(stop, text=" Hands off. ", visit=visit))
    stopping = [asyncio.create_task(at_work.ask("lead", it)) for it in asked]
    await as_far_as_the_disk()
    go_on()
    first, second, again = [await it for it in stopping]
    assert (first.ok, second.ok) == (True, False)
    assert first.mark == again.mark
    assert second.refusal is not None
    assert second.reason == second.refusal.us
    assert b"Hands off." in at_work.payloads()["s1"]
