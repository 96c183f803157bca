"""From the broker to the hubs, for as long as the page is served. It reconnects by itself, with patience.

One connection serves all of them: a broker may bind the client id to the user, and end the first of two.
"""

import asyncio
import logging
import random
from collections.abc import Callable, Iterable

import aiomqtt

from dashboard.errors import AskError
from dashboard.hub import Hub, Publish
from dashboard.settings import Settings
from dashboard.watch.wall import Wall
from ingest.wire.messages import MessageError, rig_and_kind, topic

logger = logging.getLogger(__name__)

KINDS_OF_A_HUB = (
    "bench/about",
    "bench/reveal",
    "bench/state",
    "status",
    "about",
    "readings",
    "latest",
    "advice",
    "marks",
    "visit",
    "checklist/+",
    "units",
    "history",
    "unit/+",
    "answer/+/+",
    "watching/+/+",
)
_QUALITY_OF_SERVICE = 1
_LONGEST_QUEUE = 2000
_SHORTEST_WAIT_S = 0.5
_LONGEST_WAIT_S = 8.0


class Feed:
    """Feeds the wall with what is told of every rig in brief, and each hub with all that is told of its rig.

    hubs: gives those that are open now; `renew` is to be called when that is another list. publish: sends to the
    broker; None while it is out of reach.
    """

    def __init__(self, settings: Settings, wall: Wall, hubs: Callable[[], Iterable[Hub]]) -> None:
        self._settings = settings
        self._wall = wall
        self._hubs = hubs
        self._subscribed: set[str] = set()
        self.publish: Publish | None = None
        self._client: aiomqtt.Client | None = None
        self._renewing = asyncio.Lock()

    async def run(self) -> None:
        """Feed until cancelled."""
        wait_s = _SHORTEST_WAIT_S
        broker = self._settings.broker
        while True:
            try:
                overflow = asyncio.Event()
                async with self._made(overflow) as client:
                    self._client, self._subscribed = client, set()
                    await self._subscribe(client)
                    logger.info("listening to %s:%d", broker.host, broker.port)
                    wait_s = _SHORTEST_WAIT_S
                    await self._listen(client, overflow)
            except aiomqtt.MqttError as error:
                logger.log(
                    logging.WARNING if wait_s == _SHORTEST_WAIT_S else logging.DEBUG,
                    "broker %s:%d: %s; trying again until it is back", broker.host, broker.port, error,
                )  # fmt: skip
            finally:
                self._client = None
                self._connected(None)
            await asyncio.sleep(wait_s * random.uniform(0.5, 1.0))  # noqa: S311 - spreads reconnections, no secret
            wait_s = min(2 * wait_s, _LONGEST_WAIT_S)

    def _made(self, overflow: asyncio.Event) -> aiomqtt.Client:
        """Make a client that sets `overflow` when more comes at once than it keeps, which it then drops."""

        class Incoming(asyncio.Queue[aiomqtt.Message]):
            def put_nowait(self, message: aiomqtt.Message) -> None:
                if self.full():
                    overflow.set()
                super().put_nowait(message)

        return aiomqtt.Client(
            **self._settings.broker.client_arguments(),
            queue_type=Incoming,
            max_queued_incoming_messages=_LONGEST_QUEUE,
        )

    def _wanted(self) -> set[str]:
        """Name what to subscribe to. Nothing twice: what any rig tells in brief comes for its hub as well."""
        of_any = set(self._wall.KINDS)
        wanted = {topic(self._settings.rig or "+", kind) for kind in of_any}
        for hub in self._hubs():
            wanted |= {topic(hub.rig or "+", kind) for kind in KINDS_OF_A_HUB if kind not in of_any}
        return wanted

    async def renew(self) -> None:
        """Subscribe to what is wanted by now. Where the connection is lost, the next one does."""
        async with self._renewing:
            try:
                if self._client is not None:
                    await self._subscribe(self._client)
            except aiomqtt.MqttError as error:
                logger.debug("nothing more is subscribed to on a connection that ends: %s", error)

    async def _subscribe(self, client: aiomqtt.Client) -> None:
        """Subscribe to what is wanted by now: of what is new, the broker says again all that it retains."""
        wanted = self._wanted()
        if new := wanted - self._subscribed:
            await client.subscribe([(name, _QUALITY_OF_SERVICE) for name in sorted(new)])
        if old := self._subscribed - wanted:
            await client.unsubscribe(sorted(old))
        self._subscribed = wanted

    def _connected(self, publish: Publish | None) -> None:
        self.publish = publish
        self._wall.connected(publish)
        for hub in self._hubs():
            hub.connected(publish)

    async def _listen(self, client: aiomqtt.Client, overflow: asyncio.Event) -> None:
        async def publish(to: str, payload: bytes) -> None:
            try:
                await client.publish(to, payload, qos=_QUALITY_OF_SERVICE)
            except aiomqtt.MqttError as error:
                raise AskError(503, f"The rig's broker did not take it: {error}. Nothing is recorded.") from error

        self._connected(publish)
        messages = client.messages
        async for message in messages:
            if self._hand_on(str(message.topic), message.payload):
                await self.renew()
            if overflow.is_set() and not len(messages):
                overflow.clear()
                logger.info("more came at once than the page keeps: it recalls it from the record")
                self._subscribed = set()
                await self._subscribe(client)
                for hub in self._hubs():
                    hub.past_wanted.set()

    def _hand_on(self, name: str, payload: bytes) -> bool:
        """Give a message to whoever it is for, and tell whether a hub has found its rig: the first that it hears of."""
        try:
            rig, kind = rig_and_kind(name)
        except MessageError as error:
            self._wall.refuse("name", name, error)
            return False
        found = False
        for hub in self._hubs():
            found |= hub.rig is None
            if hub.rig in (None, rig):
                hub.receive(name, payload)
        if kind in self._wall.KINDS:
            self._wall.receive(name, payload)
        return found
