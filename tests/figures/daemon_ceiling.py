"""How much one core carries from decoding to the broker's acknowledgement, with every reading on the disk.

Lines of five instruments with all channels are decoded, a pack with all figures is made of each round, committed
and published at QoS 1 to a mosquitto on another core. Nothing waits for a tick.
"""

import asyncio
import os
import sqlite3
import tempfile
import time
from collections.abc import AsyncIterator, Mapping
from dataclasses import replace
from pathlib import Path

from calc.quantities import CHANNELS, Quantity
from calc.units import conversion
from ingest.backoff import Backoff
from ingest.channels import Channels
from ingest.clock import Clock
from ingest.decode.lines import LineDecoder
from ingest.frames import Frame, Stamp
from ingest.publish import Publisher
from ingest.record.custody import Custody, Run
from ingest.record.recorder import Listener, Recorder
from ingest.record.store import Entry, Record, Sink
from ingest.rig import ChannelSetup, InstrumentSetup, Rig
from ingest.tick import make_pack
from ingest.wire.messages import BrokerAddress, decode_pack
from tests.brokers import mosquitto
from tests.figures import Figure
from tests.processes import unused_port
from tests.rigs import make_rig

ROUNDS = 2000
INSTRUMENTS = 5

VALUES: Mapping[Quantity, tuple[str, float]] = {
    Quantity.PRESSURE: ("kPa", 900.0),
    Quantity.TEMPERATURE: ("degC", 20.0),
    Quantity.HUMIDITY: ("%RH", 50.0),
    Quantity.CURRENT: ("A", 9.6),
    Quantity.VOLTAGE: ("V", 230.0),
    Quantity.CAPACITANCE: ("uF", 45.0),
    Quantity.MASS: ("kg", 4.0),
    Quantity.RESISTANCE: ("Mohm", 200.0),
    Quantity.AIR_PRESSURE: ("Pa", 120.0),
    Quantity.AIR_FLOW: ("m3/s", 0.6),
    Quantity.CONCENTRATION: ("ppm", 5.0),
}
BAROMETER_KPA = 98.0


async def measure() -> AsyncIterator[Figure]:
    """Run the rounds on one core."""
    cores = sorted(os.sched_getaffinity(0))
    with tempfile.TemporaryDirectory() as directory:
        try:
            yield await _measure(Path(directory), cores)
        finally:
            os.sched_setaffinity(0, cores)


async def _measure(directory: Path, cores: list[int]) -> Figure:
    rig = _large_rig(make_rig(directory))
    async with mosquitto(unused_port(), directory) as broker:
        os.sched_setaffinity(0, cores[:1])
        chain = Chain(rig, broker.address)
        started_s = time.perf_counter()
        started_cpu_s = time.process_time()
        await chain.run(ROUNDS)
        took_s = time.perf_counter() - started_s
        cpu_s = time.process_time() - started_cpu_s
    readings = _readings_in_the_record(rig.record)
    lost = ROUNDS * len(rig.channels) - readings
    return Figure(
        "ceiling: decode, derive, commit, publish, on one core",
        f"{readings / took_s:,.0f} readings/s, {lost} lost ({100 * cpu_s / took_s:.0f} % of the core)",
        ">= 10,000 readings/s, none lost",
    )


class Chain:
    """The daemon's own parts, fed as fast as they take it."""

    def __init__(self, rig: Rig, address: BrokerAddress) -> None:
        self._rig = rig
        self._clock = Clock()
        self._channels = Channels(rig, self._clock.time_s)
        run = Run(lambda _: rig, "boot", "visit", time.time, time.monotonic)
        listener = Listener(lambda _: None, self._saved, self._unsaved, lambda _: None, lambda _: None)
        self._recorder = Recorder(Custody(rig.record, run), listener, time.time)
        self._publisher = Publisher(
            address,
            rig.name,
            outbox=self._outbox,
            advance=self._advance,
            handle_ask=self._no_ask,
            backoff=Backoff(),
        )
        self._decoders = {instrument.name: LineDecoder() for instrument in rig.instruments}
        self._acknowledged = 0

    async def run(self, rounds: int) -> None:
        """Feed so many rounds, and wait until the broker has acknowledged the last."""
        async with asyncio.TaskGroup() as group:
            tasks = [group.create_task(self._recorder.run()), group.create_task(self._publisher.run())]
            self._header()
            for number in range(rounds):
                self._round(number)
                if number % 32 == 31:
                    await self._recorder.flush()
            while self._acknowledged < rounds:  # noqa: ASYNC110
                await asyncio.sleep(0.001)
            for task in tasks:
                task.cancel()
        self._recorder.close(time.time())

    def _header(self) -> None:
        for instrument in self._rig.instruments:
            columns = ",".join(channel.field for channel in instrument.channels)
            self._decoders[instrument.name](Frame(f"# {columns}".encode(), Stamp.now()))

    def _round(self, number: int) -> None:
        for instrument in self._rig.instruments:
            values = (_usual(channel) + number % 10 / 10 for channel in instrument.channels)
            frame = Frame(",".join(f"{value:.2f}" for value in values).encode(), Stamp.now())
            self._channels.accept(instrument.name, frame.stamp, self._decoders[instrument.name](frame))
        self._clock.follow()
        self._recorder.put(make_pack(self._rig, 1, self._channels, self._clock.now()))

    def _saved(self, payload: bytes) -> None:
        self._publisher.wake("mqtt packs")

    def _unsaved(self, payload: bytes) -> None:
        raise RuntimeError("the disk refused")

    async def _outbox(self, sink: Sink, limit: int) -> list[Entry]:
        return await self._recorder.call(Record.outbox, sink, limit)

    async def _advance(self, sink: Sink, position: int) -> None:
        await self._recorder.call(Record.advance, sink, position)
        self._acknowledged = position

    async def _no_ask(self, kind: str, payload: bytes) -> None:
        raise RuntimeError("nobody asks here")


def _usual(channel: ChannelSetup) -> float:
    """Give what it may well read, in its unit: no barometer shows the pressure of a circuit."""
    return BAROMETER_KPA if channel.name == "barometric_pressure" else VALUES[channel.quantity][1]


def _large_rig(rig: Rig) -> Rig:
    """The same rig with every channel there is, over five instruments."""
    channels = [
        ChannelSetup(
            name=name,
            instrument=f"instrument {number % INSTRUMENTS}",
            field=name,
            unit=VALUES[quantity][0],
            reference="absolute" if quantity is Quantity.PRESSURE else "",
            conversion=conversion(
                VALUES[quantity][0], quantity, reference="absolute" if quantity is Quantity.PRESSURE else None
            ),
            accuracy=0.1,
            interval_s=1.0,
        )
        for number, (name, quantity) in enumerate(CHANNELS.items())
    ]
    instruments = tuple(
        InstrumentSetup(name, "serial_lines", 1.0, tuple(channel for channel in channels if channel.instrument == name))
        for name in (f"instrument {number}" for number in range(INSTRUMENTS))
    )
    return replace(rig, instruments=instruments)


def _readings_in_the_record(path: Path) -> int:
    database = sqlite3.connect(path)
    payloads = database.execute("SELECT payload FROM packs").fetchall()
    database.close()
    return sum(
        reading.value is not None
        for (payload,) in payloads
        for name, reading in decode_pack(payload).readings.items()
        if name in CHANNELS
    )
