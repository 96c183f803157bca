"""From the broker to the hub, for as long as the page is served. It reconnects by itself, with patience."""

import asyncio
import logging
import random

import aiomqtt

from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.settings import Settings
from ingest.wire.messages import topic

logger = logging.getLogger(__name__)

KINDS = (
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
)
_QUALITY_OF_SERVICE = 1
_LONGEST_QUEUE = 2000
_SHORTEST_WAIT_S = 0.5
_LONGEST_WAIT_S = 8.0


async def run(settings: Settings, hub: Hub) -> None:
    """Feed the hub until cancelled."""
    wait_s = _SHORTEST_WAIT_S
    while True:
        try:
            overflow = asyncio.Event()
            async with _client(settings, overflow) as client:
                await _subscribe(client, settings)
                logger.info("listening to %s:%d", settings.broker.host, settings.broker.port)
                wait_s = _SHORTEST_WAIT_S
                await _listen(client, settings, hub, overflow)
        except aiomqtt.MqttError as error:
            logger.log(
                logging.WARNING if wait_s == _SHORTEST_WAIT_S else logging.DEBUG,
                "broker %s:%d: %s; trying again until it is back", settings.broker.host, settings.broker.port, error,
            )  # fmt: skip
        finally:
            hub.connected(None)
        await asyncio.sleep(wait_s * random.uniform(0.5, 1.0))  # noqa: S311 - spreads reconnections, no secret
        wait_s = min(2 * wait_s, _LONGEST_WAIT_S)


def _client(settings: Settings, overflow: asyncio.Event) -> aiomqtt.Client:
    """Make a client that sets `overflow` when more comes at once than it keeps, which it then drops."""

    class Incoming(asyncio.Queue[aiomqtt.Message]):
        def put_nowait(self, message: aiomqtt.Message) -> None:
            if self.full():
                overflow.set()
            super().put_nowait(message)

    return aiomqtt.Client(
        **settings.broker.client_arguments(), queue_type=Incoming, max_queued_incoming_messages=_LONGEST_QUEUE
    )


async def _subscribe(client: aiomqtt.Client, settings: Settings) -> None:
    """Subscribe, again where need be: the broker then says again all that it retains."""
    await client.subscribe([(topic(settings.rig or "+", kind), _QUALITY_OF_SERVICE) for kind in KINDS])


async def _listen(client: aiomqtt.Client, settings: Settings, hub: Hub, overflow: asyncio.Event) -> None:
    async def publish(to: str, payload: bytes) -> None:
        try:
            await client.publish(to, payload, qos=_QUALITY_OF_SERVICE)
        except aiomqtt.MqttError as error:
            raise AskError(503, f"The rig's broker did not take it: {error}. Nothing is recorded.") from error

    hub.connected(publish)
    messages = client.messages
    async for message in messages:
        hub.receive(str(message.topic), message.payload)
        if overflow.is_set() and not len(messages):
            overflow.clear()
            logger.info("more came at once than the page keeps: it recalls it from the record")
            await _subscribe(client, settings)
            hub.past_wanted.set()
