"""From the texts of a configuration to SI, noting everything that cannot be read."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Literal, TypeVar

import msgspec

from calc import refrigerants
from calc.air import barometric_pressure
from calc.errors import CalcError
from calc.quantities import CHANNELS, STANDARD_PRESSURE_PA, Quantity
from calc.units import Conversion, Kind, conversion, parse, parse_difference
from ingest.checking.check import LEAST, WIRE_NAME_RULE, Check
from ingest.checking.plate import (
    CHARGE_KG,
    COMPRESSOR_RATED_A,
    FAN_RATED_A,
    HIGH_SIDE_DESIGN_PA,
    TARGET_DK,
    Span,
)
from ingest.checking.structure import Problem, suggestion
from ingest.config.broker import check_broker
from ingest.config.structs import (
    BrokerConfig,
    ChannelConfig,
    InstrumentConfig,
    RecoveryCylinderConfig,
    RigConfig,
    UnitConfig,
)
from ingest.kinds.kind import read_time
from ingest.kinds.table import kind_of, serial_port
from ingest.rig import ChannelSetup, InstrumentSetup, RecoveryCylinder, Rig
from ingest.wire.messages import UnitAbout
from ingest.wire.texts import LONGEST_NAME, LONGEST_TEXT, is_empty
from ingest.wire.topics import WIRE_NAME

_HIGHEST_SPEED = 1000.0

_WEATHER_STANDARD_UNCERTAINTY_PA = 1000.0
"""How far the weather moves the pressure from what the elevation gives; common practice, no source."""

_READ_STANDARD_UNCERTAINTY_PA = 100.0
"""Of a barometric pressure that somebody read off and typed; common practice, no source."""

_LOWEST_SLOPE, _HIGHEST_SLOPE = 0.5, 2.0
"""Beyond that an instrument is not off, but of another unit or broken: common practice, no source."""

_OFFSET_ACCURACIES = 10
"""By more than so many times its accuracy no sound instrument is off: common practice, no source."""

_A_YEAR = timedelta(days=366)
"""A small computer without a clock of its own may have started in the past: it must record all the same."""

_ABSOLUTE_BY_NATURE = {"barometric_pressure", "vacuum_pressure"}


@dataclass(frozen=True)
class Sections:
    """The sections of a file whose structure holds; None for one that does not."""

    rig: RigConfig | None
    unit: UnitConfig | None
    broker: BrokerConfig | None
    recovery_cylinder: RecoveryCylinderConfig | None
    instruments: Mapping[int, InstrumentConfig]


Section = TypeVar("Section")


def sound_sections(data: Mapping[str, object], problems: list[Problem]) -> Sections:
    """Convert what can be converted, so that one misspelt key does not hide what else is wrong."""
    broken = [problem.key for problem in problems]

    def convert(value: object, kind: type[Section], key: str) -> Section | None:
        if any(other == key or other.startswith((f"{key}.", f"{key}[")) for other in broken):
            return None
        return msgspec.convert(value, kind)

    tables = data.get("instrument")
    instruments = {
        index: convert(table, InstrumentConfig, f"instrument[{index}]")
        for index, table in enumerate(tables if isinstance(tables, list) else [])
    }
    return Sections(
        convert(data.get("rig"), RigConfig, "rig"),
        convert(data.get("unit"), UnitConfig, "unit"),
        convert(data.get("broker", {}), BrokerConfig, "broker"),
        convert(data.get("recovery_cylinder"), RecoveryCylinderConfig, "recovery_cylinder")
        if "recovery_cylinder" in data
        else None,
        {index: instrument for index, instrument in instruments.items() if instrument},
    )


def resolve_sections(check: Check, sections: Sections, directory: Path) -> Rig | None:
    """Resolve every sound section; None where rig or unit cannot be had at all.

    directory: where the configuration lies, and from there every file that it names.
    """
    if sections.broker:
        check_broker(check, sections.broker, directory)
    _check_names(check, sections.instruments)
    instruments = tuple(
        _resolve_instrument(check, f"instrument[{index}]", instrument, directory)
        for index, instrument in sections.instruments.items()
    )
    unit = resolve_unit(check, sections.unit) if sections.unit else None
    cylinder = _resolve_cylinder(check, sections.recovery_cylinder) if sections.recovery_cylinder else None
    rig = sections.rig
    if rig is None:
        return None
    _check_rig(check, rig, directory)
    pressure_pa, uncertainty_pa = resolve_barometric_pressure(check, "rig", rig.elevation, rig.barometric_pressure)
    if unit is None:
        return None
    return Rig(
        name=rig.name,
        record=directory / rig.record,
        barometric_pressure_pa=pressure_pa,
        barometric_standard_uncertainty_pa=uncertainty_pa,
        unit=unit,
        instruments=instruments,
        recovery_cylinder=cylinder,
        simulated=rig.simulated,
        blind=rig.blind,
        speed=rig.speed,
    )


def _check_names(check: Check, instruments: Mapping[int, InstrumentConfig]) -> None:
    seen_instruments: dict[str, str] = {}
    seen_ports: dict[str, str] = {}
    seen_channels: dict[str, str] = {}
    for index, instrument in instruments.items():
        key = f"instrument[{index}]"
        check.first(seen_instruments, f"{key}.name", instrument.name)
        if port := serial_port(instrument.link):
            check.first(seen_ports, f"{key}.link.port", port)
        for channel_index, channel in enumerate(instrument.channels):
            check.first(seen_channels, f"{key}.channel[{channel_index}].channel", channel.channel)


def _check_rig(check: Check, rig: RigConfig, directory: Path) -> None:
    if not WIRE_NAME.fullmatch(rig.name):
        check.wrong("rig.name", rig.name, WIRE_NAME_RULE)
    if not rig.record:
        check.wrong("rig.record", "", "the name of a file was expected")
    record = directory / rig.record
    if record.exists() and not record.is_file() and not record.is_dir():
        check.wrong("rig.record", rig.record, "is a device or a pipe; the name of a file was expected")
    if not 0 < rig.speed <= _HIGHEST_SPEED:
        check.wrong("rig.speed", rig.speed, f"more than 0, at most {_HIGHEST_SPEED:g}, was expected")


def resolve_barometric_pressure(
    check: Check, table: str, elevation: str | None, pressure: str | None
) -> tuple[float, float]:
    """Return the pressure and its standard uncertainty [Pa]. table: in which the two keys stand."""
    if pressure is not None:
        key = f"{table}.barometric_pressure"
        if elevation is not None:
            check.wrong(key, pressure, f"{table}.elevation is given too; keep one of them")
        pressure_pa = check.read(key, pressure, lambda text: parse(text, "barometric_pressure"), 50e3, 110e3)
        return pressure_pa, _READ_STANDARD_UNCERTAINTY_PA
    if elevation is None:
        expected = 'is missing; elevation = "30 m" or barometric_pressure = "29.8 inHg" was expected'
        check.wrong(f"{table}.elevation", None, expected)
        return math.nan, math.nan
    elevation_m = check.read(f"{table}.elevation", elevation, lambda text: parse(text, "length"), -500, 5000)
    if not -500 <= elevation_m <= 5000:
        return math.nan, math.nan
    return barometric_pressure(elevation_m), _WEATHER_STANDARD_UNCERTAINTY_PA


def resolve_unit(check: Check, unit: UnitConfig) -> UnitAbout | None:
    """Read what `[unit]` says; None where its refrigerant cannot be had."""
    if is_empty(unit.tag):
        check.wrong("unit.tag", unit.tag, "the tag engraved on the unit was expected")
    check.seen("unit.tag", unit.tag, LONGEST_NAME)
    check.seen("unit.place", unit.place, LONGEST_TEXT)
    plate = unit.nameplate

    def read(key: str, text: str | None, quantity: Quantity, span: Span) -> float | None:
        if text is None:
            return None
        return check.read(f"unit.nameplate.{key}", text, lambda text: parse(text, quantity), span.least, span.most)

    charge_kg = read("charge", plate.charge, Quantity.MASS, CHARGE_KG)
    difference = Quantity.TEMPERATURE_DIFFERENCE
    target_superheat_dk = read("target_superheat", plate.target_superheat, difference, TARGET_DK)
    target_subcooling_dk = read("target_subcooling", plate.target_subcooling, difference, TARGET_DK)
    compressor_rla_a = read("compressor_rla", plate.compressor_rla, Quantity.CURRENT, COMPRESSOR_RATED_A)
    condenser_fan_fla_a = read("condenser_fan_fla", plate.condenser_fan_fla, Quantity.CURRENT, FAN_RATED_A)
    blower_fla_a = read("blower_fla", plate.blower_fla, Quantity.CURRENT, FAN_RATED_A)
    design_pressure_pa = None
    if plate.high_side_design_pressure is not None:
        key, text, span = "high_side_design_pressure", plate.high_side_design_pressure, HIGH_SIDE_DESIGN_PA
        design_pressure_pa = check.read(f"unit.nameplate.{key}", text, _read_nameplate_pressure, span.least, span.most)
    try:
        refrigerant = refrigerants.get(unit.refrigerant)
    except CalcError as error:
        check.wrong("unit.refrigerant", unit.refrigerant, str(error))
        return None
    return UnitAbout(
        tag=unit.tag,
        place=unit.place,
        refrigerant=refrigerant.designation,
        safety_class=refrigerant.safety_class,
        metering_device=unit.metering_device,
        charge_as_liquid=refrigerant.charge_as_liquid,
        target_superheat_dk=target_superheat_dk,
        target_subcooling_dk=target_subcooling_dk,
        nameplate_charge_kg=charge_kg,
        compressor_rla_a=compressor_rla_a,
        condenser_fan_fla_a=condenser_fan_fla_a,
        blower_fla_a=blower_fla_a,
        high_side_design_pressure_pa=design_pressure_pa,
    )


def _read_nameplate_pressure(text: str) -> float:
    """Read a pressure as nameplates have it: psig, or bar and MPa that count from the air outside [Pa absolute]."""
    return parse(text, Quantity.PRESSURE, barometric_pressure_pa=STANDARD_PRESSURE_PA, bare_is_absolute=False)


def _resolve_cylinder(check: Check, cylinder: RecoveryCylinderConfig) -> RecoveryCylinder:
    def read(key: str, text: str) -> float:
        return check.read(f"recovery_cylinder.{key}", text, lambda text: parse(text, Quantity.MASS), LEAST, 1000)

    return RecoveryCylinder(read("water_capacity", cylinder.water_capacity), read("tare", cylinder.tare))


def _resolve_instrument(check: Check, key: str, instrument: InstrumentConfig, directory: Path) -> InstrumentSetup:
    interval_s = read_time(check, f"{key}.interval", instrument.interval)
    if is_empty(instrument.name):
        check.wrong(f"{key}.name", instrument.name, "a name was expected")
    check.seen(f"{key}.name", instrument.name, LONGEST_NAME)
    if not instrument.channels:
        check.wrong(f"{key}.channel", None, "is empty; at least one [[instrument.channel]] was expected")
    kind_of(instrument.link).check(check, f"{key}.link", instrument.link, directory)
    fields = kind_of(instrument.link).fields(instrument.link)
    channels = []
    for index, channel in enumerate(instrument.channels):
        if fields is not None and channel.field not in fields:
            hint = suggestion(channel.field, fields)
            check.wrong(f"{key}.channel[{index}].field", channel.field, f"the link has no value of that name{hint}")
        channels.append(resolve_channel(check, f"{key}.channel[{index}]", channel, instrument.name, interval_s))
    _check_fields(check, key, instrument)
    return InstrumentSetup(
        name=instrument.name,
        link=kind_of(instrument.link).name,
        interval_s=interval_s,
        channels=tuple(channel for channel in channels if channel),
    )


def _check_fields(check: Check, key: str, instrument: InstrumentConfig) -> None:
    """Note a value that is taken for two quantities."""
    first_of: dict[str, str] = {}
    for index, channel in enumerate(instrument.channels):
        first = first_of.setdefault(channel.field, channel.channel)
        quantities = {CHANNELS.get(first), CHANNELS.get(channel.channel)}
        if len(quantities) > 1 and None not in quantities:
            expected = f"{first} reads this value too, which is another quantity; correct one of them"
            check.wrong(f"{key}.channel[{index}].field", channel.field, expected)


def resolve_channel(
    check: Check, key: str, channel: ChannelConfig, instrument: str, interval_s: float
) -> ChannelSetup | None:
    """Read how one channel of an instrument is measured; None where that cannot be known."""
    calibrated_on = _read_date(check, f"{key}.calibrated", channel.calibrated)
    if not _LOWEST_SLOPE <= channel.slope <= _HIGHEST_SLOPE:
        band = f"{_LOWEST_SLOPE:g} to {_HIGHEST_SLOPE:g}"
        expected = f"{band} was expected; correct it or `unit`, or have the instrument repaired"
        check.wrong(f"{key}.slope", channel.slope, expected)
    if channel.channel not in CHANNELS:
        expected = f"there is no such channel{suggestion(channel.channel, CHANNELS)}"
        check.wrong(f"{key}.channel", channel.channel, f"{expected} Known: {', '.join(CHANNELS)}")
        return None
    quantity = CHANNELS[channel.channel]
    reference = _read_reference(check, key, channel)
    to_si = _read_unit(check, key, channel)
    accuracy = _read_difference(check, f"{key}.accuracy", channel.accuracy, quantity, LEAST)
    offset = _read_difference(check, f"{key}.offset", channel.offset, quantity, -_LARGEST)
    if abs(offset) > _OFFSET_ACCURACIES * accuracy:
        expected = (
            f"at most {_OFFSET_ACCURACIES} times the accuracy was expected, which is {channel.accuracy}; "
            "correct one of them, or have the instrument repaired"
        )
        check.wrong(f"{key}.offset", channel.offset, expected)
    if reference is None or to_si is None:
        return None
    return ChannelSetup(
        name=channel.channel,
        instrument=instrument,
        field=channel.field,
        unit=channel.unit,
        reference=reference,
        conversion=to_si,
        accuracy=accuracy,
        interval_s=interval_s,
        slope=channel.slope,
        offset=offset / to_si.factor,
        calibrated_on=calibrated_on,
    )


_LARGEST = 1e7
"""More than any accuracy or offset [SI]: 100 bar."""


def _read_difference(check: Check, key: str, text: str | None, quantity: Quantity, low: float) -> float:
    if text is None:
        return 0.0
    return check.read(key, text, lambda text: parse_difference(text, quantity), low, _LARGEST)


def _read_reference(check: Check, key: str, channel: ChannelConfig) -> Literal["gauge", "absolute", ""] | None:
    """Say what a pressure counts from; empty for what is no pressure, None where that is wrong."""
    key = f"{key}.reference"
    if CHANNELS[channel.channel] is not Quantity.PRESSURE:
        if channel.reference is None:
            return ""
        check.wrong(key, channel.reference, "only a pressure has a reference; leave it out")
        return None
    if channel.channel in _ABSOLUTE_BY_NATURE:
        if channel.reference in (None, "absolute"):
            return "absolute"
        check.wrong(key, channel.reference, f'{channel.channel} is "absolute" by nature')
        return None
    if channel.reference is None:
        check.wrong(key, None, 'is missing; "gauge" or "absolute" was expected: the maker says which')
    return channel.reference


def _read_unit(check: Check, key: str, channel: ChannelConfig) -> Conversion | None:
    """Look up the unit. A gauge pressure gets no barometric pressure yet: that may come from a channel."""
    kind: Kind = CHANNELS[channel.channel]
    reference = channel.reference
    if kind is Quantity.PRESSURE:
        reference = reference or "absolute"
        kind = channel.channel if channel.channel in _ABSOLUTE_BY_NATURE else kind
    try:
        return conversion(channel.unit, kind, reference=reference, barometric_pressure_pa=0.0)
    except CalcError as error:
        check.wrong(f"{key}.unit", channel.unit, str(error))
        return None


def _read_date(check: Check, key: str, text: str) -> date | None:
    if not text:
        return None
    try:
        found = date.fromisoformat(text)
    except ValueError:
        check.wrong(key, text, 'a date such as "2026-03-31" was expected')
        return None
    today = date.today()  # noqa: DTZ011 - the date of whoever wrote it, in their zone
    if found > today + _A_YEAR:
        check.wrong(
            key, text, f"is in the future: by this machine's clock it is {today}; correct the date, or the clock"
        )
    return found
