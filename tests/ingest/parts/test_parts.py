"""Each part of the daemon, started alone."""

import asyncio
from pathlib import Path

import pytest

from ingest.advice.advisor import Given
from ingest.channels import Channels
from ingest.clock import Clock
from ingest.config.load import load, resolve
from ingest.frames import Stamp
from ingest.instruments import Instruments
from ingest.parts.about_rig import AboutRig, Sources
from ingest.parts.barometer import barometer
from ingest.parts.broker_place import broker_place
from ingest.parts.judging import JudgedRig, Judging
from ingest.parts.latest import Latest
from ingest.parts.outbox import Outbox
from ingest.parts.own_marks import OwnMarks
from ingest.parts.present_setup import Affected, PresentSetup
from ingest.parts.saved_advice import SavedAdvice
from ingest.parts.ticking import Ticking
from ingest.parts.tidying import tidy
from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Record, Session
from ingest.reload import ReloadError
from ingest.rig import Rig
from ingest.setup import Setup
from ingest.supervise import Surroundings
from ingest.wire.messages import About, Advice, LinkChanged, Mark, Pack, Reading, decode
from tests.recording import T0_S, recording, run_of
from tests.rigs import make_pack, make_rig, write_configuration

LARGEST_BATCH = 64
"""Sixteen seconds of packs in one transaction."""


@pytest.fixture
def rig(tmp_path: Path) -> Rig:
    return make_rig(tmp_path)


async def test_own_marks_are_stored_in_order_and_one_that_is_refused_is_told(caplog: pytest.LogCaptureFixture) -> None:
    stored: list[str] = []

    async def add(mark: Mark) -> None:
        if mark.text == "refused":
            raise NotSavedError("the disk is full")
        stored.append(mark.text)

    marks = OwnMarks(add, lambda: T0_S)
    task = asyncio.create_task(marks.run())
    for text in ("first", "refused", "last"):
        marks.note(LinkChanged, text)
    await marks.flush()
    task.cancel()
    assert stored == ["first", "last"]
    assert "NOT SAVED: mark 'refused': the disk is full" in caplog.text


async def test_advice_is_stored_and_where_it_is_refused_told(rig: Rig, caplog: pytest.LogCaptureFixture) -> None:
    async with recording(rig) as it:
        advice = SavedAdvice(it.recorder)
        task = asyncio.create_task(advice.run())
        advice.put(Given(T0_S, b"payload", b"grounds", is_news=True))
        await advice.flush()
        await it.recorder.call(lambda record: record._database.execute("PRAGMA query_only = 1"))
        advice.put(Given(T0_S, b"refused", b"grounds", is_news=True))
        await advice.flush()
        task.cancel()
    assert [found.payload for found in RecordFile(rig.record).advices()] == [b"payload"]
    assert "NOT SAVED: advice" in caplog.text


async def test_an_outbox_on_a_record_that_cannot_be_had_is_empty(rig: Rig) -> None:
    async with recording(rig) as it:
        outbox = Outbox(it.recorder)
        await it.put(3)
        assert [entry.position for entry in await outbox.read("mqtt packs", 2)] == [1, 2]
        await outbox.advance("mqtt packs", 2)
        assert [entry.position for entry in await outbox.read("mqtt packs", 2)] == [3]
    rig.record.unlink()
    rig.record.mkdir()
    async with recording(rig) as it:
        assert await Outbox(it.recorder).read("mqtt packs", 2) == []
        await Outbox(it.recorder).advance("mqtt packs", 2)


async def test_a_record_is_tidied_until_a_pack_would_not_come_back(rig: Rig, caplog: pytest.LogCaptureFixture) -> None:
    async with recording(rig) as it:
        await it.put()
        await it.recorder.call(lambda record: record._database.execute("UPDATE packs SET payload = x'00'"))
        await it.recorder.call(Record.advance, "mqtt packs", 1)
        async with asyncio.timeout(5):
            await tidy(it.recorder, newest_packs=0)
    assert "no longer compacted" in caplog.text


def test_the_newest_is_shown_once_a_second() -> None:
    shown: list[bytes] = []
    moments = iter([0.0, 0.25, 0.999, 1.0, 1.5])
    latest = Latest(shown.append, lambda: next(moments))
    for number in range(5):
        latest.offer(b"%d" % number)
    assert shown == [b"0", b"3"]


def test_a_broker_has_its_files_beside_the_record_or_elsewhere_and_no_folder_is_made(tmp_path: Path) -> None:
    with broker_place(tmp_path) as place:
        assert place == tmp_path / "broker"
        assert list(place.iterdir()) == []
    with broker_place(tmp_path / "drive") as place:
        assert place.is_dir()
        assert tmp_path not in place.parents
    assert not place.exists()
    assert not (tmp_path / "drive").exists()


def test_the_barometer_is_measured_or_as_configured(rig: Rig) -> None:
    configured = barometer(rig, {"barometric_pressure": Reading(None, T0_S, "stale")})
    assert (configured.value, configured.standard_uncertainty) == (
        rig.barometric_pressure_pa,
        rig.barometric_standard_uncertainty_pa,
    )
    measured = barometer(rig, {"barometric_pressure": Reading(95_000.0, T0_S, standard_uncertainty=50.0)})
    assert (measured.value, measured.standard_uncertainty) == (95_000.0, 50.0)


async def test_what_waits_goes_in_batches(rig: Rig) -> None:
    async with recording(rig) as it:
        for _ in range(2 * LARGEST_BATCH + 1):
            it.recorder.put(make_pack())
        await it.recorder.flush()
        assert [pack.sequence for pack in it.saved] == [64, 128, 129]


def test_a_custody_that_was_never_used_leaves_nothing_behind(rig: Rig) -> None:
    Custody(rig.record, run_of(rig)).close()
    assert not rig.record.exists()


async def test_the_tick_follows_the_clock_and_gives_a_pack_each_time(rig: Rig) -> None:
    stamps = [Stamp(0, 10**18), Stamp(0, 10**18), Stamp(10**9, 10**18 + 10**9), Stamp(2 * 10**9, 10**18 + 62 * 10**9)]
    clock = Clock(lambda: stamps.pop(0) if len(stamps) > 1 else stamps[0])
    channels = Channels(rig, clock.time_s)
    took: list[Pack] = []
    notes: list[str] = []
    ticking = Ticking(
        clock, channels, rig=lambda: rig, session=lambda: 7, took=took.append, note=lambda _, text: notes.append(text)
    )
    assert ticking.readings == {}
    running = asyncio.create_task(ticking.run())
    async with asyncio.timeout(30):
        while len(took) < 3:  # noqa: ASYNC110 - it is only told by being called
            await asyncio.sleep(0.01)
    running.cancel()
    assert {pack.session for pack in took} == {7}
    assert "suction_pressure" in ticking.readings
    assert notes == ["the clock was set by +60.000 s"]


async def test_judging_advises_by_itself_and_tells_of_an_alarm(rig: Rig) -> None:
    given: list[Given] = []
    notes: list[str] = []
    judged = JudgedRig(lambda: rig, Channels(rig, lambda stamp: stamp.time_ns / 1e9), lambda: 101_325.0)
    judging = Judging(judged, given.append, lambda _, text: notes.append(text))
    judging.advise()
    assert given == []
    judging.follow(make_pack())
    running = asyncio.create_task(judging.run())
    async with asyncio.timeout(30):
        while not given:  # noqa: ASYNC110 - it is only told by being called
            await asyncio.sleep(0.01)
    running.cancel()
    assert notes == []
    # 18 A of a nameplate that says 12 A is more than 1.4 times, once a start is over: common practice, no source
    for second in range(60):
        judging.follow(make_pack(T0_S + second, compressor_current=18.0, compressor_load_ratio=1.5))
    assert notes[0].startswith("compressor current: ")
    assert decode(given[-1].payload, Advice).state == "stop"


def test_about_a_rig_is_told_as_it_stands_when_it_is_renewed(rig: Rig) -> None:
    shown: list[bytes] = []
    session = [Session(1, "v1", T0_S, resumed=False)]
    marks: list[Mark] = []
    about = AboutRig(
        Sources(
            boot="boot-1",
            started_s=T0_S,
            rig=lambda: rig,
            session=lambda: session[-1],
            instruments=list,
            marks=lambda: marks,
            barometric_pressure_pa=lambda: 98_765.43,
        ),
        shown.append,
    )
    about.renew()
    session.append(Session(2, "v1", T0_S, resumed=True))
    marks.append(LinkChanged("m1", T0_S, text="low side probe: waiting"))
    about.renew()
    first, second = (decode(payload, About) for payload in shown)
    assert (first.rig, first.session, first.barometric_pressure_pa, first.marks) == ("bench", 1, 98_765.4, [])
    assert first.unit.tag == "RTU-K7Q-4"
    assert (second.session, second.visit, [mark.id for mark in second.marks]) == (2, "v1", ["m1"])


async def test_a_setup_is_read_again_alone_and_a_mistake_changes_nothing(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    config = load(path)
    setup = Setup(path, config, resolve(config, path))
    told: list[str] = []

    async def describe(rig: Rig) -> None:
        told.append(f"described {len(rig.channels)} channels")

    channels = Channels(setup.rig, lambda stamp: stamp.time_ns / 1e9)
    instruments = Instruments(Surroundings(channels.accept, lambda *_: None, lambda: T0_S))
    supervising = asyncio.create_task(instruments.run(config.instruments))
    await asyncio.sleep(0)
    present = PresentSetup(
        setup,
        Affected(
            channels=channels,
            instruments=instruments,
            describe=describe,
            measured_anew=lambda: told.append("measured anew"),
            changed=lambda: told.append("changed"),
            note=lambda _, text: told.append(text),
        ),
    )
    asked = asyncio.Event()
    waiting = asyncio.create_task(present.run(asked))
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('accuracy = "1 psi"', 'accuracy = "2 psi"'), encoding="utf-8")
    asked.set()
    async with asyncio.timeout(30):
        while len(told) < 4:  # noqa: ASYNC110 - it is only told by being called
            await asyncio.sleep(0.01)
    assert told == ["described 4 channels", "measured anew", "changed", "instruments: corrected low side probe"]
    now = present.rig
    path.write_text("nonsense", encoding="utf-8")
    with pytest.raises(ReloadError):
        await present.reload()
    assert present.rig is now
    assert told[-1].startswith("nothing is reloaded: ")
    waiting.cancel()
    supervising.cancel()
    await asyncio.wait([waiting, supervising])
