"""The Bluetooth link: our own code and an unmodified library, with only the bus behind them simulated."""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from bleak import BleakClient, BleakScanner

from ingest.decode.gatt import GattDecoder
from ingest.frames import Frame, LinkError, LinkSetupError
from ingest.link.bluetooth import BluetoothInstrument
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.bluez_objects import Characteristic, Peripheral
from simulators.device.fake_bluez import FakeBluez
from simulators.device.private_bus import private_bus
from tests.bluetooth import ADDRESS, AIR_PROBE, needs_fake_bluez, reached
from tests.listening import Listener, listening

pytestmark = needs_fake_bluez

VALUES = {"return air": 23.45, "supply air": 12.0, "outdoor air": 35.0, "return air humidity": 52.3}


@pytest.fixture
async def bluez() -> AsyncIterator[FakeBluez]:
    async with reached(FakeBluez()) as bluez:
        yield bluez


@asynccontextmanager
async def air_probe(
    bluez: FakeBluez, read: Callable[[], Mapping[str, float]] = lambda: VALUES
) -> AsyncIterator[BluetoothDevice]:
    async with BluetoothDevice(
        read, bluez=bluez, address=ADDRESS, name="air probe", characteristics=AIR_PROBE, interval_s=0.02
    ) as probe:
        yield probe


def values_of(frames: list[Frame]) -> dict[str, object]:
    decode = GattDecoder()
    return {name: value for frame in frames for name, value in decode(frame).items()}


@pytest.mark.parametrize(
    "link",
    [BluetoothInstrument(device_name="air probe"), BluetoothInstrument(address=ADDRESS.lower())],
    ids=["by name", "by address"],
)
async def test_four_described_characteristics_three_of_them_alike(bluez: FakeBluez, link: BluetoothInstrument) -> None:
    async with air_probe(bluez), listening(link) as listener:
        frames = await listener.heard(12)
    assert values_of(frames) == VALUES
    assert {frame.source for frame in frames} >= {"2a6e:return air", "2a6f:return air humidity"}
    assert listener.connections == 1


async def test_notifications_come_in_order_and_none_is_lost(bluez: FakeBluez) -> None:
    probe = Peripheral(ADDRESS, "air probe", (Characteristic("2a6f", "count"),))
    bluez.appear(probe)
    async with listening(BluetoothInstrument(device_name="air probe")) as listener:
        await listener.connected()
        while not listener.frames:
            bluez.notify(probe, 0, bytes(2))
            await asyncio.sleep(0.01)
        for number in range(1, 2001):
            bluez.notify(probe, 0, number.to_bytes(2, "little"))
            if number % 50 == 0:  # the bus library breaks off if its socket fills up
                await listener.heard(number)
        await listener.until(lambda: listener.frames[-1].payload == (2000).to_bytes(2, "little"))
    received = [int.from_bytes(frame.payload, "little") for frame in listener.frames]
    assert [number for number in received if number] == list(range(1, 2001))


async def test_characteristics_without_a_description_are_numbered(bluez: FakeBluez) -> None:
    probe = Peripheral(
        ADDRESS, "plain probe", tuple(Characteristic(assigned) for assigned in ("2a6e", "2a6f", "2a6e", "2a00"))
    )
    bluez.appear(probe)
    async with listening(BluetoothInstrument(device_name="plain probe")) as listener:
        await listener.connected()
        while len({frame.source for frame in listener.frames}) < 3:
            for index in range(4):
                bluez.notify(probe, index, bytes.fromhex("2909"))
            await asyncio.sleep(0.01)
    assert {frame.source for frame in listener.frames} == {
        "2a6e:Temperature 1",
        "2a6f:Humidity",
        "2a6e:Temperature 2",
    }


async def test_a_forced_drop_ends_the_link_and_the_next_one_connects(bluez: FakeBluez) -> None:
    async with air_probe(bluez) as probe:
        for _ in range(3):
            async with listening(BluetoothInstrument(device_name="air probe")) as listener:
                await listener.heard(4)
                probe.drop()
                error = await listener.error()
            assert isinstance(error, LinkError)
            assert "connection was lost" in str(error)


async def test_a_connection_left_by_a_killed_process_is_taken_over(bluez: FakeBluez) -> None:
    """BlueZ keeps it, and a connected device does not advertise: searching alone would never find it."""
    async with air_probe(bluez):
        device = await BleakScanner.find_device_by_name("air probe", timeout=5)
        assert device is not None
        forgotten = BleakClient(device)
        await forgotten.connect()
        async with listening(BluetoothInstrument(device_name="air probe", search_s=0.5)) as listener:
            await listener.heard(4)
        await forgotten.disconnect()


async def test_a_device_that_comes_late_is_found(bluez: FakeBluez) -> None:
    async with listening(BluetoothInstrument(device_name="air probe")) as listener:
        await asyncio.sleep(0.3)
        async with air_probe(bluez):
            await listener.heard(4)


async def test_a_device_out_of_reach_is_named(bluez: FakeBluez) -> None:
    async with (
        air_probe(bluez),
        listening(BluetoothInstrument(device_name="other", search_s=0.3)) as listener,
    ):
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "other: not heard for 0.3 s" in str(error)


async def test_a_device_of_another_kind_stops_the_instrument(bluez: FakeBluez) -> None:
    bluez.appear(Peripheral(ADDRESS, "a scale", (Characteristic("2a9d", "weight"),)))
    async with listening(BluetoothInstrument(device_name="a scale")) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "no characteristic that we decode" in str(error)


@pytest.mark.parametrize(
    ("bluez_without", "says"),
    [
        (FakeBluez(with_adapter=False), "No Bluetooth adapters"),
        (FakeBluez(powered=False), "Turn on Bluetooth"),
    ],
    ids=["no adapter", "switched off"],
)
async def test_no_bluetooth_says_so(bluez_without: FakeBluez, says: str) -> None:
    async with reached(bluez_without), listening(BluetoothInstrument(device_name="air probe")) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert says in str(error)


async def test_no_bus_at_all(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"unix:path={tmp_path}/nothing")
    async with listening(BluetoothInstrument(device_name="air probe")) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "no system D-Bus" in str(error)


async def test_a_bus_without_bluez(monkeypatch: pytest.MonkeyPatch) -> None:
    async with private_bus() as address:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", address)
        async with listening(BluetoothInstrument(device_name="air probe")) as listener:
            error = await listener.error()
    assert isinstance(error, LinkError)
    assert "Bluetooth service of this machine does not run" in str(error)


async def test_the_bus_going_down_ends_the_link() -> None:
    async with reached(FakeBluez()) as bluez, air_probe(bluez):
        listener = Listener(BluetoothInstrument(device_name="air probe"))
        await listener.heard(4)
    assert isinstance(await listener.error(), LinkError)


async def test_what_does_not_notify_is_read_at_the_interval_and_what_notifies_is_not_read(bluez: FakeBluez) -> None:
    only_read, both, hidden = (
        Characteristic("2a6e", name, flags)
        for name, flags in (("pipe", ("read",)), ("air", ("read", "notify")), ("coil", ("write",)))
    )
    probe = Peripheral(ADDRESS, "slow probe", (only_read, both, hidden))
    for index in range(3):
        bluez.set_value(probe, index, bytes.fromhex("2909"))
    bluez.appear(probe)
    async with listening(BluetoothInstrument(device_name="slow probe", poll_s=0.02)) as listener:
        await listener.heard(3)
        bluez.set_value(probe, 0, bytes.fromhex("b004"))
        await listener.until(lambda: listener.frames[-1].payload == bytes.fromhex("b004"))
        assert {frame.source for frame in listener.frames} == {"2a6e:pipe"}
        bluez.notify(probe, 1, bytes.fromhex("ac0d"))
        await listener.until(lambda: any(frame.source == "2a6e:air" for frame in listener.frames))
        bluez.drop(probe)
        assert isinstance(await listener.error(), LinkError)


async def test_a_characteristic_that_describes_itself(bluez: FakeBluez) -> None:
    """A maker's own characteristic in 0.1 psi, valid from 0 to 800 psi; without its format it would be left alone."""
    own = "0000aa01-f000-4000-8000-00805f9b34fb"
    described = Characteristic(
        own,
        "suction",
        descriptors={"2904": bytes.fromhex("0EFFA527010000"), "2906": bytes.fromhex("0000401F")},
    )
    probe = Peripheral(ADDRESS, "own probe", (Characteristic(own, "left alone"), described))
    bluez.appear(probe)
    decode = GattDecoder()
    async with listening(BluetoothInstrument(device_name="own probe")) as listener:
        await listener.heard(2)
        while len(listener.frames) < 3:
            bluez.notify(probe, 0, bytes.fromhex("2909"))
            bluez.notify(probe, 1, bytes.fromhex("9E04"))
            await asyncio.sleep(0.01)
        first, second, third = listener.frames[:3]
    assert (first.source, second.source, third.source) == ("2904:suction", "2906:suction", f"{own}:suction")
    assert [decode(frame) for frame in (first, second, third)] == [{}, {}, {"suction [psi]": 118.2}]
