"""A Modbus device, or a gateway to several, on a network."""

from collections.abc import Collection
from pathlib import Path

import msgspec

from calc.units import parse
from ingest.checking.check import Check, check_whole
from ingest.decode.modbus import ModbusDecoder
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind, read_time
from ingest.kinds.registers import RegisterConfig, check_registers, to_read

_DEVICES = 0, 255
"""Beyond 1 to 247 a gateway, or a device on TCP, may also be 0 or 255."""


class ModbusTcpConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="modbus_tcp", tag_field="kind"
):
    """A Modbus device, or a gateway to several, on a network."""

    host: str
    registers: dict[str, RegisterConfig]
    port: int = 502
    device: int = 1
    poll: str = "0.5 s"
    timeout: str = "1 s"


def _check(check: Check, key: str, link: ModbusTcpConfig, _: Path) -> None:
    if not link.host:
        check.wrong(f"{key}.host", link.host, "a name or an address such as 192.0.2.7 was expected")
    check_whole(check, f"{key}.port", link.port, 1, 65535)
    read_time(check, f"{key}.poll", link.poll)
    read_time(check, f"{key}.timeout", link.timeout)
    check_registers(check, key, link.device, link.registers, _DEVICES)


def _build(link: ModbusTcpConfig, _interval_s: float, _around: Around) -> tuple[Link, Decode]:
    from ingest.link.modbus_tcp import ModbusTcp

    blocks = to_read(link.device, link.registers)
    poll_s, timeout_s = parse(link.poll, "time"), parse(link.timeout, "time")
    return ModbusTcp(link.host, link.port, blocks, poll_s, timeout_s), ModbusDecoder(blocks)


def _fields(link: ModbusTcpConfig) -> Collection[str]:
    return link.registers


KIND = Kind(config=ModbusTcpConfig, word="Modbus TCP", check=_check, build=_build, fields=_fields)
