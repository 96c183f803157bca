"""The embedded broker beside mosquitto: how much passes, how fast, and what it costs."""

import asyncio
import statistics
import tempfile
import time
from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from typing import NamedTuple

import aiomqtt
import psutil

from ingest.broker.endpoint import free_loopback_port
from ingest.config.structs import BrokerConfig
from tests.figures import Figure
from tests.serving import serving

FLOOD = 5_000
PACKS = 80
PACKS_PER_SECOND = 10
TOPIC = "dewline/1/bench/readings"


class Measured(NamedTuple):
    """What one broker did: messages a second, the delays of packs [s], and its share of one core."""

    rate: float
    delays_s: Sequence[float]
    core_share: float


async def measure() -> AsyncIterator[Figure]:
    """Measure both brokers in one run."""
    ours, mosquitto = await _measure("embedded"), await _measure("mosquitto")
    yield Figure(
        "200 B at QoS 1, to one subscriber: embedded, mosquitto",
        f"{ours.rate:,.0f}, {mosquitto.rate:,.0f} a second ({mosquitto.rate / ours.rate:.1f} to 1)",
        ">= 1,000 a second embedded",
    )
    yield Figure(
        "10 packs of 2 kB a second to two subscribers: embedded, mosquitto",
        f"{ours.core_share:.1%}, {mosquitto.core_share:.1%} of a core",
        "<= 5 % of a core",
    )
    yield Figure(
        "the same, delay of a pack: embedded, mosquitto",
        ", ".join(_in_words(each.delays_s) for each in (ours, mosquitto)),
        "p99 <= 25 ms, a tenth of a tick",
    )


def _in_words(delays_s: Sequence[float]) -> str:
    percentiles = statistics.quantiles(delays_s, n=100)
    return f"p50 {percentiles[49] * 1e3:.1f} ms p99 {percentiles[98] * 1e3:.1f} ms"


async def _measure(kind: str) -> Measured:
    port = free_loopback_port()
    config = BrokerConfig(kind=kind, listen=f"127.0.0.1:{port}")
    with tempfile.TemporaryDirectory() as directory:
        async with serving(config, Path(directory)) as process:
            broker = psutil.Process(process.pid)
            if kind == "mosquitto":
                (broker,) = [each for each in broker.children(recursive=True) if each.name() == "mosquitto"]
            delays_s, core_share = await _send_packs(port, broker)
            return Measured(await _flood(port), delays_s, core_share)


async def _send_packs(port: int, broker: psutil.Process) -> tuple[list[float], float]:
    """Send packs at the daemon's pace; returns the delays to two subscribers, and the share of a core."""
    delays_s: list[float] = []

    async def listen(client: aiomqtt.Client) -> None:
        messages = aiter(client.messages)
        for _ in range(PACKS):
            sent_ns = int((await anext(messages)).payload.rstrip(b"\0"))
            delays_s.append((time.monotonic_ns() - sent_ns) / 1e9)

    async with (
        aiomqtt.Client("127.0.0.1", port) as daemon,
        aiomqtt.Client("127.0.0.1", port) as page,
        aiomqtt.Client("127.0.0.1", port) as lead,
        asyncio.TaskGroup() as group,
    ):
        for listener in (page, lead):
            await listener.subscribe(TOPIC, qos=1)
            group.create_task(listen(listener))
        before, started_s = broker.cpu_times(), time.monotonic()
        for number in range(PACKS):
            await asyncio.sleep(max(0.0, started_s + number / PACKS_PER_SECOND - time.monotonic()))
            await daemon.publish(TOPIC, (b"%d" % time.monotonic_ns()).ljust(2_000, b"\0"), qos=1)
        after, took_s = broker.cpu_times(), time.monotonic() - started_s
    return delays_s, (after.user + after.system - before.user - before.system) / took_s


async def _flood(port: int) -> float:
    """Send as fast as the broker takes it, with clients in C; returns messages a second at the subscriber."""
    where = ("-h", "127.0.0.1", "-p", str(port), "-t", TOPIC, "-q", "1")
    subscriber = await asyncio.create_subprocess_exec(
        *("mosquitto_sub", *where, "-C", str(FLOOD)), stdout=asyncio.subprocess.DEVNULL
    )
    await asyncio.sleep(0.5)
    started_s = time.monotonic()
    publisher = await asyncio.create_subprocess_exec(*("mosquitto_pub", *where, "-l"), stdin=asyncio.subprocess.PIPE)
    await publisher.communicate((b"x" * 200 + b"\n") * FLOOD)
    try:
        async with asyncio.timeout(60):
            await subscriber.wait()
    finally:
        if subscriber.returncode is None:
            subscriber.kill()
            await subscriber.wait()
    return FLOOD / (time.monotonic() - started_s)
