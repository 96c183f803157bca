"""Looking into a Modbus device: read its registers, two at a time, and guess what they hold.

Only functions 3 and 4 are sent, which read holding and input registers and change nothing (MODBUS Application Protocol
Specification V1.1b3, 6.3 and 6.4). Whether a device is there, and at which speed, nobody can find out without asking;
so where to look must be said.
"""

import logging
from collections.abc import AsyncIterator, Sequence
from typing import Literal, get_args

from pymodbus.exceptions import ModbusException

from ingest.config_structs import ModbusRtuConfig, ModbusTcpConfig, RegisterConfig
from ingest.decode_modbus import ModbusDecoder
from ingest.frames import Frame, LinkError, LinkSetupError, Stamp, Value
from ingest.guess import guess_registers, unnamed_output
from ingest.link_modbus import ANSWER_TIMEOUT_S
from ingest.modbus_line import Line, ModbusClient, RtuLine, TcpHost
from ingest.propose import Found
from ingest.register_map import Register, Table, blocks
from ingest.serial_thread import open_port

Parity = Literal["even", "odd", "none"]

STANDARD_BAUD = 19200
"""MODBUS over Serial Line V1.02, 3.2: what a device is set to before anyone changes it."""

_SENT = "sent requests to read registers (functions 3 and 4), which change nothing"
_WARNING = (
    "CHECK: where values begin, of which type and size they are, is a guess; only its papers say what they are of"
)


async def find_modbus(
    where: str, *, device: int, registers: tuple[int, int], baud: int | None, parity: Parity
) -> Found:
    """Read a device. where: a serial port, or a host and perhaps its port. registers: the first and the last."""
    line = _line(where, baud, parity)
    guessed: dict[str, RegisterConfig] = {}
    values: dict[str, Value] = {}
    try:
        async for table, address, words in _pairs(line, device, registers):
            found = guess_registers(table, address, words)
            guessed |= found
            values |= _values(found, words, address)
    except (LinkError, LinkSetupError) as error:
        return Found(f"Modbus {line}", (_SENT, str(error)))
    return Found(
        f"Modbus {line}, device {device}",
        (_SENT, _WARNING if guessed else "nothing but zeros there"),
        f"device {device}",
        _link(line, device, guessed) if guessed else None,
        outputs=tuple(unnamed_output(field, value) for field, value in values.items()),
    )


def _line(where: str, baud: int | None, parity: Parity) -> Line:
    if "/" in where or where.upper().startswith("COM"):
        return RtuLine(where, baud or STANDARD_BAUD, parity)
    host, colon, port = where.rpartition(":")
    return TcpHost(host, int(port)) if colon and port.isdecimal() else TcpHost(where)


def _link(line: Line, device: int, registers: dict[str, RegisterConfig]) -> ModbusRtuConfig | ModbusTcpConfig:
    if isinstance(line, RtuLine):
        return ModbusRtuConfig(port=line.port, baud=line.baud, parity=line.parity, device=device, registers=registers)
    return ModbusTcpConfig(host=line.host, port=line.port, device=device, registers=registers)


async def _pairs(
    line: Line, device: int, registers: tuple[int, int]
) -> AsyncIterator[tuple[Table, int, Sequence[int]]]:
    """Read the registers that are there, one or two at a time: their table, the address of the first, and the words."""
    logging.getLogger("pymodbus").setLevel(logging.CRITICAL)
    if isinstance(line, RtuLine):
        open_port(line.port, line.baud).close()  # refuses one that is in use
    client = line.client(ANSWER_TIMEOUT_S, lambda: None)
    try:
        await line.connect(client)
        for table in get_args(Table):
            for address in range(registers[0], registers[1], 2):
                words = await _words(client, table, address, device, 2) or await _words(
                    client, table, address, device, 1
                )
                if words:
                    yield table, address, words
    finally:
        client.close()


async def _words(client: ModbusClient, table: Table, address: int, device: int, count: int) -> list[int]:
    """Read registers; none where the device has not all of them."""
    ask = client.read_holding_registers if table == "holding" else client.read_input_registers
    try:
        answer = await ask(address, count=count, device_id=device)
    except ModbusException as error:
        raise LinkError(
            f"device {device} does not answer; is it on, and are its address, speed and parity right?"
        ) from error
    return [] if answer.isError() else list(answer.registers)


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
