"""Each part of the daemon, started alone."""

import asyncio
from pathlib import Path

import pytest

from ingest.advice.advisor import Given
from ingest.parts.barometer import barometer
from ingest.parts.broker_place import broker_place
from ingest.parts.latest import Latest
from ingest.parts.outbox import Outbox
from ingest.parts.own_marks import OwnMarks
from ingest.parts.saved_advice import SavedAdvice
from ingest.parts.tidying import tidy
from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.recorder import LARGEST_BATCH
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import LinkChanged, Mark, Reading
from tests.recording import T0_S, recording, run_of
from tests.rigs import make_pack, make_rig


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
