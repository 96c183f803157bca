"""A bench: a simulated unit that runs in real time, with simulated instruments on real transports.

It follows the rig's marks, so that refrigerant that a technician records as added really goes in, and it lets
a page or a test pull an instrument's plug.
"""

import asyncio
import logging
import time
from collections import defaultdict
from collections.abc import Callable, Mapping
from contextlib import AsyncExitStack, suppress
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Literal, Self

from msgspec.structs import replace

from calc.ledger import Ledger
from ingest.wire.bench_acts import ANY_ACT, Act, SetThermostat
from ingest.wire.bench_messages import BenchAbout, BenchAsk, BenchReveal, BenchVerdict
from ingest.wire.events import Confirmable
from ingest.wire.messages import (
    About,
    Added,
    Answer,
    Ask,
    BrokerAddress,
    Correction,
    Mark,
    MessageError,
    Phase,
    Recovered,
    check_names,
    decode,
    decode_mark,
    encode,
    encode_ask,
    rig_and_kind,
    topic,
)
from simulators.bench.configuration import configuration_text
from simulators.bench.correlated import AnyUnit, CorrelatedAtTheBench
from simulators.bench.following import Outbox, Outgoing, follow
from simulators.bench.hands import Hands, without_arranged
from simulators.bench.instruments import SCPI_QUERIES, Instrument, Output, Sensor
from simulators.bench.other_unit import other_units
from simulators.bench.scenario import Scenario
from simulators.bench.script import Script
from simulators.bench.settled import SinceChange
from simulators.bench.training import FAULTS, Move, score
from simulators.device import fake_bluez
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.device import SimulatedDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.faults import DeviceFault
from simulators.device.meter import MeterDevice
from simulators.device.modbus import ModbusRtuDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from simulators.errors import SimulatorError
from simulators.unit.model import Unit
from simulators.unit.transfers import Transfers
from simulators.unit.two_circuits import TwoCircuitUnit

logger = logging.getLogger(__name__)

TICK_S = 0.25
LARGEST_ACT_BYTES = 4096
"""Ten times the longest that a page sends; a refusal repeats the names in it, and goes to everyone."""
RIG_NAME = "bench"
THERMOSTAT = "thermostat"
PROBED = ("suction_pressure", "liquid_pressure")
"""What the pressure probes read, which a hand can take off the ports."""
MOST_YES = 5
"""So often a script says yes to the same ask: a question may come twice, and once more where something came up."""
SCRIPT_USER = "technician"
"""As whom a script asks the rig."""
_ANSWERS = f"answer/{SCRIPT_USER}/"
STARTS_ANEW = "The unit starts anew, as its scenario has it, without what this record has as added or recovered."
AIR_PROBE_ADDRESS = "C0:00:5E:00:00:01"
AIR_PROBE_CHARACTERISTICS = {"degC": "2a6e", "%RH": "2a6f"}
"""Unit to the assigned number of the characteristic that carries it."""


def check_speed(speed: float) -> None:
    """Check how much faster than life the unit is to run.

    Raises:
        SimulatorError: not that fast, or not that slow.

    """
    if not 0.1 <= speed <= 100.0:
        raise SimulatorError(f"speed is {speed:g}; the bench runs 0.1 to 100 times as fast as life")


class SimulatedRig:
    """The bench, from entering the context to leaving it.

    speed: how much faster than life the unit runs; the instruments send at their usual pace all the same.
    directory: where the serial ports appear and the record goes. blind: what is wrong stays hidden until a verdict.
    script: a visit to play; time stands still until the rig is there to be asked. ended: set when it is over.
    tell: gets what the script says to whoever watches.
    """

    def __init__(
        self,
        scenario: Scenario,
        *,
        directory: Path,
        speed: float = 1.0,
        blind: bool = False,
        script: Script | None = None,
        tell: Callable[[str], None] = logger.info,
    ) -> None:
        check_speed(speed)
        if blind and scenario.truth is None:
            raise SimulatorError(f"the scenario {scenario.file.title!r} has no [truth] to hide")
        self.record = directory / "bench.sqlite"
        self.starts_anew = self.record.exists()
        if script is not None and self.starts_anew:
            raise SimulatorError(
                f"a script begins a visit of its own, and {self.record} holds one: give it a new folder"
            )
        beside = scenario.beside
        self._two = None if beside is None else TwoCircuitUnit([scenario.parameters, beside])
        self.unit = self._two.circuits[0] if self._two else _one_unit(scenario)
        self.simulated_s = 0.0
        self.transfers = Transfers()
        conditions, starts_after_s = scenario.parameters.conditions, scenario.starts_after_s
        self.hands = Hands(
            self.unit,
            refrigerant=scenario.parameters.refrigerant,
            outdoor_air_k=conditions.outdoor_air_k,
            thermostat_calls=starts_after_s is None,
            heats=scenario.file.mode == "heating",
            beside=self._two.circuits[1] if self._two else None,
        )
        self.ended = asyncio.Event()
        self._scenario = scenario
        self._directory = directory
        self._speed = speed
        self._hides_truth, self._tell = blind, tell
        self._revealed: BenchReveal | None = None
        self._moves: list[Move] = []
        self._since_change = SinceChange(scenario.parameters.refrigerant, scenario.file.unit.metering_device)
        self._devices: dict[str, SimulatedDevice] = {}
        self._meters: list[MeterDevice] = []
        self._bluez: FakeBluez | None = None
        self._seen_marks: set[str] = set()
        self._ledger = Ledger()
        self._started_s = 0.0
        self._script = script
        self._rig_is_there = asyncio.Event()
        self._unanswered: dict[str, Outgoing] = {}
        self._yes: dict[str, int] = defaultdict(lambda: MOST_YES)  # left, by the id of what a script asks
        self._outbox = Outbox()
        self._told_sound = ""
        self._opened = AsyncExitStack()
        self._running: asyncio.Task[None] | None = None
        outputs = [output for instrument in scenario.instruments for output in instrument.outputs]
        self._sensors = {output: Sensor(output.setting, f"{scenario.file.seed} {output.channel}") for output in outputs}
        self._readings: dict[Output, float] = {}
        self._feel(0.0)

    async def __aenter__(self) -> Self:
        self._started_s = time.time()
        async with AsyncExitStack() as opening:
            await self._open_bluetooth(opening)
            for instrument in self._scenario.instruments:
                device = self._device(instrument)
                if device is not None:
                    device.samples_by_itself = False
                    self._devices[instrument.name] = await opening.enter_async_context(device)
                    device.faults.other_units = other_units(instrument)
                    for fault, size in self._scenario.misbehaviour.get(instrument.name, ()):
                        device.misbehave(fault, size)
            self._running = asyncio.create_task(self._run(), name="simulated unit")
            opening.push_async_callback(_cancel, self._running)
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
            blind=self._is_blind,
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

    async def lasts(self) -> None:
        """Wait for as long as the unit runs. What it fails with comes out here: a bench without a unit is none."""
        if self._running is not None:
            await asyncio.shield(self._running)

    async def follow(self, broker: BrokerAddress) -> None:
        """Follow the rig's marks, the asks to the bench, and what the rig answers to a script, for ever."""
        kinds = ["marks", "about", "bench/act", "bench/ask", "bench/verdict"]
        kinds += [] if self._script is None else [f"{_ANSWERS}+"]
        topics = [topic(RIG_NAME, kind) for kind in kinds]
        await follow(
            broker, topics, self.receive, greeting=lambda: [*self._told(), self._standing()], outbox=self._outbox
        )

    @property
    def _is_blind(self) -> bool:
        """Whether what is wrong is hidden still."""
        return self._hides_truth and self._revealed is None

    def about(self) -> BenchAbout:
        """Tell what is on the bench, as far as the trainee may know."""
        file = self._scenario.file
        blind = self._is_blind
        faults = {} if self._scenario.truth is None else dict(FAULTS)
        story = f"{STARTS_ANEW}\n{file.story}" if self.starts_anew else file.story
        return BenchAbout("" if blind else file.title, story, blind, self._speed, faults)

    def reveal(self, verdict: str) -> BenchReveal:
        """Tell the truth, now that the trainee has committed to a verdict. The first one counts, whatever comes later.

        Raises:
            SimulatorError: the verdict is no fault that there could be, or the scenario hides none.

        """
        if self._revealed is not None:
            return self._revealed
        truth = self._scenario.truth
        if truth is None:
            raise SimulatorError(f"the scenario {self._scenario.file.title!r} has no hidden fault")
        result = score(
            truth,
            verdict,
            time_s=self.simulated_s,
            charge_kg=sum(circuit.charge_kg for circuit in (self._two.circuits if self._two else (self.unit,))),
            moves=self._moves,
            has_settled=self._since_change.has_settled(),
        )
        self._revealed = BenchReveal(
            scenario=self._scenario.file.title,
            verdict=verdict,
            fault=truth.fault,
            reading=truth.reading,
            **asdict(result),
        )
        return self._revealed

    def _told(self) -> list[Outgoing]:
        """Give what stays with the broker: the bench, and the truth, empty until it is told."""
        truth = encode(self._revealed) if self._revealed else b""
        return [
            Outgoing(topic(RIG_NAME, "bench/reveal"), truth, retain=True),
            Outgoing(topic(RIG_NAME, "bench/about"), encode(self.about()), retain=True),
        ]

    def _greeting(self) -> list[Outgoing]:
        return [*self._told(), self._standing()]

    def _standing(self) -> Outgoing:
        state = self.hands.state
        self._told_sound = state.sound
        told = without_arranged(state) if self._is_blind else state
        return Outgoing(topic(RIG_NAME, "bench/state"), encode(told), retain=True)

    def _act(self, act: Act) -> None:
        """Do what hands do, and tell how things then stand.

        Raises:
            SimulatorError: it cannot be done, or must not; that is told too.

        """
        try:
            self.hands.do(act)
            for meter in self._meters:
                meter.function = self.hands.panel.dial
                if meter.is_held != self.hands.panel.is_held:
                    meter.press_hold()
        finally:
            self._outbox.put(self._standing())

    def _read_act(self, payload: bytes) -> Act:
        """Read an act; of one that cannot be read bench/state says why, as of one that is refused."""
        try:
            return _decoded(payload)
        except MessageError as error:
            self.hands.refuse(f"the act cannot be read: {error}")
            self._outbox.put(self._standing())
            raise

    def receive(self, full_topic: str, payload: bytes) -> list[Outgoing]:
        """Act on one message from the broker, and give what to publish in answer.

        The retained `about` repeats the newest marks, so that none is missed while the broker was out of reach.
        A mark that has been seen, or is older than this bench, changes nothing.

        Raises:
            MessageError: the message is not what its topic promises.
            SimulatorError: it asks for an instrument that is not there.

        """
        _, kind = rig_and_kind(full_topic)
        match kind:
            case "marks":
                self._take(decode_mark(payload))
            case "about":
                self._rig_is_there.set()
                for mark in decode(payload, About).marks:
                    self._take(mark)
                for asked in self._unanswered.values():  # what a rig did that began anew it does not do again
                    self._outbox.put(asked)
            case "bench/act":
                self._act(self._read_act(payload))
            case "bench/ask":
                self._do(decode(payload, BenchAsk))
            case "bench/verdict":
                self.reveal(decode(payload, BenchVerdict).fault)
                self._outbox.put(self._standing())  # which leaves out nothing any more
                return self._told()
            case answered if answered.startswith(_ANSWERS):
                self._hear(decode(payload, Answer))
        return []

    def _hear(self, answer: Answer) -> None:
        """Say yes where the script does; and say what the rig did not do of what it asked: nobody else hears it."""
        self._unanswered.pop(answer.id, None)
        steps = [] if self._script is None or answer.ok else self._script.steps
        for step in steps:
            if not isinstance(step.does, Ask) or step.does.id != answer.id:
                continue
            if answer.asks and isinstance(step.does, Confirmable) and step.does.confirmed and self._yes[answer.id]:
                self._yes[answer.id] -= 1
                self._ask(replace(step.does, confirms=answer.asks))
            else:
                why = answer.question.us if answer.question else answer.reason
                logger.warning("the script at %.0f s: the rig did not do it: %s", step.at_s, why)

    def _do(self, ask: BenchAsk) -> None:
        match ask.do:
            case "unplug":
                self.unplug(ask.instrument)
            case "replug":
                self.replug(ask.instrument)
            case "on" | "off" if ask.instrument == THERMOSTAT:
                self._act(SetThermostat(calls=ask.do == "on"))
            case "mend":
                self._named(ask.instrument).faults.clear()
            case fault if fault in list(DeviceFault):
                self._named(ask.instrument).misbehave(DeviceFault(fault), ask.size)
            case _:
                raise SimulatorError(f"only the {THERMOSTAT} goes on and off, not {ask.instrument!r}")

    def _take(self, mark: Mark) -> None:
        if mark.id in self._seen_marks or mark.time_s < self._started_s:
            return
        self._seen_marks.add(mark.id)
        match mark:
            case Added():
                self._has_moved("added", mark.mass_kg)
                self._move(self._ledger.added(mark.id, mark.mass_kg), mark.phase)
            case Recovered():
                self._has_moved("recovered", mark.mass_kg)
                self._move(self._ledger.recovered(mark.id, mark.mass_kg), mark.phase)
            case Correction():  # here an amount is in the unit because it was written: what it was not, comes out again
                self._move(self._ledger.corrected(mark.id, mark.of, mark.mass_kg), "liquid")

    def _has_moved(self, kind: Literal["added", "recovered"], mass_kg: float) -> None:
        self._moves.append(Move(kind, self.simulated_s, mass_kg, self._since_change.has_settled()))
        self._since_change.begin()

    def _move(self, change_kg: float, phase: Phase) -> None:
        """Move what was written down, unless it goes as in life: by the valve of a cylinder."""
        if self.hands.pour:
            return
        if change_kg > 0.0:
            self.transfers.add(change_kg, phase or "vapour")
        elif change_kg < 0.0:
            self.transfers.recover(-change_kg)

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
                return ScpiDevice(
                    read, address=port, queries=queries, interval_s=instrument.interval_s, takes_several=True
                )
            case "meter":
                dial = self.hands.panel.dial
                meter = MeterDevice(read, address=port, function=dial, interval_s=instrument.interval_s)
                self._meters.append(meter)
                return meter
            case "modbus":
                registers = {output.field: SimulatedRegister(address=0) for output in instrument.outputs}
                return ModbusRtuDevice(read, address=port, registers=registers, interval_s=instrument.interval_s)
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
            return output.from_si(self._readings[output], barometric_pressure_pa)

        return lambda: {output.field: sent(output) for output in instrument.outputs}

    async def _run(self) -> None:
        if self._script is not None:
            await self._rig_is_there.wait()
        clock = asyncio.get_running_loop().time
        due_s, ticks = clock(), 0
        while True:
            self.advance(TICK_S * self._speed)
            ticks += 1
            for device in self._devices.values():  # at a bench's own clock, so that a script gives the same samples
                if ticks % max(round(device.interval_s / TICK_S), 1) == 0:
                    device.sample()
            due_s = max(due_s + TICK_S, clock())
            await asyncio.sleep(due_s - clock())

    def advance(self, duration_s: float) -> None:
        """Let the unit run on for this long, with what is to be added or recovered meanwhile."""
        try:
            self.transfers.move(self.hands.probed, duration_s)
        except SimulatorError as error:
            logger.warning("the bench stops moving refrigerant: %s", error)
        starts_after_s = self._scenario.starts_after_s
        if starts_after_s is not None and self.simulated_s < starts_after_s <= self.simulated_s + duration_s:
            self.hands.do(SetThermostat(calls=True))
        self._play(duration_s)
        stopped = self.hands.work(duration_s)
        (self._two or self.unit).step(duration_s)
        if stopped or self.hands.sound != self._told_sound:  # it starts, stops and falls still without a hand
            self._outbox.put(self._standing())
        self.simulated_s += duration_s
        self._feel(duration_s)

    def _play(self, duration_s: float) -> None:
        """Do what the script has for this time."""
        script = self._script
        if script is None:
            return
        for step in script.due(self.simulated_s, self.simulated_s + duration_s):
            logger.info("the script at %.0f s: %s", step.at_s, step.does)
            if step.says:
                minutes, seconds = divmod(round(step.at_s), 60)
                self._tell(f"{minutes:3d}:{seconds:02d}  {step.says}")
            if isinstance(step.does, Ask):
                self._ask(step.does)
                continue
            try:
                self._act(step.does)
            except SimulatorError as error:  # as a visit goes on where something cannot be done
                logger.warning("the script at %.0f s: %s", step.at_s, error)
        if script.ends_s is not None and self.simulated_s >= script.ends_s and not self.ended.is_set():
            for name in self._unanswered:
                logger.warning("the script ends, and the rig has not answered %s: it may not be in the record", name)
            self.ended.set()

    def _ask(self, ask: Ask) -> None:
        where = topic(RIG_NAME, f"ask/{SCRIPT_USER}/{ask.kind}")
        asked = self._unanswered[ask.id] = Outgoing(where, encode_ask(ask))
        self._outbox.put(asked)

    def _feel(self, elapsed_s: float) -> None:
        true = self._two.true_state(int(self.hands.probes_at) - 1) if self._two else self.unit.true_state()
        if self._moves and self._revealed is None:
            self._since_change.note(self.simulated_s, true)
        air_pa = self._scenario.parameters.conditions.barometric_pressure_pa
        in_the_air = {} if self.hands.probes_on else dict.fromkeys(PROBED, air_pa)
        state = {**true, **self.hands.readings(), **in_the_air}
        self._readings = {
            output: sensor.feel(output.truth(state), elapsed_s) for output, sensor in self._sensors.items()
        }


def _one_unit(scenario: Scenario) -> AnyUnit:
    """Make the unit of a scenario with one circuit."""
    at_rest = scenario.starts_after_s is not None
    if scenario.correlated is not None:
        return CorrelatedAtTheBench(scenario.parameters, scenario.correlated, at_rest=at_rest)
    return Unit(scenario.parameters, at_rest=at_rest, heating=scenario.file.mode == "heating")


def _decoded(payload: bytes) -> Act:
    if len(payload) > LARGEST_ACT_BYTES:
        raise MessageError(f"an act of {len(payload)} bytes; at most {LARGEST_ACT_BYTES} were expected")
    act: Act = decode(payload, ANY_ACT)
    check_names(payload)
    return act


async def _cancel(task: asyncio.Task[None]) -> None:
    """Stop a task, and let out what it may have failed with before."""
    task.cancel()
    with suppress(asyncio.CancelledError):
        await task
