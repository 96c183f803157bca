"""Custody of the record: opened whenever it can be, watched while it is open, put right where that loses nothing.

- A record that refuses is tried again, about once a second, until it takes what comes.
- One that was deleted or replaced is written out again from the open file, and goes on with all that was committed.
- One that is damaged or was overwritten is set aside untouched, under a name that says so; a new one goes on with its
  numbers, its visit, the visit's marks and the register of units.
- One that another daemon writes is left alone until that daemon ends.

All of this blocks, and runs in the recorder's thread.
"""

import sqlite3
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import TypeVar

from ingest.record.errors import DamagedError, NotSavedError
from ingest.record.lock import Lock
from ingest.record.refusals import refusal
from ingest.record.sheets import RegisteredSheet
from ingest.record.store import Carried, Record, Session, is_whole
from ingest.record.watch import Look, look
from ingest.rig import Rig
from ingest.wire.messages import Described, Mark, Photograph, UnitAbout, VisitOpened

Result = TypeVar("Result")

RETRIED_AFTER_S = 0.9
"""A record that cannot be opened is not tried at every tick: each time may take a second where it is locked."""

_BESIDE = ("-wal", "-shm")


@dataclass(frozen=True, slots=True)
class Run:
    """The run of the daemon that records.

    rig: as configured now, at the unit that somebody opened, if any. boot: which run of the machine. new_visit: the id
    of the visit, if a new one begins. now_s: wall time [s since 1970]. monotonic_s: for the pace of trying again.
    """

    rig: Callable[[UnitAbout | None], Rig]
    boot: str
    new_visit: str
    now_s: Callable[[], float]
    monotonic_s: Callable[[], float]


class Custody:
    """The record at one path. session: None before it could first be opened; another one once a new record began.

    unit: at which it is.
    """

    def __init__(self, path: Path, run: Run) -> None:
        self.path = path
        self.session: Session | None = None
        self.unit: UnitAbout | None = None
        self._run = run
        self._lock: Lock | None = None
        self._record: Record | None = None
        self._seen: Look | None = None
        self._carried: Carried | None = None
        self._marks: list[Mark] = []
        self._sheets: dict[str, RegisteredSheet] = {}
        self._refusal: NotSavedError | None = None
        self._refused_at_s = 0.0
        self._news: list[str] = []

    def use(self, act: Callable[[Record], Result]) -> Result:
        """Do something with the record, and see that it is still in its place.

        Raises:
            NotSavedError: nothing was saved.

        """
        record = self._opened()
        try:
            result = act(record)
        except DamagedError as error:
            self._lose(record, error)
            raise
        except sqlite3.Error as error:
            raise refusal(error, self.path) from error
        now = self._look()
        if self._seen and (now.file, now.log) == (self._seen.file, self._seen.log):
            self._seen = now
        else:
            self._restore(record, now)
        return result

    def add_mark(self, mark: Mark) -> Mark:
        """Store a mark, and remember it for a record that might have to take the place of this one.

        Gives it as it is stored.

        Raises:
            NotSavedError: it was not saved.

        """
        stored = self.use(lambda record: record.add_mark(mark))
        self._marks.append(stored)
        if isinstance(stored, Described):
            self._sheets[stored.sheet.tag] = RegisteredSheet(stored.sheet, stored.time_s, stored.id)
        return stored

    def add_photograph(self, mark: Photograph, jpeg: bytes) -> None:
        """Store a mark and its picture likewise; but of a record that is set aside the pictures stay in that.

        Raises:
            NotSavedError: it was not saved.

        """
        self.use(lambda record: record.add_photograph(mark, jpeg))
        self._marks.append(mark)

    def open_visit(self, unit: UnitAbout, new_visit: str, opened: VisitOpened) -> None:
        """Go on at another unit: in its open visit, or in a new one of this id. opened: the mark of that, with it.

        Raises:
            NotSavedError: nothing has changed.

        """
        rig, time_s = self._run.rig(unit), round(self._run.now_s(), 3)

        def begin(record: Record) -> tuple[Session, list[Mark]]:
            session = record.begin_session(
                rig, boot=self._run.boot, new_visit=new_visit, time_s=time_s, opened_by=opened
            )
            return session, record.marks()

        self.session, self._marks = self.use(begin)
        self.unit = unit

    def take_news(self) -> list[str]:
        """Take what is to be told: what was found, and what was done about it."""
        news, self._news = self._news, []
        return news

    def close(self) -> None:
        """Close the record, and let another daemon write it."""
        if self._record:
            self._record.close()
            self._record = None
        if self._lock:
            self._lock.close()
            self._lock = None

    # --- to have it open

    def _opened(self) -> Record:
        now_s = self._run.monotonic_s()
        if self._refusal and now_s - self._refused_at_s < RETRIED_AFTER_S:
            raise NotSavedError(self._refusal.reason, self._refusal.cure)
        try:
            self._hold()
            if self._record:
                self._put_right(self._record)
            record = self._record or self._open()
        except NotSavedError as error:
            self._refusal, self._refused_at_s = error, self._run.monotonic_s()
            raise
        self._refusal = None
        return record

    def _hold(self) -> None:
        """Hold the lock, anew where somebody removed its file."""
        if self._lock and self._lock.holds:
            return
        lock = Lock(self.path)
        if self._lock:
            self._lock.close()
        self._lock = lock

    def _open(self) -> Record:
        try:
            record = Record(self.path)
        except DamagedError as error:
            self._set_aside_damaged(error)
            record = Record(self.path)
        try:
            self._begin(record)
        except NotSavedError:
            record.close()
            raise
        self._record = record
        self._seen = self._look()
        return record

    def _begin(self, record: Record) -> None:
        """Go on with the session of this run, or begin one."""
        if self.session and record.resume_session(self.session, self._run.boot):
            return
        time_s = round(self._run.now_s(), 3)
        rig = self._run.rig(record.unit_at_work() or self._carried_unit())
        self.unit = rig.unit
        self.session = record.begin_session(
            rig,
            boot=self._run.boot,
            new_visit=self._run.new_visit,
            time_s=time_s,
            carried=self._carried,
        )
        self._marks = record.marks()
        self._sheets = {kept.sheet.tag: kept for kept in record.sheets()}

    def _carried_unit(self) -> UnitAbout | None:
        """Find the unit that somebody opened in a record that was lost: the visit that goes on is there."""
        opened = [mark for mark in self._carried.marks if isinstance(mark, VisitOpened)] if self._carried else []
        return self.unit if opened and opened[-1].by else None

    # --- to keep it in its place

    def _look(self) -> Look:
        try:
            return look(self.path)
        except OSError as error:
            raise refusal(error, self.path) from error

    def _put_right(self, record: Record) -> None:
        """See whether the file is still the one that is being written, and do what helps where it is not."""
        now, seen = self._look(), self._seen
        if now == seen:
            return
        if seen is None or (now.file, now.log) != (seen.file, seen.log):
            self._restore(record, now)
        elif self.session and is_whole(self.path, self.session):
            self._seen = now  # it was touched, and nothing is wrong with it
        else:
            self._lose(record, DamagedError("another program has overwritten the file"))

    def _restore(self, record: Record, now: Look) -> None:
        """Write the record out again from the open file, which lives on without a name; then open that."""
        copy = self.path.with_name(self.path.name + ".restoring")
        try:
            copy.unlink(missing_ok=True)
            record.copy_to(copy)
            if now.file and self._seen and now.file != self._seen.file:
                # With our log beside it, SQLite would write our pages into that file as soon as somebody opens it.
                kept = self._set_aside("found", with_log=now.log != self._seen.log)
                self._tell(f"another file was in the place of the record; it is kept as {kept}")
            for suffix in _BESIDE:
                self._beside(self.path, suffix).unlink(missing_ok=True)
            copy.replace(self.path)
        except DamagedError as error:
            self._lose(record, error)
            return
        except OSError as error:
            raise refusal(error, self.path) from error
        self._let_go(record)
        self._tell("the record was deleted or replaced; it was restored with all that was in it")

    def _lose(self, record: Record, error: DamagedError) -> None:
        """Set the record aside. It is closed only then: SQLite writes nothing into a file that has moved."""
        self._set_aside_damaged(error)
        self._let_go(record)

    def _let_go(self, record: Record) -> None:
        if self.session:
            visit = self.session.visit, self.session.visit_started_s
            marks, sheets = tuple(self._marks), tuple(self._sheets.values())
            self._carried = Carried(self.session.number, record.last_sequence, visit, marks, sheets)
        self._record = None
        with suppress(NotSavedError):  # of a file that is lost already
            record.close()

    def _set_aside_damaged(self, error: DamagedError) -> None:
        if self._carried is None and self.session is None:
            # Which numbers it had got to is not known: the clock has been past all of them, at four packs a second.
            now_s = self._run.now_s()
            self._carried = Carried(last_session=int(now_s), last_sequence=int(now_s * 10))
        try:
            kept = self._set_aside("damaged")
        except OSError as cause:
            raise refusal(cause, self.path) from cause
        self._tell(f"{error.reason}; it is kept as {kept}, and a new record was begun")

    def _set_aside(self, word: str, *, with_log: bool = True) -> str:
        """Give the file at the path, and its log, another name; returns that."""
        stamp = datetime.fromtimestamp(self._run.now_s(), UTC).strftime("%Y%m%d-%H%M%S")
        names = (f"{self.path.stem}.{word}-{stamp}{number or ''}{self.path.suffix}" for number in count())
        kept = next(name for name in map(self.path.with_name, names) if not name.exists())
        for suffix in ("", *_BESIDE) if with_log else ("",):
            with suppress(FileNotFoundError):
                self._beside(self.path, suffix).rename(self._beside(kept, suffix))
        return kept.name

    @staticmethod
    def _beside(path: Path, suffix: str) -> Path:
        return path.with_name(path.name + suffix)

    def _tell(self, news: str) -> None:
        self._news.append(f"{self.path}: {news}")
