"""Listening to the broker for ever, across every loss of it."""

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

import aiomqtt

from ingest.backoff import Backoff
from ingest.sending import publish
from ingest.wire.messages import BrokerAddress, MessageError
from simulators.errors import SimulatorError

logger = logging.getLogger(__name__)

LARGEST_BACKLOG = 1000
"""More messages than this, unread, can only be a flood; the newest are dropped."""


Receive = Callable[[str, bytes], Iterable["Outgoing"]]
"""Takes topic and payload, and gives what is to be published in answer."""


class Outgoing(NamedTuple):
    """A message to publish."""

    topic: str
    payload: bytes
    retain: bool = False


class Outbox:
    """What is to be published without having been asked for, in order; it waits while there is no broker."""

    def __init__(self) -> None:
        self._waiting: deque[Outgoing] = deque()
        self._something = asyncio.Event()

    def put(self, message: Outgoing) -> None:
        """Leave a message to be published."""
        self._waiting.append(message)
        self._something.set()

    async def publish_to(self, client: aiomqtt.Client) -> None:
        """Publish what waits and what will come, for ever; a message goes once the broker has it."""
        while True:
            while self._waiting:
                await _publish(client, [self._waiting[0]])
                self._waiting.popleft()
            self._something.clear()
            await self._something.wait()


async def follow(
    broker: BrokerAddress,
    topics: Sequence[str],
    receive: Receive,
    *,
    greeting: Callable[[], Iterable[Outgoing]] = list,
    outbox: Outbox | None = None,
) -> None:
    """Give every message on these topics to `receive`, as topic and payload, and publish what it answers.

    greeting: gives what to publish whenever the broker has been found. What `receive` refuses with MessageError or
    SimulatorError is logged, and the next one taken.
    """
    outbox = outbox or Outbox()
    backoff, clock = Backoff(), asyncio.get_running_loop().time
    while True:
        began_s = clock()
        try:
            await _follow_once(broker, topics, receive, greeting, outbox)
        except* aiomqtt.MqttError as errors:
            if backoff.failures == 0:
                logger.info("waiting for the broker at %s:%d: %s", broker.host, broker.port, errors.exceptions[0])
        await asyncio.sleep(backoff.next_wait_s(clock() - began_s))


async def _follow_once(
    broker: BrokerAddress,
    topics: Sequence[str],
    receive: Receive,
    greeting: Callable[[], Iterable[Outgoing]],
    outbox: Outbox,
) -> None:
    arguments = broker.client_arguments()
    async with aiomqtt.Client(**arguments, max_queued_incoming_messages=LARGEST_BACKLOG) as client:
        for topic in topics:
            await client.subscribe(topic, qos=1)
        await _publish(client, greeting())
        async with asyncio.TaskGroup() as group:
            group.create_task(_take(client, receive))
            group.create_task(outbox.publish_to(client))


async def _take(client: aiomqtt.Client, receive: Receive) -> None:
    async for message in client.messages:
        try:
            answers = receive(str(message.topic), bytes(message.payload))
        except (MessageError, SimulatorError) as error:
            logger.warning("a message on %s cannot be used: %s", message.topic, error)
        else:
            await _publish(client, answers)


async def _publish(client: aiomqtt.Client, messages: Iterable[Outgoing]) -> None:
    for message in messages:
        await publish(client, message.topic, message.payload, retain=message.retain)
