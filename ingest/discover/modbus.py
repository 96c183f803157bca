"""Looking into a Modbus device: read its registers, two at a time, and guess what they hold.

Only functions 3 and 4 are sent, which read holding and input registers and change nothing (MODBUS Application Protocol
Specification V1.1b3, 6.3 and 6.4). Whether a device is there, and at which speed, nobody can find out without asking;
so where to look must be said.
"""

import asyncio
import threading
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import get_args

from ingest.decode.modbus import ModbusDecoder
from ingest.decode.register_map import Register, Table, blocks
from ingest.discover.guess import guess_registers, unnamed_output
from ingest.discover.propose import Found
from ingest.frames import Frame, LinkError, LinkSetupError, Stamp, Value
from ingest.kinds.modbus_rtu import ModbusRtuConfig
from ingest.kinds.modbus_tcp import ModbusTcpConfig
from ingest.kinds.registers import RegisterConfig
from ingest.link.modbus_answers_due import AnswersDue
from ingest.link.modbus_request import SILENCE, RefusedError, Request
from ingest.link.modbus_rtu import ANSWER_TIMEOUT_S, rtu_settings
from ingest.link.modbus_rtu_bus import RtuBus
from ingest.link.modbus_tcp import connect
from ingest.link.port_settings import Parity, PortSettings
from ingest.link.serial_thread import PORT_ERRORS, Port, open_port

STANDARD_BAUD = 19200
"""MODBUS over Serial Line V1.02, 3.2: what a device is set to before anyone changes it."""

_SENT = "sent requests to read registers (functions 3 and 4), which change nothing"
_WARNING = (
    "CHECK: where values begin, of which type and size they are, is a guess; only its papers say what they are of"
)


@dataclass(frozen=True, slots=True)
class TcpHost:
    """Where a device on a network is."""

    host: str
    port: int = 502

    def __str__(self) -> str:
        """Give host and port."""
        return f"{self.host}:{self.port}"


async def find_modbus(
    where: str, *, device: int, registers: tuple[int, int], baud: int | None, parity: Parity
) -> Found:
    """Read a device. where: a serial port, or a host and perhaps its port. registers: the first and the last."""
    place = _place(where, baud, parity)
    name = str(place) if isinstance(place, TcpHost) else place.port
    guessed: dict[str, RegisterConfig] = {}
    values: dict[str, Value] = {}
    try:
        async with _opened(place) as read:
            async for table, address, words in _pairs(read, device, registers):
                found = guess_registers(table, address, words)
                guessed |= found
                values |= _values(found, words, address)
    except (LinkError, LinkSetupError) as error:
        return Found(f"Modbus {name}", (_SENT, str(error)))
    return Found(
        f"Modbus {name}, device {device}",
        (_SENT, _WARNING if guessed else "nothing but zeros there"),
        f"device {device}",
        _link(place, device, guessed) if guessed else None,
        outputs=tuple(unnamed_output(field, value) for field, value in values.items()),
    )


def _place(where: str, baud: int | None, parity: Parity) -> PortSettings | TcpHost:
    if "/" in where or where.upper().startswith("COM"):
        return rtu_settings(where, baud or STANDARD_BAUD, parity)
    host, colon, port = where.rpartition(":")
    return TcpHost(host, int(port)) if colon and port.isdecimal() else TcpHost(where)


def _link(
    place: PortSettings | TcpHost, device: int, registers: dict[str, RegisterConfig]
) -> ModbusRtuConfig | ModbusTcpConfig:
    if isinstance(place, PortSettings):
        return ModbusRtuConfig(
            port=place.port, baud=place.baud, parity=place.parity, device=device, registers=registers
        )
    return ModbusTcpConfig(host=place.host, port=place.port, device=device, registers=registers)


_Read = Callable[[Request], Awaitable[bytes]]


@asynccontextmanager
async def _opened(place: PortSettings | TcpHost) -> AsyncIterator[_Read]:
    """Open a port or a connection; gives what reads registers there."""
    if isinstance(place, TcpHost):
        async with connect(place.host, place.port) as tcp:
            yield tcp.read
        return
    try:
        with open_port(place) as device:
            rtu = RtuBus(Port(device, threading.Event()), place.baud, AnswersDue(ANSWER_TIMEOUT_S))
            yield lambda request: asyncio.to_thread(lambda: rtu.read(request)[0])
    except PORT_ERRORS as error:
        raise LinkError(f"{place.port} was lost while it was examined: {error}") from error


async def _pairs(
    read: _Read, device: int, registers: tuple[int, int]
) -> AsyncIterator[tuple[Table, int, Sequence[int]]]:
    """Read the registers that are there, one or two at a time: their table, the address of the first, and the words."""
    for table in get_args(Table):
        for address in range(registers[0], registers[1], 2):
            words = await _words(read, Request(device, table, address, 2)) or await _words(
                read, Request(device, table, address, 1)
            )
            if words:
                yield table, address, words


async def _words(read: _Read, request: Request) -> list[int]:
    """Read registers; none where the device has not all of them."""
    try:
        data = await read(request)
    except TimeoutError as error:
        raise LinkError(SILENCE.format(request.device)) from error
    except RefusedError:
        return []
    return [int.from_bytes(data[start : start + 2], "big") for start in range(0, len(data), 2)]


def _values(registers: dict[str, RegisterConfig], words: Sequence[int], address: int) -> dict[str, Value]:
    """Read the values of registers that lie within these words. address: of the first."""
    values: dict[str, Value] = {}
    for field, config in registers.items():
        register = Register(
            field=field,
            device=1,
            table=config.table,
            address=config.address,
            number_type=config.type,
            order=config.order or "ABCD",
            scale=config.scale,
        )
        [block] = blocks([register])
        start = config.address - address
        payload = b"".join(word.to_bytes(2, "big") for word in words[start : start + block.words])
        values |= ModbusDecoder([block])(Frame(payload, Stamp(0, 0), block.name))
    return values
