"""The simulated multimeters: their frames are those recorded from meters with the chips.

FS9721: recorded frames from github.com/coddingtonbear/python-fs9721, output.csv. Their last byte holds symbols of the
maker, which the simulated meter has not. ES51922: from github.com/tuxmaster/QtDMM,
docs/protocols/spec/cyrustek_es51922.yaml, where the parity has been taken off.
"""

import base64
import os
from pathlib import Path

import pytest

from simulators.device.meter import MeterDevice, frame
from simulators.device.meter_frames_es51922 import frame as es51922_frame


@pytest.mark.parametrize(
    ("recorded", "value", "function"),
    [
        ("Fyk/S15id4CVoLDA1Og=", -3.541, {"V", "DC"}),
        ("Fyg1RVtpf4CVoLDA1Og=", -12.31, {"V", "DC"}),
        ("Fyg1RVtrfoGfoLDA1Og=", -12.53, {"V", "DC"}),
    ],
)
def test_frames_as_recorded(recorded: str, value: float, function: set[str]) -> None:
    assert frame(value, {*function, "AUTO", "RS232"})[:13] == base64.b64decode(recorded)[:13]


@pytest.mark.parametrize(
    ("recorded", "value", "signs"),
    [
        ("30 30 30 31 31 37 3B 30 30 30 3A 30 0D 0A", 0.0117, {"V", "DC", "AUTO"}),
        ("30 30 30 30 39 37 3B 34 30 30 3A 30 0D 0A", -0.0097, {"V", "DC", "AUTO"}),
        ("30 30 30 30 30 30 3B 32 30 30 3A 30 0D 0A", 0.0, {"V", "DC", "AUTO", "BATTERY"}),
        ("36 32 32 35 38 30 33 31 30 30 32 30 0D 0A", float("inf"), {"ohm", "AUTO"}),
    ],
)
def test_es51922_frames_as_recorded(recorded: str, value: float, signs: set[str]) -> None:
    sent = es51922_frame(value, signs)
    assert bytes(byte & 0x7F for byte in sent) == bytes.fromhex(recorded)
    assert all(byte.bit_count() % 2 for byte in sent)


def test_es51922_range_follows_the_value() -> None:
    frames = [es51922_frame(value, {"A", "AC"}) for value in (2.1999, 2.2, 18.42, 220.0)]
    shown = [bytes(byte & 0x7F for byte in frame[:6]) for frame in frames]
    assert shown == [b"021999", b"102200", b"118420", b"302200"]


def test_an_overload_shows_0l() -> None:
    digits = frame(float("inf"), {"A", "AC", "RS232"})[1:9]
    assert bytes(byte & 0x0F for byte in digits) == bytes.fromhex("0000070d06080000")
    assert frame(4000.0, {"A", "AC", "RS232"})[1:9] == digits


def test_the_range_follows_the_value() -> None:
    points = [
        [frame(value, {"A", "AC", "RS232"})[place] >> 3 & 1 for place in (3, 5, 7)] for value in (3.9, 39, 390, 3999)
    ]
    assert points == [[1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 0, 0]]


async def test_what_it_cannot_tell_it_does_not_send(tmp_path: Path) -> None:
    values = {"ac_current": float("nan")}
    device = MeterDevice(lambda: values, address=tmp_path / "usb-meter", function="ac_current", interval_s=0.005)
    async with device:
        port = os.open(device.address, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
        try:
            for _ in range(5):
                device._sample()
            with pytest.raises(BlockingIOError):
                os.read(port, 1)
        finally:
            os.close(port)


@pytest.mark.parametrize(("volts", "sent"), [(float("nan"), frame(512.0, {"ohm", "M", "AUTO", "RS232"})),
                                             (230.0, frame(230.0, {"V", "AC", "AUTO", "RS232"}))])  # fmt: skip
async def test_a_tester_of_insulation_sends_megohms_and_on_a_live_part_its_volts(
    tmp_path: Path, volts: float, sent: bytes
) -> None:
    values = {"ac_voltage": volts, "resistance": 512e6}
    device = MeterDevice(lambda: values, address=tmp_path / "usb-meter", function="insulation", interval_s=10.0)
    device.samples_by_itself = False
    async with device:
        port = os.open(device.address, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
        try:
            device._sample()
            assert os.read(port, 64) == sent
        finally:
            os.close(port)
