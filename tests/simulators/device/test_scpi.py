"""The simulated meter: what SCPI-99 and IEEE 488.2 ask of it, at the other end of its port.

SCPI-99 volume 1, 7.2.1 (9.9E37 infinity, 9.91E37 not a number), volume 2, 21.8 (SYSTem:ERRor? gives
`0,"No error"` and `-113,"Undefined header"`, oldest first); IEEE 488.2 (*IDN? gives four fields, *CLS empties
the queue).
"""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import serial

from simulators.device.scpi import ScpiDevice

values = {"amps": 18.42, "over": float("inf"), "under": float("-inf"), "open": float("nan")}


@pytest.fixture
async def meter(tmp_path: Path) -> AsyncIterator[serial.Serial]:
    queries = {f"MEAS:CURR:AC? (@{number})": name for number, name in enumerate(values, 1)}
    settings = frozenset({"CONF:RANG:AUTO ON"})
    async with ScpiDevice(lambda: values, address=tmp_path / "usb-meter", queries=queries, settings=settings) as device:
        with serial.Serial(device.address, 9600, timeout=2) as port:
            yield port


async def ask(port: serial.Serial, query: str) -> bytes:
    port.write(query.encode() + b"\n")
    answer: bytes = await asyncio.to_thread(port.readline)
    return answer


@pytest.mark.parametrize(
    ("channel", "answer"),
    [
        (1, b"+1.84200000E+01\n"),
        (2, b"9.90000000E+37\n"),
        (3, b"-9.90000000E+37\n"),
        (4, b"9.91000000E+37\n"),
    ],
)
async def test_measurements(meter: serial.Serial, channel: int, answer: bytes) -> None:
    assert await ask(meter, f"MEAS:CURR:AC? (@{channel})") == answer


async def test_identity_has_four_fields(meter: serial.Serial) -> None:
    assert (await ask(meter, "*idn?")).count(b",") == 3


async def test_error_queue(meter: serial.Serial) -> None:
    assert await ask(meter, "SYST:ERR?") == b'0,"No error"\n'
    meter.write(b"CONF:RANG:AUTO ON\nCONF:NONSENSE\n")
    assert await ask(meter, "SYST:ERR?") == b'-113,"Undefined header"\n'
    assert await ask(meter, "SYST:ERR?") == b'0,"No error"\n'
    meter.write(b"CONF:NONSENSE\n*CLS\n")
    assert await ask(meter, "SYST:ERR?") == b'0,"No error"\n'


async def test_commands_may_arrive_in_pieces(meter: serial.Serial) -> None:
    meter.write(b"*ID")
    await asyncio.sleep(0.02)
    assert (await ask(meter, "N?")).startswith(b"SIMULATED")
