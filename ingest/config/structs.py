"""What the configuration of a rig may say: the structs that its TOML file fills."""

from typing import Literal

import msgspec

from ingest.kinds.table import LinkConfig


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
    link: LinkConfig
    interval: str = "1 s"
    channels: list[ChannelConfig] = msgspec.field(name="channel")


class RigConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[rig]`: its name on the wire, where it stands, and the file of the record (relative to this file)."""

    name: str
    record: str
    elevation: str | None = None
    barometric_pressure: str | None = None
    simulated: bool = False
    blind: bool = False
    speed: float = 1.0


class BrokerUserConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Who may come to a broker, and as what. password_file: for a broker of ours that listens beyond loopback."""

    name: str
    role: Literal["technician", "lead", "instrument"]
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
