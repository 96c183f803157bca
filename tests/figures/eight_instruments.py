"""A visit with eight instruments over five kinds of link: what is lost, who disturbs whom, what replugging leaves.

An instrument that sends by itself counts in its value, so that a reading that is not in the record is missed. Those
that are asked have no count of their own: of them the longest silence tells.

    python -m tests.figures.eight_instruments [MINUTES [CYCLES]]
"""

import asyncio
import os
import signal
import sqlite3
import sys
import tempfile
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AsyncExitStack, asynccontextmanager, closing
from dataclasses import dataclass
from itertools import count, pairwise
from pathlib import Path
from types import TracebackType
from typing import Self

import aiomqtt

from ingest.config.load import load
from ingest.daemon import run
from ingest.wire.messages import Pack, decode_pack
from simulators.device.adverts import AdvertisingDevice
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.device import Read, SimulatedDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.meter import MeterDevice
from simulators.device.modbus import ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from tests.bluetooth import reached
from tests.brokers import mosquitto
from tests.fault.test_unplug import Held
from tests.figures import Figure
from tests.processes import unused_port

MINUTES = 1.0
CYCLES = 16
INTERVAL_S = 1.0
UNPLUGGED_S = 1.0
SETTLING_S = 15.0
PATIENCE_S = 60.0
LATE_S = 3 * INTERVAL_S

RIG = """
[rig]
name = "visit"
record = "visit.sqlite"
elevation = "30 m"
[broker]
url = "mqtt://127.0.0.1:{port}"
[unit]
tag = "RTU-K7Q-4"
refrigerant = "R-410A"
metering_device = "txv"
"""
INSTRUMENT = """
[[instrument]]
name = "{channel}"
interval = "{interval} s"
link = {link}
[[instrument.channel]]
channel = "{channel}"
field = "{field}"
unit = "{unit}"
accuracy = "1 {unit}"
"""


class MqttScale(SimulatedDevice):
    """A scale that publishes its number."""

    def __init__(self, read: Read, *, port: int, topic: str, interval_s: float) -> None:
        super().__init__(read, interval_s)
        self._port = port
        self._topic = topic
        self._plugged = False
        self._waiting: asyncio.Queue[bytes] = asyncio.Queue()
        self._publishing: asyncio.Task[None] | None = None

    @property
    def address(self) -> str:
        """Its topic."""
        return self._topic

    def unplug(self) -> None:
        self._plugged = False

    def replug(self) -> None:
        self._plugged = True

    async def __aenter__(self) -> Self:
        self._publishing = asyncio.create_task(self._publish())
        return await super().__aenter__()

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await super().__aexit__(kind, error, trace)
        if self._publishing:
            self._publishing.cancel()
            await asyncio.wait([self._publishing])

    def _sample(self) -> None:
        values = self._read()
        if self._plugged:
            self._emit(self._waiting.put_nowait, f"{values['value']:.3f}".encode())

    async def _publish(self) -> None:
        async with aiomqtt.Client("127.0.0.1", self._port) as client:
            while True:
                await client.publish(self._topic, await self._waiting.get(), qos=1)


@dataclass(frozen=True)
class Given:
    """One instrument, named by its channel. step: from one number to the next [SI]; None where it is asked."""

    channel: str
    field: str
    unit: str
    link: str
    device: SimulatedDevice
    step: float | None

    def configuration(self) -> str:
        text = INSTRUMENT.format(
            channel=self.channel, field=self.field, unit=self.unit, link=self.link, interval=INTERVAL_S
        )
        return f'{text}reference = "gauge"\n' if self.channel.endswith("pressure") else text


def counting(field: str, start: float, step: float) -> Read:
    """Make an instrument's values: each time one step more."""
    numbers = count()
    return lambda: {field: start + step * next(numbers)}


def serial_instruments(directory: Path) -> list[Given]:
    """Make what hangs on serial ports: two probes that send text, a multimeter, and a meter that is asked."""
    low = SerialProbe(counting("value", 100.0, 0.01), address=directory / "low", interval_s=INTERVAL_S)
    high = SerialProbe(counting("value", 2e3, 0.1), address=directory / "high", interval_s=INTERVAL_S, form="json")
    amps = MeterDevice(
        counting("ac_current", 0.5, 0.001), address=directory / "amps", function="ac_current", interval_s=INTERVAL_S
    )
    volts = ScpiDevice(counting("value", 230.0, 0.001), address=directory / "volts", queries={"MEAS:VOLT:AC?": "value"})
    text = '{{ kind = "serial_lines", port = "{}" }}'
    fs9721 = f'{{ kind = "serial_meter", chip = "fs9721", port = "{amps.address}" }}'
    scpi = f'{{ kind = "scpi", port = "{volts.address}", poll = "1 s", queries = {{ value = "MEAS:VOLT:AC?" }} }}'
    return [
        Given("suction_pressure", "value", "psi", text.format(low.address), low, 0.01 * 6894.757),
        Given("liquid_pressure", "value", "kPa", text.format(high.address), high, 100.0),
        Given("compressor_current", "ac_current", "A", fs9721, amps, 0.001),
        Given("line_voltage_ab", "value", "V", scpi, volts, None),
    ]


def other_instruments(bluez: FakeBluez, broker_port: int) -> list[Given]:
    """Make what comes by radio and over the network."""
    air = BluetoothDevice(
        counting("return air", 5.0, 0.01),
        bluez=bluez,
        address="C0:00:5E:00:53:01",
        name="air probe",
        characteristics={"return air": "2a6e"},
        interval_s=INTERVAL_S,
    )
    tag = AdvertisingDevice(
        counting("temperature", 5.0, 0.01),
        bluez=bluez,
        address="C0:00:5E:00:53:02",
        name="outdoor tag",
        objects={"temperature": 0x02},
        interval_s=INTERVAL_S,
    )
    blower = ModbusTcpDevice(counting("value", 4.0, 0.001), registers={"value": SimulatedRegister(address=0)})
    blower.replug()  # so that it has a port to be configured with, which it keeps
    blower.unplug()
    scale = MqttScale(counting("value", 5.0, 0.001), port=broker_port, topic="roof/scale", interval_s=INTERVAL_S)
    modbus = (
        f'{{ kind = "modbus_tcp", host = "127.0.0.1", port = {blower.port}, poll = "1 s", '
        'registers = { value = { address = 0, type = "f32" } } }'
    )
    mqtt = (
        f'{{ kind = "mqtt", url = "mqtt://127.0.0.1:{broker_port}", values = {{ mass = {{ topic = "roof/scale" }} }} }}'
    )
    return [
        Given(
            "return_air_temperature",
            "return air",
            "degC",
            '{ kind = "bluetooth", device_name = "air probe" }',
            air,
            0.01,
        ),
        Given(
            "outdoor_air_temperature",
            "temperature",
            "degC",
            '{ kind = "bluetooth_adverts", device_name = "outdoor tag" }',
            tag,
            0.01,
        ),
        Given("blower_current", "value", "A", modbus, blower, None),
        Given("cylinder_mass", "mass", "kg", mqtt, scale, 0.001),
    ]


class Visit:
    """A daemon at work in this process, and its record."""

    def __init__(self, record: Path) -> None:
        self._record = record

    def packs(self, since: int = 0) -> list[Pack]:
        if not self._record.exists():
            return []
        with closing(sqlite3.connect(f"file:{self._record}?mode=ro", uri=True)) as connection:
            rows = connection.execute(
                "SELECT payload FROM packs WHERE sequence > ? ORDER BY sequence", (since,)
            ).fetchall()
        return [decode_pack(payload) for (payload,) in rows]

    def newest(self) -> int:
        with closing(sqlite3.connect(f"file:{self._record}?mode=ro", uri=True)) as connection:
            (number,) = connection.execute("SELECT coalesce(max(sequence), 0) FROM packs").fetchone()
        return int(number)

    async def until(self, check: Callable[[Pack], bool]) -> None:
        """Wait for a pack."""
        async with asyncio.timeout(PATIENCE_S):
            while not (self._record.exists() and (found := self.packs(self.newest() - 1)) and check(found[-1])):  # noqa: ASYNC110
                await asyncio.sleep(0.05)


@asynccontextmanager
async def visiting(directory: Path) -> AsyncIterator[tuple[Visit, list[Given]]]:
    """Run all eight and the daemon until the block ends."""
    port = unused_port()
    async with AsyncExitStack() as opened:
        await opened.enter_async_context(mosquitto(port, directory))
        bluez = await opened.enter_async_context(reached(FakeBluez()))
        given = [*serial_instruments(directory), *other_instruments(bluez, port)]
        for each in given:
            await opened.enter_async_context(each.device)
        (directory / "rig.toml").write_text(RIG.format(port=port) + "".join(each.configuration() for each in given))
        daemon = asyncio.create_task(run(load(directory / "rig.toml"), directory / "rig.toml"))
        visit = Visit(directory / "visit.sqlite")
        await visit.until(lambda pack: all(is_well(pack, each) for each in given))
        await asyncio.sleep(SETTLING_S)
        yield visit, given
        os.kill(os.getpid(), signal.SIGTERM)
        await daemon


def is_well(pack: Pack, instrument: Given) -> bool:
    reading = pack.readings.get(instrument.channel)
    return reading is not None and reading.quality == "ok"


def lost(packs: Sequence[Pack], instrument: Given) -> int:
    """Count the numbers that an instrument sent between its first and its last reading and that no pack has."""
    assert instrument.step is not None
    values = [value for pack in packs if (value := pack.readings[instrument.channel].value) is not None]
    numbers = {round((value - values[0]) / instrument.step) for value in values}
    return max(numbers) + 1 - len(numbers)


def longest_silence_s(packs: Sequence[Pack], channel: str) -> float:
    """Find the longest time without a new reading [s]."""
    stamps = sorted({pack.readings[channel].time_s for pack in packs})
    return max((after - before for before, after in pairwise(stamps)), default=0.0)


async def replug(visit: Visit, instrument: Given) -> None:
    """Pull a plug, put it back, and wait until it reads again."""
    instrument.device.unplug()
    await asyncio.sleep(UNPLUGGED_S)
    replugged_s = asyncio.get_running_loop().time()
    instrument.device.replug()
    while asyncio.get_running_loop().time() - replugged_s < PATIENCE_S:
        newest = visit.packs(visit.newest() - 1)[-1]
        fresh = newest.time_s - newest.readings[instrument.channel].time_s < UNPLUGGED_S
        if fresh and is_well(newest, instrument):
            return
        await asyncio.sleep(0.05)
    raise TimeoutError(f"{instrument.channel} did not come back")


async def _measure(minutes: float, cycles: int) -> list[Figure]:
    with tempfile.TemporaryDirectory() as name:
        async with visiting(Path(name)) as (visit, given):
            began = visit.newest()
            await asyncio.sleep(60 * minutes)
            quiet = visit.packs(began)
            before, began = await Held.least(looks=50), visit.newest()
            disturbed_s = 0.0
            for number in range(cycles):
                pulled = given[number % len(given)]
                cycle_began = visit.newest()
                await replug(visit, pulled)
                during = visit.packs(cycle_began)
                others = [each.channel for each in given if each is not pulled]
                disturbed_s = max(disturbed_s, *(longest_silence_s(during, channel) for channel in others))
            await asyncio.sleep(SETTLING_S)
            after, unplugging = await Held.least(looks=50), visit.packs(began)
    return _figures(given, quiet, unplugging, disturbed_s, (before, after), cycles)


def _figures(
    given: Sequence[Given],
    quiet: Sequence[Pack],
    unplugging: Sequence[Pack],
    disturbed_s: float,
    held: tuple[Held, Held],
    cycles: int,
) -> list[Figure]:
    what = f"eight instruments, {(quiet[-1].monotonic_s - quiet[0].monotonic_s) / 60:.1f} min"
    counting_ones = [each for each in given if each.step is not None]
    sent = sum(len({pack.readings[each.channel].time_s for pack in quiet}) for each in counting_ones)
    missed = {each.channel: lost(quiet, each) for each in counting_ones}
    asked = max(longest_silence_s(quiet, each.channel) for each in given if each.step is None)
    told = "; ".join(f"{name} {number}" for name, number in missed.items() if number) or "none of any"
    grown = "; ".join(f"{name} {now - then:+d}" for name, then, now in zip(Held._fields, *held, strict=True))
    return [
        Figure(f"{what}: readings lost by their own count", f"{sum(missed.values())} of {sent} ({told})", "0"),
        Figure(f"{what}: longest silence of those asked every {INTERVAL_S:g} s", f"{asked:.2f} s", f"<= {LATE_S:g} s"),
        Figure(f"{what}: longest tick", f"{_longest_tick_s(quiet):.2f} s", "<= 1 s"),
        Figure(f"{cycles} unpluggings: longest silence of the others", f"{disturbed_s:.2f} s", f"<= {LATE_S:g} s"),
        Figure(f"{cycles} unpluggings: longest tick", f"{_longest_tick_s(unplugging):.2f} s", "<= 1 s"),
        Figure(f"{cycles} unpluggings: left behind", grown, "nothing"),
    ]


def _longest_tick_s(packs: Sequence[Pack]) -> float:
    return max(after.monotonic_s - before.monotonic_s for before, after in pairwise(packs))


async def measure(minutes: float = MINUTES, cycles: int = CYCLES) -> AsyncIterator[Figure]:
    """Watch a visit, then pull every plug in turn."""
    for figure in await _measure(minutes, cycles):
        yield figure


async def main(minutes: str = str(MINUTES), cycles: str = str(CYCLES)) -> None:
    """Print the figures of a visit of another length."""
    async for figure in measure(float(minutes), int(cycles)):
        print(" | ".join(figure))


if __name__ == "__main__":
    asyncio.run(main(*sys.argv[1:]))
