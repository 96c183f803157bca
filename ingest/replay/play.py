"""Plays a recorded visit: packs in their own pace into a new record, and from there to the broker, as a rig would.

Record, outbox and publisher are those of the daemon. In the place of the instruments stand the recorded packs, in that
of people, and of what notices by itself, the recorded marks; nobody can ask anything of it. Each advice is worked out
anew on the pack on which it was given, from the packs as they are played and from what else it rested on.
"""

import asyncio
import dataclasses
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from msgspec.structs import replace

from ingest.advice.otherwise import ComesOut
from ingest.advice.rerun import Rerun
from ingest.backoff import Backoff
from ingest.parts.about_rig import AboutRig, Sources
from ingest.parts.known_marks import known_marks, newest_marks
from ingest.parts.latest import Latest
from ingest.parts.outbox import Outbox
from ingest.process import end
from ingest.publish import Publisher
from ingest.record.custody import Custody, Run
from ingest.record.errors import NotSavedError, RecordError
from ingest.record.reading import REPLAY, RecordedVisit, RecordFile
from ingest.record.recorder import Begun, Listener, Recorder
from ingest.record.store import Record, Session
from ingest.replay.source import Step, marks_left, rig_of, sheet_then, sheets_before, steps
from ingest.visit.checklist import checklists
from ingest.visit.plates import circuits_of, read_now, unnamed_is
from ingest.visit.standing import Standing
from ingest.wire.messages import Answer, BrokerAddress, Instance, Mark, NotSaved, Pack, Photograph, encode, read_id

LONGEST_PAUSE_S = 5.0
"""So long at most nothing comes, however long nothing was read."""
FAREWELL_S = 10.0
_FLUSHED_EVERY = 64
"""So many packs wait for the disk at most."""


@dataclass(slots=True)
class Played:
    """What was played. came_out: how the advices come out now."""

    packs: int = 0
    marks: int = 0
    came_out: ComesOut = field(default_factory=ComesOut)


async def play(
    record: Path,
    visit: RecordedVisit,
    into: Path,
    address: BrokerAddress,
    *,
    rig: str,
    speed: float,
    stay: asyncio.Event | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Played:
    """Play a visit into a new record, and publish it as a rig of this name.

    speed: how much faster than it was. stay: how it stands at the end stays published until this is set.

    Raises:
        RecordError: the record cannot be read, or the new one is there already or cannot be written.

    """
    if await asyncio.to_thread(into.exists):
        raise RecordError(f"{into} is there already: a replay begins a record of its own")
    player = _Player(RecordFile(record), visit, into, address, rig)
    try:
        await player.open()
        return await player.run(speed, stay, tell)
    except* RecordError as errors:
        raise _first(errors) from errors
    finally:
        player.close()


def _first(errors: BaseExceptionGroup[RecordError]) -> RecordError:
    """Give what went wrong first, out of all groups."""
    first: BaseException = errors
    while isinstance(first, BaseExceptionGroup):
        first = first.exceptions[0]
    return RecordError(str(first))


class _Player:
    def __init__(self, record: RecordFile, visit: RecordedVisit, into: Path, address: BrokerAddress, name: str) -> None:
        self._record, self._visit = record, visit
        self._rig = rig_of(record, visit, name, into)
        self._time_s = visit.started_s
        self._marks = known_marks()
        self._standing = Standing(visit.id)
        self._source_session: int | None = None
        self._session = Session(0, visit.id, visit.started_s, resumed=False)
        loop = asyncio.get_running_loop()
        self._as_recorded = dataclasses.replace(self._rig, simulated="simulated" in record.origins(visit.id))
        run = Run(lambda _: self._as_recorded, REPLAY, visit.id, lambda: self._time_s, loop.time)
        listener = Listener(began=self._begin, saved=self._saved, unsaved=_leave, changed=_not_saved, told=_leave)
        self._recorder = Recorder(Custody(into, run), listener, run.now_s)
        outbox = Outbox(self._recorder)
        self._publisher = Publisher(
            address,
            name,
            outbox=outbox.read,
            advance=outbox.advance,
            handle_ask=_refuse,
            backoff=Backoff(),
            instance=Instance(visit.started_s, secrets.token_hex(4)),
        )
        for group in checklists():
            self._publisher.set_state(f"checklist/{group.group.lower()}", encode(group))
        self._latest = Latest(lambda payload: self._publisher.set_state("latest", payload, qos=0), loop.time)
        sheet = sheet_then(record, visit)
        self._circuits = sheet.circuits if sheet else ()
        self._about = AboutRig(
            Sources(
                boot=REPLAY,
                started_s=visit.started_s,
                rig=lambda: self._rig,
                circuit=lambda: read_now(visit.unit, self._circuits, self._standing.placing.circuit),
                session=lambda: self._session,
                instruments=list,
                marks=lambda: newest_marks(self._marks),
                barometric_pressure_pa=lambda: self._rig.barometric_pressure_pa,
            ),
            lambda payload: self._publisher.set_state("about", payload),
        )
        self._played = Played()

    async def open(self) -> None:
        """Begin the record.

        Raises:
            NotSavedError: it cannot be.

        """
        await self._recorder.call(lambda _: None)
        for kept in sheets_before(self._record, self._visit):
            await self._recorder.call(Record.add_sheets, [kept.sheet], kept.since_s)

    def close(self) -> None:
        self._recorder.close(self._time_s)

    async def run(self, speed: float, stay: asyncio.Event | None, tell: Callable[[str], None]) -> Played:
        async with asyncio.TaskGroup() as group:
            saving = group.create_task(self._recorder.run())
            publishing = group.create_task(self._publisher.run())
            try:
                await self._play(speed)
                await self._recorder.flush()
                tell(f"played: {self._played.packs} packs, {self._played.marks} marks")
                if stay is not None:
                    await stay.wait()
                await self._publisher.finish(FAREWELL_S)
            finally:
                await end(publishing)
                saving.cancel()
        return self._played

    async def _play(self, speed: float) -> None:
        loop = asyncio.get_running_loop()
        due_s, before = loop.time(), None
        for step in steps(self._record, self._visit):
            if before is not None:
                pause_s = max(0.0, step.pack.time_s - before.time_s) / speed
                due_s = max(due_s + min(pause_s, LONGEST_PAUSE_S), loop.time() - LONGEST_PAUSE_S)
            before = step.pack
            await asyncio.sleep(max(0.0, due_s - loop.time()))
            await self._take(step)
        for mark in marks_left(self._record, self._visit, self._played.marks):
            await self._take_mark(mark)

    async def _take(self, step: Step) -> None:
        pack = step.pack
        if pack.session != self._source_session:
            await self._begin_session(pack)
        self._time_s = pack.time_s
        for mark in step.marks:
            await self._take_mark(mark)
        mine = replace(pack, rig=self._rig.name, session=self._session.number, sequence=None, unsaved_packs=0)
        self._recorder.put(mine)
        self._played.packs += 1
        if self._played.packs % _FLUSHED_EVERY == 0:
            await self._recorder.flush()
        for found in step.advices:
            await self._advise(found)

    async def _begin_session(self, pack: Pack) -> None:
        """Begin a session where one began: the monotonic clock may be another from here on."""
        is_first, self._source_session = self._source_session is None, pack.session
        if is_first:
            return
        await self._recorder.flush()
        self._session = await self._recorder.call(
            Record.begin_session, self._as_recorded, boot=REPLAY, new_visit=self._visit.id, time_s=pack.time_s
        )
        self._publisher.set_status(self._session.number, None)

    async def _take_mark(self, mark: Mark) -> None:
        jpeg = self._record.photograph(mark.id) if isinstance(mark, Photograph) else None
        if isinstance(mark, Photograph) and jpeg:
            await self._recorder.add_photograph(mark, jpeg)
        else:
            await self._recorder.add_mark(mark)
        self._marks.append(mark)
        self._standing.take(mark)
        self._played.marks += 1
        self._publisher.wake("mqtt marks")
        self._show()

    async def _advise(self, found: Rerun) -> None:
        self._played.came_out.take(found)
        if found.again is None or found.told is None or found.grounds is None:
            return
        payload = encode(found.again)
        await self._recorder.call(Record.add_advice, found.again.time_s, encode(found.grounds), payload)
        self._publisher.set_state("advice", payload)
        self._standing.judged(found.settled, found.again.time_s)
        self._show()

    def _show(self) -> None:
        self._publisher.set_state("visit", self._standing.encoded())
        self._about.renew()

    def _begin(self, begun: Begun) -> None:
        self._session = begun.session
        unit = self._visit.unit
        self._standing.moved.know(circuits_of(unit, self._circuits, ""), unnamed_is(unit, self._circuits))
        self._publisher.set_status(begun.session.number, None)
        self._show()

    def _saved(self, newest: bytes) -> None:
        self._publisher.wake("mqtt packs")
        self._latest.offer(newest)


def _leave(_: object) -> None:
    """Leave what the recorder has logged, and `_not_saved` ends."""


def _not_saved(problem: NotSaved | None) -> None:
    """End a replay that cannot be recorded.

    Raises:
        NotSavedError: it cannot.

    """
    if problem is not None:
        raise NotSavedError(problem.reason, problem.cure)


async def _refuse(path: str, payload: bytes) -> tuple[str, bytes] | None:
    """Answer an ask: what is past takes nothing."""
    ask_id = read_id(payload)
    if not ask_id:
        return None
    reason = "this is a visit played again: nothing can be recorded in it"
    return f"{path.partition('/')[0]}/{ask_id}", encode(Answer(ask_id, ok=False, reason=reason))
