"""Frames of a meter over a real pseudo-terminal, from the simulated meter to its decoder."""

from collections.abc import Mapping
from pathlib import Path

from ingest.decode.fs9721 import LENGTH, decode_fs9721, is_fs9721
from ingest.decode.meter_chips import CHIPS
from ingest.frames import LinkError, Unreadable, Value
from ingest.link.port_settings import PortSettings
from ingest.link.serial_frames import SerialFrames
from simulators.device.meter import MeterDevice
from simulators.device.meter_frames_es51922 import frame as es51922_frame
from tests.listening import listening

VALUES = {"ac_current": 18.42, "dc_current": 3.999, "resistance": float("inf"), "frequency": float("nan")}


def meter(tmp_path: Path, function: str = "ac_current") -> MeterDevice:
    return MeterDevice(lambda: VALUES, address=tmp_path / "usb-meter", function=function, interval_s=0.01)


def link(device: MeterDevice) -> SerialFrames:
    return SerialFrames(PortSettings(device.address, 2400), LENGTH, is_fs9721)


async def test_what_the_meter_shows_comes_out(tmp_path: Path) -> None:
    async with meter(tmp_path) as device, listening(link(device)) as listener:
        frames = await listener.heard(3)
        assert {decode_fs9721(frame)["ac_current"] for frame in frames} == {18.42}
        assert listener.connections == 1


async def test_the_dial_hold_and_overload(tmp_path: Path) -> None:
    async with meter(tmp_path) as device, listening(link(device)) as listener:

        def values() -> Mapping[str, Value]:
            return decode_fs9721(listener.frames[-1])

        device.function = "dc_current"
        await listener.until(lambda: bool(listener.frames) and values()["dc_current"] == 3.999)
        assert values()["ac_current"] is Unreadable.OTHER_FUNCTION
        device.press_hold()
        await listener.until(lambda: values()["dc_current"] is Unreadable.HELD)
        device.press_hold()
        await listener.until(lambda: values()["dc_current"] == 3.999)
        device.function = "resistance"
        await listener.until(lambda: values()["resistance"] is Unreadable.OVERLOAD)
        device.lit.add("BATTERY")
        await listener.until(lambda: values()["resistance"] is Unreadable.LOW_BATTERY)


async def test_another_chip_with_odd_parity(tmp_path: Path) -> None:
    device = MeterDevice(
        lambda: VALUES, address=tmp_path / "usb-meter", function="ac_current", interval_s=0.01, make_frame=es51922_frame
    )
    chip = CHIPS["es51922"]
    port = SerialFrames(PortSettings(device.address, chip.baud), chip.frame_bytes, chip.is_frame)
    async with device, listening(port) as listener:
        await listener.heard(1)
        damaged = bytearray(es51922_frame(18.42, {"A", "AC"}))
        damaged[4] ^= 0x01  # it would read 18.43; the parity tells
        device.send(bytes(damaged))
        await listener.until(lambda: any(not chip.is_frame(frame.payload) for frame in listener.frames))
        known = len(listener.frames)
        await listener.heard(known + 2)
    whole = [frame for frame in listener.frames if chip.is_frame(frame.payload)]
    assert {chip.decode(frame)["ac_current"] for frame in whole} == {18.42}


async def test_noise_is_refused_and_counted_and_the_next_frame_is_whole(tmp_path: Path) -> None:
    async with meter(tmp_path) as device, listening(link(device)) as listener:
        await listener.heard(1)
        device.send(b"\x17\x28noise")
        await listener.until(lambda: any(not is_fs9721(frame.payload) for frame in listener.frames))
        known = len(listener.frames)
        await listener.until(lambda: len(listener.frames) > known and is_fs9721(listener.frames[-1].payload))


async def test_a_pulled_plug_ends_the_link(tmp_path: Path) -> None:
    async with meter(tmp_path) as device, listening(link(device)) as listener:
        await listener.heard(1)
        device.unplug()
        assert isinstance(await listener.error(), LinkError)
