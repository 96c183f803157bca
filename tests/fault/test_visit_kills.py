"""A visit whose daemon is killed at random points: nothing is lost, nothing recorded twice, and it stands as before.

`DEWLINE_VISIT_KILLS` says how often; `make visit-kills` has it two hundred times.
"""

import asyncio
import os
import random
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from functools import partial
from itertools import count
from pathlib import Path

import aiomqtt
import pytest

from ingest.record.reading import RecordFile
from ingest.visit.seal import digest
from ingest.visit.standing import Standing
from ingest.wire.events import Confirmable
from ingest.wire.messages import (
    AcknowledgeAsk,
    AddedAsk,
    Answer,
    Ask,
    CorrectionAsk,
    HandOverAsk,
    HoseAsk,
    Mark,
    NoteAsk,
    PlaceAsk,
    ReadingAsk,
    ResumeAsk,
    SignAsk,
    Visit,
    WaitAsk,
    decode,
    encode,
)
from tests.brokers import Ear, listening_to, mosquitto
from tests.processes import BUSY, Command, running
from tests.rigs import write_configuration
from tests.yes import confirming, saying_yes

BENCH = "dewline/1/bench"
KILLS = int(os.environ.get("DEWLINE_VISIT_KILLS", "6"))
LATEST_S = 0.03
"""Killed so long after an ask at most: a daemon has answered by then, or is about to."""


def steps() -> list[Ask]:
    """Everything that a visit is asked for, over and over; each again under an id of its own."""
    number = count(1)

    def new() -> tuple[str, str]:
        return f"k{next(number)}", "Sam"

    asked: list[Ask] = []
    while len(asked) < 3 * KILLS:
        asked.append(NoteAsk(*new(), text="Arrived."))
        asked.append(AcknowledgeAsk(*new(), of=asked[-1].id))
        asked += [PlaceAsk(*new(), on="1", channels=["suction_pressure"]), ReadingAsk(*new())]
        asked += [HoseAsk(*new(), port="suction", on=True), WaitAsk(*new(), reason="parts"), ResumeAsk(*new())]
        asked.append(AddedAsk(*new(), mass_kg=0.028, phase="liquid", confirmed=True))
        asked.append(CorrectionAsk(*new(), of=asked[-1].id, mass_kg=0.014, confirmed=True))
        asked += [HoseAsk(*new(), port="suction", on=False), HandOverAsk(*new(), to="Kim")]
    return [*asked, SignAsk(*new(), name="Kim", confirmed=True)]


class Rig:
    """A daemon that can be killed, at a broker that stays."""

    def __init__(self, directory: Path, broker_port: int) -> None:
        self._configuration = write_configuration(directory, f'url = "mqtt://127.0.0.1:{broker_port}"')
        self._logs = (directory / f"daemon-{number}.log" for number in count(1))
        self._running = AsyncExitStack()
        self._command: Command | None = None

    async def start(self) -> None:
        daemon = running(["daemon", "--config", str(self._configuration)], next(self._logs))
        self._command = await self._running.enter_async_context(daemon)

    async def kill(self) -> None:
        assert self._command is not None
        self._command.process.kill()
        await self._command.process.wait()
        await self._running.aclose()

    @asynccontextmanager
    async def started(self) -> AsyncIterator["Rig"]:
        await self.start()
        try:
            yield self
        finally:
            await self.kill()


async def ask(ear: Ear, broker: aiomqtt.Client, it: Ask) -> Answer:
    """Ask until there is an answer, as a page does that hears none; what comes confirmed is confirmed."""
    return await saying_yes(partial(_ask, ear, broker), it)


async def _ask(ear: Ear, broker: aiomqtt.Client, it: Ask) -> Answer:
    answered = f"{BENCH}/answer/technician/{it.id}"
    has_confirmed = isinstance(it, Confirmable) and bool(it.confirms)
    async with asyncio.timeout(BUSY * 30):
        while True:
            await broker.publish(f"{BENCH}/ask/technician/{it.kind}", encode(it), qos=1)
            for _ in range(50):
                answers = [decode(payload, Answer) for payload in ear.payloads(answered)]
                if answers and not (has_confirmed and answers[-1].question):  # of what was asked before the yes
                    return answers[-1]
                await asyncio.sleep(0.01)


def told(ear: Ear) -> Visit:
    return decode(ear.payloads(f"{BENCH}/visit")[-1], Visit)


def of_people(record: RecordFile) -> tuple[list[Mark], list[Mark]]:
    """All marks of the visit, and those that somebody asked for."""
    visit = record.newest_visit()
    assert visit is not None
    marks = [each.mark for each in record.marks_after(visit, 0)]
    return marks, [mark for mark in marks if mark.by]


@asynccontextmanager
async def heard(directory: Path, port: int) -> AsyncIterator[tuple[Rig, Ear, aiomqtt.Client]]:
    """A daemon that may be killed, beside a broker that stays; who hears all of it, and who asks."""
    async with (
        mosquitto(port, directory) as broker,
        listening_to(broker.address) as ear,
        aiomqtt.Client(broker.address.host, broker.address.port) as client,
        Rig(directory, broker.address.port).started() as rig,
    ):
        await ear.until(lambda: bool(ear.payloads(f"{BENCH}/visit")))
        yield rig, ear, client


async def test_whatever_moment_it_is_killed_at_the_visit_goes_on_with_all_of_it(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    asked = steps()
    chance = random.Random(20261129)
    killed_at = sorted(chance.sample(range(len(asked) - 1), KILLS))  # as it is signed: below
    async with heard(tmp_path, free_port()) as (rig, ear, client):
        for number, step in enumerate(asked):
            if number in killed_at:
                await client.publish(f"{BENCH}/ask/technician/{step.kind}", encode(step), qos=1)
                await asyncio.sleep(chance.uniform(0.0, LATEST_S))
                await rig.kill()
                ear.heard.clear()  # what it answered may have been lost on the way
                await rig.start()
            answer = await ask(ear, client, step)
            assert answer.ok, (step, answer)
        await ear.until(lambda: told(ear).progress.state == "signed")
        said = told(ear)
    marks, people = of_people(RecordFile(tmp_path / "bench.sqlite"))
    assert [mark.id for mark in people] == [step.id for step in asked]  # each once, in order
    again = Standing(said.visit, marks).message()
    assert (again.added_kg, again.moves, again.places, again.progress) == (
        said.added_kg, said.moves, said.places, said.progress,
    )  # fmt: skip
    assert said.progress.digest == digest(marks[: [mark.id for mark in marks].index(asked[-1].id)])


@pytest.mark.skipif("DEWLINE_VISIT_KILLS" not in os.environ, reason="some seconds: make visit-kills")
async def test_a_visit_whose_daemon_is_killed_as_it_is_signed_is_signed_once_and_the_next_start_begins_another(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    sign = SignAsk("k1", "Sam", name="Sam", confirmed=True)
    async with heard(tmp_path, free_port()) as (rig, ear, client):
        visit = told(ear).visit
        asked = await _ask(ear, client, sign)  # what is open is asked about first
        sign = confirming(sign, asked)
        await client.publish(f"{BENCH}/ask/technician/{sign.kind}", encode(sign), qos=1)
        await ear.until(lambda: told(ear).progress.state == "signed")
        await rig.kill()
        ear.heard.clear()
        await rig.start()
        assert (await ask(ear, client, sign)).ok  # a page that heard no answer asks again
        await ear.until(lambda: told(ear).visit != visit)
        assert told(ear).progress.state == "open"
    record = RecordFile(tmp_path / "bench.sqlite")
    assert [each.mark.kind for each in record.marks_after(visit, 0) if each.mark.by] == ["sign"]
    newest = record.newest_visit()
    assert newest is not None
    assert [each.mark for each in record.marks_after(newest, 0) if each.mark.by] == []
