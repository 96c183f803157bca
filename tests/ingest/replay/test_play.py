"""A visit played again is the visit, to the last digit: its record, the journal's fold, the advices, what is heard."""

import asyncio
import sqlite3
import zlib
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from shutil import copyfile

import aiomqtt
import msgspec
import pytest

from dewline import main
from ingest.advice.rerun import rerun
from ingest.record.errors import RecordError
from ingest.record.reading import RecordFile, open_record
from ingest.record.store import Record
from ingest.replay.play import Played, play
from ingest.replay.source import rig_of
from ingest.rig import Rig
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    About,
    Added,
    Answer,
    BrokerAddress,
    Correction,
    Note,
    NoteAsk,
    Pack,
    decode,
    decode_mark,
    decode_pack,
    encode,
    encode_ask,
)
from ingest.wire.messages import (
    Visit as VisitMessage,
)
from tests.brokers import Ear, Mosquitto, listening_to, mosquitto
from tests.ingest.advice.visits import T0_S, Visit
from tests.rigs import make_rig

SPEED = 1000.0


@pytest.fixture(scope="module")
def written_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit of two sessions, with a move that settles anew, advices that go on, and a note after the last pack."""
    rig = make_rig(tmp_path_factory.mktemp("written"))
    for session, seconds in enumerate((range(200), range(230, 420)), start=1):
        record = Record(rig.record)
        record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S + seconds[0])
        visit = Visit(rig, record, every_s=10)
        visit.watch(range(seconds[0], seconds[0] + 100), lambda second: 4.0 + second / 100)
        visit.take(Added(f"m{session}", T0_S + seconds[100] - 0.5, "Sam", "technician", mass_kg=0.2, phase="liquid"))
        visit.watch(range(seconds[100], seconds[-1] + 1), lambda second: 6.0 - second / 500)
        if session == 2:
            visit.take(Correction("c1", T0_S + 421, "Sam", "technician", of="m1", mass_kg=0.15))
            visit.take(Note("n1", T0_S + 422, "Sam", "technician", "done"))
        record.close()
    return rig.record


@pytest.fixture
def written(written_once: Path, rig: Rig) -> Path:
    """That visit in a record of the test's own."""
    return Path(copyfile(written_once, rig.record))


def of_record(path: Path) -> tuple[list[Pack], list[bytes], list[bytes], bytes]:
    """Give what a record holds of its visit: packs, marks, advices with what they rest on, and the journal's fold."""
    file = RecordFile(path)
    (visit,) = file.visits()
    packs = [msgspec.structs.replace(pack, rig="") for pack in file.visit_packs(visit.id)]
    marks = [recorded.mark for recorded in file.marks_after(visit.id, 0)]
    advices = [part for advice in file.advices() for part in (advice.payload, advice.grounds)]
    return packs, [encode(mark) for mark in marks], advices, Standing(visit.id, marks).encoded()


async def played_through(written: Path, into: Path, broker: Mosquitto) -> tuple[Played, Ear]:
    async with listening_to(broker.address) as ear:
        played = await play(
            written, open_record(written).visit_named(None), into, broker.address, rig="replay", speed=SPEED
        )
        await ear.until(lambda: len(ear.payloads("dewline/1/replay/readings")) >= played.packs)
    return played, ear


async def test_its_record_journal_and_advices_are_those_that_were_and_so_is_what_is_heard(
    written: Path, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    into = tmp_path / "again.sqlite"
    async with mosquitto(free_port(), tmp_path) as broker:
        played, ear = await played_through(written, into, broker)
    packs, marks, advices, fold = of_record(written)
    assert of_record(into) == (packs, marks, advices, fold)
    assert (played.packs, played.marks, played.came_out.others) == (390, 4, 0)
    assert played.came_out.same == len(advices) // 2 > 10
    assert all(it.same for it in rerun(into))
    heard = [decode_pack(payload) for payload in ear.payloads("dewline/1/replay/readings")]
    assert [msgspec.structs.replace(pack, rig="") for pack in heard] == packs
    told = [decode_mark(payload) for payload in ear.payloads("dewline/1/replay/marks")]
    assert [encode(mark) for mark in told] == marks
    assert ear.payloads("dewline/1/replay/advice")[-1] == advices[-2]
    stands = decode(ear.payloads("dewline/1/replay/visit")[-1], VisitMessage)
    assert (stands.added_kg, stands.moves) == (0.35, 2)
    about = decode(ear.payloads("dewline/1/replay/about")[-1], About)
    assert (about.unit.tag, about.barometric_pressure_pa, about.rig) == ("RTU-K7Q-4", 101_325.0, "replay")
    assert about.played
    assert {channel.name for channel in about.channels} >= {"suction_pressure", "liquid_pressure"}


async def test_what_todays_judge_says_otherwise_is_played_and_told(
    written: Path, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """One advice of the record is changed, as if an older judge had given it."""
    with closing(sqlite3.connect(written)) as database, database:
        number, payload = database.execute("SELECT number, payload FROM advices ORDER BY number LIMIT 1").fetchone()
        was = msgspec.json.decode(zlib.decompress(payload))
        other = zlib.compress(msgspec.json.encode(was | {"state": "done"}))
        database.execute("UPDATE advices SET payload = ? WHERE number = ?", (other, number))
    async with mosquitto(free_port(), tmp_path) as broker:
        played, _ = await played_through(written, tmp_path / "again.sqlite", broker)
    assert played.came_out.others == 1
    (spell,) = played.came_out.spells
    assert spell.differences == (f"state: said done; today would say {was['state']}",)


async def test_nobody_can_ask_anything_of_it(written: Path, tmp_path: Path, free_port: Callable[[], int]) -> None:
    stay = asyncio.Event()
    visit = open_record(written).visit_named(None)
    async with mosquitto(free_port(), tmp_path) as broker, listening_to(broker.address) as ear:
        playing = asyncio.create_task(
            play(written, visit, tmp_path / "a.sqlite", broker.address, rig="replay", speed=SPEED, stay=stay)
        )
        await ear.until(lambda: bool(ear.payloads("dewline/1/replay/status")))
        async with aiomqtt.Client(**broker.address.client_arguments()) as client:
            await client.publish("dewline/1/replay/ask/sam/note", encode_ask(NoteAsk("a1", "Sam", text="hello")), qos=1)
        await ear.until(lambda: bool(ear.payloads("dewline/1/replay/answer/sam/a1")))
        stay.set()
        await playing
    answer = decode(ear.payloads("dewline/1/replay/answer/sam/a1")[0], Answer)
    assert (answer.ok, answer.reason) == (False, "this is a visit played again: nothing can be recorded in it")


def test_a_record_that_is_there_is_not_written_into(written: Path) -> None:
    before = written.read_bytes()
    visit = open_record(written).visit_named(None)
    with pytest.raises(RecordError, match="is there already: a replay begins a record of its own"):
        asyncio.run(play(written, visit, written, BrokerAddress("127.0.0.1", 1), rig="r", speed=1.0))
    assert written.read_bytes() == before


def test_the_rig_is_read_as_it_measured(written: Path, rig: Rig) -> None:
    found = rig_of(RecordFile(written), open_record(written).visit_named(None), "replay", rig.record)
    assert {(it.name, it.unit, it.reference, it.accuracy, it.interval_s) for it in found.channels} == {
        (it.name, it.unit, it.reference, it.accuracy, it.interval_s) for it in rig.channels
    }
    assert encode(found.unit) == encode(rig.unit)


def test_the_command_plays_it_and_says_how_it_came_out(
    written: Path, tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["replay", str(written), "--speed", "1000", "--no-page", "--directory", str(tmp_path / "again")]
    assert main([*words, "--broker-port", str(free_port())]) == 0
    said = capsys.readouterr().out
    assert "played: 390 packs, 4 marks" in said
    assert "advices, all as they were given" in said
    assert main([*words, "--broker-port", str(free_port())]) == 2
    assert "is there already" in capsys.readouterr().err


@pytest.mark.parametrize("speed", ["0", "nan", "fast", "2000"])
def test_a_speed_that_cannot_be_is_refused(speed: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["replay", "visit.sqlite", "--speed", speed])
    assert "1 to 1000 was expected" in capsys.readouterr().err
