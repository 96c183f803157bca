"""The simulated Modbus devices, seen from outside: raw bytes, from the examples of the standard."""

import asyncio
import contextlib
import os
from collections.abc import Mapping
from pathlib import Path

import pytest

from simulators.device.modbus import SILENCE_S, ModbusRtuDevice, ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister, crc

REGISTERS = {
    "108": SimulatedRegister(address=107, steps_per_unit=1),
    "109": SimulatedRegister(address=108, steps_per_unit=1),
    "110": SimulatedRegister(address=109, steps_per_unit=1),
    "float": SimulatedRegister(address=8, table="input", order="BADC"),
}
VALUES = {"108": 555.0, "109": 0.0, "110": 100.0, "float": 1.5}

EXCHANGES = [
    # MODBUS Application Protocol Specification V1.1b3, 6.3: registers 108 to 110 hold 555, 0 and 100
    ("03 006b 0003", "03 06 022b 0000 0064"),
    # 6.4, with IEEE 754's 1.5 = 3FC00000 and the bytes of each word exchanged
    ("04 0008 0002", "04 04 c03f 0000"),
    # 7: a function, an address and a count that the device does not have
    ("06 006b 0003", "86 01"),
    ("03 006b 0004", "83 02"),
    ("04 006b 0001", "84 02"),
    ("03 006b 0000", "83 03"),
    ("03 006b 007e", "83 03"),
]


@pytest.mark.parametrize(
    ("frame", "check"),
    [
        # the request and the response of 6.3 to and from device 17, as they are printed in many devices' manuals
        ("11 03 006b 0003", "7687"),
        ("11 03 06 022b 0000 0064", "c8ba"),
        # the check value of this check over "123456789", 4B37, in the catalogue of parametrised CRC algorithms
        ("313233343536373839", "374b"),
    ],
)
def test_check_of_a_serial_frame(frame: str, check: str) -> None:
    assert crc(bytes.fromhex(frame)).hex() == check


ATTEMPTS = 5


def rtu(tmp_path: Path, values: Mapping[str, float] = VALUES) -> ModbusRtuDevice:
    return ModbusRtuDevice(lambda: values, address=tmp_path / "usb-bus", registers=REGISTERS, interval_s=0.01)


async def exchange(path: str, request: bytes, size: int, *, at_once: bool = False) -> bytes:
    """Send a request byte by byte, and again where a busy machine paused within it: a pause ends a frame."""
    parts = [request] if at_once else [bytes([byte]) for byte in request]
    port = os.open(path, os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
    try:
        for _ in range(ATTEMPTS):
            for part in parts:
                os.write(port, part)
                await asyncio.sleep(0)
            received = await answer_of(port, size)
            if len(received) >= size:
                return received
    finally:
        os.close(port)
    raise TimeoutError


async def answer_of(port: int, size: int) -> bytes:
    received = b""
    with contextlib.suppress(TimeoutError):
        async with asyncio.timeout(1):
            while len(received) < size:
                try:
                    received += os.read(port, 4096)
                except BlockingIOError:
                    await asyncio.sleep(0.005)
    return received


@pytest.mark.parametrize(("request_pdu", "answer_pdu"), EXCHANGES)
async def test_rtu(tmp_path: Path, request_pdu: str, answer_pdu: str) -> None:
    request, answer = b"\x01" + bytes.fromhex(request_pdu), b"\x01" + bytes.fromhex(answer_pdu)
    answer += crc(answer)
    async with rtu(tmp_path) as device:
        assert await exchange(device.address, request + crc(request), len(answer)) == answer


@pytest.mark.parametrize("at_once", [True, False])
async def test_rtu_is_silent_to_damage_and_to_what_is_meant_for_another(tmp_path: Path, at_once: bool) -> None:
    damaged = bytes.fromhex("01 03 006b 0003 0000") + b"\xff" * 300
    other, ours = bytes.fromhex("02 03 006b 0003"), bytes.fromhex("01 03 006b 0001")
    async with rtu(tmp_path) as device:
        await exchange(device.address, damaged, 0)
        await asyncio.sleep(2 * SILENCE_S)
        answer = await exchange(device.address, other + crc(other) + ours + crc(ours), 7, at_once=at_once)
    assert answer[:5] == bytes.fromhex("01 03 02 022b")
    assert len(answer) == 7


@pytest.mark.parametrize(("request_pdu", "answer_pdu"), EXCHANGES)
async def test_tcp(request_pdu: str, answer_pdu: str) -> None:
    """The header is that of MODBUS Messaging on TCP/IP Implementation Guide V1.0b, 3.1.3."""
    request, expected = bytes.fromhex(request_pdu), bytes.fromhex(answer_pdu)
    async with ModbusTcpDevice(lambda: VALUES, registers=REGISTERS) as device:
        reader, writer = await asyncio.open_connection("127.0.0.1", device.port)
        writer.write(b"\x15\x01\x00\x00\x00" + bytes([len(request) + 1, 1]) + request[:2])
        await writer.drain()
        await asyncio.sleep(0.01)
        writer.write(request[2:])
        answer = await reader.readexactly(7 + len(expected))
        writer.close()
        await writer.wait_closed()
    assert answer == b"\x15\x01\x00\x00\x00" + bytes([len(expected) + 1, 1]) + expected


@pytest.mark.parametrize(("value", "words"), [(float("inf"), "7fff"), (float("nan"), "8000"), (-2.0, "fffe")])
async def test_steps_tell_what_is_no_number(tmp_path: Path, value: float, words: str) -> None:
    request = bytes.fromhex("01 03 006b 0001")
    async with rtu(tmp_path, VALUES | {"108": value}) as device:
        answer = await exchange(device.address, request + crc(request), 7)
    assert answer[3:5].hex() == words


async def test_tcp_unplugged_drops_its_connections_and_comes_back_at_its_port() -> None:
    async with ModbusTcpDevice(lambda: VALUES, registers=REGISTERS) as device:
        address = device.address
        reader, writer = await asyncio.open_connection("127.0.0.1", device.port)
        await asyncio.sleep(0.01)
        device.unplug()
        assert await reader.read() == b""
        with pytest.raises(ConnectionRefusedError):
            await asyncio.open_connection("127.0.0.1", device.port)
        device.replug()
        assert device.address == address
        _, again = await asyncio.open_connection("127.0.0.1", device.port)
        for closing in (writer, again):
            closing.close()
            await closing.wait_closed()


async def test_tcp_sends_damage_to_whoever_listens() -> None:
    async with ModbusTcpDevice(lambda: VALUES, registers=REGISTERS) as device:
        reader, writer = await asyncio.open_connection("127.0.0.1", device.port)
        await asyncio.sleep(0.01)
        device.send(b"damage")
        assert await reader.readexactly(6) == b"damage"
        writer.close()
        await writer.wait_closed()
