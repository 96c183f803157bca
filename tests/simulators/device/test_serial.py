"""The simulated text probe and its port, seen from outside: raw bytes at the other end."""

import asyncio
import os
from pathlib import Path
from typing import Any

import pytest

from simulators.device.device import Read
from simulators.device.pty_port import PtyPort
from simulators.device.serial import SerialProbe

GOOD = {"pressure": 118.256, "temperature": 50.4}


async def lines_from(path: str, count: int) -> list[bytes]:
    """Read that many lines from a port, as any program would."""
    port = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
    received = b""
    try:
        async with asyncio.timeout(5):
            while received.count(b"\n") < count:
                try:
                    received += os.read(port, 4096)
                except BlockingIOError:
                    await asyncio.sleep(0.005)
    finally:
        os.close(port)
    return received.split(b"\n")[:count]


def probe(tmp_path: Path, read: Read = lambda: GOOD, **options: Any) -> SerialProbe:
    return SerialProbe(read, address=tmp_path / "by-id" / "usb-probe", interval_s=0.01, **options)


async def test_csv_under_a_header_that_comes_back(tmp_path: Path) -> None:
    async with probe(tmp_path) as device:
        lines = await lines_from(device.address, 6)
    assert lines == [b"# pressure,temperature\r", *[b"118.26,50.40\r"] * 4, b"# pressure,temperature\r"]


async def test_json_objects(tmp_path: Path) -> None:
    async with probe(tmp_path, form="json", decimals=1) as device:
        lines = await lines_from(device.address, 2)
    assert lines == [b'{"pressure":118.3,"temperature":50.4}\r'] * 2


async def test_check(tmp_path: Path) -> None:
    """'#' 23 ^ ' ' 20 ^ 'p' 70 = 73; '1' 31 ^ '.' 2E ^ '5' 35 ^ '0' 30 = 1A, by hand."""
    async with probe(tmp_path, lambda: {"p": 1.5}, check=True) as device:
        lines = await lines_from(device.address, 2)
    assert lines == [b"# p*73\r", b"1.50*1A\r"]


@pytest.mark.parametrize(
    ("form", "line"),
    [("csv", b"OL,,1.00\r"), ("json", b'{"over":"OL","unknown":null,"good":1.00}\r')],
)
async def test_what_is_no_number(tmp_path: Path, form: str, line: bytes) -> None:
    values = {"over": float("inf"), "unknown": float("nan"), "good": 1.0}
    async with probe(tmp_path, lambda: values, form=form) as device:
        lines = await lines_from(device.address, 2)
    assert lines[-1] == line


def test_the_address_is_a_link_that_comes_and_goes_with_the_plug(tmp_path: Path) -> None:
    port = PtyPort(tmp_path / "by-id" / "usb-probe")
    for _ in range(2):
        port.plug()
        port.plug()
        assert port.address.is_symlink()
        assert port.address.is_char_device()
        port.unplug()
        port.unplug()
        assert not port.address.is_symlink()


async def test_a_replugged_probe_begins_with_its_header(tmp_path: Path) -> None:
    async with probe(tmp_path) as device:
        assert len(await lines_from(device.address, 3)) == 3
        device.unplug()
        device.replug()
        assert (await lines_from(device.address, 1)) == [b"# pressure,temperature\r"]


async def test_whoever_has_it_open_notices_the_unplugging(tmp_path: Path) -> None:
    async with probe(tmp_path) as device:
        port = os.open(device.address, os.O_RDONLY | os.O_NOCTTY)
        os.set_blocking(port, True)
        device.unplug()
        while os.read(port, 4096):
            pass  # what was still in the buffer; then nothing more: a hang-up
        os.close(port)


async def test_a_probe_that_nobody_reads_goes_on(tmp_path: Path) -> None:
    async with probe(tmp_path) as device:
        for _ in range(200):
            device.send(b"x" * 1000 + b"\n")
        assert await lines_from(device.address, 3)


async def test_an_error_in_read_comes_out(tmp_path: Path) -> None:
    def read() -> dict[str, float]:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        async with probe(tmp_path, read):
            await asyncio.sleep(0.02)
