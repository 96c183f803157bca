"""An invented rig for tests: its configuration, and readings as its instruments would send them."""

from dataclasses import replace
from pathlib import Path

import msgspec

from ingest.config.load import load, resolve
from ingest.rig import Rig
from ingest.wire.messages import Pack, Reading

CONFIGURATION = """
[rig]
name = "bench"
record = "bench.sqlite"
elevation = "0 m"

[broker]
{broker}

[unit]
tag = "RTU-K7Q-4"
place = "Harbour Street library, roof, north row"
refrigerant = "R-410A"
metering_device = "txv"

[unit.nameplate]
charge = "7.5 lb"
target_subcooling = "10 degF"
compressor_rla = "12 A"
condenser_fan_fla = "2.0 A"

[[instrument]]
name = "low side probe"
interval = "0.5 s"
link = {{ kind = "serial_lines", port = "{directory}/low", baud = 9600 }}

[[instrument.channel]]
channel = "suction_pressure"
field = "pressure"
unit = "psi"
reference = "gauge"
accuracy = "1 psi"

[[instrument.channel]]
channel = "suction_line_temperature"
field = "temperature"
unit = "degF"
accuracy = "0.9 degF"

[[instrument]]
name = "high side probe"
interval = "0.5 s"
link = {{ kind = "serial_lines", port = "{directory}/high", baud = 9600 }}

[[instrument.channel]]
channel = "liquid_pressure"
field = "pressure"
unit = "kPa"
reference = "gauge"
accuracy = "7 kPa"

[[instrument.channel]]
channel = "liquid_line_temperature"
field = "temperature"
unit = "degC"
accuracy = "0.5 degC"
"""


def write_configuration(directory: Path, broker: str = 'listen = "127.0.0.1:1883"') -> Path:
    """Write the configuration into a directory, where the instruments' ports will be too."""
    path = directory / "rig.toml"
    path.write_text(CONFIGURATION.format(directory=directory, broker=broker), encoding="utf-8")
    return path


def make_rig(directory: Path) -> Rig:
    """The rig as the daemon sees it."""
    path = write_configuration(directory)
    return resolve(load(path), path)


def make_pack(time_s: float = 1_700_000_000.0, **values: float) -> Pack:
    """A pack with a suction pressure of 118 psig, or with these values in SI."""
    readings = {name: Reading(value, time_s) for name, value in values.items()}
    return Pack(
        rig="bench",
        sequence=None,
        session=1,
        epoch=0,
        monotonic_s=time_s - 1_699_000_000.0,
        time_s=time_s,
        readings=readings or {"suction_pressure": Reading(914_906.0, time_s)},
    )


def with_unit(rig: Rig, **changes: object) -> Rig:
    """The same rig at a unit that differs."""
    return replace(rig, unit=msgspec.structs.replace(rig.unit, **changes))
