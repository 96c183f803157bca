"""Scenarios: TOML files that say what unit stands there, in what state, and how good the instruments are.

Values are written with their units, as in "86 degF". A name without a path is one of simulators/scenarios.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Literal

import msgspec

from calc import units
from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from simulators import properties
from simulators.errors import SimulatorError
from simulators.instruments import Instrument, Output, SensorSetting, bench_instruments
from simulators.metering import FixedOrifice, MeteringDevice, ThermostaticValve
from simulators.unit_parameters import Conditions, Faults, UnitParameters

METERING: Mapping[str, MeteringDevice] = {
    "txv": ThermostaticValve(),
    "fixed_orifice": FixedOrifice(),
}


class ScenarioError(SimulatorError):
    """A scenario that cannot be used: which file, which key, what was there and what would do."""


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


class FaultsSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[faults]`: sizes of what is wrong besides the charge; see simulators.unit_parameters.Faults."""

    evaporator_airflow: str = "100 %"
    condenser_airflow: str = "100 %"
    liquid_line_restriction: str = "0 %"
    compressor_leakage: str = "0 %"
    non_condensables: str = "0 psi"


class SensorSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[sensors.CHANNEL]`: what differs from the bench's usual instrument. All are differences: "0.5 degF"."""

    accuracy: str | None = None
    noise: str | None = None
    offset: str | None = None
    lag: str | None = None


class ScenarioFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole file. charge: what is in the unit when the technician arrives. seed: of the instruments' noise."""

    title: str
    story: str
    unit: UnitSection
    charge: str
    nameplate: NameplateSection = NameplateSection()
    conditions: ConditionsSection = ConditionsSection()
    faults: FaultsSection = FaultsSection()
    sensors: dict[str, SensorSection] = {}
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario with every value read."""

    file: ScenarioFile
    parameters: UnitParameters
    instruments: tuple[Instrument, ...]
    elevation_m: float


def names() -> list[str]:
    """List the scenarios that come along."""
    folder = resources.files("simulators.scenarios")
    return sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml"))


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
        return _resolve(_Reader(source), file)
    except ScenarioError:
        raise
    except SimulatorError as error:
        raise ScenarioError(f"{source}: {error}") from error


def _resolve(read: "_Reader", file: ScenarioFile) -> Scenario:
    elevation_m = read("conditions.elevation", file.conditions.elevation, "length")
    if file.unit.refrigerant not in properties.names():
        expected = f"the unit is simulated with {', '.join(properties.names())}"
        raise read.error("unit.refrigerant", file.unit.refrigerant, expected)
    parameters = UnitParameters(
        charge_kg=read("charge", file.charge, Quantity.MASS),
        refrigerant=file.unit.refrigerant,
        conditions=_conditions(read, file.conditions, elevation_m),
        metering=METERING[file.unit.metering_device],
        faults=_faults(read, file.faults),
    )
    return Scenario(file, parameters, _instruments(read, file.sensors), elevation_m)


class _Reader:
    """Reads values with units, and names file and key when one cannot be read."""

    def __init__(self, source: str) -> None:
        self._source = source

    def __call__(self, key: str, text: str, kind: units.Kind) -> float:
        return self._try(key, text, lambda: units.parse(text, kind))

    def difference(self, key: str, text: str, quantity: Quantity) -> float:
        return self._try(key, text, lambda: units.parse_difference(text, quantity))

    def error(self, key: str, text: str, expected: str) -> ScenarioError:
        return ScenarioError(f"{self._source}: {key} = {text!r}: {expected}")

    def _try(self, key: str, text: str, parse: Callable[[], float]) -> float:
        try:
            return parse()
        except CalcError as error:
            raise self.error(key, text, str(error)) from error


def standard_pressure(elevation_m: float) -> float:
    """Give the pressure of the standard atmosphere, ISO 2533, at this elevation [Pa]."""
    return 101_325.0 * math.pow(1.0 - 2.25577e-5 * elevation_m, 5.25588)


def _conditions(read: _Reader, section: ConditionsSection, elevation_m: float) -> Conditions:
    return Conditions(
        outdoor_air_k=read("conditions.outdoor_air", section.outdoor_air, Quantity.TEMPERATURE),
        return_air_k=read("conditions.return_air", section.return_air, Quantity.TEMPERATURE),
        return_air_humidity=read("conditions.return_air_humidity", section.return_air_humidity, Quantity.HUMIDITY),
        barometric_pressure_pa=standard_pressure(elevation_m),
        line_voltage_v=read("conditions.line_voltage", section.line_voltage, Quantity.VOLTAGE),
    )


def _faults(read: _Reader, section: FaultsSection) -> Faults:
    fractions = {
        name: read(f"faults.{name}", getattr(section, name), Quantity.RATIO)
        for name in (
            "evaporator_airflow",
            "condenser_airflow",
            "liquid_line_restriction",
            "compressor_leakage",
        )
    }
    pressure = read.difference("faults.non_condensables", section.non_condensables, Quantity.PRESSURE)
    return Faults(**fractions, non_condensables_pa=pressure)


def _instruments(read: _Reader, sections: Mapping[str, SensorSection]) -> tuple[Instrument, ...]:
    instruments = bench_instruments()
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


def _output(read: _Reader, output: Output, section: SensorSection | None) -> Output:
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
    return replace(
        output,
        accuracy_text=section.accuracy or output.accuracy_text,
        setting=SensorSetting(
            noise=changed("noise", section.noise, setting.noise),
            offset=changed("offset", section.offset, setting.offset),
            lag_s=lag_s,
        ),
    )
