"""Sending one message to a broker, so that whoever sends can be told to end at any moment."""

import asyncio

import aiomqtt


async def publish(client: aiomqtt.Client, where: str, payload: bytes, *, qos: int = 1, retain: bool = False) -> None:
    """Publish one message, and end where this task is told to meanwhile.

    Python 3.11 loses a cancellation that comes with the broker's answer: whoever publishes would go on for ever.
    """
    task = asyncio.current_task()
    told_before = task.cancelling() if task else 0
    await client.publish(where, payload, qos=qos, retain=retain)
    if task and task.cancelling() > told_before:
        raise asyncio.CancelledError
