"""A bench: a simulated unit that runs in real time, with simulated instruments on real transports.

It follows the rig's marks, so that refrigerant that a technician records as added really goes in, and it lets
a page or a test pull an instrument's plug.
"""

import asyncio
import logging
import time
from collections.abc import Callable, Mapping
from contextlib import AsyncExitStack, suppress
from pathlib import Path
from types import TracebackType
from typing import Literal, Self

import msgspec

from ingest.messages import About, BrokerAddress, Mark, decode, rig_and_kind, topic
from simulators import fake_bluez
from simulators.configuration import configuration_text
from simulators.device import SimulatedDevice
from simulators.device_bluetooth import BluetoothDevice
from simulators.device_scpi import ScpiDevice
from simulators.device_serial import SerialProbe
from simulators.errors import SimulatorError
from simulators.fake_bluez import FakeBluez
from simulators.following import follow
from simulators.instruments import SCPI_QUERIES, Instrument, Output, Sensor
from simulators.scenario import Scenario
from simulators.transfers import Transfers
from simulators.unit_model import Unit

logger = logging.getLogger(__name__)

TICK_S = 0.25
RIG_NAME = "bench"
AIR_PROBE_ADDRESS = "C0:00:5E:00:00:01"
AIR_PROBE_CHARACTERISTICS = {"degC": "2a6e", "%RH": "2a6f"}
"""Unit to the assigned number of the characteristic that carries it."""


class BenchAsk(msgspec.Struct, frozen=True):
    """What the topic bench/ask carries: pull an instrument's plug, or put it back."""

    instrument: str
    do: Literal["unplug", "replug"]


class SimulatedRig:
    """The bench, from entering the context to leaving it.

    speed: how much faster than life the unit runs; the instruments send at their usual pace all the same.
    directory: where the serial ports appear and the record goes.
    """

    def __init__(self, scenario: Scenario, *, directory: Path, speed: float = 1.0) -> None:
        if not 0.1 <= speed <= 100.0:
            raise SimulatorError(f"speed is {speed:g}; the bench runs 0.1 to 100 times as fast as life")
        self.unit = Unit(scenario.parameters)
        self.transfers = Transfers()
        self.record = directory / "bench.sqlite"
        self._scenario = scenario
        self._directory = directory
        self._speed = speed
        self._devices: dict[str, SimulatedDevice] = {}
        self._bluez: FakeBluez | None = None
        self._seen_marks: set[str] = set()
        self._started_s = 0.0
        self._opened = AsyncExitStack()
        outputs = [output for instrument in scenario.instruments for output in instrument.outputs]
        self._sensors = {
            output.channel: Sensor(output.setting, f"{scenario.file.seed} {output.channel}") for output in outputs
        }
        self._readings: dict[str, float] = {}
        self._feel(0.0)

    async def __aenter__(self) -> Self:
        self._started_s = time.time()
        async with AsyncExitStack() as opening:
            await self._open_bluetooth(opening)
            for instrument in self._scenario.instruments:
                device = self._device(instrument)
                if device is not None:
                    self._devices[instrument.name] = await opening.enter_async_context(device)
            running = asyncio.create_task(self._run(), name="simulated unit")
            opening.push_async_callback(_cancel, running)
            self._opened = opening.pop_all()
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self._opened.aclose()

    def configuration(self, broker_port: int, broker_kind: str = "auto") -> str:
        """Write the daemon's configuration for the instruments that are there, as TOML."""
        present = [item for item in self._scenario.instruments if item.name in self._devices]
        return configuration_text(
            self._scenario,
            [(instrument, self._devices[instrument.name].address) for instrument in present],
            rig=RIG_NAME,
            record=str(self.record),
            speed=self._speed,
            broker={"kind": broker_kind, "listen": f"127.0.0.1:{broker_port}"},
        )

    def environment(self) -> dict[str, str]:
        """Give what the daemon needs in its environment to find the simulated Bluetooth."""
        return {} if self._bluez is None else {"DBUS_SYSTEM_BUS_ADDRESS": self._bluez.bus_address}

    def unplug(self, instrument: str) -> None:
        """Pull an instrument's plug.

        Raises:
            SimulatorError: the bench has no instrument of this name.

        """
        self._named(instrument).unplug()

    def replug(self, instrument: str) -> None:
        """Put the plug back; errors as `unplug`."""
        self._named(instrument).replug()

    async def follow(self, broker: BrokerAddress) -> None:
        """Follow the rig's marks, and the asks to the bench, for ever."""
        topics = [topic(RIG_NAME, kind) for kind in ("marks", "about", "bench/ask")]
        await follow(broker, topics, self.receive)

    def receive(self, full_topic: str, payload: bytes) -> None:
        """Act on one message from the broker.

        The retained `about` repeats the newest marks, so that none is missed while the broker was out of reach.
        A mark that has been seen, or is older than this bench, changes nothing.

        Raises:
            MessageError: the message is not what its topic promises.
            SimulatorError: it asks for an instrument that is not there.

        """
        _, kind = rig_and_kind(full_topic)
        match kind:
            case "marks":
                self._take(decode(payload, Mark))
            case "about":
                for mark in decode(payload, About).marks:
                    self._take(mark)
            case "bench/ask":
                ask = decode(payload, BenchAsk)
                (self.unplug if ask.do == "unplug" else self.replug)(ask.instrument)

    def _take(self, mark: Mark) -> None:
        if mark.id in self._seen_marks or mark.time_s < self._started_s:
            return
        self._seen_marks.add(mark.id)
        if mark.mass_kg is None or mark.mass_kg <= 0.0:
            return
        if mark.kind == "added":
            self.transfers.add(mark.mass_kg, mark.phase or "vapour")
        elif mark.kind == "recovered":
            self.transfers.recover(mark.mass_kg)

    def _named(self, instrument: str) -> SimulatedDevice:
        if instrument not in self._devices:
            raise SimulatorError(
                f"the bench has no instrument {instrument!r}; it has {', '.join(sorted(self._devices))}"
            )
        return self._devices[instrument]

    async def _open_bluetooth(self, opening: AsyncExitStack) -> None:
        reason = fake_bluez.available()
        if reason is None:
            self._bluez = await opening.enter_async_context(FakeBluez())
        else:
            logger.warning("the bench runs without its Bluetooth instrument: %s", reason)

    def _device(self, instrument: Instrument) -> SimulatedDevice | None:
        read = self._reader(instrument)
        port = self._directory / "ports" / instrument.port_name
        match instrument.link:
            case "csv lines":
                return SerialProbe(read, address=port, interval_s=instrument.interval_s, form="csv")
            case "json lines":
                return SerialProbe(read, address=port, interval_s=instrument.interval_s, form="json")
            case "scpi":
                queries = {SCPI_QUERIES[output.field]: output.field for output in instrument.outputs}
                return ScpiDevice(read, address=port, queries=queries)
            case "bluetooth" if self._bluez is not None:
                return BluetoothDevice(
                    read,
                    bluez=self._bluez,
                    address=AIR_PROBE_ADDRESS,
                    name=instrument.name,
                    characteristics={
                        output.field: AIR_PROBE_CHARACTERISTICS[output.unit] for output in instrument.outputs
                    },
                    interval_s=instrument.interval_s,
                )
            case _:
                return None

    def _reader(self, instrument: Instrument) -> Callable[[], Mapping[str, float]]:
        barometric_pressure_pa = self._scenario.parameters.conditions.barometric_pressure_pa

        def sent(output: Output) -> float:
            return output.from_si(self._readings[output.channel], barometric_pressure_pa)

        return lambda: {output.field: sent(output) for output in instrument.outputs}

    async def _run(self) -> None:
        clock = asyncio.get_running_loop().time
        due_s = clock()
        while True:
            self.advance(TICK_S * self._speed)
            due_s = max(due_s + TICK_S, clock())
            await asyncio.sleep(due_s - clock())

    def advance(self, duration_s: float) -> None:
        """Let the unit run on for this long, with what is to be added or recovered meanwhile."""
        try:
            self.transfers.move(self.unit, duration_s)
        except SimulatorError as error:
            logger.warning("the bench stops moving refrigerant: %s", error)
        self.unit.step(duration_s)
        self._feel(duration_s)

    def _feel(self, elapsed_s: float) -> None:
        state = self.unit.true_state()
        self._readings = {channel: sensor.feel(state[channel], elapsed_s) for channel, sensor in self._sensors.items()}


async def _cancel(task: asyncio.Task[None]) -> None:
    """Stop a task, and let out what it may have failed with before."""
    task.cancel()
    with suppress(asyncio.CancelledError):
        await task
