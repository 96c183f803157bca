"""The record in a thread of its own, and the queue of packs before it.

The tick never waits for the disk: packs queue here, and whenever the disk is ready it takes all that came,
in one transaction. A pack that the disk refuses is not kept for later. It travels without a number, so that
whoever watches sees NOT SAVED, and it is counted; the next pack is tried again.
"""

import asyncio
import logging
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Concatenate, ParamSpec, TypeVar

import msgspec

from ingest.record.custody import Custody
from ingest.record.errors import NotSavedError
from ingest.record.sheets import RegisteredSheet
from ingest.record.store import Record, Session
from ingest.wire.messages import Mark, NotSaved, Pack, Photograph, UnitAbout, VisitOpened, encode_pack

logger = logging.getLogger(__name__)

LARGEST_BATCH = 64
LARGEST_QUEUE = 1200
"""Five minutes of packs. A disk that hangs longer than that has refused those that follow."""

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Begun:
    """A session that began, in a record that was just opened or begun.

    unit: at which it is. marks: of its visit. grounds: what the newest advice of that rested on. packs: its newest
    before this session. sheets: those of the register. visited: when the last visit at each unit began [s since 1970],
    by tag. earlier: what was done to the unit's circuits at the visits before it, by visit. instruments_corrected: of
    which instrument each correction was, by the id of its mark. before: where the rig was last, if that was another
    visit: the tag of its unit, and its marks. stops_elsewhere: of its stops, what stands in others.
    """

    session: Session
    unit: UnitAbout
    marks: list[Mark]
    grounds: bytes | None
    packs: list[Pack]
    sheets: Sequence[RegisteredSheet]
    visited: Mapping[str, float]
    earlier: Sequence[tuple[str, Sequence[Mark]]] = ()
    instruments_corrected: Mapping[str, str] = field(default_factory=dict)
    before: tuple[str, Sequence[Mark]] | None = None
    stops_elsewhere: Sequence[Mark] = ()


@dataclass(frozen=True, slots=True)
class Listener:
    """Who hears of the record, in the event loop.

    began: a session began; before that nothing is saved. saved: after each commit, the payload of its newest pack.
    unsaved: the payload of each pack that the disk refused. changed: whether packs are saved, and why not. told: what
    was found wrong with the file, and done about it.
    """

    began: Callable[[Begun], None]
    saved: Callable[[bytes], None]
    unsaved: Callable[[bytes], None]
    changed: Callable[[NotSaved | None], None]
    told: Callable[[str], None]


class Recorder:
    """Runs one record. unsaved_packs: how many packs of this run of the daemon the disk refused."""

    def __init__(self, custody: Custody, listener: Listener, now_s: Callable[[], float]) -> None:
        self._custody = custody
        self._listener = listener
        self._now_s = now_s
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="record")
        self._waiting: asyncio.Queue[Pack] = asyncio.Queue()
        self._session: Session | None = None
        self._beginning = asyncio.Lock()
        self._not_saved: NotSaved | None = None
        self.unsaved_packs = 0

    def put(self, pack: Pack) -> None:
        """Queue a pack to be saved."""
        if self._waiting.qsize() < LARGEST_QUEUE:
            self._waiting.put_nowait(pack)
        else:
            cure = f"Look at the disk that holds {self._custody.path.parent} and its cable."
            self._give_up([pack], NotSavedError("the disk hangs", cure))

    async def run(self) -> None:
        """Save what comes, until cancelled."""
        while True:
            packs = [await self._waiting.get()]
            while not self._waiting.empty() and len(packs) < LARGEST_BATCH:
                packs.append(self._waiting.get_nowait())
            await self._save(packs)
            for _ in packs:
                self._waiting.task_done()

    async def flush(self) -> None:
        """Wait until everything queued has been tried."""
        await self._waiting.join()

    async def open(self) -> None:
        """Open the record, if it can be opened now; if not, the packs that come say so, and try again."""
        try:
            await self.call(lambda _: None)
        except NotSavedError as error:
            self._refused(error)

    async def call(
        self,
        function: Callable[Concatenate[Record, Arguments], Result],
        *arguments: Arguments.args,
        **named: Arguments.kwargs,
    ) -> Result:
        """Run a method of the record in its thread, after what is under way there.

        Raises:
            NotSavedError: it could not be done.

        """
        return await self._in_thread(lambda: self._custody.use(lambda record: function(record, *arguments, **named)))

    async def add_mark(self, mark: Mark, check: Callable[[], None] = lambda: None) -> Mark:
        """Store a mark; gives it as it is stored.

        check: called in the thread, once nothing is under way before it; what it raises is raised.

        Raises:
            NotSavedError: it was not saved.

        """

        def add() -> Mark:
            check()
            return self._custody.add_mark(mark)

        return await self._in_thread(add)

    async def add_photograph(self, mark: Photograph, jpeg: bytes) -> None:
        """Store a mark and the picture that it tells of.

        Raises:
            NotSavedError: it was not saved.

        """
        await self._in_thread(lambda: self._custody.add_photograph(mark, jpeg))

    async def open_visit(self, unit: UnitAbout, new_visit: str, opened: VisitOpened, check: Callable[[], None]) -> None:
        """Go on at another unit, in its open visit or a new one of this id, and tell that a session began.

        opened: the mark of that, stored with it. check: as in `add_mark`.

        Raises:
            NotSavedError: nothing has changed.

        """

        def open_it() -> None:
            check()
            self._custody.open_visit(unit, new_visit, opened)

        await self._in_thread(open_it)

    def close(self, time_s: float) -> None:
        """End the session, the thread and the custody of the record, after what is under way."""
        self._thread.submit(self._end, time_s).result()
        self._thread.shutdown()

    def _end(self, time_s: float) -> None:
        try:
            self._custody.use(lambda record: record.end_session(time_s))
        except NotSavedError as error:
            logger.error("NOT SAVED: the end of the session: %s", error)  # noqa: TRY400 - the disk's fault
        self._custody.close()

    async def _in_thread(self, act: Callable[[], Result]) -> Result:
        try:
            return await asyncio.get_running_loop().run_in_executor(self._thread, act)
        finally:
            await self._hear()

    async def _hear(self) -> None:
        """Pass on what the thread found out."""
        for news in self._custody.take_news():
            logger.warning("%s", news)
            self._listener.told(news)
        if self._custody.session is self._session:
            return
        async with self._beginning:  # or all who wait for the record would begin the same session, each for itself
            session, unit = self._custody.session, self._custody.unit
            if session and unit and session is not self._session:
                await self._begin(session, unit)

    async def _begin(self, session: Session, unit: UnitAbout) -> None:
        def read(record: Record) -> Begun:
            return Begun(
                session,
                unit,
                record.marks(),
                record.newest_grounds(),
                record.packs_of_late(),
                record.sheets(),
                record.visited(),
                record.earlier_marks(),
                record.instruments_corrected(),
                record.visit_before(),
                record.stops_elsewhere(),
            )

        try:
            begun = await asyncio.get_running_loop().run_in_executor(self._thread, lambda: self._custody.use(read))
        except NotSavedError:
            return  # the next that asks something of the record hears of it
        self._session = session
        self._listener.began(begun)

    async def _save(self, packs: list[Pack]) -> None:
        counted = [msgspec.structs.replace(pack, unsaved_packs=self.unsaved_packs) for pack in packs]
        try:
            payloads = await self.call(Record.commit, counted)
        except NotSavedError as error:
            self._give_up(packs, error)
            return
        if self._not_saved:
            logger.warning("saving again; %d packs of this session were not saved", self.unsaved_packs)
            self._not_saved = None
            self._listener.changed(None)
        self._listener.saved(payloads[-1])

    def _give_up(self, packs: list[Pack], error: NotSavedError) -> None:
        self._refused(error)
        for pack in packs:
            self.unsaved_packs += 1
            self._listener.unsaved(encode_pack(msgspec.structs.replace(pack, unsaved_packs=self.unsaved_packs)))

    def _refused(self, error: NotSavedError) -> None:
        before = self._not_saved
        since_s = before.since_s if before else round(self._now_s(), 3)
        self._not_saved = NotSaved(str(self._custody.path), error.reason, error.cure, since_s)
        if self._not_saved != before:
            logger.error("NOT SAVED, and the live view goes on: %s: %s", self._custody.path, error)
            self._listener.changed(self._not_saved)
