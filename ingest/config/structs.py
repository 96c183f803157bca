"""What the configuration of a rig may say: the structs that its TOML file fills."""

from typing import Literal

import msgspec

from ingest.decode.meter_chips import ChipName
from ingest.link.port_settings import Parity


class ChannelConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One channel of an instrument.

    channel: a name of calc.quantities.CHANNELS. field: which of the instrument's values it is. unit: what
    the instrument sends, as calc.units reads it. reference: for pressures. accuracy: the maker's ± limit,
    with unit. offset, slope: calibration, corrected = slope x reading + offset, offset with unit.
    calibrated: its date.
    """

    channel: str
    field: str
    unit: str
    accuracy: str
    reference: Literal["gauge", "absolute"] | None = None
    offset: str | None = None
    slope: float = 1.0
    calibrated: str = ""


class InstrumentConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One instrument: how to reach it, and its channels (`[[instrument.channel]]` in the file)."""

    name: str
    link: "LinkConfig"
    interval: str = "1 s"
    channels: list[ChannelConfig] = msgspec.field(name="channel")


class SerialLinesConfig(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    tag="serial_lines",
    tag_field="kind",
):
    """Lines of text over a serial port: CSV with a `#` header, or JSON objects; optional `*HH` XOR check."""

    port: str
    baud: int = 9600
    parity: Parity = "none"
    data_bits: Literal[7, 8] = 8
    stop_bits: Literal[1, 2] = 1
    rts: bool = True
    dtr: bool = True


class ScpiConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="scpi", tag_field="kind"):
    """A SCPI meter over a serial port. queries: field name to the query that reads it. poll: how often."""

    port: str
    queries: dict[str, str]
    baud: int = 9600
    parity: Parity = "none"
    data_bits: Literal[7, 8] = 8
    stop_bits: Literal[1, 2] = 1
    rts: bool = True
    dtr: bool = True
    setup: list[str] = []
    poll: str = "0.5 s"
    timeout: str = "5 s"


class BluetoothConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="bluetooth", tag_field="kind"
):
    """A Bluetooth LE instrument with standard characteristics. address: or else the name it advertises."""

    address: str = ""
    device_name: str = ""


class BluetoothAdvertsConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="bluetooth_adverts", tag_field="kind"
):
    """A probe that only advertises, in BTHome v2. address: or else its name. key_file: with its key, if it has one."""

    address: str = ""
    device_name: str = ""
    key_file: str = ""


class SerialMeterConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="serial_meter", tag_field="kind"
):
    """A multimeter that sends the frames of its chip over a serial port. baud: the chip's own where not given."""

    port: str
    chip: ChipName
    baud: int | None = None
    rts: bool = True
    dtr: bool = True


class RegisterConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A value in one or two registers of a Modbus device: value = scale x number + offset.

    address: of its first register as it travels, from 0; a manual's 40001 (holding) or 30001 (input) is address 0.
    order: of the four bytes of a two-register number as they arrive, A the highest; ABCD where not given. overload,
    invalid: numbers, as their bits, that stand for an overload or for no value. device: where it is another than the
    link's, on the same bus.
    """

    address: int
    type: Literal["i16", "u16", "i32", "u32", "f32"]
    table: Literal["holding", "input"] = "holding"
    order: Literal["ABCD", "CDAB", "BADC", "DCBA"] | None = None
    scale: float = 1.0
    offset: float = 0.0
    overload: list[int] = []
    invalid: list[int] = []
    device: int | None = None


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


class MqttValueConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Where one value comes in: a topic whose payload is a plain number, unless one of these is given.

    pointer: the number's place in a JSON document (RFC 6901), such as `/air/temperature`. senml: the whole name of a
    SenML record (RFC 8428), base name included; unit: the SenML unit that it must have.
    """

    topic: str
    pointer: str | None = None
    senml: str | None = None
    unit: str | None = None


class MqttConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="mqtt", tag_field="kind"):
    """An instrument that publishes to an MQTT broker. values: field name to where it comes in."""

    url: str
    values: dict[str, MqttValueConfig]
    password_file: str = ""
    authority_file: str = ""


LinkConfig = (
    SerialLinesConfig
    | SerialMeterConfig
    | ScpiConfig
    | BluetoothConfig
    | BluetoothAdvertsConfig
    | ModbusRtuConfig
    | ModbusTcpConfig
    | MqttConfig
)


class RigConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[rig]`: its name on the wire, where it stands, and the file of the record (relative to this file)."""

    name: str
    record: str
    elevation: str | None = None
    barometric_pressure: str | None = None
    simulated: bool = False
    speed: float = 1.0


class BrokerUserConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Who may come to a broker, and as what. password_file: for a broker of ours that listens beyond loopback."""

    name: str
    role: Literal["technician", "lead"]
    password_file: str = ""


class BrokerConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[broker]`: url of one that runs already, or where ours shall listen."""

    kind: Literal["auto", "mosquitto", "embedded"] = "auto"
    url: str = ""
    password_file: str = ""
    authority_file: str = ""
    listen: str = "127.0.0.1:1883"
    certificate_file: str = ""
    key_file: str = ""
    users: list[BrokerUserConfig] = msgspec.field(name="user", default_factory=list)


class NameplateConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[unit.nameplate]`: what the nameplate says, with units; leave out what it does not say."""

    charge: str | None = None
    target_superheat: str | None = None
    target_subcooling: str | None = None
    compressor_rla: str | None = None
    condenser_fan_fla: str | None = None
    blower_fla: str | None = None
    high_side_design_pressure: str | None = None


class UnitConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[unit]`: the unit under service."""

    tag: str
    refrigerant: str
    metering_device: Literal["fixed_orifice", "txv", "eev"]
    place: str = ""
    nameplate: NameplateConfig = NameplateConfig()


class RecoveryCylinderConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[recovery_cylinder]`: what is stamped on the one that stands on the scale, WC and TW."""

    water_capacity: str
    tare: str


class Config(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole configuration file."""

    rig: RigConfig
    unit: UnitConfig
    broker: BrokerConfig = BrokerConfig()
    recovery_cylinder: RecoveryCylinderConfig | None = None
    instruments: list[InstrumentConfig] = msgspec.field(name="instrument")
