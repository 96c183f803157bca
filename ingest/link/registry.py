"""Every kind of instrument: its link and its decoder.

The one registry. A library for a link is imported only when an instrument uses it, so that a rig without
Bluetooth does not wait for, or need, a Bluetooth stack.
"""

from pathlib import Path

from calc.units import parse
from ingest.broker.credentials import read_password
from ingest.broker.endpoint import BrokerSetupError
from ingest.config.structs import (
    BluetoothAdvertsConfig,
    BluetoothConfig,
    InstrumentConfig,
    ModbusRtuConfig,
    ModbusTcpConfig,
    MqttConfig,
    ScpiConfig,
    SerialLinesConfig,
    SerialMeterConfig,
)
from ingest.decode.bthome import BTHomeDecoder
from ingest.decode.gatt import GattDecoder
from ingest.decode.lines import LineDecoder
from ingest.decode.meter_chips import CHIPS
from ingest.decode.modbus import ModbusDecoder
from ingest.decode.mqtt import MqttDecoder, MqttValue
from ingest.decode.register_map import Register, blocks
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Link, LinkSetupError
from ingest.link.bluetooth_scan import SharedScan
from ingest.link.port_settings import PortSettings
from ingest.wire.messages import BrokerAddress


def build(instrument: InstrumentConfig, scan: SharedScan | None = None) -> tuple[Link, Decode]:
    """Make the link and the decoder of an instrument whose configuration was checked. Nothing is opened yet.

    scan: what the Bluetooth instruments of a rig share.

    Raises:
        LinkSetupError: a file or a package that the instrument needs cannot be had.

    """
    match instrument.link:
        case SerialLinesConfig() as lines:
            from ingest.link.serial_lines import SerialLines

            return SerialLines(_settings(lines)), LineDecoder()
        case SerialMeterConfig() as meter:
            from ingest.link.serial_frames import SerialFrames

            chip = CHIPS[meter.chip]
            settings = PortSettings(meter.port, meter.baud or chip.baud, rts=meter.rts, dtr=meter.dtr)
            return SerialFrames(settings, chip.frame_bytes, chip.is_frame), chip.decode
        case ScpiConfig() as scpi:
            from ingest.link.scpi import ScpiMeter

            poll_s, timeout_s = parse(scpi.poll, "time"), parse(scpi.timeout, "time")
            return ScpiMeter(_settings(scpi), scpi.queries, scpi.setup, poll_s, timeout_s), decode_scpi
        case BluetoothConfig() as bluetooth:
            from ingest.link.bluetooth import BluetoothInstrument

            poll_s = parse(instrument.interval, "time")
            link = BluetoothInstrument(
                bluetooth.address, bluetooth.device_name, poll_s=poll_s, scan=scan or SharedScan()
            )
            return link, GattDecoder()
        case BluetoothAdvertsConfig() as adverts:
            from ingest.link.adverts import AdvertisingProbe

            probe = AdvertisingProbe(adverts.address, adverts.device_name, scan or SharedScan())
            return probe, _advert_decoder(adverts.key_file)
        case ModbusRtuConfig() | ModbusTcpConfig() as modbus:
            return _build_modbus(modbus)
        case MqttConfig() as mqtt:
            return _build_mqtt(mqtt)


def _settings(config: SerialLinesConfig | ScpiConfig) -> PortSettings:
    return PortSettings(
        config.port,
        config.baud,
        config.parity,
        data_bits=config.data_bits,
        stop_bits=config.stop_bits,
        rts=config.rts,
        dtr=config.dtr,
    )


def _advert_decoder(key_file: str) -> BTHomeDecoder:
    if not key_file:
        return BTHomeDecoder()
    try:
        from ingest.decode.bthome_encryption import AdvertCipher
    except ModuleNotFoundError as error:
        raise LinkSetupError(
            "a probe with a key needs the package cryptography; install `dewline[encrypted-adverts]`"
        ) from error
    try:
        return BTHomeDecoder(AdvertCipher(bytes.fromhex(Path(key_file).read_text(encoding="ascii"))))
    except (OSError, ValueError) as error:
        raise LinkSetupError(f"{key_file} holds no key of 32 hexadecimal digits: {error}") from error


def _build_modbus(config: ModbusRtuConfig | ModbusTcpConfig) -> tuple[Link, Decode]:
    to_read = blocks(
        Register(
            field=field,
            device=config.device if register.device is None else register.device,
            table=register.table,
            address=register.address,
            number_type=register.type,
            order=register.order or "ABCD",
            scale=register.scale,
            offset=register.offset,
            overload=frozenset(register.overload),
            invalid=frozenset(register.invalid),
        )
        for field, register in config.registers.items()
    )
    poll_s, timeout_s = parse(config.poll, "time"), parse(config.timeout, "time")
    if isinstance(config, ModbusTcpConfig):
        from ingest.link.modbus_tcp import ModbusTcp

        return ModbusTcp(config.host, config.port, to_read, poll_s, timeout_s), ModbusDecoder(to_read)
    from ingest.link.modbus_rtu import ModbusRtu, rtu_settings

    settings = rtu_settings(config.port, config.baud, config.parity, rts=config.rts, dtr=config.dtr)
    return ModbusRtu(settings, to_read, poll_s, timeout_s), ModbusDecoder(to_read)


def _build_mqtt(config: MqttConfig) -> tuple[Link, Decode]:
    from ingest.link.mqtt import MqttTopics

    try:
        password = read_password(Path(config.password_file)) if config.password_file else ""
    except BrokerSetupError as error:
        raise LinkSetupError(str(error)) from error
    address = BrokerAddress.parse(config.url, password=password, authority_file=config.authority_file)
    values = {
        field: MqttValue(value.topic, value.pointer, value.senml, value.unit or "")
        for field, value in config.values.items()
    }
    return MqttTopics(address, sorted({value.topic for value in values.values()})), MqttDecoder(values)
