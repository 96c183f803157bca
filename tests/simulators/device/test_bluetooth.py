"""The simulated Bluetooth probe, seen by an unmodified client.

Its bytes are those of the GATT Specification Supplement of the Bluetooth SIG.
"""

import asyncio
import logging
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest
from bleak import BleakClient, BleakScanner
from bleak.backends.characteristic import BleakGATTCharacteristic

from simulators.device.bluetooth import BluetoothDevice, encode
from simulators.device.fake_bluez import FakeBluez
from simulators.device.private_bus import private_bus
from simulators.errors import SimulatorError
from tests.bluetooth import ADDRESS, AIR_PROBE, needs_fake_bluez, reached
from tests.processes import eventually


@pytest.mark.parametrize(
    ("assigned", "value", "data"),
    [
        ("2a6e", 23.45, "2909"),
        ("2a6e", -273.15, "4d95"),
        ("2a6e", float("nan"), "0080"),
        ("2a6e", 400.0, "0080"),
        ("2a6f", 52.3, "6e14"),
        ("2a6f", float("inf"), "ffff"),
        ("2a6d", 101325.0, "02760f00"),
        ("2aee", 18.42, "3207"),
        ("2b18", 230.0, "8039"),
        ("2be0", 250.0, "803e00"),
        ("2b05", float("nan"), "ffffff"),
        ("2a19", 97.0, "61"),
        ("2b1b", 0.25, "fa00"),
    ],
)
def test_bytes_of_the_standard(assigned: str, value: float, data: str) -> None:
    encoded = encode(assigned, value)
    assert encoded is not None
    assert encoded.hex() == data


def test_what_the_standard_cannot_say_is_not_sent() -> None:
    assert encode("2a19", float("nan")) is None
    assert encode("2a6d", -1.0) is None


@needs_fake_bluez
async def test_a_client_finds_it_reads_its_descriptions_and_is_notified() -> None:
    values = {"return air": 23.45, "supply air": 12.0, "outdoor air": 35.0, "return air humidity": 52.3}
    notified: dict[int, bytes] = {}
    complete = asyncio.Event()

    def on_notification(sender: BleakGATTCharacteristic, data: bytearray) -> None:
        notified[sender.handle] = bytes(data)
        if len(notified) == len(values):
            complete.set()

    async with (
        reached(FakeBluez()) as bluez,
        BluetoothDevice(
            lambda: values,
            bluez=bluez,
            address=ADDRESS,
            name="air probe",
            characteristics=AIR_PROBE,
            interval_s=0.02,
        ) as probe,
    ):
        assert probe.address == ADDRESS
        device = await BleakScanner.find_device_by_name("air probe", timeout=5)
        assert device is not None
        assert device.address == ADDRESS
        async with BleakClient(device) as client:
            descriptions = {}
            for handle, characteristic in client.services.characteristics.items():
                [description] = characteristic.descriptors
                descriptions[handle] = (await client.read_gatt_descriptor(description)).decode()
                await client.start_notify(characteristic, on_notification)
            async with asyncio.timeout(5):
                await complete.wait()
    assert {descriptions[handle]: data.hex() for handle, data in notified.items()} == {
        "return air": "2909",
        "supply air": "b004",
        "outdoor air": "ac0d",
        "return air humidity": "6e14",
    }


@needs_fake_bluez
async def test_unplugged_it_is_not_found_and_replugged_it_is() -> None:
    async with (
        reached(FakeBluez()) as bluez,
        BluetoothDevice(dict, bluez=bluez, address=ADDRESS, name="air probe", characteristics={}) as probe,
    ):
        probe.unplug()
        assert await BleakScanner.find_device_by_name("air probe", timeout=0.3) is None
        probe.replug()
        assert await BleakScanner.find_device_by_name("air probe", timeout=5) is not None


@needs_fake_bluez
async def test_a_bus_that_is_killed_takes_only_bluetooth_along(caplog: pytest.LogCaptureFixture) -> None:
    async with FakeBluez() as bluez:
        probe = BluetoothDevice(dict, bluez=bluez, address=ADDRESS, name="air probe", characteristics={})
        socket = bluez.bus_address.partition("unix:path=")[2].partition(",")[0]
        own_bus = f"--config-file={Path(socket).parent}/bus.conf"
        [bus] = [found for found in psutil.process_iter(["cmdline"]) if own_bus in (found.info["cmdline"] or ())]
        bus.kill()

        async def is_away() -> bool:
            return bluez._bus is None or not bluez._bus.connected

        await eventually("the bus has ended", is_away)
        probe.replug()
        probe.unplug()
    assert [message for message in caplog.messages if "its Bluetooth instruments are gone" in message] == [
        "the bench's own message bus has ended: its Bluetooth instruments are gone until it restarts"
    ]


@needs_fake_bluez
def test_a_killed_simulator_takes_its_bus_along() -> None:
    code = (
        "import asyncio\n"
        "from simulators.device.fake_bluez import FakeBluez\n"
        "async def main():\n"
        "    async with FakeBluez() as bluez:\n"
        "        print(bluez.bus_address, flush=True)\n"
        "        await asyncio.sleep(60)\n"
        "asyncio.run(main())\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE) as simulator:
        assert simulator.stdout is not None
        address = simulator.stdout.readline().decode()
        socket = Path(address.partition("unix:path=")[2].partition(",")[0])
        assert socket.is_socket()
        os.kill(simulator.pid, signal.SIGKILL)
    deadline = time.monotonic() + 5
    while socket.parent.exists():
        assert time.monotonic() < deadline, "the bus outlived its simulator"
        time.sleep(0.01)


async def test_what_the_bus_prints_is_told_and_not_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    """It says that it may not open more files, which it need not; and why it ends."""
    program = tmp_path / "dbus-daemon"
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    program.write_text("#!/bin/sh\necho no more files >&2; exit 1\n", encoding="utf-8")
    program.chmod(0o755)
    with pytest.raises(SimulatorError, match="did not start: no more files"):
        async with private_bus():
            pass
    program.write_text("#!/bin/sh\necho no more files >&2; echo unix:path=there; exec sleep 60\n", encoding="utf-8")
    with caplog.at_level(logging.INFO):
        async with private_bus() as address:
            assert address == "unix:path=there"
    assert "no more files" in caplog.text
    assert capfd.readouterr().err == ""
