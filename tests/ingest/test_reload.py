"""Instruments that come and go while the daemon runs: the others do not notice, and a mistake changes nothing."""

import asyncio
import signal
import threading
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from contextlib import AsyncExitStack, asynccontextmanager
from itertools import count
from pathlib import Path

import aiomqtt
import msgspec
import pytest

from ingest.clock import Clock
from ingest.config.load import load, resolve
from ingest.config.structs import Config, InstrumentConfig
from ingest.daemon import Daemon
from ingest.frames import Stamp, Value
from ingest.instruments import Instruments
from ingest.reload import Change, ReloadError, compare, touched_channels
from ingest.setup import Setup
from ingest.supervise import LinkState, Surroundings
from ingest.wire.messages import (
    About,
    Answer,
    BrokerAddress,
    Calibration,
    Corrected,
    InstrumentAbout,
    Line,
    Mark,
    Pack,
    ReloadAsk,
    decode,
    decode_pack,
    encode,
)
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from tests.brokers import Ear, Mosquitto, listening_to, mosquitto
from tests.processes import Command, running
from tests.rigs import write_configuration

BENCH = "dewline/1/bench"

CLAMP_METER = """
[[instrument]]
name = "clamp meter"
interval = "0.2 s"
link = {{ kind = "scpi", port = "{directory}/clamp", queries = {{ compressor = "MEAS:CURR:AC?" }}, poll = "0.1 s" }}

[[instrument.channel]]
channel = "compressor_current"
field = "compressor"
unit = "A"
accuracy = "0.3 A"
"""


def config_of(directory: Path) -> Config:
    return load(write_configuration(directory))


def with_instruments(config: Config, *instruments: InstrumentConfig) -> Config:
    return msgspec.structs.replace(config, instruments=list(instruments))


def test_what_differs_is_told_by_name(tmp_path: Path) -> None:
    config = config_of(tmp_path)
    low, high = config.instruments
    elsewhere = msgspec.structs.replace(low, link=msgspec.structs.replace(low.link, baud=19200))
    better = msgspec.structs.replace(high, channels=[msgspec.structs.replace(high.channels[0], accuracy="3 kPa")])
    clamp = msgspec.structs.replace(high, name="clamp meter")
    assert compare(config, with_instruments(config, clamp, better)) == Change(
        added=("clamp meter",), removed=("low side probe",), restarted=(), corrected=("high side probe",)
    )
    change = compare(config, with_instruments(config, elsewhere, high))
    assert str(change) == "instruments: reconnected low side probe"
    assert str(compare(config, config)) == "the configuration is as it was"


def test_an_instrument_that_gave_up_is_tried_again(tmp_path: Path) -> None:
    config = config_of(tmp_path)
    assert compare(config, config, ended={"high side probe"}).restarted == ("high side probe",)


def test_what_is_no_instrument_does_not_change_under_way(tmp_path: Path) -> None:
    config = config_of(tmp_path)
    other = msgspec.structs.replace(
        config,
        unit=msgspec.structs.replace(config.unit, refrigerant="R-22"),
        rig=msgspec.structs.replace(config.rig, elevation="900 m"),
    )
    with pytest.raises(ReloadError, match=r"rig\.elevation, unit\.refrigerant cannot change while the daemon runs"):
        compare(config, other)


def test_a_channel_is_touched_where_it_is_measured_in_another_way(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    config = load(path)
    low = config.instruments[0]
    better = msgspec.structs.replace(
        low, channels=[msgspec.structs.replace(low.channels[0], accuracy="0.5 psi"), low.channels[1]]
    )
    wanted = with_instruments(config, better)
    change = compare(config, wanted)
    assert touched_channels(resolve(config, path), resolve(wanted, path), change) == {
        "suction_pressure",
        "liquid_pressure",
        "liquid_line_temperature",
    }


class Heard:
    """Every value that instruments brought, by instrument."""

    def __init__(self) -> None:
        self.values: dict[str, list[float]] = {}
        self.states: list[tuple[str, LinkState]] = []

    def accept(self, instrument: str, stamp: Stamp, values: Mapping[str, Value]) -> None:
        for value in values.values():
            assert isinstance(value, float)
            self.values.setdefault(instrument, []).append(value)

    def changed(self, instrument: str, former: LinkState, state: LinkState) -> None:
        self.states.append((instrument, state))

    async def until_more(self, instrument: str, many: int = 10) -> None:
        goal = len(self.values.get(instrument, ())) + many
        async with asyncio.timeout(10):
            while len(self.values.get(instrument, ())) < goal:  # noqa: ASYNC110 - values come from a thread
                await asyncio.sleep(0.01)


def counting_probe(address: Path) -> SerialProbe:
    """A probe that numbers its lines, a hundred a second."""
    numbers = count()
    return SerialProbe(lambda: {"number": float(next(numbers))}, address=address, interval_s=0.01, form="json")


def numbered(directory: Path, names: Sequence[str]) -> list[InstrumentConfig]:
    link = '{{ kind = "serial_lines", port = "{}/{}" }}'
    text = 'name = "{}"\nlink = {}\nchannel = []'
    return [
        msgspec.toml.decode(text.format(name, link.format(directory, name)), type=InstrumentConfig) for name in names
    ]


async def test_an_instrument_that_stays_loses_no_line_while_others_come_and_go(tmp_path: Path) -> None:
    heard = Heard()
    instruments = Instruments(Surroundings(heard.accept, heard.changed, lambda: 0.0))
    async with AsyncExitStack() as stack:
        for name in ("stays", "goes", "comes"):
            await stack.enter_async_context(counting_probe(tmp_path / name))
        running = asyncio.create_task(instruments.run(numbered(tmp_path, ["goes", "stays"])))
        await heard.until_more("goes")
        await heard.until_more("stays")
        for _ in range(3):
            await instruments.stop(["goes"])
            gone_with = len(heard.values["goes"])
            instruments.start(numbered(tmp_path, ["stays", "comes"]))
            assert [it.name for it in instruments.about()] == ["stays", "comes"]
            await heard.until_more("comes")
            await heard.until_more("stays")
            assert len(heard.values["goes"]) == gone_with
            await instruments.stop(["comes"])
            instruments.start(numbered(tmp_path, ["goes", "stays"]))
            await heard.until_more("goes")
        await heard.until_more("stays")
        running.cancel()
        await asyncio.wait([running])
    numbers = heard.values["stays"]
    assert numbers == [numbers[0] + step for step in range(len(numbers))]
    assert len(numbers) > 50
    assert [state for name, state in heard.states if name == "stays"] == [LinkState.CONNECTED]


# --- the daemon as a process


@pytest.fixture
async def broker(free_port: Callable[[], int], tmp_path: Path) -> AsyncIterator[Mosquitto]:
    async with mosquitto(free_port(), tmp_path) as broker:
        yield broker


@pytest.fixture
async def devices(tmp_path: Path) -> AsyncIterator[None]:
    low = SerialProbe(
        lambda: {"pressure": 118.0, "temperature": 50.0}, address=tmp_path / "low", interval_s=0.1, form="json"
    )
    high = SerialProbe(
        lambda: {"pressure": 2413.0, "temperature": 36.0}, address=tmp_path / "high", interval_s=0.1, form="json"
    )
    clamp = ScpiDevice(
        lambda: {"compressor": 11.2}, address=tmp_path / "clamp", queries={"MEAS:CURR:AC?": "compressor"}
    )
    async with low, high, clamp:
        yield


class Rig:
    """A daemon, its configuration file, and what it says."""

    def __init__(self, command: Command, ear: Ear, configuration: Path, address: tuple[str, int]) -> None:
        self.command = command
        self.ear = ear
        self.configuration = configuration
        self.original = configuration.read_text(encoding="utf-8")
        self._address = address

    def rewrite(self, text: str) -> None:
        self.configuration.write_text(text, encoding="utf-8")

    def hang_up(self) -> None:
        self.command.process.send_signal(signal.SIGHUP)

    async def ask(self, ask: ReloadAsk, user: str = "technician") -> Answer:
        async with aiomqtt.Client(*self._address) as client:
            await client.publish(f"{BENCH}/ask/{user}/reload", encode(ask), qos=1)
        await self.ear.until(lambda: bool(self.ear.payloads(f"{BENCH}/answer/{user}/{ask.id}")))
        return decode(self.ear.payloads(f"{BENCH}/answer/{user}/{ask.id}")[-1], Answer)

    @property
    def packs(self) -> list[Pack]:
        return [decode_pack(payload) for payload in self.ear.payloads(f"{BENCH}/readings")]

    @property
    def instruments(self) -> dict[str, InstrumentAbout]:
        abouts = self.ear.payloads(f"{BENCH}/about")
        return {it.name: it for it in decode(abouts[-1], About).instruments} if abouts else {}

    @property
    def reloads(self) -> list[Mark]:
        marks = [decode(payload, Mark) for payload in self.ear.payloads(f"{BENCH}/marks")]
        return [mark for mark in marks if mark.kind == "reload"]

    async def until_measured(self, *channels: str) -> None:
        def are_measured() -> bool:
            return bool(self.packs) and all(
                name in self.packs[-1].readings and self.packs[-1].readings[name].value for name in channels
            )

        await self.ear.until(are_measured)

    def without(self, instrument: str) -> str:
        """The configuration as it was at first, less one instrument."""
        head, *blocks = self.original.split("[[instrument]]")
        return "[[instrument]]".join([head, *(block for block in blocks if f'"{instrument}"' not in block)])


@asynccontextmanager
async def started(broker: Mosquitto, directory: Path) -> AsyncIterator[Rig]:
    configuration = write_configuration(directory, f'url = "mqtt://127.0.0.1:{broker.address.port}"')
    address = broker.address.host, broker.address.port
    async with (
        listening_to(broker.address) as ear,
        running(["daemon", "--config", str(configuration)], directory / "daemon.log") as command,
    ):
        rig = Rig(command, ear, configuration, address)
        await rig.until_measured("suction_pressure", "liquid_pressure")
        await ear.until(lambda: {it.state for it in rig.instruments.values()} == {"connected"})
        yield rig


@pytest.mark.usefixtures("devices")
async def test_on_a_hang_up_signal_instruments_come_and_go(broker: Mosquitto, tmp_path: Path) -> None:
    async with started(broker, tmp_path) as rig:
        before = rig.instruments["low side probe"]
        measured_from = len(rig.packs) - 1
        rig.rewrite(rig.without("high side probe") + CLAMP_METER.format(directory=tmp_path))
        rig.hang_up()
        await rig.until_measured("suction_pressure", "superheat", "compressor_current")
        await rig.ear.until(lambda: list(rig.instruments) == ["low side probe", "clamp meter"])
        assert "liquid_pressure" not in rig.packs[-1].readings
        assert "subcooling" not in rig.packs[-1].readings
        await rig.ear.until(lambda: bool(rig.reloads))
        assert rig.reloads[-1].text == "instruments: added clamp meter; removed high side probe"

        rig.rewrite(rig.original)
        rig.hang_up()
        await rig.until_measured("subcooling")
        await rig.ear.until(lambda: list(rig.instruments) == ["low side probe", "high side probe"])
        after = rig.instruments["low side probe"]
        assert (after.state, after.since_s, after.rejected_frames) == ("connected", before.since_s, 0)
        assert after.frames >= before.frames
        readings = [pack.readings["suction_pressure"] for pack in rig.packs[measured_from:]]
        assert {reading.quality for reading in readings} == {"ok"}
        assert rig.command.output().count("low side probe is connected") == 1
        assert rig.command.output().count("high side probe is connected") == 2


@pytest.mark.usefixtures("devices")
async def test_a_calibration_is_corrected_without_touching_the_connection(broker: Mosquitto, tmp_path: Path) -> None:
    async with started(broker, tmp_path) as rig:
        was = rig.packs[-1].readings["suction_line_temperature"].value
        assert was is not None
        rig.rewrite(rig.original.replace('accuracy = "0.9 degF"', 'accuracy = "0.9 degF"\noffset = "-1.8 degF"'))
        rig.hang_up()
        await rig.ear.until(lambda: rig.packs[-1].readings["suction_line_temperature"].value != was)
        assert rig.packs[-1].readings["suction_line_temperature"].value == pytest.approx(was - 1.0)
        assert all(pack.readings["suction_pressure"].value for pack in rig.packs[-2:])
        assert rig.command.output().count("low side probe is connected") == 1


@pytest.mark.usefixtures("devices")
async def test_a_file_with_a_mistake_changes_nothing_and_says_why(broker: Mosquitto, tmp_path: Path) -> None:
    async with started(broker, tmp_path) as rig:
        rig.rewrite(rig.without("high side probe").replace('reference = "gauge"', 'reference = "guage"'))
        answer = await rig.ask(ReloadAsk("r1", "Sam"))
        assert not answer.ok
        assert 'instrument[0].channel[0].reference = "guage"' in answer.reason
        await rig.ear.until(lambda: bool(rig.reloads))
        assert rig.reloads[-1].text == f"nothing is reloaded: {answer.reason}"
        assert "nothing is reloaded" in rig.command.output()

        rig.rewrite(rig.original.replace("R-410A", "R-22"))
        rig.hang_up()
        await rig.ear.until(lambda: "unit.refrigerant cannot change" in rig.reloads[-1].text)
        assert list(rig.instruments) == ["low side probe", "high side probe"]
        assert rig.command.output().count("is connected") == 2
        assert rig.packs[-1].readings["liquid_pressure"].quality == "ok"


@pytest.mark.usefixtures("devices")
async def test_the_technician_may_ask_for_it_and_a_lead_may_not(broker: Mosquitto, tmp_path: Path) -> None:
    async with started(broker, tmp_path) as rig:
        rig.rewrite(rig.without("high side probe"))
        assert not (await rig.ask(ReloadAsk("r1", "Robin"), user="lead")).ok
        answer = await rig.ask(ReloadAsk("r2", "Sam"))
        assert answer.ok
        assert answer.mark is not None
        assert (answer.mark.by, answer.mark.text) == ("Sam", "instruments: removed high side probe")
        await rig.ear.until(lambda: list(rig.instruments) == ["low side probe"])


async def test_a_correction_while_a_file_is_taken_over_counts(tmp_path: Path) -> None:
    """The technician touches Correct while the record is busy, and the file is read again meanwhile."""
    path = write_configuration(tmp_path)
    config = load(path)
    rig = resolve(config, path)
    may_go_on = threading.Event()
    daemon = Daemon(Setup(path, config, rig), BrokerAddress("127.0.0.1", 9), Clock())
    stop = asyncio.Event()
    running_daemon = asyncio.create_task(daemon.run(stop, asyncio.Event()))
    try:
        await asyncio.sleep(0.1)
        busy = asyncio.create_task(daemon._recorder.call(lambda _: may_go_on.wait()))
        before, after = Line(1.0, 0.0, 3447.4), Line(1.0, -0.6, 2413.2)
        mark = Corrected(
            "c1", 1.7e9, calibration=Calibration("suction_pressure", before, after, ["k1"], "low side probe")
        )
        correcting = asyncio.create_task(daemon._add_mark(mark))
        await asyncio.sleep(0.05)
        reloading = asyncio.create_task(daemon._present.reload())
        await asyncio.sleep(0.2)  # it has read the file by now
        may_go_on.set()
        await asyncio.gather(busy, reloading, correcting)
        [suction] = [channel for channel in daemon._rig.channels if channel.name == "suction_pressure"]
        assert suction.offset == -0.6
    finally:
        may_go_on.set()
        stop.set()
        await running_daemon
