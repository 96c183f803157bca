"""The setup in force: read again, corrected, and both."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from ingest.channels import Channels
from ingest.clock import Moment
from ingest.config.load import load, resolve
from ingest.frames import Stamp
from ingest.instruments import Instruments
from ingest.parts.present_setup import Affected, PresentSetup
from ingest.record.errors import NotSavedError
from ingest.reload import ReloadError
from ingest.rig import ChannelSetup, Rig
from ingest.setup import Setup
from ingest.supervise import Surroundings
from ingest.wire.messages import Calibration, Corrected, Line, Reloaded
from tests.recording import T0_S
from tests.rigs import write_configuration

SUCTION, SUCTION_LINE, LIQUID_LINE = "suction_pressure", "suction_line_temperature", "liquid_line_temperature"


@dataclass
class Scene:
    """A setup at work. told: what it did, in order. is_full: the record accepts no rig."""

    path: Path
    channels: Channels
    instruments: Instruments
    told: list[str] = field(default_factory=list)
    is_full: bool = False
    present: PresentSetup = field(init=False)

    async def describe(self, rig: Rig) -> None:
        if self.is_full:
            raise NotSavedError("the disk is full")
        self.told.append(f"described {len(rig.channels)} channels")

    def rewrite(self, before: str, after: str) -> None:
        text = self.path.read_text(encoding="utf-8")
        assert before in text
        self.path.write_text(text.replace(before, after), encoding="utf-8")

    def setup_of(self, channel: str) -> ChannelSetup:
        return next(setup for setup in self.present.rig.channels if setup.name == channel)

    @property
    def connected(self) -> list[str]:
        return [instrument.name for instrument in self.instruments.about()]


@asynccontextmanager
async def at_work(directory: Path) -> AsyncIterator[Scene]:
    path = write_configuration(directory)
    config = load(path)
    setup = Setup(path, config, resolve(config, path))
    channels = Channels(setup.rig, lambda stamp: stamp.time_ns / 1e9)
    instruments = Instruments(Surroundings(channels.accept, lambda *_: None, lambda: T0_S))
    supervising = asyncio.create_task(instruments.run(config.instruments))
    await asyncio.sleep(0)
    scene = Scene(path, channels, instruments)
    scene.present = PresentSetup(
        setup,
        Affected(
            channels=channels,
            instruments=instruments,
            describe=scene.describe,
            measured_anew=lambda: scene.told.append("measured anew"),
            changed=lambda: scene.told.append("changed"),
            note=lambda _, text: scene.told.append(text),
        ),
    )
    try:
        yield scene
    finally:
        supervising.cancel()
        await asyncio.wait([supervising])


async def test_a_setup_is_read_again_alone_and_a_mistake_changes_nothing(tmp_path: Path) -> None:
    async with at_work(tmp_path) as it:
        asked = asyncio.Event()
        waiting = asyncio.create_task(it.present.run(asked))
        it.rewrite('accuracy = "1 psi"', 'accuracy = "2 psi"')
        asked.set()
        async with asyncio.timeout(30):
            while len(it.told) < 4:  # noqa: ASYNC110 - it is only told by being called
                await asyncio.sleep(0.01)
        assert it.told == ["described 4 channels", "measured anew", "changed", "instruments: corrected low side probe"]
        now = it.present.rig
        it.path.write_text("nonsense", encoding="utf-8")
        with pytest.raises(ReloadError):
            await it.present.reload()
        assert it.present.rig is now
        assert it.told[-1].startswith("nothing is reloaded: ")
        waiting.cancel()
        await asyncio.wait([waiting])


def corrected_by(channel: str, offset: float, before: float = 0.0) -> Corrected:
    """A mark that moves a channel's line, which has the offset `before`."""
    instrument = "low side probe" if channel.startswith("suction") else "high side probe"
    calibration = Calibration(channel, Line(1.0, before, 0.25), Line(1.0, offset, 0.1), ["c1"], instrument)
    return Corrected(f"{channel} {offset}", T0_S, "Sam", "technician", calibration=calibration)


async def test_what_was_corrected_in_the_visit_counts_after_the_file_was_read_again(tmp_path: Path) -> None:
    async with at_work(tmp_path) as it:
        it.present.begin([corrected_by(SUCTION, -0.6)], {})  # in a session before
        it.present.recalibrate(corrected_by(LIQUID_LINE, 0.3))  # in this one
        it.rewrite('accuracy = "0.9 degF"', 'accuracy = "0.5 degF"')
        assert await it.present.reload() == "instruments: corrected low side probe"
        assert [it.setup_of(name).offset for name in (SUCTION, SUCTION_LINE, LIQUID_LINE)] == [-0.6, 0.0, 0.3]
        assert it.setup_of(SUCTION_LINE).accuracy == pytest.approx(0.5 / 1.8)
        assert {setup.offset for setup in it.present.configured().channels} == {0.0}


async def test_a_correction_ends_with_its_instrument_and_that_is_told_once(tmp_path: Path) -> None:
    async with at_work(tmp_path) as it:
        it.present.begin([mark := corrected_by(SUCTION, -0.6)], {})
        assert it.setup_of(SUCTION).offset == -0.6
        it.rewrite('name = "low side probe"', 'name = "spare probe"')
        changed = "instruments: added spare probe; removed low side probe"
        lapsed = "the correction of the suction pressure was of low side probe and does not apply to spare probe"
        assert (await it.present.reload()).startswith(f"{changed}; {lapsed}")
        assert it.setup_of(SUCTION).offset == 0.0
        it.told.clear()
        it.present.begin([mark], {})  # after a restart
        assert it.setup_of(SUCTION).offset == 0.0
        [told] = it.told
        assert told.startswith(lapsed)
        it.present.begin([mark, Reloaded("r1", T0_S, text=told)], {})
        assert it.told == [told]


async def test_a_correction_keeps_those_before_it(tmp_path: Path) -> None:
    async with at_work(tmp_path) as it:
        it.present.recalibrate(corrected_by(SUCTION, -0.6))
        it.present.recalibrate(corrected_by(LIQUID_LINE, 0.3))
        it.present.recalibrate(corrected_by(SUCTION, -0.9, before=-0.6))
        assert [it.setup_of(name).offset for name in (SUCTION, LIQUID_LINE)] == [-0.9, 0.3]


async def test_a_rig_that_the_record_does_not_accept_stops_no_instrument(tmp_path: Path) -> None:
    async with at_work(tmp_path) as it:
        before, text = it.present.rig, it.path.read_text(encoding="utf-8")
        head, low, _ = text.split("[[instrument]]\n")
        it.path.write_text("[[instrument]]\n".join([head, low]), encoding="utf-8")
        it.is_full = True
        with pytest.raises(ReloadError, match="the disk is full"):
            await it.present.reload()
        assert it.connected == ["low side probe", "high side probe"]
        assert it.present.rig is before
        assert it.told == ["nothing is reloaded: the disk is full"]
        it.is_full = False
        assert await it.present.reload() == "instruments: removed high side probe"
        assert it.connected == ["low side probe"]


async def test_what_an_instrument_said_before_it_is_reached_otherwise_no_longer_counts(tmp_path: Path) -> None:
    async with at_work(tmp_path) as it:
        stamp = Stamp(1000 * 10**9, round(T0_S * 1e9))
        it.channels.accept("low side probe", stamp, {"pressure": 118.0})
        it.channels.accept("high side probe", stamp, {"temperature": 36.0})
        it.rewrite('/low", baud = 9600', '/low", baud = 19200')
        assert await it.present.reload() == "instruments: reconnected low side probe"
        readings = it.channels.readings(Moment(1000.1, T0_S + 0.1, 0))
        assert readings[SUCTION].reason == "never heard from the low side probe"
        assert readings[LIQUID_LINE].value == pytest.approx(309.15)  # 36 °C
