"""Sending one message: how it goes out where nothing else is said, and that whoever sends ends when it is told to."""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import aiomqtt
import pytest

from ingest.sending import publish
from tests.brokers import mosquitto


class Losing:
    """Stands for a client in whose call a cancellation is lost, as asyncio.wait_for of Python 3.11 may lose one."""

    async def publish(self, *_: object, **__: object) -> None:
        told = asyncio.get_running_loop().create_future()
        task = asyncio.current_task()
        assert task is not None
        asyncio.get_running_loop().call_soon(told.set_result, None)
        asyncio.get_running_loop().call_soon(task.cancel)
        with suppress(asyncio.CancelledError):
            await told


class Answering:
    """Stands for a client whose broker answers at once."""

    async def publish(self, *_: object, **__: object) -> None:
        await asyncio.sleep(0)


async def test_a_cancellation_that_comes_with_the_answer_of_the_broker_is_not_lost() -> None:
    """Whoever publishes would go on for ever."""
    with pytest.raises(asyncio.CancelledError):
        await publish(Losing(), "about", b"")  # type: ignore[arg-type]


async def test_who_is_told_to_end_may_still_say_goodbye() -> None:
    async def last_words() -> str:
        try:
            await asyncio.sleep(3600)
        except asyncio.CancelledError:
            await publish(Answering(), "status", b"offline")  # type: ignore[arg-type]
            return "said"
        return "not told"

    task = asyncio.create_task(last_words())
    await asyncio.sleep(0)
    task.cancel()
    assert await task == "said"


async def test_unless_told_otherwise_a_message_is_acknowledged_once_and_not_kept(
    free_port: Callable[[], int], tmp_path: Path
) -> None:
    """MQTT 3.1.1, 4.3.2 and 3.3.1.3; a subscription at 2 hears at what quality of service it was sent (3.8.4)."""
    port = free_port()
    async with mosquitto(port, tmp_path), aiomqtt.Client("127.0.0.1", port) as client:
        await client.subscribe("dewline/#", qos=2)
        await publish(client, "dewline/1/bench/readings", b"1")
        assert (await anext(client.messages)).qos == 1
        await client.unsubscribe("dewline/#")
        await client.subscribe("dewline/#", qos=2)
        await publish(client, "dewline/1/bench/readings", b"2")
        assert (await anext(client.messages)).payload == b"2"  # the first was not kept for who comes later
