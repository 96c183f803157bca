"""Reading what is missing from a real record, without a broker: what is read, and what is said where it cannot be."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import msgspec
import pytest

from dashboard import recall
from dashboard.hub import Hub
from ingest.record.store import Record
from ingest.wire.messages import encode_pack, topic
from tests.dashboard.test_history import START_S, record
from tests.page import settings
from tests.processes import eventually
from tests.rigs import make_pack, make_rig


@asynccontextmanager
async def recalling(hub: Hub, directory: Path, path: Path | None) -> AsyncIterator[None]:
    task = asyncio.create_task(recall.run(settings(directory, 1, record=path), hub))
    try:
        yield
        assert not task.done()
    finally:
        task.cancel()
        await asyncio.wait([task])


def hear(hub: Hub, sequence: int, session: int) -> None:
    pack = msgspec.structs.replace(make_pack(START_S + sequence - 1, superheat=1.0), sequence=sequence, session=session)
    hub.receive(topic("bench", "readings"), encode_pack(pack))


async def whole_until(hub: Hub, sequence: int) -> None:
    await eventually(f"all up to {sequence}", lambda: asyncio.sleep(0, hub.numbering.whole_until == sequence))


def shown(hub: Hub) -> list[int]:
    return [int(sequence) for sequence in hub.ring.rows()["sequence"].tolist()]


async def test_without_a_record_what_was_not_heard_is_nowhere(tmp_path: Path) -> None:
    hub = Hub("bench")
    async with recalling(hub, tmp_path, None):
        await whole_until(hub, 0)
        hear(hub, 5, session=1)
        await whole_until(hub, 5)
        assert shown(hub) == [5]
        assert not hub.past_wanted.is_set()


async def test_what_is_missing_below_what_was_heard_is_read(tmp_path: Path) -> None:
    hub = Hub("bench")
    path = record(tmp_path, 10)
    async with recalling(hub, tmp_path, path):
        await whole_until(hub, 10)
        assert shown(hub) == list(range(1, 11))
        writer = Record(path)
        writer.begin_session(make_rig(tmp_path), boot="b", new_visit="v", time_s=START_S)
        writer.commit([make_pack(START_S + number, superheat=1.0) for number in range(10, 14)])
        writer.close()
        hear(hub, 13, session=2)  # and 14 is in the record already
        await whole_until(hub, 14)
        assert shown(hub) == list(range(1, 15))
        hear(hub, 17, session=2)  # nobody has 15 and 16
        await whole_until(hub, 17)
        assert shown(hub) == [*range(1, 15), 17]


async def test_a_record_without_a_pack_is_read_and_nothing_is_told(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    hub = Hub("bench")
    async with recalling(hub, tmp_path, record(tmp_path, 0)):
        await whole_until(hub, 0)
    assert shown(hub) == []
    assert caplog.text == ""


async def test_a_record_that_cannot_be_read_is_told_once_and_asked_again_until_it_can(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    assert recall.PAUSE_S == 2.0
    monkeypatch.setattr(recall, "PAUSE_S", 0.01)
    hub = Hub("bench")
    path = tmp_path / "visit.sqlite"
    path.write_bytes(b"no database" * 100)
    async with recalling(hub, tmp_path, path):
        await eventually("a warning", lambda: asyncio.sleep(0, "cannot be read" in caplog.text))
        await asyncio.sleep(0.1)
        assert caplog.text.count("cannot be read") == 1
        elsewhere = tmp_path / "elsewhere"
        elsewhere.mkdir()
        record(elsewhere, 3).replace(path)  # at once: where there is none, nothing is recorded yet
        await whole_until(hub, 3)
        path.write_bytes(b"no database" * 100)
        hub.past_wanted.set()
        await eventually("another warning", lambda: asyncio.sleep(0, caplog.text.count("cannot be read") == 2))
