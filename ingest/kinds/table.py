"""All kinds of link. A library for one is imported only when an instrument uses it."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from ingest.kinds import (
    bluetooth,
    bluetooth_adverts,
    modbus_rtu,
    modbus_tcp,
    mqtt,
    scpi,
    serial_lines,
    serial_meter,
)
from ingest.kinds.kind import Kind

LinkConfig = (
    serial_lines.SerialLinesConfig
    | serial_meter.SerialMeterConfig
    | scpi.ScpiConfig
    | bluetooth.BluetoothConfig
    | bluetooth_adverts.BluetoothAdvertsConfig
    | modbus_rtu.ModbusRtuConfig
    | modbus_tcp.ModbusTcpConfig
    | mqtt.MqttConfig
)

_MODULES = serial_lines, serial_meter, scpi, bluetooth, bluetooth_adverts, modbus_rtu, modbus_tcp, mqtt

KINDS: Mapping[type, Kind[Any]] = MappingProxyType({module.KIND.config: module.KIND for module in _MODULES})


def kind_of(link: LinkConfig) -> Kind[Any]:
    """Give the kind of a link."""
    return KINDS[type(link)]


def serial_port(link: LinkConfig) -> str:
    """Give the serial port of a link, which it needs for itself alone; empty where it has none."""
    port: object = getattr(link, "port", "")
    return port if isinstance(port, str) else ""
