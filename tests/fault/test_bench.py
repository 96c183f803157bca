"""Faults of the whole house: the daemon killed in the middle, instruments unplugged, nonsense on the wire."""

import asyncio
import os
import random
from collections.abc import Callable
from functools import partial
from itertools import pairwise
from pathlib import Path

import aiomqtt
import psutil
import pytest
from playwright.async_api import Locator

from ingest.wire.messages import Pack, decode_pack, topic
from tests.bench import RIG, Bench, bench, kill, stock_subscriber
from tests.browser import chromium, figure, new_page
from tests.processes import eventually

KILLS = int(os.environ.get("DEWLINE_DAEMON_KILLS", "3"))
"""How often the daemon of a bench is killed: `make visit-kills` does it more often."""
INSTRUMENTS = {
    "low side probe": "suction_pressure",
    "high side probe": "liquid_pressure",
    "clamp meter": "compressor_current",
    "air probe": "return_air_temperature",
}


async def test_a_daemon_killed_again_and_again_loses_no_committed_reading(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port) as it:
        await eventually("packs are recorded", lambda: has_packs(it, 4))
        seen: dict[int, bytes] = {}
        for _ in range(KILLS):
            daemon = it.daemon()
            assert daemon is not None
            kill(daemon)
            seen.update(it.packs_on_disk())
            newest = max(seen)
            await eventually("the daemon records again", lambda after=newest: has_packs(it, after + 2), within_s=10)
            await asyncio.sleep(random.uniform(0.0, 0.6))
        on_disk = dict(it.packs_on_disk())
    assert {number: on_disk.get(number) for number in seen} == seen
    assert sorted(on_disk) == list(range(1, len(on_disk) + 1))
    assert {decode_pack(payload).session for payload in on_disk.values()} == set(range(1, KILLS + 2))


async def has_packs(it: Bench, at_least: int) -> bool:
    if not (it.directory / "bench.sqlite").exists():
        return False
    packs = await asyncio.to_thread(it.packs_on_disk)
    return bool(packs) and packs[-1][0] >= at_least


async def newest_pack(it: Bench) -> Pack:
    _, payload = (await asyncio.to_thread(it.packs_on_disk))[-1]
    return decode_pack(payload)


@pytest.mark.browser
async def test_each_instrument_unplugged_goes_stale_alone_and_returns_by_itself(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port) as it, chromium() as browser:
        page = await new_page(browser)
        await page.goto(it.page)
        await eventually("every instrument reads", lambda: all_ok(it), within_s=20)
        for instrument, channel in INSTRUMENTS.items():
            others = [name for name in INSTRUMENTS.values() if name != channel]
            await it.ask_bench(instrument, "unplug")
            await eventually(f"{channel} goes stale", lambda name=channel: is_stale(it, name), within_s=10)
            readings = (await newest_pack(it)).readings
            assert {readings[name].quality for name in others} == {"ok"}
            table = page.locator("[data-live=instruments]")
            await eventually("the page says so", partial(contains, table, "trying again", "connecting"), within_s=5)
            if channel == "suction_pressure":
                await eventually("the ruler shows its age", lambda: contains(page.locator("[data-live=ruler]"), "old"))
            await it.ask_bench(instrument, "replug")
            await eventually(f"{channel} returns", lambda: all_ok(it), within_s=25)
        packs = [decode_pack(payload) for _, payload in it.packs_on_disk()]
    steps = [after.monotonic_s - before.monotonic_s for before, after in pairwise(packs)]
    assert max(steps) < 1.0  # the tick never hiccupped


async def all_ok(it: Bench) -> bool:
    readings = (await newest_pack(it)).readings if await has_packs(it, 1) else {}
    return all(name in readings and readings[name].quality == "ok" for name in INSTRUMENTS.values())


async def is_stale(it: Bench, channel: str) -> bool:
    return (await newest_pack(it)).readings[channel].quality == "stale"


async def contains(locator: Locator, *words: str) -> bool:
    text = (await locator.text_content() or "").lower()
    return any(word in text for word in words)


@pytest.mark.browser
@pytest.mark.parametrize("broker_kind", ["mosquitto", "embedded"])
async def test_nonsense_on_the_wire_crashes_nothing_and_loses_nothing(
    broker_kind: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    nonsense = [b"\xff\xfe", b"[NaN]", b"[" * 5000, b'[{"n":"pack","v":1e999}]', b'{"id":1}', b"", b"[]", b"null"]
    async with bench(tmp_path, free_port, broker_kind=broker_kind) as it, chromium() as browser:
        await eventually("every instrument reads", lambda: all_ok(it), within_s=20)
        daemon = it.daemon()
        assert daemon is not None
        page = await new_page(browser)
        await page.goto(it.page)
        await page.locator("[data-figure=superheat]").wait_for(timeout=15_000)
        for kind in (
            "readings",
            "latest",
            "about",
            "advice",
            "marks",
            "status",
            "ask/technician/added",
            "ask/technician/nothing",
        ):
            await publish(it, kind, *nonsense)
        for kind in ("readings", "ask/technician/added"):
            await publish_huge(it, kind)
        first = (await newest_pack(it)).sequence
        assert first is not None
        await eventually("recording goes on", lambda: has_packs(it, first + 8))
        packs = await stock_subscriber(it.broker_port, topic(RIG, "readings"), count=4)
        assert len(packs) == 4
        assert await figure(page, "superheat") is not None
        assert daemon.is_running()
        assert psutil.Process(daemon.pid).create_time() == daemon.create_time()
        on_disk = [number for number, _ in it.packs_on_disk()]
        assert on_disk == list(range(1, len(on_disk) + 1))


async def publish(it: Bench, kind: str, *payloads: bytes) -> None:
    async with aiomqtt.Client(**it.address.client_arguments()) as client:
        for payload in payloads:
            await client.publish(topic(RIG, kind), payload, qos=1)


async def publish_huge(it: Bench, kind: str) -> None:
    """10 MB: a broker may take it or cut the connection; either way nobody else may suffer."""
    try:
        await publish(it, kind, bytes(10_000_000))
    except aiomqtt.MqttError:
        return
