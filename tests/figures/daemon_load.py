"""What the daemon costs: ten instruments at ten readings a second, over real pseudo-terminals."""

import asyncio
import math
import sqlite3
import tempfile
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, closing
from pathlib import Path

import psutil

from ingest.wire.messages import decode_pack
from simulators.device.serial import SerialProbe
from tests.figures import Figure
from tests.processes import Command, running, unused_port

INTERVAL_S = 0.1
WARM_UP_S = 75.0  # by then there is enough to judge by
WATCHED_S = 20.0
MEGABYTE = 1e6

CHANNELS = {
    "suction_pressure": ("psi", "gauge", 118.0),
    "liquid_pressure": ("psi", "gauge", 345.0),
    "suction_line_temperature": ("degF", "", 51.0),
    "liquid_line_temperature": ("degF", "", 96.0),
    "return_air_temperature": ("degF", "", 75.0),
    "supply_air_temperature": ("degF", "", 56.0),
    "outdoor_air_temperature": ("degF", "", 86.0),
    "compressor_current": ("A", "", 7.6),
    "condenser_fan_current": ("A", "", 1.6),
    "line_voltage_ab": ("V", "", 231.0),
}
"""One instrument each: unit, reference, and about what it reads."""

RIG = """
[rig]
name = "load"
record = "load.sqlite"
elevation = "30 m"
[broker]
listen = "127.0.0.1:{port}"
[unit]
tag = "RTU-K7Q-4"
refrigerant = "R-410A"
metering_device = "txv"
[unit.nameplate]
target_subcooling = "10 degF"
compressor_rla = "12 A"
"""
INSTRUMENT = """
[[instrument]]
name = "{channel}"
interval = "{interval} s"
link = {{ kind = "serial_lines", port = "{port}" }}
[[instrument.channel]]
channel = "{channel}"
field = "value"
unit = "{unit}"
accuracy = "1 {unit}"
{reference}
"""


async def measure() -> AsyncIterator[Figure]:
    """Watch the daemon's process for a while."""
    with tempfile.TemporaryDirectory() as name:
        directory = Path(name)
        async with AsyncExitStack() as opened:
            for channel, (_, _, about) in CHANNELS.items():
                await opened.enter_async_context(_probe(directory / channel, about))
            (directory / "rig.toml").write_text(configuration(directory), encoding="utf-8")
            daemon = await opened.enter_async_context(
                running(["daemon", "--config", str(directory / "rig.toml")], directory / "daemon.log")
            )
            for figure in await _watch(daemon):
                yield figure
            yield await asyncio.to_thread(_what_was_read, directory / "load.sqlite")


def _probe(address: Path, about: float) -> SerialProbe:
    clock = asyncio.get_running_loop().time
    return SerialProbe(lambda: {"value": about + math.sin(clock())}, address=address, interval_s=INTERVAL_S)


def configuration(directory: Path) -> str:
    """Write what the daemon reads, for instruments whose ports are in a directory."""
    instruments = [
        INSTRUMENT.format(
            channel=channel, interval=INTERVAL_S, port=directory / channel, unit=unit,
            reference=f'reference = "{reference}"' if reference else "",
        )
        for channel, (unit, reference, _) in CHANNELS.items()
    ]  # fmt: skip
    return RIG.format(port=unused_port()) + "".join(instruments)


def _what_was_read(record: Path) -> Figure:
    """Make sure that the load was real: each instrument's newest reading, sound, is in the newest pack."""
    with closing(sqlite3.connect(record)) as connection:
        (payload,) = connection.execute("SELECT payload FROM packs ORDER BY sequence DESC LIMIT 1").fetchone()
    readings = decode_pack(payload).readings
    sound = sum(readings[channel].quality == "ok" for channel in CHANNELS)
    return Figure("daemon, 10 instruments at 10 Hz: sound channels", str(sound), str(len(CHANNELS)))


async def _watch(daemon: Command) -> list[Figure]:
    await asyncio.sleep(WARM_UP_S)
    process = psutil.Process(daemon.process.pid)
    before = process.cpu_times()
    await asyncio.sleep(WATCHED_S)
    after = process.cpu_times()
    share = (after.user + after.system - before.user - before.system) / WATCHED_S
    resident = process.memory_info().rss / MEGABYTE
    loaded = any("CoolProp" in mapped.path for mapped in process.memory_maps())
    what = "daemon, 10 instruments at 10 Hz"
    return [
        Figure(f"{what}: CPU", f"{share:.1%} of one core", "<= 5 % of one core"),
        Figure(f"{what}: memory", f"{resident:.0f} MB resident", "<= 120 MB"),
        Figure(f"{what}: CoolProp", "loaded" if loaded else "not loaded", "never imported"),
    ]
