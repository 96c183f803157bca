"""Scenarios: TOML files that say what unit stands there, in what state, and how good the instruments are.

Values are written with their units, as in "86 degF". A name without a path is one of simulators/scenarios.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Literal

import msgspec

from calc.quantities import CHANNELS, Quantity
from simulators.bench.instruments import Instrument, Output, SensorSetting, bench_instruments, further_instruments
from simulators.bench.scenario_correlated import correlated
from simulators.bench.scenario_panel import (
    CapacitorSection,
    ContactorSection,
    OfPanel,
    PanelSections,
    SupplySection,
    as_found,
)
from simulators.bench.scenario_reading import Reader, ScenarioError
from simulators.bench.training import Truth
from simulators.device.faults import DeviceFault
from simulators.errors import SimulatorError
from simulators.second_family.parameters import Parameters
from simulators.unit import properties
from simulators.unit.faults import Faults
from simulators.unit.line_set import LineSet
from simulators.unit.metering import FixedOrifice, MeteringDevice, ThermostaticValve
from simulators.unit.parameters import Conditions, UnitParameters
from simulators.unit.sizing import Build, size

USUAL = "long_lines"
"""The scenario that the bench starts with."""

USUAL_REFRIGERANT = UnitParameters().refrigerant
METERING: Mapping[str, MeteringDevice] = {
    "txv": ThermostaticValve(),
    "fixed_orifice": FixedOrifice(),
}


class UnitSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[unit]`: what is engraved on it, where it stands, and what it is made for."""

    tag: str
    place: str
    refrigerant: str
    metering_device: Literal["txv", "fixed_orifice"]


class NameplateSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[nameplate]`: what the rig is told of the nameplate; leave out what it does not say."""

    charge: str | None = None
    target_superheat: str | None = None
    target_subcooling: str | None = None
    compressor_rla: str | None = None
    condenser_fan_fla: str | None = None
    blower_fla: str | None = None


class ConditionsSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[conditions]`: the weather, the room and the supply."""

    outdoor_air: str = "86 degF"
    return_air: str = "75 degF"
    return_air_humidity: str = "50 %RH"
    elevation: str = "30 m"
    line_voltage: str = "230 V"
    outdoor_air_humidity: str = "50 %RH"


class FaultsSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[faults]`: sizes of what is wrong besides the charge; see simulators.unit.faults.Faults."""

    evaporator_airflow: str = "100 %"
    condenser_airflow: str = "100 %"
    liquid_line_restriction: str = "0 %"
    compressor_leakage: str = "0 %"
    non_condensables: str = "0 psi"
    bulb_contact: str = "100 %"
    valve_oversize: float = 1.0
    herm_capacitor: str = "100 %"
    fan_capacitor: str = "100 %"
    lug_resistance: str = "0 ohm"
    voltage_sag: str = "0 %"
    voltage_unbalance: str = "0 %"
    water: str = "0 g"


class BuildSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[build]`: a unit sized from its nameplate; left out, it is the usual one, of 3.5 tons on R-410A.

    line_set: the length of its lines makes it a split unit. heat_pump: it heats too. defrost_every: of running below
    freezing.
    """

    capacity: str
    phases: Literal[1, 3] = 3
    voltage: str = "230 V"
    line_set: str | None = None
    heat_pump: bool = False
    defrost_every: str = "60 min"


class SecondCircuitSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[second_circuit]`: beside the first, in the same fins and air, and made like it. charge: what is in it."""

    charge: str


class TruthSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[truth]`: the hidden fault, one of simulators.bench.training.FAULTS, and how the readings tell it."""

    fault: str
    reading: str


class SensorSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[sensors.CHANNEL]`: what differs from the bench's usual instrument. Sizes are differences: "0.5 degF".

    gain: of what it reads. drift: in an hour. contact: how far a clamp feels its pipe. found_at: the channel where the
    probe really sits. sends: "absolute" of a pressure whose papers say gauge.
    """

    accuracy: str | None = None
    noise: str | None = None
    offset: str | None = None
    lag: str | None = None
    gain: str = "100 %"
    drift: str | None = None
    contact: str = "100 %"
    found_at: str | None = None
    sends: Literal["gauge", "absolute"] = "gauge"


class ScenarioFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole file. charge: what is in the unit when the technician arrives. seed: of the instruments' noise.

    mode: what the thermostat calls for. family: the model that its gauges are of; a correlated unit is drawn by seed.
    contains: the refrigerant that is really in it, and selected: the one that the rig is told, where they are not the
    nameplate's. starts_after: where it is at rest at first, when the thermostat calls. also: instruments besides the
    usual four. lugs: those that are not tight, "0.05 ohm" or "off".
    misbehaves: by instrument its faults (simulators.device.faults), each with its size, "20 %" of the
    messages or a delay of "2 s", or true.
    """

    title: str
    story: str
    unit: UnitSection
    charge: str
    mode: Literal["cooling", "heating"] = "cooling"
    family: Literal["physical", "correlated"] = "physical"
    truth: TruthSection | None = None
    contains: str | None = None
    selected: str | None = None
    starts_after: str | None = None
    build: BuildSection | None = None
    second_circuit: SecondCircuitSection | None = None
    nameplate: NameplateSection = NameplateSection()
    conditions: ConditionsSection = ConditionsSection()
    faults: FaultsSection = FaultsSection()
    supply: SupplySection = SupplySection()
    contactor: ContactorSection = ContactorSection()
    capacitors: dict[str, CapacitorSection] = {}
    lugs: dict[str, str] = {}
    panel: PanelSections = PanelSections()
    also: tuple[str, ...] = ()
    sensors: dict[str, SensorSection] = {}
    misbehaves: dict[str, dict[str, str | bool]] = {}
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario with every value read. beside: the second circuit, where there is one.

    correlated: what the gauges are on, where that is a unit of the second family; its panel is that of parameters.
    """

    file: ScenarioFile
    parameters: UnitParameters
    beside: UnitParameters | None
    correlated: Parameters | None
    instruments: tuple[Instrument, ...]
    elevation_m: float
    truth: Truth | None
    starts_after_s: float | None
    misbehaviour: Mapping[str, Sequence[tuple[DeviceFault, float | None]]]


def names() -> list[str]:
    """List the scenarios that come along."""
    folder = resources.files("simulators.scenarios")
    return sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml"))


def file_of(name: str) -> ScenarioFile:
    """Read the file of one of the scenarios that come along, as far as its form."""
    content = (resources.files("simulators.scenarios") / f"{name}.toml").read_bytes()
    return msgspec.toml.decode(content, type=ScenarioFile)


def load_scenario(name_or_path: str) -> Scenario:
    """Read a scenario by its name, or from a file of one's own.

    Raises:
        ScenarioError: there is none of this name, or the file cannot be used.

    """
    if name_or_path in names():
        file = resources.files("simulators.scenarios") / f"{name_or_path}.toml"
        return parse_scenario(file.read_bytes(), name_or_path)
    path = Path(name_or_path)
    if path.suffix != ".toml":
        raise ScenarioError(
            f"no scenario {name_or_path!r}: give one of {', '.join(names())}, or the path of a .toml file"
        )
    try:
        return parse_scenario(path.read_bytes(), str(path))
    except OSError as error:
        raise ScenarioError(f"{path} cannot be read: {error.strerror}") from error


def parse_scenario(content: bytes, source: str) -> Scenario:
    """Read the content of a scenario file. source: what to call it in errors.

    Raises:
        ScenarioError: the content cannot be used.

    """
    try:
        file = msgspec.toml.decode(content, type=ScenarioFile)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise ScenarioError(f"{source}: {error}") from error
    try:
        return _resolve(Reader(source), file)
    except ScenarioError:
        raise
    except SimulatorError as error:
        raise ScenarioError(f"{source}: {error}") from error


def _resolve(read: Reader, file: ScenarioFile) -> Scenario:
    elevation_m = read("conditions.elevation", file.conditions.elevation, "length")
    sized = _sized(read, file)
    parameters = replace(
        sized,
        charge_kg=read("charge", file.charge, Quantity.MASS),
        refrigerant=_known(read, "contains", file.contains or file.unit.refrigerant),
        conditions=_conditions(read, file.conditions, elevation_m),
        faults=_faults(read, file.faults),
        as_found=as_found(
            read,
            OfPanel(file.supply, file.contactor, file.capacitors, file.lugs, file.panel),
            sized.compressor_motor.phases,
        ),
    )
    beside = _beside(read, file, parameters)
    second_family = _correlated(read, file, parameters, right_kg=sized.charge_kg)
    circuits = 1 if beside is None else 2
    return Scenario(
        file,
        parameters,
        beside,
        second_family,
        _instruments(read, file.also, file.sensors),
        elevation_m,
        None if file.truth is None else Truth(file.truth.fault, circuits * sized.charge_kg, file.truth.reading.strip()),
        None if file.starts_after is None else read("starts_after", file.starts_after, "time"),
        {name: _misbehaviour(read, name, section) for name, section in file.misbehaves.items()},
    )


def _correlated(read: Reader, file: ScenarioFile, unit: UnitParameters, *, right_kg: float) -> Parameters | None:
    """Make the unit of the second family, where the scenario is of it."""
    if file.family == "physical":
        return None
    if file.build is None or file.second_circuit is not None or file.contains is not None:
        raise read.error("family", file.family, "it needs [build], one circuit, and contains what its plate says")
    target = file.nameplate.target_subcooling
    return correlated(
        unit,
        right_kg=right_kg,
        capacity_w=read("build.capacity", file.build.capacity, "power"),
        subcooling_dk=None
        if target is None
        else read.difference("nameplate.target_subcooling", target, Quantity.TEMPERATURE_DIFFERENCE),
        seed=file.seed,
    )


def _beside(read: Reader, file: ScenarioFile, first: UnitParameters) -> UnitParameters | None:
    """Make the second circuit: nothing is wrong with it but its charge, and its panel is not reached."""
    if file.second_circuit is None:
        return None
    if file.mode == "heating" or file.starts_after is not None:
        raise read.error("second_circuit", file.second_circuit.charge, "a unit of two circuits cools and runs")
    charge_kg = read("second_circuit.charge", file.second_circuit.charge, Quantity.MASS)
    return replace(first, charge_kg=charge_kg, faults=Faults())


_LASTING = {fault.value: fault for fault in DeviceFault if fault is not DeviceFault.REBOOT}


def _misbehaviour(
    read: Reader, instrument: str, section: Mapping[str, str | bool]
) -> list[tuple[DeviceFault, float | None]]:
    known = [*(item.name for item in bench_instruments()), *further_instruments()]
    if instrument not in known:
        raise read.error("misbehaves", instrument, f"the bench has {', '.join(known)}")
    faults: list[tuple[DeviceFault, float | None]] = []
    for name, given in section.items():
        key = f"misbehaves.{instrument}.{name}"
        if name not in _LASTING:
            raise read.error(key, str(given), f"no fault that lasts; those are {', '.join(_LASTING)}")
        fault = _LASTING[name]
        if isinstance(given, str):
            faults.append((fault, read(key, given, "time" if fault is DeviceFault.DELAY else Quantity.RATIO)))
        elif given:
            faults.append((fault, None))
    return faults


def _known(read: Reader, key: str, refrigerant: str) -> str:
    if refrigerant not in properties.names():
        raise read.error(key, refrigerant, f"the unit is simulated with {', '.join(properties.names())}")
    return refrigerant


def _sized(read: Reader, file: ScenarioFile) -> UnitParameters:
    """Make the unit as it should be, its right charge included."""
    refrigerant = _known(read, "unit.refrigerant", file.unit.refrigerant)
    if file.mode == "heating" and not (file.build and file.build.heat_pump):
        raise read.error("mode", file.mode, "only a heat pump heats; give it [build] with heat_pump = true")
    section, plate = file.build, file.nameplate
    usual = UnitParameters(refrigerant=refrigerant, metering=METERING[file.unit.metering_device])
    right_kg = usual.charge_kg if plate.charge is None else read("nameplate.charge", plate.charge, Quantity.MASS)
    if section is None and refrigerant != USUAL_REFRIGERANT:
        raise read.error("unit.refrigerant", refrigerant, f"without [build], it is a unit for {USUAL_REFRIGERANT}")
    if section is None:
        return replace(usual, charge_kg=right_kg)
    build = Build(
        capacity_w=read("build.capacity", section.capacity, "power"),
        charge_kg=right_kg,
        refrigerant=refrigerant,
        metering=file.unit.metering_device,
        phases=section.phases,
        heat_pump=section.heat_pump,
        defrost_every_s=read.within("build.defrost_every", section.defrost_every, "time", "10 min", "120 min"),
        nominal_voltage_v=read("build.voltage", section.voltage, Quantity.VOLTAGE),
        line_set=None if section.line_set is None else LineSet(read("build.line_set", section.line_set, "length")),
    )
    if plate.compressor_rla is not None:
        build = replace(
            build, compressor_rla_a=read("nameplate.compressor_rla", plate.compressor_rla, Quantity.CURRENT)
        )
    if plate.condenser_fan_fla is not None:
        fla_a = read("nameplate.condenser_fan_fla", plate.condenser_fan_fla, Quantity.CURRENT)
        build = replace(build, condenser_fan_fla_a=fla_a)
    if plate.target_subcooling is not None:
        target_dk = read.difference(
            "nameplate.target_subcooling", plate.target_subcooling, Quantity.TEMPERATURE_DIFFERENCE
        )
        build = replace(build, target_subcooling_dk=target_dk)
    return size(build)


def standard_pressure(elevation_m: float) -> float:
    """Give the pressure of the standard atmosphere, ISO 2533, at this elevation [Pa]."""
    return 101_325.0 * math.pow(1.0 - 2.25577e-5 * elevation_m, 5.25588)


def _conditions(read: Reader, section: ConditionsSection, elevation_m: float) -> Conditions:
    return Conditions(
        outdoor_air_k=read("conditions.outdoor_air", section.outdoor_air, Quantity.TEMPERATURE),
        return_air_k=read("conditions.return_air", section.return_air, Quantity.TEMPERATURE),
        return_air_humidity=read("conditions.return_air_humidity", section.return_air_humidity, Quantity.HUMIDITY),
        barometric_pressure_pa=standard_pressure(elevation_m),
        outdoor_air_humidity=read("conditions.outdoor_air_humidity", section.outdoor_air_humidity, Quantity.HUMIDITY),
        line_voltage_v=read("conditions.line_voltage", section.line_voltage, Quantity.VOLTAGE),
    )


def _faults(read: Reader, section: FaultsSection) -> Faults:
    fractions = {
        name: read(f"faults.{name}", getattr(section, name), Quantity.RATIO)
        for name in (
            "evaporator_airflow",
            "condenser_airflow",
            "liquid_line_restriction",
            "compressor_leakage",
            "bulb_contact",
            "herm_capacitor",
            "fan_capacitor",
            "voltage_sag",
            "voltage_unbalance",
        )
    }
    pressure = read.difference("faults.non_condensables", section.non_condensables, Quantity.PRESSURE)
    return Faults(
        **fractions,
        non_condensables_pa=pressure,
        valve_oversize=section.valve_oversize,
        water_kg=read("faults.water", section.water, Quantity.MASS),
        lug_resistance_ohm=read("faults.lug_resistance", section.lug_resistance, "resistance"),
    )


def _instruments(read: Reader, also: Sequence[str], sections: Mapping[str, SensorSection]) -> tuple[Instrument, ...]:
    further = further_instruments()
    for name in also:
        if name not in further:
            raise read.error("also", name, f"the bench can also have {', '.join(further)}")
    instruments = (*bench_instruments(), *(further[name] for name in also))
    known = {output.channel for instrument in instruments for output in instrument.outputs}
    for channel in sections:
        if channel not in known:
            raise read.error("sensors", channel, f"the bench measures {', '.join(sorted(known))}")
    return tuple(
        replace(
            instrument,
            outputs=tuple(_output(read, output, sections.get(output.channel)) for output in instrument.outputs),
        )
        for instrument in instruments
    )


def _output(read: Reader, output: Output, section: SensorSection | None) -> Output:
    if section is None:
        return output
    quantity, setting = CHANNELS[output.channel], output.setting

    def changed(name: str, text: str | None, usual: float) -> float:
        return usual if text is None else read.difference(f"sensors.{output.channel}.{name}", text, quantity)

    lag_s = setting.lag_s
    if section.lag is not None:
        lag_s = read(f"sensors.{output.channel}.lag", section.lag, "time")
    if section.accuracy is not None:
        read.difference(f"sensors.{output.channel}.accuracy", section.accuracy, quantity)
    if section.found_at is not None and CHANNELS.get(section.found_at) != quantity:
        raise read.error(f"sensors.{output.channel}.found_at", section.found_at, "name a channel of the same quantity")
    return replace(
        output,
        contact=read(f"sensors.{output.channel}.contact", section.contact, Quantity.RATIO),
        found_at=section.found_at,
        sends_absolute=section.sends == "absolute",
        accuracy_text=section.accuracy or output.accuracy_text,
        setting=SensorSetting(
            noise=changed("noise", section.noise, setting.noise),
            offset=changed("offset", section.offset, setting.offset),
            lag_s=lag_s,
            gain=read(f"sensors.{output.channel}.gain", section.gain, Quantity.RATIO),
            drift_per_h=changed("drift", section.drift, setting.drift_per_h),
        ),
    )
