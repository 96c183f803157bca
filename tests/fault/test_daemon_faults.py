"""The daemon as a process, whose record or broker fails it: it starts, it says so, it lives, and it makes up for it.

`DEWLINE_OUTAGE_S` says how long the broker is away; `make outages` has it away for five minutes.
"""

import asyncio
import os
import shutil
import sqlite3
import subprocess
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AbstractContextManager, asynccontextmanager, closing, contextmanager, suppress
from pathlib import Path

import aiomqtt
import pytest

from ingest.wire.messages import (
    AcknowledgeAsk,
    Answer,
    Ask,
    BrokerAddress,
    Pack,
    Status,
    StopAsk,
    Visit,
    decode,
    decode_pack,
    encode,
)
from ingest.wire.talk import StopStands
from tests.brokers import Ear, Mosquitto, listening_to, mosquitto
from tests.processes import Command, running
from tests.rigs import write_configuration

BENCH = "dewline/1/bench"
OUTAGE_S = float(os.environ.get("DEWLINE_OUTAGE_S", "3"))
FREEZE_S = max(6.0, OUTAGE_S / 5)
"""Longer than the keepalive, so that the daemon gives the connection up."""


@pytest.fixture
async def broker(free_port: Callable[[], int], tmp_path: Path) -> AsyncIterator[Mosquitto]:
    async with mosquitto(free_port(), tmp_path) as broker:
        yield broker


def configured(directory: Path, broker: str) -> Path:
    """A configuration whose record is on a drive of its own, which may be missing."""
    path = write_configuration(directory, broker)
    path.write_text(path.read_text().replace('"bench.sqlite"', '"drive/bench.sqlite"'))
    return path


@asynccontextmanager
async def daemon(directory: Path, broker: Mosquitto) -> AsyncIterator[Command]:
    configuration = configured(directory, f'url = "mqtt://127.0.0.1:{broker.address.port}"')
    async with running(["daemon", "--config", str(configuration)], directory / "daemon.log") as command:
        yield command


def packs(ear: Ear) -> list[Pack]:
    return [decode_pack(payload) for payload in ear.payloads(f"{BENCH}/readings")]


def status(ear: Ear) -> Status:
    return decode(ear.payloads(f"{BENCH}/status")[-1], Status)


def recorded(path: Path) -> list[bytes]:
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return [payload for (payload,) in database.execute("SELECT payload FROM packs ORDER BY sequence")]


def is_refused(ear: Ear, reason: str) -> bool:
    if not ear.payloads(f"{BENCH}/status"):
        return False
    not_saved = status(ear).not_saved
    return not_saved is not None and reason in not_saved.reason


async def test_it_starts_without_its_drive_and_records_once_that_is_there(broker: Mosquitto, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    async with listening_to(broker.address) as ear, daemon(tmp_path, broker) as command:
        await ear.until(lambda: is_refused(ear, "is missing"))
        not_saved = status(ear).not_saved
        assert not_saved is not None
        assert not_saved.path == str(drive / "bench.sqlite")
        assert "Connect the drive" in not_saved.cure
        await ear.until(lambda: len(packs(ear)) >= 3)
        assert not drive.exists()
        drive.mkdir()
        await ear.until(lambda: packs(ear)[-1].saved and status(ear).not_saved is None)
        assert (status(ear).s, status(ear).session) == ("online", 1)
        first = next(pack for pack in packs(ear) if pack.saved)
        assert first.sequence == 1
        unsaved = [pack for pack in packs(ear) if not pack.saved]
        assert [pack.unsaved_packs for pack in unsaved] == list(range(1, first.unsaved_packs + 1))
        assert command.process.returncode is None
    assert command.output().count("the live view goes on") == 1


async def test_a_record_that_is_deleted_at_work_is_restored_within_a_second(broker: Mosquitto, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    async with listening_to(broker.address) as ear, daemon(tmp_path, broker) as command:
        await ear.until(lambda: len(packs(ear)) >= 4)
        before = recorded(drive / "bench.sqlite")
        drive.rename(tmp_path / "gone")  # at once, where to delete file by file would race with what is written
        shutil.rmtree(tmp_path / "gone", ignore_errors=True)
        await ear.until(lambda: is_refused(ear, "is missing"))
        drive.mkdir()
        await ear.until(lambda: packs(ear)[-1].saved and status(ear).not_saved is None)
        after = recorded(drive / "bench.sqlite")
        assert after[: len(before)] == before
        assert [decode_pack(payload).sequence for payload in after] == list(range(1, len(after) + 1))
        assert command.process.returncode is None
    assert "was restored with all that was in it" in command.output()


async def test_two_daemons_on_one_record(broker: Mosquitto, free_port: Callable[[], int], tmp_path: Path) -> None:
    (tmp_path / "drive").mkdir()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    async with (
        mosquitto(free_port(), elsewhere) as other,
        listening_to(other.address) as ear,
        daemon(tmp_path, broker) as first,
        listening_to(broker.address) as first_ear,
    ):
        await first_ear.until(lambda: len(packs(first_ear)) >= 2)
        ports = f"127.0.0.1:{broker.address.port}", f"127.0.0.1:{other.address.port}"
        configuration = tmp_path / "second.toml"
        configuration.write_text((tmp_path / "rig.toml").read_text().replace(*ports))
        async with running(["daemon", "--config", str(configuration)], tmp_path / "second.log") as second:
            holder = f"another daemon writes this record (process {first.process.pid} "
            await ear.until(lambda: is_refused(ear, holder))
            heard = len(packs(first_ear))
            await first_ear.until(lambda: len(packs(first_ear)) >= heard + 4)
            assert all(pack.saved for pack in packs(first_ear))
            first.process.terminate()
            assert await first.process.wait() == 0
            await ear.until(lambda: packs(ear)[-1].saved and status(ear).not_saved is None)
            assert second.process.returncode is None


@pytest.fixture
def drive(tmp_path: Path) -> Iterator[Path]:
    """Where the record is to be: nothing yet; what a test mounts there is gone after it."""
    drive = tmp_path / "drive"
    yield drive
    if drive.is_mount():
        subprocess.run(["umount", "--lazy", str(drive)], check=True)


@contextmanager
def no_drive(drive: Path) -> Iterator[None]:
    yield
    drive.mkdir()


@contextmanager
def full_disk(drive: Path) -> Iterator[None]:
    """A disk of its own, full until the end; only root can make one."""
    drive.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m", "none", str(drive)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("needs the right to mount a small disk")
    filler = drive / "filler"
    with filler.open("wb", buffering=0) as file, suppress(OSError):
        while file.write(bytes(4096)):
            pass
    yield
    filler.unlink()


@pytest.mark.parametrize("fault", [no_drive, full_disk])
async def test_a_stop_reaches_the_unit_though_nothing_can_be_saved_and_is_recorded_once_it_can(
    broker: Mosquitto, tmp_path: Path, drive: Path, fault: Callable[[Path], AbstractContextManager[None]]
) -> None:
    def stop() -> StopStands | None:
        said = ear.payloads(f"{BENCH}/visit")
        return decode(said[-1], Visit).stop if said else None

    async def answered(user: str, ask: Ask) -> Answer:
        topic = f"{BENCH}/answer/{user}/{ask.id}"
        async with aiomqtt.Client("127.0.0.1", broker.address.port) as client:
            await client.publish(f"{BENCH}/ask/{user}/{ask.kind}", encode(ask), qos=1)
            await ear.until(lambda: bool(ear.payloads(topic)))
        return decode(ear.payloads(topic)[-1], Answer)

    async with listening_to(broker.address) as ear, daemon(tmp_path, broker):
        with fault(drive):
            await ear.until(lambda: is_refused(ear, "") and bool(packs(ear)))  # it hears asks before it sends packs
            told = await answered("lead", StopAsk("s1", "Robin", text="Hands off."))
            assert not told.ok
            assert "shown at the unit all the same" in told.reason
            await ear.until(lambda: stop() is not None)
            shown = stop()
            assert shown is not None
            assert (shown.text, shown.saved, shown.acknowledged_s) == ("Hands off.", False, None)
            assert not (await answered("technician", AcknowledgeAsk("k1", "Sam", of="s1"))).ok
            await ear.until(lambda: (it := stop()) is not None and it.acknowledged_by == "Sam")
        await ear.until(lambda: (it := stop()) is not None and it.saved)
        kept = stop()
        assert kept is not None
        assert (kept.delivered_s, kept.acknowledged_by) == (shown.delivered_s, "Sam")
        with closing(sqlite3.connect(f"file:{drive / 'bench.sqlite'}?mode=ro", uri=True)) as database:
            people = "SELECT id FROM marks WHERE kind IN ('stop', 'acknowledge') ORDER BY number"
            assert database.execute(people).fetchall() == [("s1",), ("k1",)]


async def test_with_a_broker_of_its_own_it_starts_where_nothing_can_be_written(
    free_port: Callable[[], int], tmp_path: Path
) -> None:
    port = free_port()
    configuration = configured(tmp_path, f'listen = "127.0.0.1:{port}"')
    async with running(["daemon", "--config", str(configuration)], tmp_path / "daemon.log") as command:
        while "NOT SAVED" not in command.output():  # noqa: ASYNC110 - the log is a file
            await asyncio.sleep(0.05)
        async with listening_to(BrokerAddress("127.0.0.1", port)) as ear:
            await ear.until(lambda: is_refused(ear, "is missing"))
    assert not (tmp_path / "drive").exists()


@pytest.mark.timeout(900)
async def test_over_a_broker_that_is_away_and_one_that_is_frozen_everything_arrives_in_order(
    broker: Mosquitto, tmp_path: Path
) -> None:
    (tmp_path / "drive").mkdir()
    async with listening_to(broker.address) as ear, daemon(tmp_path, broker) as command:
        await ear.until(lambda: len(packs(ear)) >= 4)
        broker.freeze()
        await asyncio.sleep(FREEZE_S)
        broker.thaw()
        newest = len(recorded(tmp_path / "drive" / "bench.sqlite"))
        await ear.until(lambda: (packs(ear)[-1].sequence or 0) > newest, within_s=60)
        await broker.kill()
        await asyncio.sleep(OUTAGE_S)
        await broker.start()
        newest = len(recorded(tmp_path / "drive" / "bench.sqlite"))
        await ear.until(lambda: (packs(ear)[-1].sequence or 0) > newest, within_s=60)
        command.process.terminate()
        assert await command.process.wait() == 0
        await ear.until(lambda: status(ear).s == "offline")
    arrived = list(dict.fromkeys(ear.payloads(f"{BENCH}/readings")))
    assert arrived == recorded(tmp_path / "drive" / "bench.sqlite")
