"""The simulated multimeter: its frames are those recorded from a meter with the chip.

Recorded frames from github.com/coddingtonbear/python-fs9721, output.csv. Their last byte holds symbols of the maker,
which the simulated meter has not.
"""

import base64
import os
from pathlib import Path

import pytest

from simulators.device_meter import MeterDevice, frame


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
