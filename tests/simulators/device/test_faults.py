"""What can be wrong with a device: each fault as it is defined, and every kind of device sends through it."""

import asyncio
import math
import os
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack
from pathlib import Path

import pytest

from ingest.decode.fs9721 import decode_fs9721, is_fs9721
from ingest.decode.register_map import Register, blocks
from ingest.frames import Link, LinkError, Unreadable
from ingest.link.adverts import AdvertisingProbe
from ingest.link.bluetooth_scan import SharedScan
from ingest.link.modbus_tcp import ModbusTcp
from ingest.link.port_settings import PortSettings
from ingest.link.serial_frames import SerialFrames
from simulators.device.adverts import AdvertisingDevice
from simulators.device.device import REBOOT_S, SimulatedDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.faults import LONGEST_DELAY_S, DeviceFault, DeviceFaults
from simulators.device.meter import MeterDevice
from simulators.device.modbus import ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.errors import SimulatorError
from tests.bluetooth import ADDRESS, needs_fake_bluez, reached
from tests.fault.test_unplug import Make, bluetooth_probe, meter, serial_probe
from tests.listening import listening

MESSAGE = b"118.25,50.40\r\n"


@pytest.fixture
def faults() -> DeviceFaults:
    return DeviceFaults("seed")


@pytest.fixture
async def open_devices() -> AsyncIterator[AsyncExitStack]:
    async with AsyncExitStack() as stack:
        yield stack


def sent(faults: DeviceFaults, *messages: bytes) -> list[bytes]:
    return [piece for message in messages for _, piece in faults.sent(message)]


def test_a_sound_device_sends_what_it_measures(faults: DeviceFaults) -> None:
    values = {"pressure": 118.25}
    assert faults.measured(values) == values
    assert faults.sent(MESSAGE) == [(0.0, MESSAGE)]


@pytest.mark.parametrize(("size", "least", "most"), [(1.0, 0, 0), (0.2, 700, 900)])
def test_drop(faults: DeviceFaults, size: float, least: int, most: int) -> None:
    faults.set(DeviceFault.DROP, size)
    assert least <= len(sent(faults, *[MESSAGE] * 1000)) <= most


def test_delay(faults: DeviceFaults) -> None:
    faults.set(DeviceFault.DELAY, 2.5)
    assert faults.sent(MESSAGE) == [(2.5, MESSAGE)]


def test_garbage_is_as_long_as_what_it_replaces(faults: DeviceFaults) -> None:
    faults.set(DeviceFault.GARBAGE)
    (garbage,) = sent(faults, MESSAGE)
    assert len(garbage) == len(MESSAGE)
    assert garbage != MESSAGE


def test_a_flipped_bit_is_one_bit(faults: DeviceFaults) -> None:
    faults.set(DeviceFault.BIT_FLIPS)
    for damaged in sent(faults, *[MESSAGE] * 50):
        assert (int.from_bytes(damaged) ^ int.from_bytes(MESSAGE)).bit_count() == 1
    assert sent(faults, b"") == [b""]


@pytest.mark.parametrize("fault", [DeviceFault.GARBAGE, DeviceFault.BIT_FLIPS])
def test_what_the_air_damages_is_lost(fault: DeviceFault) -> None:
    """A radio packet that does not fit its check is dropped: no damaged value comes out of it as a right one."""
    faults = DeviceFaults("seed", by_radio=True)
    faults.set(fault, 0.5)
    heard = sent(faults, *[MESSAGE] * 200)
    assert set(heard) == {MESSAGE}
    assert 60 <= len(heard) <= 140


def test_out_of_order_changes_the_order_and_loses_nothing(faults: DeviceFaults) -> None:
    faults.set(DeviceFault.OUT_OF_ORDER)
    assert sent(faults, b"1", b"2", b"3", b"4") == [b"2", b"1", b"4", b"3"]


def test_what_is_held_back_goes_by_its_own_way(faults: DeviceFaults) -> None:
    """Bytes of one characteristic never come as those of another: a value under a wrong name looks right."""
    faults.set(DeviceFault.OUT_OF_ORDER)
    goes = [[piece for _, piece in faults.sent(message, way)] for message, way in ((b"a1", 0), (b"b1", 1), (b"a2", 0))]
    assert goes == [[], [], [b"a2", b"a1"]]


def test_frozen_holds_what_was_measured_first(faults: DeviceFaults) -> None:
    faults.set(DeviceFault.FROZEN)
    assert [faults.measured({"pressure": value})["pressure"] for value in (118.0, 119.0, 120.0)] == [118.0] * 3
    faults.clear()
    assert faults.measured({"pressure": 121.0}) == {"pressure": 121.0}


def test_overload_and_the_other_unit(faults: DeviceFaults) -> None:
    faults.other_units = {"pressure": lambda psi: psi * 6.894757}  # kPa, NIST SP 811, B.8
    faults.set(DeviceFault.WRONG_UNIT)
    assert faults.measured({"pressure": 100.0, "temperature": 50.0}) == pytest.approx(
        {"pressure": 689.4757, "temperature": 50.0}
    )
    faults.set(DeviceFault.OVERLOAD)
    assert set(faults.measured({"pressure": 100.0, "temperature": 50.0}).values()) == {math.inf}


@pytest.mark.parametrize(("tells", "least", "most"), [(True, 1000, 1000), (False, 50, 150)])
def test_a_low_battery_is_told_or_felt(tells: bool, least: int, most: int) -> None:
    faults = DeviceFaults("seed", tells_low_battery=tells)
    faults.set(DeviceFault.LOW_BATTERY)
    assert least <= len(sent(faults, *[MESSAGE] * 1000)) <= most


@pytest.mark.parametrize("size", [0.0, -1.0, 1.1, math.nan])
def test_impossible_sizes(faults: DeviceFaults, size: float) -> None:
    with pytest.raises(SimulatorError, match="at most 1, was expected"):
        faults.set(DeviceFault.DROP, size)
    with pytest.raises(SimulatorError, match="at most 60"):
        faults.set(DeviceFault.DELAY, LONGEST_DELAY_S + 1)


# --- every kind of device


async def modbus(stack: AsyncExitStack, _: Path) -> tuple[SimulatedDevice, Link]:
    device = ModbusTcpDevice(lambda: {"pressure": 118.0}, registers={"pressure": SimulatedRegister(address=0)})
    await stack.enter_async_context(device)
    register = Register(field="pressure", device=1, table="holding", address=0, number_type="f32")
    return device, ModbusTcp("127.0.0.1", device.port, blocks([register]), 0.05, answer_timeout_s=0.3)


async def display(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link]:
    port = directory / "usb-meter"
    device = MeterDevice(lambda: {"ac_current": 7.6}, address=port, function="ac_current", interval_s=0.01)
    await stack.enter_async_context(device)
    return device, SerialFrames(PortSettings(device.address, 2400), 14, is_fs9721)


async def adverts(stack: AsyncExitStack, _: Path) -> tuple[SimulatedDevice, Link]:
    bluez = await stack.enter_async_context(reached(FakeBluez()))
    objects = {"outdoor": 0x02}
    device = AdvertisingDevice(
        lambda: {"outdoor": 30.0}, bluez=bluez, address=ADDRESS, name="tag", objects=objects, interval_s=0.02
    )
    await stack.enter_async_context(device)
    return device, AdvertisingProbe("", "tag", SharedScan())


DEVICES = [
    serial_probe,
    meter,
    modbus,
    display,
    pytest.param(bluetooth_probe, marks=needs_fake_bluez),
    pytest.param(adverts, marks=needs_fake_bluez),
]


@pytest.mark.parametrize("make", DEVICES)
async def test_every_kind_of_device_sends_through_its_faults(
    open_devices: AsyncExitStack, tmp_path: Path, make: Make
) -> None:
    device, link = await make(open_devices, tmp_path)
    device.misbehave(DeviceFault.DROP)
    async with listening(link) as listener:
        await asyncio.sleep(0.5)
        assert listener.frames == []
    device.faults.clear()
    async with listening(link) as listener:
        await listener.heard(2)


async def test_a_meter_shows_that_its_battery_is_low(open_devices: AsyncExitStack, tmp_path: Path) -> None:
    device, link = await display(open_devices, tmp_path)
    device.misbehave(DeviceFault.LOW_BATTERY)
    async with listening(link) as listener:
        (frame, *_) = await listener.heard(2)
    assert decode_fs9721(frame)["ac_current"] is Unreadable.LOW_BATTERY


async def test_a_reboot_is_over_by_itself(open_devices: AsyncExitStack, tmp_path: Path) -> None:
    device, link = await serial_probe(open_devices, tmp_path)
    async with listening(link) as listener:
        await listener.heard(2)
        device.misbehave(DeviceFault.REBOOT)
        assert isinstance(await listener.error(), LinkError)
    await asyncio.sleep(REBOOT_S + 0.1)
    async with listening(link) as listener:
        await listener.heard(2)


async def test_a_reboot_does_not_outlive_the_device(open_devices: AsyncExitStack, tmp_path: Path) -> None:
    device, _ = await serial_probe(open_devices, tmp_path)
    device.misbehave(DeviceFault.REBOOT)
    await open_devices.aclose()
    await asyncio.sleep(REBOOT_S + 0.1)
    assert not os.path.lexists(device.address)  # noqa: ASYNC240 - a link in a test
