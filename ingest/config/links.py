"""What the link of an instrument must fulfil."""

import math
import re
from collections.abc import Collection, Mapping
from pathlib import Path

import msgspec

from calc.units import parse
from ingest.config.broker import check_file, whole_path
from ingest.config.check import Check
from ingest.config.structs import (
    BluetoothAdvertsConfig,
    BluetoothConfig,
    InstrumentConfig,
    LinkConfig,
    ModbusRtuConfig,
    ModbusTcpConfig,
    MqttConfig,
    MqttValueConfig,
    RegisterConfig,
    ScpiConfig,
    SerialLinesConfig,
    SerialMeterConfig,
)
from ingest.decode.meter_display import FIELDS
from ingest.decode.register_map import WORDS
from ingest.wire.messages import BrokerAddress, MessageError

_ADDRESSES = 0x10000
_POINTER = re.compile(r"(/([^~/]|~[01])*)*")
"""RFC 6901, section 3."""


def check_link(check: Check, key: str, link: LinkConfig, directory: Path) -> None:
    """Note what is wrong with a link. directory: where the configuration lies, with its files."""
    match link:
        case BluetoothConfig():
            _check_named(check, key, link)
        case BluetoothAdvertsConfig():
            _check_named(check, key, link)
            check_file(check, f"{key}.key_file", link.key_file, directory)
        case SerialLinesConfig() | SerialMeterConfig():
            _check_serial(check, key, link.port, link.baud)
        case ScpiConfig():
            _check_serial(check, key, link.port, link.baud)
            read_time(check, f"{key}.poll", link.poll)
            read_time(check, f"{key}.timeout", link.timeout)
        case ModbusRtuConfig():
            _check_serial(check, key, link.port, link.baud)
            _check_modbus(check, key, link)
        case ModbusTcpConfig():
            _check_tcp(check, key, link)
            _check_modbus(check, key, link)
        case MqttConfig():
            _check_mqtt(check, key, link, directory)


def known_fields(link: LinkConfig) -> Collection[str] | None:
    """Give the names of a link's values, where they are known before it speaks."""
    match link:
        case SerialMeterConfig():
            return FIELDS
        case ScpiConfig():
            return link.queries
        case ModbusRtuConfig() | ModbusTcpConfig():
            return link.registers
        case MqttConfig():
            return link.values
    return None


def serial_port(link: LinkConfig) -> str:
    """Give the serial port of a link, which it needs for itself alone; empty where it has none."""
    match link:
        case SerialLinesConfig() | SerialMeterConfig() | ScpiConfig() | ModbusRtuConfig():
            return link.port
    return ""


def link_with_whole_paths(instrument: InstrumentConfig, directory: Path) -> InstrumentConfig:
    """Turn the files that a link names, relative to the configuration, into paths that hold from anywhere."""
    whole = {
        name: whole_path(getattr(instrument.link, name), directory)
        for name in ("password_file", "authority_file", "key_file")
        if hasattr(instrument.link, name)
    }
    return msgspec.structs.replace(instrument, link=msgspec.structs.replace(instrument.link, **whole))


def read_time(check: Check, key: str, text: str) -> float:
    """Read how often something comes or is asked for [s]."""
    return check.read(key, text, lambda text: parse(text, "time"), 0.01, 3600)


def _check_named(check: Check, key: str, link: BluetoothConfig | BluetoothAdvertsConfig) -> None:
    if not link.address and not link.device_name:
        check.wrong(key, None, "names no instrument; address or device_name was expected")


def _check_serial(check: Check, key: str, port: str, baud: int | None) -> None:
    if not port:
        check.wrong(f"{key}.port", port, "a serial port such as /dev/serial/by-id/... was expected")
    if baud is not None and baud <= 0:
        check.wrong(f"{key}.baud", baud, "a rate such as 9600 was expected")


def _check_tcp(check: Check, key: str, link: ModbusTcpConfig) -> None:
    if not link.host:
        check.wrong(f"{key}.host", link.host, "a name or an address such as 192.0.2.7 was expected")
    _check_whole(check, f"{key}.port", link.port, 1, 65535)


def _check_modbus(check: Check, key: str, link: ModbusRtuConfig | ModbusTcpConfig) -> None:
    """Addresses 1 to 247 are devices; a gateway or a device on TCP may also be 0 or 255."""
    lowest, highest = (1, 247) if isinstance(link, ModbusRtuConfig) else (0, 255)
    read_time(check, f"{key}.poll", link.poll)
    read_time(check, f"{key}.timeout", link.timeout)
    _check_whole(check, f"{key}.device", link.device, lowest, highest)
    _check_any(check, f"{key}.registers", link.registers)
    for name, register in link.registers.items():
        register_key = f"{key}.registers.{name}"
        if register.device is not None:
            _check_whole(check, f"{register_key}.device", register.device, lowest, highest)
        _check_register(check, register_key, register)


def _check_register(check: Check, key: str, register: RegisterConfig) -> None:
    words = WORDS[register.type]
    _check_whole(check, f"{key}.address", register.address, 0, _ADDRESSES - words)
    if words == 1 and register.order is not None:
        check.wrong(f"{key}.order", register.order, f"{register.type} is one register and has no order; leave it out")
    if not (math.isfinite(register.scale) and register.scale):
        check.wrong(f"{key}.scale", register.scale, "a number other than 0 was expected")
    if not math.isfinite(register.offset):
        check.wrong(f"{key}.offset", register.offset, "a number was expected")
    for name in ("overload", "invalid"):
        for bits in getattr(register, name):
            _check_whole(check, f"{key}.{name}", bits, 0, (1 << 16 * words) - 1)


def _check_mqtt(check: Check, key: str, link: MqttConfig, directory: Path) -> None:
    try:
        BrokerAddress.parse(link.url)
    except MessageError as error:
        check.wrong(f"{key}.url", link.url, str(error))
    check_file(check, f"{key}.password_file", link.password_file, directory)
    check_file(check, f"{key}.authority_file", link.authority_file, directory)
    _check_any(check, f"{key}.values", link.values)
    for name, value in link.values.items():
        _check_value(check, f"{key}.values.{name}", value)


def _check_value(check: Check, key: str, value: MqttValueConfig) -> None:
    if not value.topic or set(value.topic) & set("+#\0"):
        check.wrong(f"{key}.topic", value.topic, "the whole name of one topic was expected, without + and #")
    if value.pointer is not None and not _POINTER.fullmatch(value.pointer):
        check.wrong(f"{key}.pointer", value.pointer, 'a place such as "/air/temperature" was expected')
    if value.pointer is not None and value.senml is not None:
        check.wrong(f"{key}.senml", value.senml, "pointer is given too; keep one of them")
    if value.senml is not None and value.unit is None:
        check.wrong(f"{key}.unit", None, 'is missing; the record\'s SenML unit, such as "Cel", or "" was expected')
    if value.senml is None and value.unit is not None:
        check.wrong(f"{key}.unit", value.unit, "only a SenML record says its unit; leave it out")


def _check_whole(check: Check, key: str, number: int, low: int, high: int) -> None:
    if not low <= number <= high:
        check.wrong(key, number, f"{low} to {high} was expected")


def _check_any(check: Check, key: str, table: Mapping[str, object]) -> None:
    if not table:
        check.wrong(key, None, "is empty; at least one was expected")
