"""A device works on one request after the other, and answers in that order."""

import asyncio
import os
from pathlib import Path

from simulators.device.scpi import IDENTITY, ScpiDevice


async def test_what_was_asked_later_is_answered_later(tmp_path: Path) -> None:
    async with ScpiDevice(lambda: {"a": 1.0}, address=tmp_path / "meter", queries={"A?": "a"}) as device:
        device.delays_s["a"] = 0.001
        port = os.open(device.address, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        said = b""
        try:
            for _ in range(50):
                os.write(port, b"A?\n" + b"*IDN?\n" * 4)
            while said.count(b"\n") < 250:
                await asyncio.sleep(0.005)
                try:
                    said += os.read(port, 4096)
                except BlockingIOError:
                    continue
        finally:
            os.close(port)
    assert said.split(b"\n")[:-1] == ([b"+1.00000000E+00"] + [IDENTITY.encode()] * 4) * 50
