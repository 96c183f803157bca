"""The page against the record: after whatever the broker went through, both hold the same, sample by sample."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from dashboard import feed
from dashboard.hub import Hub
from ingest.backoff import Backoff
from ingest.publish import Publisher
from ingest.record.store import Record
from ingest.wire.messages import Note, decode_pack, encode
from tests import wire_rig
from tests.brokers import Mosquitto, mosquitto
from tests.dashboard.test_history import START_S
from tests.page import serving_page, settings
from tests.processes import eventually
from tests.rigs import make_pack, make_rig

PERIOD_S = 0.02


@dataclass
class Scene:
    """A record that grows all the time, what is published of it, and a page."""

    broker: Mosquitto
    record: Record
    publisher: Publisher
    publishing: asyncio.Task[None]
    hub: Hub
    packs: int = 0
    marks: int = 0

    async def work(self) -> None:
        """Record and publish, a mark after every tenth pack, until cancelled."""
        while True:
            self.record_some(1)
            await asyncio.sleep(PERIOD_S)

    def record_some(self, count: int) -> None:
        start = self.packs
        self.packs += count
        time_s = [START_S + number / 4 for number in range(start, self.packs)]
        self.record.commit([make_pack(at_s, superheat=float(at_s - START_S)) for at_s in time_s])
        self.publisher.wake("mqtt packs")
        if start // 10 != self.packs // 10:
            self.record.add_mark(Note(f"m{self.marks}", time_s[-1], by="Robin", role="lead", text="look"))
            self.marks += 1
            self.publisher.wake("mqtt marks")

    async def same(self) -> bool:
        """Whether the page holds what the record holds."""
        payloads = self.record._database.execute("SELECT payload FROM packs ORDER BY sequence")
        recorded = [decode_pack(payload) for (payload,) in payloads]
        rows = self.hub.ring.rows()
        shown = list(zip(rows["sequence"].tolist(), rows["time_s"].tolist(), rows["superheat"].tolist(), strict=True))
        wanted = [(pack.sequence, pack.time_s, pack.readings["superheat"].value) for pack in recorded]
        return shown == wanted and list(self.hub.marks) == [mark.id for mark in self.record.marks()]


@asynccontextmanager
async def scene(directory: Path, free_port: Callable[[], int]) -> AsyncIterator[Scene]:
    record = Record(directory / "visit.sqlite")
    record.begin_session(make_rig(directory), boot="b1", new_visit="visit-1", time_s=START_S)

    async def outbox(sink, limit):
        return record.outbox(sink, limit)

    async def advance(sink, position):
        record.advance(sink, position)

    async def refuse(kind, payload):
        return None

    async with mosquitto(free_port(), directory) as broker:
        publisher = Publisher(
            broker.address, "bench",
            outbox=outbox, advance=advance, handle_ask=refuse, backoff=Backoff(),
        )  # fmt: skip
        publisher.set_state("about", encode(wire_rig.about(started_s=START_S)))
        known = settings(directory, free_port(), broker=broker.address, record=directory / "visit.sqlite")
        async with serving_page(known) as hub:
            publishing = asyncio.create_task(publisher.run())
            try:
                yield Scene(broker, record, publisher, publishing, hub)
            finally:
                publishing.cancel()
                await asyncio.wait([publishing])
    record.close()


@asynccontextmanager
async def working(it: Scene) -> AsyncIterator[None]:
    task = asyncio.create_task(it.work())
    try:
        yield
    finally:
        task.cancel()
        await asyncio.wait([task])


async def heard_some(it: Scene) -> None:
    start = len(it.hub.ring)

    async def more() -> bool:
        return len(it.hub.ring) > start + 20 and bool(it.hub.marks)

    await eventually("the page hears the rig", more)


async def test_a_page_that_opens_in_the_middle_has_all_of_it(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        async with working(it):
            await heard_some(it)
        await eventually("the page holds what the record holds", it.same)


async def test_a_broker_killed_twice_leaves_no_hole(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        async with working(it):
            for _ in range(2):
                await heard_some(it)
                await it.broker.kill()
                await asyncio.sleep(1.0)
                await it.broker.start()
            await heard_some(it)
        await eventually("the page holds what the record holds", it.same)


async def test_a_broker_that_froze_leaves_no_hole(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        async with working(it):
            await heard_some(it)
            it.broker.freeze()
            await asyncio.sleep(9.0)  # longer than both sides wait for a sign of life
            it.broker.thaw()
            await heard_some(it)
        await eventually("the page holds what the record holds", it.same)


async def test_what_overflows_the_queue_is_read_from_the_record(
    tmp_path: Path, free_port: Callable[[], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(feed, "_LONGEST_QUEUE", 5)
    async with scene(tmp_path, free_port) as it:
        for _ in range(30):
            it.record_some(100)
            await asyncio.sleep(PERIOD_S)
        await eventually("the page holds what the record holds", it.same)


async def test_a_rig_that_went_silent_while_the_page_was_away_is_recalled_all_the_same(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        async with working(it):
            await heard_some(it)
        it.publishing.cancel()
        await it.broker.kill()
        it.record_some(25)  # and nothing after it would show the hole
        await it.broker.start()
        await eventually("the page holds what the record holds", it.same)
