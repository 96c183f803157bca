"""Publishing: the record's packs and marks to the broker in order, and beside them how things stand now.

The record is the outbox. Packs and marks after the cursor go out, up to 32 at a time, and the cursor moves
only when the broker has acknowledged every one of them; whatever breaks, the rest goes out again. Retained
messages (about, advice, latest) are replaced, not queued: only their newest state matters. A broker that is
away is asked again and again, and nothing else waits for it.

Two daemons under one rig name would mix the numbers of two units. Each has a connection of its own at the broker, and
says with its status since when it runs: the one that started later stops publishing, says so, and asks again now and
then; its record goes on meanwhile, and all of it goes out once the name is free.
"""

import asyncio
import logging
from collections import deque
from collections.abc import Awaitable, Callable, Coroutine, Mapping
from types import MappingProxyType
from typing import Literal

import aiomqtt

from ingest.backoff import Backoff
from ingest.record.store import Entry, Sink
from ingest.sending import publish
from ingest.wire.messages import (
    SHEETS,
    BrokerAddress,
    Instance,
    MessageError,
    NotSaved,
    Status,
    decode,
    encode,
    rig_and_kind,
    topic,
)

logger = logging.getLogger(__name__)

IN_FLIGHT = 32
QUEUED_ASKS = 64
QUEUED_UNSAVED = 32
ENDED_WITHIN_S = 5.0
"""How long an ask that is being answered keeps a new connection waiting; a disk that hangs must not keep the view."""
CLAIM_S = 2.0
"""How long somebody whom the broker still calls online has to answer; who vanished with its machine does not."""
YIELD_S = 15.0
"""From one claim of a name that is taken to the next."""

_KINDS: Mapping[Sink, str] = {"mqtt packs": "readings", "mqtt marks": "marks"}

Outbox = Callable[[Sink, int], Awaitable[list[Entry]]]
Advance = Callable[[Sink, int], Awaitable[None]]
HandleAsk = Callable[[str, bytes], Coroutine[None, None, tuple[str, bytes] | None]]
"""From user and kind of an ask, and its payload, to user and id of the answer, and that; None where there is none."""

IsBeside = Callable[[str, bytes], bool]
"""From the same, whether the ask stands in no order: it is answered beside the others."""


class _TakenError(Exception):
    """Another daemon publishes under this name, and did so before us."""


class Publisher:
    """Publishes what one rig says, and passes on what it is asked."""

    def __init__(
        self,
        address: BrokerAddress,
        rig: str,
        *,
        outbox: Outbox,
        advance: Advance,
        handle_ask: HandleAsk,
        backoff: Backoff,
        is_beside: IsBeside = lambda _, __: False,
        instance: Instance | None = None,
        hears: Mapping[str, Callable[[bytes], None]] = MappingProxyType({}),
    ) -> None:
        """Take what it needs. instance: this daemon; without one nobody else is looked for under the rig's name.

        hears: further topics of the rig's, and what takes each message that comes there.
        """
        self._address = address
        self._rig = rig
        self._session = 0
        self._not_saved: NotSaved | None = None
        self._left_out: tuple[str, ...] = ()
        self._outbox = outbox
        self._advance = advance
        self._handle_ask = handle_ask
        self._is_beside = is_beside
        self._backoff = backoff
        self._instance = instance
        self._hears = hears
        self._another: asyncio.TimerHandle | None = None
        self._has_yielded = False
        self._client: aiomqtt.Client | None = None
        self._leaving = False
        self._fresh: dict[Sink, asyncio.Event] = {sink: asyncio.Event() for sink in _KINDS}
        self._drained: dict[Sink, asyncio.Event] = {sink: asyncio.Event() for sink in _KINDS}
        self._states: dict[str, tuple[bytes, int]] = {}
        self._changed: set[str] = set()
        self._unsaved: deque[bytes] = deque(maxlen=QUEUED_UNSAVED)
        self._something = asyncio.Event()

    def wake(self, sink: Sink) -> None:
        """Say that the record holds something new for a sink."""
        self._drained[sink].clear()
        self._fresh[sink].set()

    def set_state(self, kind: str, payload: bytes, *, qos: int = 1) -> None:
        """Replace a retained message; it is sent when it differs from what was sent."""
        if self._states.get(kind) != (payload, qos):
            self._states[kind] = (payload, qos)
            self._changed.add(kind)
            self._something.set()

    def set_status(self, session: int, not_saved: NotSaved | None) -> None:
        """Say which session this is, and why nothing is saved, if so."""
        if (session, not_saved) != (self._session, self._not_saved):
            self._session, self._not_saved = session, not_saved
            self._changed.add("status")
            self._something.set()

    def set_left_out(self, names: tuple[str, ...]) -> None:
        """Say what proposes nothing any more, since it failed."""
        if names != self._left_out:
            self._left_out = names
            self._changed.add("status")
            self._something.set()

    def show_unsaved(self, payload: bytes) -> None:
        """Send a pack that is not in the record; the oldest are dropped where the broker is away."""
        self._unsaved.append(payload)
        self._something.set()

    async def run(self) -> None:
        """Stay connected until cancelled."""
        loop = asyncio.get_running_loop()
        while True:
            started_s, taken = loop.time(), False
            try:
                async with self._connect() as client:
                    await self._serve(client)
            except* aiomqtt.MqttError as errors:
                self._report(errors)
            except* _TakenError:
                taken = True
            finally:
                self._client = None
            if taken:
                self._tell_of_another("publishes", f"it waits until the name is free{self._recording()}")
                self._has_yielded = True
                await asyncio.sleep(YIELD_S)
            else:
                await asyncio.sleep(self._backoff.next_wait_s(loop.time() - started_s))

    async def finish(self, within_s: float) -> None:
        """Wait until everything recorded is out, for half of the time at most; then say that the rig is offline."""
        client = self._client
        if client is None:
            return
        self._leaving = True
        try:
            async with asyncio.timeout(within_s / 2):
                for drained in self._drained.values():
                    await drained.wait()
        except TimeoutError:
            logger.warning("the broker did not take all in time; it follows at the next start")
        try:
            async with asyncio.timeout(within_s / 2):
                await self._publish(client, "status", self._status("offline"), retain=True)
        except (TimeoutError, aiomqtt.MqttError) as error:
            logger.warning("the broker was not told that the rig is offline: %s", str(error) or "too slow")

    def _report(self, errors: BaseExceptionGroup[aiomqtt.MqttError]) -> None:
        first = errors.exceptions[0]
        while isinstance(first, BaseExceptionGroup):
            first = first.exceptions[0]
        level = logging.DEBUG if self._backoff.failures else logging.WARNING
        logger.log(level, "the broker is away: %s%s", first, self._recording())

    def _recording(self) -> str:
        """Say what becomes of the record meanwhile, as far as that is known."""
        if self._not_saved:
            return f"; nothing is recorded either: {self._not_saved.reason}"
        return "; recording goes on" if self._session else ""

    def _connect(self) -> aiomqtt.Client:
        lost = aiomqtt.Will(topic(self._rig, "status"), self._status("lost"), qos=1, retain=True)
        client = aiomqtt.Client(
            **self._address.client_arguments(),
            identifier=f"dewline-{self._rig}-{self._instance.id}" if self._instance else f"dewline-{self._rig}",
            will=lost,
            max_inflight_messages=IN_FLIGHT,
            max_queued_incoming_messages=QUEUED_ASKS,
        )
        client.pending_calls_threshold = 2 * IN_FLIGHT
        return client

    def _status(self, state: Literal["online", "offline", "lost"]) -> bytes:
        is_online = state == "online"
        not_saved = self._not_saved if is_online else None
        another = is_online and self._another is not None
        left_out = self._left_out if is_online else ()
        return encode(Status(state, self._session, not_saved, self._instance, another, left_out))

    async def _serve(self, client: aiomqtt.Client) -> None:
        self._changed.discard("status")
        self._client = client  # from here on there may be an "online" that `finish` has to take back
        if self._instance:
            await self._claim(client, self._instance)
        else:
            await self._say_online(client)
            await client.subscribe(topic(self._rig, "status"), qos=1)
        for kind in ("ask/+/+", *self._hears):
            await client.subscribe(topic(self._rig, kind), qos=1)
        self._has_yielded = False
        logger.info("connected to the broker at %s:%d", self._address.host, self._address.port)
        self._changed |= set(self._states)
        while self._changed and not _is_sheet(self._first_changed()):
            await self._send_changed(client)  # how things stand now goes before the backlog, which would pass for it
        self._something.set()  # the sheets of the register follow beside it
        async with asyncio.TaskGroup() as group:
            in_order = asyncio.Queue[tuple[str, bytes]](QUEUED_ASKS)
            group.create_task(self._listen(client, group, in_order))
            group.create_task(self._answer_in_order(client, in_order))
            group.create_task(self._send_states(client))
            for sink in _KINDS:
                group.create_task(self._send_outbox(client, sink))

    async def _claim(self, client: aiomqtt.Client, ours: Instance) -> None:
        """Say that we are here, and let somebody answer who is here too and was before us.

        Raises:
            _TakenError: they did.

        """
        await client.subscribe(topic(self._rig, "status"), qos=1)
        await self._say_online(client)
        heard_ours = is_contested = False
        try:
            async with asyncio.timeout(CLAIM_S):
                async for message in client.messages:
                    said = _status_of(bytes(message.payload))
                    if said is None or said.daemon is None or said.s != "online":
                        continue
                    if said.daemon == ours:
                        heard_ours = True
                        if not is_contested:
                            return
                    elif said.daemon < ours:
                        if heard_ours:
                            raise _TakenError
                        is_contested = True
        except TimeoutError:
            self._changed.add("status")  # somebody's will may have come since

    def _heard_another(self) -> None:
        """Tell of a daemon that came later, until it has not been heard of for some time."""
        if self._another:
            self._another.cancel()
        else:
            self._tell_of_another("wants to publish", "it waits, and this one goes on")
        self._another = asyncio.get_running_loop().call_later(3 * YIELD_S, self._is_alone)
        self._changed |= {"status", *self._states}
        self._something.set()

    def _is_alone(self) -> None:
        self._another = None
        self._changed.add("status")
        self._something.set()

    def _tell_of_another(self, does: str, what_follows: str) -> None:
        level = logging.DEBUG if self._has_yielded else logging.ERROR
        logger.log(
            level, "another daemon %s as %s: give each its own name under [rig]; %s", does, self._rig, what_follows
        )

    async def _send_outbox(self, client: aiomqtt.Client, sink: Sink) -> None:
        kind = _KINDS[sink]
        while True:
            self._fresh[sink].clear()
            entries = await self._outbox(sink, IN_FLIGHT)
            if not entries:
                if not self._fresh[sink].is_set():
                    self._drained[sink].set()
                await self._fresh[sink].wait()
                continue
            async with asyncio.TaskGroup() as group:
                for entry in entries:
                    group.create_task(self._publish(client, kind, entry.payload))
            await self._advance(sink, entries[-1].position)

    async def _send_states(self, client: aiomqtt.Client) -> None:
        while True:
            await self._something.wait()
            self._something.clear()
            while self._unsaved or self._changed:
                if self._unsaved:
                    await self._publish(client, "readings", self._unsaved.popleft())
                else:
                    await self._send_changed(client)

    def _first_changed(self) -> str:
        """Choose what to send next: the sheets of the register, which may be hundreds, after everything else."""
        return min(self._changed, key=_is_sheet)

    async def _send_changed(self, client: aiomqtt.Client) -> None:
        kind = self._first_changed()
        self._changed.discard(kind)
        if kind == "status":
            await self._say_online(client)
        else:
            payload, qos = self._states[kind]
            await self._publish(client, kind, payload, qos=qos, retain=True)

    async def _listen(
        self, client: aiomqtt.Client, group: asyncio.TaskGroup, in_order: asyncio.Queue[tuple[str, bytes]]
    ) -> None:
        async for message in client.messages:
            _, kind = rig_and_kind(message.topic.value)
            payload = bytes(message.payload)
            if kind == "status":
                await self._correct_status(client, payload)
            elif kind in self._hears:
                self._hears[kind](payload)
            elif self._is_beside(path := kind.removeprefix("ask/"), payload):
                group.create_task(self._answer(client, path, payload))
            elif in_order.full():
                logger.warning("an ask is dropped: %d wait to be answered", QUEUED_ASKS)
            else:
                in_order.put_nowait((path, payload))

    async def _answer_in_order(self, client: aiomqtt.Client, asked: asyncio.Queue[tuple[str, bytes]]) -> None:
        while True:
            await self._answer(client, *await asked.get(), within_s=ENDED_WITHIN_S)

    async def _answer(self, client: aiomqtt.Client, path: str, payload: bytes, *, within_s: float = 0.0) -> None:
        """Answer an ask. Where the broker goes away meanwhile, what was begun is ended first: all of it, or nothing.

        A mark that is in the record, and that nobody took, would be in no figure of the visit until the next start.
        within_s: how long that is waited for.
        """
        answering = asyncio.create_task(self._handle_ask(path, payload))
        try:
            answer = await asyncio.shield(answering)
        except asyncio.CancelledError:
            await asyncio.wait({answering}, timeout=within_s)
            raise
        if answer is not None:
            to, answered = answer
            await self._publish(client, f"answer/{to}", answered)

    async def _correct_status(self, client: aiomqtt.Client, payload: bytes) -> None:
        """Say again that we are here, where a broker sends the will of an earlier connection only now."""
        if self._leaving:
            return
        said = _status_of(payload)
        if said and said.daemon and self._instance and said.s == "online" and said.daemon != self._instance:
            if said.daemon < self._instance:
                raise _TakenError
            self._heard_another()
        elif said != decode(self._status("online"), Status):
            await self._say_online(client)

    async def _say_online(self, client: aiomqtt.Client) -> None:
        if not self._leaving:
            await self._publish(client, "status", self._status("online"), retain=True)

    async def _publish(
        self, client: aiomqtt.Client, kind: str, payload: bytes, *, qos: int = 1, retain: bool = False
    ) -> None:
        await publish(client, topic(self._rig, kind), payload, qos=qos, retain=retain)


def _is_sheet(kind: str) -> bool:
    return kind.startswith(SHEETS)


def _status_of(payload: bytes) -> Status | None:
    """Read what somebody says of the rig; None where that is no status."""
    try:
        return decode(payload, Status)
    except MessageError:
        return None
