"""Every fault of an instrument on a rig: the daemon goes on with the others, and says what is wrong with this one."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import aiomqtt
import pytest

from ingest.wire.messages import About, Advice, BrokerAddress, InstrumentAbout, Reading, decode, decode_pack, topic
from simulators.bench.bench import RIG_NAME, SimulatedRig
from simulators.bench.scenario import load_scenario
from simulators.device import fake_bluez
from tests.brokers import Ear, listening_to
from tests.processes import running

PROBE, OWN = "low side probe", ("suction_pressure", "suction_line_temperature")
OTHERS = ("liquid_pressure", "compressor_current")
SPEED = 5.0  # doubts wait half a minute of the unit's time


@dataclass(frozen=True)
class Scene:
    """A bench and its daemon, and what the daemon says."""

    port: int
    ear: Ear

    async def ask(self, do: str, size: float | None = None) -> None:
        async with aiomqtt.Client("127.0.0.1", self.port) as client:
            ask = {"instrument": PROBE, "do": do, "size": size}
            await client.publish(topic(RIG_NAME, "bench/ask"), json.dumps(ask), qos=1)

    def newest(self, kind: str) -> bytes | None:
        full = topic(RIG_NAME, kind)
        return next((payload for heard, payload, _ in reversed(self.ear.heard) if heard == full), None)

    def reading(self, name: str) -> Reading | None:
        payload = self.newest("readings")
        return decode_pack(payload).readings[name] if payload else None

    def qualities(self, *names: str) -> set[str]:
        return {reading.quality for name in names if (reading := self.reading(name))}

    def probe(self) -> InstrumentAbout:
        about = decode(self.newest("about") or b"", About)
        return next(it for it in about.instruments if it.name == PROBE)

    def doubts(self) -> str:
        return " ".join(doubt.reason.us for doubt in decode(self.newest("advice") or b"", Advice).doubts)

    def is_well(self) -> bool:
        return self.qualities(*OWN, *OTHERS) == {"ok"}

    def is_stale(self) -> bool:
        return self.qualities(*OWN) == {"stale"}

    async def until(self, check: Callable[[], bool]) -> None:
        await self.ear.until(check, within_s=45)


@pytest.fixture
async def scene(tmp_path: Path, free_port: Callable[[], int], monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Scene]:
    monkeypatch.setattr(fake_bluez, "available", lambda: "left out of this test")
    bench = SimulatedRig(load_scenario("low_charge"), directory=tmp_path, speed=SPEED)
    address = BrokerAddress("127.0.0.1", free_port())
    async with bench:
        (tmp_path / "rig.toml").write_text(bench.configuration(address.port, "mosquitto"))
        following = asyncio.create_task(bench.follow(address))
        daemon = running(["daemon", "--config", str(tmp_path / "rig.toml")], tmp_path / "daemon.log")
        async with daemon as command, listening_to(address) as ear:
            it = Scene(address.port, ear)
            await it.until(lambda: it.newest("bench/about") is not None)  # the bench hears what is asked of it
            await it.until(it.is_well)
            yield it
            assert command.process.returncode is None
            assert "Traceback" not in command.output()
        following.cancel()
        await asyncio.wait([following])
    packs = [decode_pack(payload) for payload in ear.payloads(topic(RIG_NAME, "readings"))]
    assert all(packs[-1].readings[name].quality == "ok" for name in OTHERS)
    assert max(after.monotonic_s - before.monotonic_s for before, after in pairwise(packs)) < 1.0


async def mended(it: Scene) -> None:
    await it.ask("mend")
    await it.until(it.is_well)


async def test_what_never_arrives_is_stale(scene: Scene) -> None:
    for fault in ("drop", "low_battery"):
        await scene.ask(fault)
        await scene.until(scene.is_stale)
        await mended(scene)


async def test_what_comes_late_is_stale_for_as_long_and_then_counts(scene: Scene) -> None:
    await scene.ask("delay", 3.0)
    await scene.until(scene.is_stale)
    await scene.until(scene.is_well)


async def test_what_cannot_be_read_is_told(scene: Scene) -> None:
    await scene.ask("garbage")
    await scene.until(scene.is_stale)
    await scene.until(lambda: "could not be read" in scene.probe().reason)
    assert scene.probe().state == "connected"
    await mended(scene)
    await scene.until(lambda: scene.probe().reason == "")


async def test_flipped_bits_are_counted_as_far_as_they_show(scene: Scene) -> None:
    """Without a check on the line, a flipped digit is a number like any other; the rest is refused."""
    before = scene.probe().rejected_frames
    await scene.ask("bit_flips")
    await scene.until(lambda: scene.probe().rejected_frames > before + 3)
    await mended(scene)


async def test_lines_out_of_order_are_all_read(scene: Scene) -> None:
    await scene.ask("out_of_order")
    before = scene.probe().frames
    await scene.until(lambda: scene.probe().frames > before + 10)
    assert scene.is_well()


async def test_a_frozen_value_is_doubted(scene: Scene) -> None:
    await asyncio.sleep(8)  # so that it is known how it usually changes
    await scene.ask("frozen")
    await scene.until(lambda: "The very same number" in scene.doubts())
    assert scene.is_well()  # it is doubted, not changed
    await mended(scene)
    await scene.until(lambda: "The very same number" not in scene.doubts())


async def test_an_overload_is_told_as_one(scene: Scene) -> None:
    await scene.ask("overload")
    await scene.until(lambda: scene.qualities(*OWN) == {"overload"})
    reading = scene.reading(OWN[0])
    assert reading is not None
    assert (reading.value, reading.reason) == (None, "the instrument shows overload")
    await mended(scene)


async def test_the_other_unit_is_doubted(scene: Scene) -> None:
    await scene.ask("wrong_unit")  # from psi to kPa, and from °F to °C
    await scene.until(lambda: "as kPa it would be ordinary" in scene.doubts())
    await mended(scene)


async def test_a_reboot_is_a_loss_and_a_return(scene: Scene) -> None:
    await scene.ask("reboot")
    await scene.until(lambda: scene.probe().state != "connected" and bool(scene.probe().reason))
    await scene.until(lambda: scene.is_well() and scene.probe().state == "connected")
