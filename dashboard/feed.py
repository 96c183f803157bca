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

KINDS = ("bench/about", "bench/reveal", "status", "about", "readings", "latest", "advice", "marks", "answer/+")
_QUALITY_OF_SERVICE = 1
_LONGEST_QUEUE = 2000
_SHORTEST_WAIT_S = 0.5
_LONGEST_WAIT_S = 8.0


async def run(settings: Settings, hub: Hub) -> None:
    """Feed the hub until cancelled."""
    wait_s = _SHORTEST_WAIT_S
    while True:
        try:
            async with _client(settings) as client:
                await client.subscribe([(topic(settings.rig or "+", kind), _QUALITY_OF_SERVICE) for kind in KINDS])
                logger.info("listening to %s:%d", settings.broker.host, settings.broker.port)
                wait_s = _SHORTEST_WAIT_S
                await _listen(client, hub)
        except aiomqtt.MqttError as error:
            logger.log(
                logging.WARNING if wait_s == _SHORTEST_WAIT_S else logging.DEBUG,
                "broker %s:%d: %s; trying again until it is back", settings.broker.host, settings.broker.port, error,
            )  # fmt: skip
        finally:
            hub.connected(None)
        await asyncio.sleep(wait_s * random.uniform(0.5, 1.0))  # noqa: S311 - spreads reconnections, no secret
        wait_s = min(2 * wait_s, _LONGEST_WAIT_S)


def _client(settings: Settings) -> aiomqtt.Client:
    return aiomqtt.Client(**settings.broker.client_arguments(), max_queued_incoming_messages=_LONGEST_QUEUE)


async def _listen(client: aiomqtt.Client, hub: Hub) -> None:
    async def publish(to: str, payload: bytes) -> None:
        try:
            await client.publish(to, payload, qos=_QUALITY_OF_SERVICE)
        except aiomqtt.MqttError as error:
            raise AskError(503, f"The rig's broker did not take it: {error}. Nothing is recorded.") from error

    hub.connected(publish)
    async for message in client.messages:
        hub.receive(str(message.topic), message.payload)
