"""The link to probes that only advertise, and the scan that all share: our own code and an unmodified library."""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager

import pytest
from bleak import BleakScanner
from bleak.exc import BleakDBusError
from dbus_fast import Variant

from ingest.decode.bthome import BTHomeDecoder
from ingest.decode.bthome_encryption import AdvertCipher
from ingest.frames import Frame, LinkError
from ingest.link.adverts import AdvertisingProbe
from ingest.link.bluetooth import BluetoothInstrument
from ingest.link.bluetooth_scan import SharedScan
from simulators.device.adverts import AdvertisingDevice
from simulators.device.bluez_objects import DEVICE, Characteristic, Peripheral
from simulators.device.fake_bluez import FakeBluez
from tests.bluetooth import ADDRESS, needs_fake_bluez, reached
from tests.listening import Listener, listening

pytestmark = needs_fake_bluez

SECOND_ADDRESS = "C0:00:5E:00:53:02"
VALUES = {"air": 25.06, "moist": 50.55, "cells": float("nan")}
OBJECTS = {"moist": 0x03, "air": 0x02, "cells": 0x01}


@pytest.fixture
async def bluez() -> AsyncIterator[FakeBluez]:
    async with reached(FakeBluez()) as bluez:
        yield bluez


@asynccontextmanager
async def probe(
    bluez: FakeBluez,
    address: str = ADDRESS,
    read: Callable[[], Mapping[str, float]] = lambda: VALUES,
    key: bytes = b"",
) -> AsyncIterator[AdvertisingDevice]:
    async with AdvertisingDevice(
        read, bluez=bluez, address=address, name=f"probe {address[-1]}", objects=OBJECTS, key=key, interval_s=0.02
    ) as device:
        yield device


@pytest.mark.parametrize(
    "link",
    [AdvertisingProbe(device_name="probe 1"), AdvertisingProbe(address=ADDRESS.lower())],
    ids=["by name", "by address"],
)
async def test_adverts_that_repeat_themselves_all_arrive(bluez: FakeBluez, link: AdvertisingProbe) -> None:
    async with probe(bluez), listening(link) as listener:
        frames = await listener.heard(5)
    assert {frame.payload for frame in frames} == {bytes.fromhex("4002CA0903BF13")}
    assert {frame.source for frame in frames} == {ADDRESS}
    assert BTHomeDecoder()(frames[0]) == {"temperature": 25.06, "humidity": 50.55}
    assert listener.connections == 1


async def test_encrypted_adverts() -> None:
    key = bytes(range(16))
    link = AdvertisingProbe(address=ADDRESS)
    async with reached(FakeBluez()) as bluez, probe(bluez, key=key), listening(link) as listener:
        frames = await listener.heard(3)
    decode = BTHomeDecoder(AdvertCipher(key))
    assert [decode(frame) for frame in frames] == [{"temperature": 25.06, "humidity": 50.55}] * len(frames)


async def test_silence_is_not_absence(bluez: FakeBluez) -> None:
    async with probe(bluez) as device, listening(AdvertisingProbe(address=ADDRESS, scan=SharedScan(0.05))) as listener:
        await listener.heard(1)
        device.unplug()
        await asyncio.sleep(0.3)
        assert not listener.task.done()
        known = len(listener.frames)
        device.replug()
        await listener.heard(known + 1)
    assert listener.connections == 1


async def test_what_bluez_remembers_is_no_new_advert(bluez: FakeBluez) -> None:
    """A change of anything else is told with the data of the last advert; without a strength, nothing was heard."""
    peripheral = Peripheral(ADDRESS, "probe 1")
    async with listening(AdvertisingProbe(address=ADDRESS)) as listener:
        bluez.appear(peripheral)
        while not listener.frames:
            bluez.advertise(peripheral, {"fcd2": bytes.fromhex("400161")})
            await asyncio.sleep(0.01)
        del bluez._objects[peripheral.path][DEVICE]["RSSI"]
        body = [DEVICE, {"Paired": Variant("b", True)}, ["RSSI"]]
        bluez._signal(peripheral.path, "org.freedesktop.DBus.Properties", "PropertiesChanged", "sa{sv}as", body)
        bluez.advertise(peripheral, {"fcd2": bytes.fromhex("400160")})
        await listener.until(lambda: listener.frames[-1].payload == bytes.fromhex("400160"))
    assert [frame.payload[-1] for frame in listener.frames].count(0x60) == 1
    assert {frame.payload[-1] for frame in listener.frames[:-1]} == {0x61}


async def test_data_of_another_service_is_left(bluez: FakeBluez) -> None:
    peripheral = Peripheral(ADDRESS, "probe 1")
    bluez.appear(peripheral)
    async with listening(AdvertisingProbe(address=ADDRESS)) as listener:
        while not listener.frames:
            bluez.advertise(peripheral, {"181a": b"other"})
            await asyncio.sleep(0.01)
            bluez.advertise(peripheral, {"fcd2": b"ours"})
    assert {frame.payload for frame in listener.frames} == {b"ours"}


async def test_bluez_refuses_a_second_scan_of_one_process(bluez: FakeBluez) -> None:
    """What the shared scan is for (BlueZ, src/adapter.c, start_discovery)."""
    async with BleakScanner():
        with pytest.raises(BleakDBusError, match="InProgress"):
            await BleakScanner().start()


async def test_two_probes_and_a_connected_instrument_share_one_scan(bluez: FakeBluez) -> None:
    scan = SharedScan()
    connected = Peripheral("C0:00:5E:00:53:03", "air probe", (Characteristic("2a6e", "return air"),))
    async with (
        probe(bluez),
        probe(bluez, SECOND_ADDRESS),
        listening(AdvertisingProbe(address=ADDRESS, scan=scan)) as first,
        listening(AdvertisingProbe(address=SECOND_ADDRESS, scan=scan)) as second,
        listening(BluetoothInstrument(device_name="air probe", scan=scan)) as third,
    ):
        await first.heard(2)
        await second.heard(2)
        bluez.appear(connected)
        await third.connected()
        heard = len(first.frames)
        await first.heard(heard + 2)
    assert {frame.source for frame in first.frames} == {ADDRESS}
    assert {frame.source for frame in second.frames} == {SECOND_ADDRESS}
    assert bluez._searching == set()


async def test_a_failed_scan_is_told_to_all_and_the_next_one_works() -> None:
    scan = SharedScan()
    links = [AdvertisingProbe(address=address, scan=scan) for address in (ADDRESS, SECOND_ADDRESS)]
    async with reached(FakeBluez(powered=False)) as bluez, probe(bluez):
        async with listening(links[0]) as first, listening(links[1]) as second:
            for listener in (first, second):
                error = await listener.error()
                assert isinstance(error, LinkError)
                assert "Turn on Bluetooth" in str(error)
        bluez.switch_on()
        heard: list[Frame] = []
        while not heard:
            async with listening(links[0]) as again:
                await asyncio.wait([again.task], timeout=0.2)
                heard = again.frames


async def test_a_scan_that_went_with_the_bus_is_noticed_by_its_silence() -> None:
    async with reached(FakeBluez()) as bluez, probe(bluez):
        listener = Listener(AdvertisingProbe(address=ADDRESS, scan=SharedScan(0.1)))
        await listener.heard(1)
    assert isinstance(await listener.error(), LinkError)
