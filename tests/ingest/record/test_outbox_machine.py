"""Record, outbox and publisher through whatever comes, in any order that hypothesis thinks of.

The disk refuses and takes again, the file is deleted under the record, the daemon is killed or stopped; the broker goes
away, comes back, and keeps its acknowledgements to itself. At every moment what was published is on the disk, in order
and without a gap, and no cursor is ahead of what was acknowledged. In the end everything recorded has arrived.
"""

import asyncio
import shutil
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from types import SimpleNamespace

import aiomqtt
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from ingest.backoff import Backoff
from ingest.publish import Publisher
from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Entry, Sink
from ingest.wire.marks import Added
from ingest.wire.messages import BrokerAddress, encode, encode_pack
from tests.recording import T0_S, run_of
from tests.rigs import make_pack, make_rig

READINGS, MARKS = "dewline/1/bench/readings", "dewline/1/bench/marks"


class Broker:
    """A broker as far as a publisher can tell. arrived: by topic, what it received; known: what it acknowledged."""

    def __init__(self) -> None:
        self.there = True
        self.silent = False
        self.arrived: dict[str, list[bytes]] = {READINGS: [], MARKS: []}
        self.known: set[bytes] = set()
        self._changed = asyncio.Event()

    def change(self, *, there: bool | None = None, silent: bool | None = None) -> None:
        self.there = self.there if there is None else there
        self.silent = self.silent if silent is None else silent
        self._changed.set()
        self._changed = asyncio.Event()

    @asynccontextmanager
    async def connect(self) -> AsyncIterator[SimpleNamespace]:
        if not self.there:
            raise aiomqtt.MqttError("refused")
        yield SimpleNamespace(subscribe=self._subscribe, publish=self._publish, messages=self._messages())

    async def _subscribe(self, topic: str, qos: int) -> None:
        if not self.there:
            raise aiomqtt.MqttError("gone")

    async def _messages(self) -> AsyncIterator[aiomqtt.Message]:
        while self.there:
            await self._changed.wait()
        raise aiomqtt.MqttError("gone")
        yield

    async def _publish(self, topic: str, payload: bytes, *, qos: int, retain: bool) -> None:
        """Take a message, and acknowledge it once nothing is in the way: it may have come though nobody says so."""
        if self.there and topic in self.arrived:
            self.arrived[topic].append(payload)
            while self.there and self.silent:
                await self._changed.wait()
        if not self.there:
            raise aiomqtt.MqttError("no acknowledgement")
        self.known.add(payload)


class AtOnce(Backoff):
    """No waiting: the model has no time."""

    def next_wait_s(self, healthy_for_s: float) -> float:
        return 0.0


class ModelledPublisher(Publisher):
    """The publisher, at a broker that is a model."""

    broker: Broker

    def _connect(self) -> aiomqtt.Client:
        return self.broker.connect()  # type: ignore[return-value]


class Outbox(RuleBasedStateMachine):
    """packs, marks: what the record has confirmed."""

    @initialize()
    def begin(self) -> None:
        """Start the first daemon."""
        self.loop = asyncio.new_event_loop()
        self.folder = Path(tempfile.mkdtemp())
        self.life = 0
        self.packs: list[bytes] = []
        self.marks: list[bytes] = []
        self.refuses = False
        self.broker = Broker()
        place = self.folder / "0"
        place.mkdir()
        self._start(place)

    def _start(self, place: Path) -> None:
        self.rig = make_rig(place)
        self.custody = Custody(self.rig.record, run_of(self.rig))
        self.custody.use(lambda _: None)
        self.publisher = ModelledPublisher(
            BrokerAddress("model", 1), "bench",
            outbox=self._outbox, advance=self._advance, handle_ask=self._answer, backoff=AtOnce(),
        )  # fmt: skip
        self.publisher.broker = self.broker
        self.publishing = self.loop.create_task(self.publisher.run())
        self.refuses = False
        self._turn()

    async def _outbox(self, sink: Sink, limit: int) -> list[Entry]:
        return self.custody.use(lambda record: record.outbox(sink, limit))

    async def _advance(self, sink: Sink, position: int) -> None:
        self.custody.use(lambda record: record.advance(sink, position))

    async def _answer(self, kind: str, payload: bytes) -> None:
        raise AssertionError("nobody asks here")

    def _turn(self, turns: int = 20) -> None:
        async def go_on() -> None:
            for _ in range(turns):
                await asyncio.sleep(0)

        self.loop.run_until_complete(go_on())

    def _end(self) -> None:
        while not self.publishing.done():  # a broker that fails at that moment may cost the first of them
            self.publishing.cancel()
            self._turn()

    # --- what may happen

    @rule(count=st.integers(1, 40))
    def tick(self, count: int) -> None:
        """Some ticks."""
        try:
            self.packs += self.custody.use(lambda record: record.commit([make_pack(T0_S)] * count))
            assert not self.refuses
            self.publisher.wake("mqtt packs")
            self._turn()
        except NotSavedError:
            assert self.refuses

    @rule()
    def mark(self) -> None:
        """Somebody adds refrigerant."""
        mark = Added(id=f"m{len(self.marks)}-{self.life}", time_s=T0_S, mass_kg=0.1)
        try:
            self.custody.add_mark(mark)
            assert not self.refuses
            self.marks.append(encode(mark))
            self.publisher.wake("mqtt marks")
            self._turn()
        except NotSavedError:
            assert self.refuses

    @rule(refuses=st.booleans())
    def disk(self, refuses: bool) -> None:
        """Let SQLite refuse every write, or take them again."""
        self.refuses = refuses
        self.custody.use(lambda record: record._database.execute(f"PRAGMA query_only = {int(refuses)}"))

    @precondition(lambda self: not self.refuses)
    @rule()
    def delete_the_file(self) -> None:
        """Somebody tidies up."""
        self.rig.record.unlink()

    @rule(there=st.booleans(), silent=st.booleans())
    def change_the_broker(self, there: bool, silent: bool) -> None:
        """Let it go, come back, fall silent or answer."""
        self.broker.change(there=there, silent=silent)

    @rule(turns=st.integers(1, 60))
    def wait(self, turns: int) -> None:
        """Let the publisher work."""
        self._turn(turns)

    @rule(newest=st.integers(0, 20))
    def compact(self, newest: int) -> None:
        """Make chunks of what is old and acknowledged."""
        with suppress(NotSavedError):
            self.custody.use(lambda record: record.compact(newest_packs=newest))

    @precondition(lambda self: not self.refuses)
    @rule()
    def kill(self) -> None:
        """Go on with the files as they are on the disk, and nothing else."""
        self.custody.use(lambda _: None)  # what was deleted is back
        self._end()
        self.life += 1
        place = self.folder / str(self.life)
        place.mkdir()
        for suffix in ("", "-wal"):
            shutil.copy(f"{self.rig.record}{suffix}", place / f"bench.sqlite{suffix}")
        self.custody.close()
        self._start(place)

    @precondition(lambda self: not self.refuses)
    @rule()
    def stop_and_start(self) -> None:
        """As a technician would."""
        self._end()
        self.custody.use(lambda record: record.end_session(T0_S))
        self.custody.close()
        self.life += 1
        self._start(self.rig.record.parent)

    # --- what holds all the time

    @invariant()
    def what_is_published_is_on_the_disk_in_order_and_without_a_gap(self) -> None:
        """Dropping what comes twice, a consumer has a beginning of what was recorded."""
        for topic, recorded in ((READINGS, self.packs), (MARKS, self.marks)):
            firsts = list(dict.fromkeys(self.broker.arrived[topic]))
            assert firsts == recorded[: len(firsts)]

    @invariant()
    def no_cursor_is_ahead_of_what_was_acknowledged(self) -> None:
        """Or something would never be sent."""
        record = self.custody._record
        assert record is not None
        assert set(self.packs[: record._cursors.get("mqtt packs", 0)]) <= self.broker.known
        assert set(self.marks[: record._cursors.get("mqtt marks", 0)]) <= self.broker.known

    @invariant()
    def nothing_is_lost(self) -> None:
        """The file holds what was confirmed, and no more."""
        self.custody.use(lambda _: None)
        assert [encode_pack(pack) for pack in RecordFile(self.rig.record).packs_after(0)] == self.packs

    def teardown(self) -> None:
        """In the end everything arrives."""
        if not hasattr(self, "loop"):
            return
        self.broker.change(there=True, silent=False)
        for _ in range(200):
            self._turn(100)
            if set(self.packs) <= self.broker.known and set(self.marks) <= self.broker.known:
                break
        arrived = {topic: list(dict.fromkeys(payloads)) for topic, payloads in self.broker.arrived.items()}
        self._end()
        self.custody.close()
        self.loop.close()
        shutil.rmtree(self.folder)
        assert arrived == {READINGS: self.packs, MARKS: self.marks}


TestOutbox = Outbox.TestCase
TestOutbox.settings = settings(max_examples=30, stateful_step_count=30, deadline=None)
