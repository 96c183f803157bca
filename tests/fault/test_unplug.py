"""Instruments unplugged and plugged in again, many times: each link comes back, and leaves nothing behind."""

import asyncio
import gc
import os
import threading
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AsyncExitStack
from pathlib import Path
from typing import NamedTuple

import pytest

from ingest.frames import Link, LinkError
from ingest.link.bluetooth import BluetoothInstrument
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_lines import SerialLines
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.device import SimulatedDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from tests.bluetooth import ADDRESS, needs_fake_bluez, reached
from tests.listening import listening

CYCLES = 20

Make = Callable[[AsyncExitStack, Path], Awaitable[tuple[SimulatedDevice, Link]]]


class Held(NamedTuple):
    """What this process holds open."""

    descriptors: int
    tasks: int
    threads: int

    @classmethod
    def now(cls) -> "Held":
        gc.collect()
        return cls(len(list(Path("/proc/self/fd").iterdir())), len(asyncio.all_tasks()), threading.active_count())

    @classmethod
    async def least(cls, looks: int = 3) -> "Held":
        """Take the least over some tenths of a second: a thread that has said its last still takes a moment to end."""
        seen = []
        for _ in range(looks):
            seen.append(cls.now())
            await asyncio.sleep(0.1)
        return cls(*(min(column) for column in zip(*seen, strict=True)))


async def cycle(device: SimulatedDevice, link: Link) -> None:
    """Connect, hear something, lose it, and find it again."""
    async with listening(link) as listener:
        await listener.heard(2)
        device.unplug()
        assert isinstance(await listener.error(), LinkError)
    device.replug()


@pytest.fixture
async def open_devices() -> AsyncIterator[AsyncExitStack]:
    async with AsyncExitStack() as stack:
        yield stack


async def serial_probe(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link]:
    probe = SerialProbe(lambda: {"pressure": 118.0}, address=directory / "usb-probe", interval_s=0.005)
    await stack.enter_async_context(probe)
    return probe, SerialLines(PortSettings(probe.address, 9600))


async def meter(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link]:
    device = ScpiDevice(lambda: {"amps": 18.42}, address=directory / "usb-meter", queries={"MEAS:CURR:AC?": "amps"})
    await stack.enter_async_context(device)
    return device, ScpiMeter(PortSettings(device.address, 9600), {"amps": "MEAS:CURR:AC?"}, poll_s=0.01)


async def bluetooth_probe(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link]:
    bluez = await stack.enter_async_context(reached(FakeBluez()))
    probe = BluetoothDevice(
        lambda: {"return air": 23.45},
        bluez=bluez,
        address=ADDRESS,
        name="air probe",
        characteristics={"return air": "2a6e"},
        interval_s=0.005,
    )
    await stack.enter_async_context(probe)
    return probe, BluetoothInstrument(device_name="air probe")


@pytest.mark.parametrize("make", [serial_probe, meter, pytest.param(bluetooth_probe, marks=needs_fake_bluez)])
async def test_nothing_is_left_behind(open_devices: AsyncExitStack, tmp_path: Path, make: Make) -> None:
    device, link = await make(open_devices, tmp_path)
    await cycle(device, link)
    await cycle(device, link)  # after which everything that is opened once is open
    before = await Held.least()
    for _ in range(CYCLES):
        await cycle(device, link)
    assert await Held.least() == before


@pytest.mark.parametrize("make", [serial_probe, meter, pytest.param(bluetooth_probe, marks=needs_fake_bluez)])
async def test_nothing_is_left_behind_by_cancelling(open_devices: AsyncExitStack, tmp_path: Path, make: Make) -> None:
    _, link = await make(open_devices, tmp_path)

    async def connect_and_cancel() -> None:
        async with listening(link) as listener:
            await listener.heard(2)

    await connect_and_cancel()
    await connect_and_cancel()
    before = await Held.least()
    for _ in range(5):
        await connect_and_cancel()
    assert await Held.least() == before


async def test_unplugged_while_a_meter_is_configured(open_devices: AsyncExitStack, tmp_path: Path) -> None:
    device, link = await meter(open_devices, tmp_path)
    assert isinstance(device, ScpiDevice)
    device.delay_s = 60
    async with listening(link) as listener:
        await asyncio.sleep(0.2)
        device.unplug()
        assert isinstance(await listener.error(), LinkError)


def terminal_behind(device: SimulatedDevice) -> str:
    return os.path.realpath(device.address)


async def test_a_port_that_comes_back_is_the_same_instrument(open_devices: AsyncExitStack, tmp_path: Path) -> None:
    """The name is what is configured; the terminal behind it may be another one every time."""
    device, link = await serial_probe(open_devices, tmp_path)
    first = terminal_behind(device)
    device.unplug()
    taken = os.openpty()  # so that the old number is not free
    device.replug()
    assert terminal_behind(device) != first
    async with listening(link) as listener:
        await listener.heard(2)
    for end in taken:
        os.close(end)
