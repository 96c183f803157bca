"""Listening to the broker for ever, across every loss of it."""

import asyncio
import logging
from collections.abc import Callable, Sequence

import aiomqtt

from ingest.backoff import Backoff
from ingest.messages import BrokerAddress, MessageError
from simulators.errors import SimulatorError

logger = logging.getLogger(__name__)

LARGEST_BACKLOG = 1000
"""More messages than this, unread, can only be a flood; the newest are dropped."""


async def follow(broker: BrokerAddress, topics: Sequence[str], receive: Callable[[str, bytes], None]) -> None:
    """Give every message on these topics to `receive`, as topic and payload.

    What `receive` refuses with MessageError or SimulatorError is logged, and the next one taken.
    """
    backoff, clock = Backoff(), asyncio.get_running_loop().time
    while True:
        began_s = clock()
        try:
            await _follow_once(broker, topics, receive)
        except aiomqtt.MqttError as error:
            if backoff.failures == 0:
                logger.info("waiting for the broker at %s:%d: %s", broker.host, broker.port, error)
        await asyncio.sleep(backoff.next_wait_s(clock() - began_s))


async def _follow_once(broker: BrokerAddress, topics: Sequence[str], receive: Callable[[str, bytes], None]) -> None:
    arguments = broker.client_arguments()
    async with aiomqtt.Client(**arguments, max_queued_incoming_messages=LARGEST_BACKLOG) as client:
        for topic in topics:
            await client.subscribe(topic, qos=1)
        async for message in client.messages:
            try:
                receive(str(message.topic), bytes(message.payload))
            except (MessageError, SimulatorError) as error:
                logger.warning("a message on %s cannot be used: %s", message.topic, error)
