"""Modbus devices on a serial line."""

from collections.abc import Collection
from pathlib import Path

import msgspec

from calc.units import parse
from ingest.checking.check import Check
from ingest.decode.modbus import ModbusDecoder
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind, read_time
from ingest.kinds.ports import check_port
from ingest.kinds.registers import RegisterConfig, check_registers, to_read
from ingest.link.port_settings import Parity

_DEVICES = 1, 247


class ModbusRtuConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="modbus_rtu", tag_field="kind"
):
    """Modbus devices on one serial line; speed and parity as the standard has them by default."""

    port: str
    registers: dict[str, RegisterConfig]
    baud: int = 19200
    parity: Parity = "even"
    rts: bool = True
    dtr: bool = True
    device: int = 1
    poll: str = "0.5 s"
    timeout: str = "1 s"


def _check(check: Check, key: str, link: ModbusRtuConfig, _: Path) -> None:
    check_port(check, key, link.port, link.baud)
    read_time(check, f"{key}.poll", link.poll)
    read_time(check, f"{key}.timeout", link.timeout)
    check_registers(check, key, link.device, link.registers, _DEVICES)


def _build(link: ModbusRtuConfig, _interval_s: float, _around: Around) -> tuple[Link, Decode]:
    from ingest.link.modbus_rtu import ModbusRtu, rtu_settings

    blocks = to_read(link.device, link.registers)
    settings = rtu_settings(link.port, link.baud, link.parity, rts=link.rts, dtr=link.dtr)
    poll_s, timeout_s = parse(link.poll, "time"), parse(link.timeout, "time")
    return ModbusRtu(settings, blocks, poll_s, timeout_s), ModbusDecoder(blocks)


def _fields(link: ModbusRtuConfig) -> Collection[str]:
    return link.registers


KIND = Kind(config=ModbusRtuConfig, word="Modbus RTU", check=_check, build=_build, fields=_fields)
