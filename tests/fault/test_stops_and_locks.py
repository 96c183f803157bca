"""What a hand hangs on, over faults of the daemon and its disk: a lead's stop is seen, and a lock stays known."""

import asyncio
import dataclasses
import threading
import time
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

import aiomqtt
import pytest
from msgspec.structs import replace

from ingest.clock import Clock
from ingest.config.load import load, resolve
from ingest.daemon import Daemon
from ingest.process import boot_id
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.setup import Setup
from ingest.wire.messages import (
    AcknowledgeAsk,
    Answer,
    Ask,
    FindingAsk,
    Mark,
    Note,
    NoteAsk,
    OpenAsk,
    Stop,
    StopAsk,
    Visit,
    decode,
    encode,
)
from tests.brokers import Ear, Mosquitto, listening_to, mosquitto
from tests.processes import Command, running
from tests.rigs import write_configuration
from tests.yes import saying_yes

BENCH = "dewline/1/bench"
STOP = StopAsk("s1", "Robin", text="Hands off.")


@pytest.fixture
async def broker(free_port: Callable[[], int], tmp_path: Path) -> AsyncIterator[Mosquitto]:
    async with mosquitto(free_port(), tmp_path) as broker:
        yield broker


@pytest.fixture
async def ear(broker: Mosquitto) -> AsyncIterator[Ear]:
    async with listening_to(broker.address) as ear:
        yield ear


@pytest.fixture
def configuration(broker: Mosquitto, tmp_path: Path) -> Path:
    return write_configuration(tmp_path, f'url = "mqtt://127.0.0.1:{broker.address.port}"')


def daemon(configuration: Path) -> AbstractAsyncContextManager[Command]:
    return running(["daemon", "--config", str(configuration)], configuration.with_name("daemon.log"))


def put_on_a_drive(configuration: Path) -> None:
    """Have the record on a drive of its own, which is missing."""
    configuration.write_text(configuration.read_text().replace('"bench.sqlite"', '"drive/bench.sqlite"'))


def visit(ear: Ear) -> Visit:
    return decode(ear.payloads(f"{BENCH}/visit")[-1], Visit)


@asynccontextmanager
async def person(broker: Mosquitto, ear: Ear, user: str) -> AsyncIterator[Callable[[Ask], asyncio.Task[Answer]]]:
    """Somebody who asks, and is answered: what they ask is under way at once."""
    async with aiomqtt.Client("127.0.0.1", broker.address.port) as client, asyncio.TaskGroup() as group:

        async def answered(ask: Ask) -> Answer:
            answers = f"{BENCH}/answer/{user}/{ask.id}"
            before = len(ear.payloads(answers))
            await client.publish(f"{BENCH}/ask/{user}/{ask.kind}", encode(ask), qos=1)
            await ear.until(lambda: len(ear.payloads(answers)) > before)
            return decode(ear.payloads(answers)[-1], Answer)

        yield lambda ask: group.create_task(saying_yes(answered, ask))


async def reads(ear: Ear, since: int = 0) -> None:
    """Wait until a daemon reads, more than so many packs ago: it hears asks before it sends packs."""
    await ear.until(lambda: len(ear.payloads(f"{BENCH}/readings")) > since and bool(ear.payloads(f"{BENCH}/visit")))


async def test_a_stop_is_seen_though_the_disk_hangs_behind_a_note_and_all_is_recorded_in_order(
    broker: Mosquitto, ear: Ear, configuration: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    goes_on, add = threading.Event(), Record.add_mark

    def hang_at_a_note(record: Record, mark: Mark) -> Mark:
        if isinstance(mark, Note):
            goes_on.wait()
        return add(record, mark)

    monkeypatch.setattr(Record, "add_mark", hang_at_a_note)
    config = load(configuration)
    at_work = Daemon(Setup(configuration, config, resolve(config, configuration)), broker.address, Clock())
    end = asyncio.Event()
    working = asyncio.create_task(at_work.run(end, asyncio.Event()))
    try:
        await reads(ear)
        async with person(broker, ear, "technician") as sam, person(broker, ear, "lead") as robin:
            noted = sam(NoteAsk("n1", "Sam", text="It drips."))
            later = sam(NoteAsk("n2", "Sam", text="It drips no more."))
            told = await robin(STOP)
            assert (told.ok, told.waits, told.reason[:25]) == (False, True, "not saved: the disk hangs")
            stop = visit(ear).stop
            assert stop is not None
            assert (stop.text, stop.saved, stop.acknowledged_s) == ("Hands off.", False, None)
            answered_s = time.time()
            assert (await sam(AcknowledgeAsk("k1", "Sam", of="s1"))).waits
            stop = visit(ear).stop
            assert stop is not None
            assert stop.acknowledged_s == pytest.approx(answered_s, abs=0.5)
            assert not noted.done()
            goes_on.set()
            await ear.until(lambda: (it := visit(ear).stop) is not None and it.saved)
            assert (await robin(STOP)).ok  # asked again, recorded once
            assert (await noted).ok
            assert (await later).ok
            assert (await sam(AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    finally:
        goes_on.set()
        end.set()
        await working
    recorded = [
        it.mark.id for it in RecordFile(configuration.with_name("bench.sqlite")).marks_after(visit(ear).visit, 0)
    ]
    assert [it for it in recorded if it in ("n1", "n2", "s1")] in (["n1", "s1", "n2"], ["n1", "n2", "s1"])


async def test_a_stop_that_waited_for_the_disk_as_the_daemon_was_killed_is_shown_again_as_it_is_asked_again(
    broker: Mosquitto, ear: Ear, configuration: Path
) -> None:
    """What whoever asked was told: that it waits, and is to be asked again under its id until it is recorded."""
    put_on_a_drive(configuration)
    async with person(broker, ear, "lead") as robin, person(broker, ear, "technician") as sam:
        async with daemon(configuration) as command:
            await reads(ear)
            assert (await robin(STOP)).waits
            await ear.until(lambda: visit(ear).stop is not None)
            command.process.kill()
            await command.process.wait()
        seen = visit(ear).visit
        async with daemon(configuration):
            await ear.until(lambda: visit(ear).visit != seen)
            assert visit(ear).stop is None  # it is lost, and asked again
            assert (await robin(replace(STOP, visit=seen))).waits  # of another, as far as the rig knows
            await ear.until(lambda: visit(ear).stop is not None)
            stop = visit(ear).stop
            assert stop is not None
            assert (stop.id, stop.acknowledged_s, stop.saved) == ("s1", None, False)
            (configuration.parent / "drive").mkdir()
            await ear.until(lambda: (it := visit(ear).stop) is not None and it.saved)
            assert (await robin(STOP)).ok
            assert (await sam(AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    record = RecordFile(configuration.parent / "drive" / "bench.sqlite")
    kinds = [it.mark.kind for it in record.marks_after(record.newest_visit() or "", 0)]
    assert (kinds.count("stop"), kinds.count("acknowledge")) == (1, 1)


async def test_a_stop_that_was_answered_where_it_was_carried_over_to_stands_open_nowhere(
    broker: Mosquitto, ear: Ear, configuration: Path
) -> None:
    rig, now_s = resolve(load(configuration), configuration), time.time()
    other = dataclasses.replace(rig, unit=replace(rig.unit, tag="RTU-M2D-1"))
    record = Record(rig.record)
    record.begin_session(other, boot=boot_id(), new_visit="visit-1", time_s=now_s - 60)
    record.add_mark(Stop("s1", now_s - 20, "Robin", "lead", text="Hands off."))
    record.close()
    async with daemon(configuration), person(broker, ear, "technician") as sam:
        await reads(ear)
        await ear.until(lambda: visit(ear).stop is not None)
        assert (await sam(AcknowledgeAsk("k1", "Sam", of="s1"))).ok
        assert (await sam(OpenAsk("o1", "Sam", unit=other.unit.tag, confirmed=True))).ok
        await ear.until(lambda: visit(ear).visit == "visit-1")
        stop = visit(ear).stop
        assert stop is not None
        assert (stop.id, stop.acknowledged_by, visit(ear).talk.stops_open) == ("s1", "Sam", 0)
        assert (await sam(OpenAsk("o2", "Sam", unit=rig.unit.tag, confirmed=True))).ok  # nothing keeps it there
    heard = len(ear.payloads(f"{BENCH}/readings"))
    async with daemon(configuration):
        await reads(ear, heard)
        assert visit(ear).talk.stops_open == 0


def isolated(name: str) -> FindingAsk:
    choices = {"disconnect_state": "locked_by_me", "tried": "nothing", "other_feeds": "none", "locked_by": name}
    return FindingAsk(f"i-{name}", name, check="isolate", grade="said", choices=choices, confirmed=True)


async def test_locks_of_two_stand_over_a_kill_and_each_takes_off_their_own(
    broker: Mosquitto, ear: Ear, configuration: Path
) -> None:
    """29 CFR 1910.147(f)(3), from memory: of a group each has a lock of their own, and takes that off themselves."""
    async with person(broker, ear, "technician") as people:
        async with daemon(configuration) as command:
            await reads(ear)
            assert (await people(isolated("Sam"))).ok
            assert (await people(isolated("Kim"))).ok
            command.process.kill()
            await command.process.wait()
        heard = len(ear.payloads(f"{BENCH}/readings"))
        async with daemon(configuration):
            await reads(ear, heard)
            assert visit(ear).locks == ["Sam", "Kim"]
            off = {"call": "present", "contactor": "in", "lock_removed_by": "Sam"}
            back = FindingAsk("p1", "Sam", check="power_back", grade="said", choices=off, confirmed=True)
            assert (await people(back)).ok
            await ear.until(lambda: visit(ear).locks == ["Kim"])
