"""Garbage on the line: it is refused, never guessed at, and the next good frame is read."""

import asyncio
import random
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from ingest.decode.gatt import GattDecoder
from ingest.decode.lines import LineDecoder
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Frame, FrameError, Value
from ingest.link.bluetooth import BluetoothInstrument
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_lines import SerialLines
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from tests.bluetooth import ADDRESS, needs_fake_bluez, reached
from tests.listening import Listener, listening


def sorted_out(frames: list[Frame], decode: Decode) -> tuple[list[Mapping[str, Value]], int]:
    """The values of the frames that are sound, and how many were refused."""
    good, refused = [], 0
    for frame in frames:
        try:
            values = decode(frame)
        except FrameError:
            refused += 1
        else:
            good += [values] if values else []
    return good, refused


async def recovered(
    listener: Listener, make_decoder: Callable[[], Decode], refusals: int
) -> tuple[list[Mapping[str, Value]], int]:
    """Listen until so many frames were refused and the last three are sound again; sort out all of them."""

    def has_recovered() -> bool:
        good, refused = sorted_out(listener.frames, decode := make_decoder())
        return refused >= refusals and len(good) >= 3 and sorted_out(listener.frames[-3:], decode)[1] == 0

    await listener.until(has_recovered)
    return sorted_out(listener.frames, make_decoder())


def garbage(seed: int, size: int) -> bytes:
    return random.Random(seed).randbytes(size)


@pytest.mark.parametrize("check", [True, False])
@pytest.mark.parametrize("form", ["csv", "json"])
async def test_serial_line(tmp_path: Path, form: str, check: bool) -> None:
    async with (
        SerialProbe(
            lambda: {"pressure": 118.25},
            address=tmp_path / "usb-probe",
            interval_s=0.005,
            form=form,  # type: ignore[arg-type]
            check=check,
        ) as probe,
        listening(SerialLines(PortSettings(probe.address, 9600))) as listener,
    ):
        await listener.heard(2)
        for seed in range(5):
            probe.send(garbage(seed, 3000))
            await asyncio.sleep(0)
        probe.send(b"118.25\n118.2" if form == "csv" else b'{"pressure":118.25}\n{"pressure":11')  # cut short
        good, _ = await recovered(listener, LineDecoder, 6)
    assert all(values == {"pressure": 118.25} for values in good)


async def test_damage_that_looks_like_numbers_is_caught_by_the_check(tmp_path: Path) -> None:
    async with (
        SerialProbe(
            lambda: {"pressure": 118.25}, address=tmp_path / "usb-probe", interval_s=0.005, check=True
        ) as probe,
        listening(SerialLines(PortSettings(probe.address, 9600))) as listener,
    ):
        await listener.heard(2)
        probe.send(b"\n718.25*11\n1718.25*11\n")
        await listener.until(lambda: any(frame.payload == b"1718.25*11" for frame in listener.frames))
        good, _ = await recovered(listener, LineDecoder, 2)
    assert all(values == {"pressure": 118.25} for values in good)


async def test_meter(tmp_path: Path) -> None:
    queries = {"MEAS:CURR:AC?": "amps"}
    async with ScpiDevice(lambda: {"amps": 18.42}, address=tmp_path / "usb-meter", queries=queries) as meter:
        link = ScpiMeter(
            PortSettings(meter.address, 9600), {"amps": "MEAS:CURR:AC?"}, poll_s=0.01, answer_timeout_s=1.0
        )
        async with listening(link) as listener:
            await listener.heard(2)
            meter.delay_s = 0.05  # a question is open most of the time now, so garbage gets into its answer
            for seed in range(10):
                meter.send(garbage(seed, 300))
                await asyncio.sleep(0.02)
            meter.delay_s = 0.0
            before = len(listener.frames)
            await listener.until(lambda: len(listener.frames) >= before + 3)
    good, refused = sorted_out(listener.frames, decode_scpi)
    assert refused == 0  # a round that garbage got into is dropped whole
    assert all(values == {"amps": 18.42} for values in good)


@needs_fake_bluez
async def test_bluetooth_probe() -> None:
    async with (
        reached(FakeBluez()) as bluez,
        BluetoothDevice(
            lambda: {"return air humidity": 52.3},
            bluez=bluez,
            address=ADDRESS,
            name="air probe",
            characteristics={"return air humidity": "2a6f"},
            interval_s=0.01,
        ) as probe,
        listening(BluetoothInstrument(device_name="air probe")) as listener,
    ):
        await listener.heard(2)
        for data in (b"", b"\x00", b"\x11\x27", b"\xfe\xff", garbage(1, 3), garbage(2, 200)):
            probe.send(0, data)
        good, refused = await recovered(listener, GattDecoder, 6)
    assert refused == 6
    assert all(values == {"return air humidity": 52.3} for values in good)
