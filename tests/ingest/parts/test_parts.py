"""Each part of the daemon, started alone."""

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest

from calc.quantities import Quantity
from calc.units import conversion
from ingest.advice.advisor import Given
from ingest.advice.memory import Earlier
from ingest.channels import Channels
from ingest.clock import Clock
from ingest.frames import Stamp
from ingest.parts.about_rig import AboutRig, Sources
from ingest.parts.broker_place import broker_place
from ingest.parts.judging import JudgedRig, Judging
from ingest.parts.latest import Latest
from ingest.parts.outbox import Outbox
from ingest.parts.own_marks import OwnMarks
from ingest.parts.saved_advice import SavedAdvice
from ingest.parts.ticking import Ticking
from ingest.parts.tidying import tidy
from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Record, Session
from ingest.rig import ChannelSetup, Rig
from ingest.wire.messages import About, Advice, Checked, CheckFound, LinkChanged, Mark, Pack, decode
from tests.recording import T0_S, recording, run_of
from tests.rigs import make_pack

LARGEST_BATCH = 64
"""Sixteen seconds of packs in one transaction."""


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
        advice.put(Given(T0_S, 5.0, b"payload", b"grounds", is_news=True))
        await advice.flush()
        await it.recorder.call(lambda record: record._database.execute("PRAGMA query_only = 1"))
        advice.put(Given(T0_S, 6.0, b"refused", b"grounds", is_news=True))
        await advice.flush()
        task.cancel()
    assert [found.payload for found in RecordFile(rig.record).advices()] == [b"payload"]
    assert "NOT SAVED: advice" in caplog.text


async def test_what_is_acknowledged_and_what_follows_goes_to_the_thread_of_the_record_together(
    rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In every tick: each way to the thread and back costs as much as all that is noticed."""
    async with recording(rig) as it:
        outbox = Outbox(it.recorder)
        await it.put(2)
        await outbox.read("mqtt packs", 1)
        calls = 0
        call = it.recorder.call

        async def counted(function, *arguments):  # type: ignore[no-untyped-def]
            nonlocal calls
            calls += 1
            return await call(function, *arguments)

        monkeypatch.setattr(it.recorder, "call", counted)
        await outbox.advance("mqtt packs", 1)
        assert [entry.position for entry in await outbox.read("mqtt packs", 2)] == [2]
        assert calls == 1
        monkeypatch.undo()
        await outbox.read("mqtt marks", 1)
        await it.recorder.call(lambda record: record.commit([make_pack()]))  # a cursor is written with the next commit
        assert (await it.recorder.call(lambda record: dict(record._cursors))) == {"mqtt packs": 1}


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


async def test_a_record_that_refuses_is_tidied_once_it_no_longer_does(
    rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ingest.parts.tidying.PERIOD_S", 0.01)
    monkeypatch.setattr("ingest.parts.tidying.PAUSE_S", 3600.0)  # only where packs were put together
    async with recording(rig) as it:
        await it.put(3)
        await it.recorder.call(Record.advance, "mqtt packs", 3)
        await it.recorder.call(lambda record: record._database.execute("PRAGMA query_only = 1"))
        tidying = asyncio.create_task(tidy(it.recorder, newest_packs=0))
        await asyncio.sleep(0)  # it has asked, and is refused before what follows
        await it.recorder.call(lambda record: record._database.execute("PRAGMA query_only = 0"))
        async with asyncio.timeout(5):
            while await it.recorder.call(_packs_not_in_chunks):
                assert not tidying.done()
        tidying.cancel()
        await asyncio.wait([tidying])


def _packs_not_in_chunks(record: Record) -> int:
    return int(record._database.execute("SELECT count(*) FROM packs").fetchone()[0])


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
    assert notes == ["the clock was set by +60.000 s, or this machine slept for as long"]


def test_a_reading_of_before_a_sleep_is_old_when_the_machine_wakes(rig: Rig) -> None:
    """The monotonic clock stands still in a sleep: clock_gettime(2). Without it a reading of an hour ago were fresh."""
    clock = Clock(lambda: Stamp(10**9, 10**18))
    channels = Channels(rig, clock.time_s)
    asleep_s = [100.0]
    ticking = Ticking(
        clock, channels, rig=lambda: rig, session=lambda: 7, took=lambda _: None, note=lambda *_: None,
        asleep_s=lambda: asleep_s[-1],
    )  # fmt: skip
    low = next(setup for setup in rig.channels if setup.name == "suction_pressure")

    def quality() -> str:
        ticking.tick()
        return ticking.readings["suction_pressure"].quality

    channels.accept(low.instrument, Stamp(10**9, 10**18), {low.field: 118.0})
    assert quality() == "ok"
    asleep_s.append(100.2)
    assert quality() == "ok", "two clocks that are read one after the other"
    asleep_s.append(3700.0)
    assert (quality(), quality()) == ("stale", "stale")
    assert ticking.readings["suction_pressure"].value is None
    channels.accept(low.instrument, Stamp(10**9, 10**18), {low.field: 118.0})
    assert quality() == "ok", "what came after waking is fresh"


async def test_judging_advises_by_itself_and_tells_of_an_alarm(rig: Rig) -> None:
    judging, given, notes = judging_of(rig)
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


def judging_of(rig: Rig) -> tuple[Judging, list[Given], list[str]]:
    """Judging alone, with what it gave and what it noted."""
    given: list[Given] = []
    notes: list[str] = []
    judged = JudgedRig(lambda: rig, Channels(rig, lambda stamp: stamp.time_ns / 1e9), lambda: 101_325.0)
    return Judging(judged, given.append, lambda _, text: notes.append(text)), given, notes


def states(given: list[Given]) -> list[str]:
    return [decode(each.payload, Advice).state for each in given]


def test_an_alarm_is_advised_on_in_the_tick_in_which_it_comes_and_in_which_it_goes(rig: Rig) -> None:
    judging, given, notes = judging_of(rig)
    # 18 A of a nameplate that says 12 A is more than 1.4 times: common practice, no source
    for second, amps in enumerate([9.0, 18.0, 18.0, *[9.0] * 11]):
        before = len(given)
        judging.follow(make_pack(T0_S + second, compressor_current=amps, compressor_load_ratio=amps / 12))
        assert len(given) - before == (second in (1, 12)), second  # ten seconds after it was seen last
    came, went = states(given)
    assert (came, went == "stop") == ("stop", False)
    assert [note.partition(":")[0] for note in notes] == ["compressor current"]


def test_an_alarm_from_an_instrument_that_failed_its_check_is_marked_as_in_doubt(rig: Rig) -> None:
    clamp = ChannelSetup(
        name="compressor_current",
        instrument="clamp meter",
        field="compressor",
        unit="A",
        reference="",
        conversion=conversion("A", Quantity.CURRENT),
        accuracy=0.3,
        interval_s=1.0,
    )
    with_clamp = replace(rig, instruments=(*rig.instruments, replace(rig.instruments[0], channels=(clamp,))))
    judging, _, notes = judging_of(with_clamp)
    found = CheckFound("closed_jaw", "compressor_current", 3.0, 3.0, 0.0, 3.0, 0.1, 0.15, "out")
    judging.begin(Earlier(marks=[Checked("c1", T0_S, "Sam", "technician", check=found)]))
    judging.follow(make_pack(T0_S, compressor_current=9.0, compressor_load_ratio=0.75))
    judging.advise()
    judging.follow(make_pack(T0_S + 1, compressor_current=18.0, compressor_load_ratio=1.5))
    assert [note.partition(":")[0] for note in notes] == ["compressor current, in doubt"]


def test_about_a_rig_is_told_as_it_stands_when_it_is_renewed(rig: Rig) -> None:
    shown: list[bytes] = []
    session = [Session(1, "v1", T0_S, resumed=False)]
    marks: list[Mark] = []
    circuits = [""]
    about = AboutRig(
        Sources(
            boot="boot-1",
            started_s=T0_S,
            rig=lambda: rig,
            circuit=lambda: circuits[-1],
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
    circuits.append("1")  # one of two, which nobody named
    about.renew()
    first, second = (decode(payload, About) for payload in shown)
    assert (first.rig, first.session, first.barometric_pressure_pa, first.marks) == ("bench", 1, 98_765.4, [])
    assert first.unit.tag == "RTU-K7Q-4"
    assert (first.unit.circuit, second.unit.circuit) == (rig.unit.circuit, "1")
    assert (second.session, second.visit, [mark.id for mark in second.marks]) == (2, "v1", ["m1"])
