"""The record of the visits: one SQLite file, written by one process.

What holds at all times:
- A pack or mark that a method returned for is on the disk (write-ahead log, `synchronous=FULL`).
- Packs are numbered without gaps, over restarts too. What is stored is byte for byte what is published.
- A cursor says up to where a sink has acknowledged. It is written with the next commit: after a crash a sink
  may get again what it has, and never misses what it has not.
- Old packs that every sink has are kept as chunks, from which the same bytes come again.
- Where the disk refuses, the record is as before, and NotSavedError is raised.

Nothing here is asynchronous: ingest.record.recorder runs it in a thread.
"""

import errno
import sqlite3
import zlib
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from itertools import takewhile
from pathlib import Path
from typing import Literal, NamedTuple

import msgspec

from ingest.field_checks import calibration_date, corrected
from ingest.record.chunks import CHUNK_PACKS, can_share_a_chunk, from_chunk, to_chunk
from ingest.record.earlier import read_earlier, read_stops_elsewhere
from ingest.record.errors import DamagedError, NotSavedError, RecordError
from ingest.record.incoming import IMPORTED, Incoming
from ingest.record.migrations import MigrationError, migrate
from ingest.record.numbers import last_given
from ingest.record.refusals import refusal
from ingest.record.rows import read_rows
from ingest.record.sheets import (
    RegisteredSheet,
    VisitOfUnit,
    add_sheet,
    read_sheet,
    read_sheets,
    read_visited,
    read_visits,
    register_units,
)
from ingest.rig import Rig
from ingest.visit.seal import digest
from ingest.wire.messages import (
    Calibration,
    Corrected,
    Described,
    Mark,
    MessageError,
    Pack,
    Photograph,
    Sheet,
    Signed,
    UnitAbout,
    VisitOpened,
    decode,
    decode_mark,
    decode_pack,
    encode,
    encode_pack,
)

Sink = Literal["mqtt packs", "mqtt marks"]

NEWEST_PACKS = 4 * 3600 * 4
"""Four hours at four a second, the longest span that a page shows, stay as packs; older ones become chunks."""

LATE_PACKS = 4 * (20 * 60 + 10)
"""What is judged reaches back 20 minutes, at four packs a second."""

BUSY_S = 1.0
"""How long to wait for another program that keeps the file locked."""


@dataclass(frozen=True, slots=True)
class Session:
    """One run of the daemon, and the visit it belongs to. resumed: the visit began before this session."""

    number: int
    visit: str
    visit_started_s: float
    resumed: bool


@dataclass(frozen=True, slots=True)
class Carried:
    """What goes on in a new record that takes the place of another: numbers, visit, the marks of that, the units.

    visit: id and start [s since 1970]; None where it is not known.
    """

    last_session: int
    last_sequence: int
    visit: tuple[str, float] | None = None
    marks: Sequence[Mark] = ()
    sheets: Sequence[RegisteredSheet] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """A pack or mark as it is published: its position for the cursor, and its bytes."""

    position: int
    payload: bytes


class _OpenVisit(NamedTuple):
    """A visit that nobody has ended: its id, when it began, and when something was read of it last [s since 1970]."""

    id: str
    started_s: float
    last_s: float


class Record:
    """An open record. Use it from one thread at a time.

    Raises:
        DamagedError: what is in the file is no whole record any more.
        NotSavedError: the file cannot be written, belongs to another program, or a newer version wrote it.

    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._session: Session | None = None
        if path.exists() and not path.is_file():  # a pipe would be waited for
            raise refusal(OSError(errno.EINVAL, "no file"), path)
        _refuse_an_orphaned_log(path)
        with self._refusals():
            _refuse_what_is_not_ours(path)
            self._database = sqlite3.connect(path, BUSY_S, isolation_level=None, check_same_thread=False)
        try:
            with self._refusals():
                self._prepare()
        except MigrationError as error:
            self.close()
            raise NotSavedError(str(error), "Or name another file under [rig] record and start anew.") from error
        except NotSavedError:
            self.close()
            raise

    def _prepare(self) -> None:
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
            self._database.execute(f"PRAGMA {pragma}")
        migrate(self._database)
        self._last_sequence = last_given(self._database)
        self._cursors: dict[str, int] = dict(self._database.execute("SELECT sink, position FROM cursors"))

    @property
    def session(self) -> Session:
        """The session that was begun."""
        if self._session is None:
            raise RuntimeError("no session has begun")
        return self._session

    @property
    def last_sequence(self) -> int:
        """The number of the newest pack there is."""
        return self._last_sequence

    def begin_session(
        self,
        rig: Rig,
        *,
        boot: str,
        new_visit: str,
        time_s: float,
        carried: Carried | None = None,
        opened_by: VisitOpened | None = None,
    ) -> Session:
        """Start a session, in the unit's open visit if there is one, else in a new visit of the given id.

        The session before ends, if it was of this run. What is at one unit and then at another is two sessions. However
        old the open visit seems, it goes on: only a clock says so. It ends where somebody opens its unit, being at it.

        carried: from a record that this one takes the place of. Its numbers go on; its visit and marks only in a
        record that has none. opened_by: the mark of who went to the unit, the first of the session.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._transaction():
            self._database.execute(
                "INSERT INTO units VALUES (?, ?) ON CONFLICT (tag) DO UPDATE SET about = excluded.about",
                (rig.unit.tag, encode(rig.unit).decode()),
            )
            is_new = not self._number("SELECT count(*) FROM sessions")
            found = self._open_visit(rig.unit.tag)
            if found and opened_by and self._session and found.id == self._session.visit:
                self._database.execute("UPDATE visits SET ended_s = ? WHERE id = ?", (found.last_s, found.id))
                found = None
            opened = (found.id, found.started_s) if found else None
            goes_on = carried.visit if carried and is_new else None
            visit, visit_started_s = opened or goes_on or (new_visit, time_s)
            if not opened:
                self._database.execute(
                    "INSERT INTO visits VALUES (?, ?, ?, NULL)", (visit, rig.unit.tag, visit_started_s)
                )
            if self._session:
                self._database.execute(
                    "UPDATE sessions SET ended_s = ? WHERE number = ?", (time_s, self._session.number)
                )
            number = self._number("SELECT coalesce(max(number), 0) + 1 FROM sessions")
            number = max(number, self._cursors.get("sessions given", 0) + 1)
            if carried:
                number = max(number, carried.last_session + 1)
            self._database.execute(
                "INSERT INTO sessions VALUES (?, ?, ?, ?, ?, NULL)", (number, visit, rig.name, boot, time_s)
            )
            if rig.simulated:
                self._database.execute("INSERT INTO simulated VALUES (?)", (number,))
            if carried and is_new:
                self._take_over(carried, visit, number)
            if opened_by:
                self._add_mark(opened_by, visit, number)
            register_units(self._database, time_s)
            self._describe(corrected(rig, self._marks_of(visit), self._instruments_corrected(visit)), number, time_s)
        self._last_sequence = max(self._last_sequence, carried.last_sequence if carried else 0)
        self._session = Session(number, visit, visit_started_s, resumed=bool(opened or goes_on))
        return self._session

    def _take_over(self, carried: Carried, visit: str, session: int) -> None:
        """Go on with the numbers of an earlier record and the marks of its visit, which have been published.

        A visit that was signed in it has ended here as well: who opens its unit again begins another.
        """
        rows = [(mark.id, visit, session, mark.kind, mark.time_s, encode(mark)) for mark in carried.marks]
        self._database.executemany(
            "INSERT INTO marks (id, visit, session, kind, time_s, payload) VALUES (?, ?, ?, ?, ?, ?)", rows
        )
        for kept in carried.sheets:
            add_sheet(self._database, kept)
        signed_s = [mark.time_s for mark in carried.marks if isinstance(mark, Signed)]
        if signed_s:
            self._database.execute("UPDATE visits SET ended_s = ? WHERE id = ?", (signed_s[-1], visit))
        self._cursors = {"mqtt packs": carried.last_sequence, "mqtt marks": len(rows)}

    def unit_at_work(self) -> UnitAbout | None:
        """Find the unit that somebody opened, if its visit is the newest and goes on; else the configuration says it.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            newest = self._database.execute(
                """SELECT visits.id, visits.unit, about FROM sessions
                   JOIN visits ON visits.id = visit JOIN units ON tag = visits.unit ORDER BY number DESC LIMIT 1"""
            ).fetchone()
            if newest is None:
                return None
            visit, tag, about = newest
            opened = self._open_visit(tag)
            opening = [mark for mark in self._marks_of(visit) if isinstance(mark, VisitOpened)]
        was_asked = opened is not None and opened.id == visit and bool(opening) and bool(opening[-1].by)
        return decode(about.encode(), UnitAbout) if was_asked else None

    def resume_session(self, session: Session, boot: str) -> bool:
        """Go on with a session that this record holds; False where it does not.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            row = self._database.execute(
                "SELECT 1 FROM sessions WHERE number = ? AND visit = ? AND boot = ? AND ended_s IS NULL",
                (session.number, session.visit, boot),
            ).fetchone()
        if row:
            self._session = session
        return row is not None

    def copy_to(self, path: Path) -> None:
        """Write all of this record into a new file, though its own may have no name any more.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals(), closing(sqlite3.connect(path)) as copy:
            self._database.backup(copy)

    def _open_visit(self, unit: str) -> _OpenVisit | None:
        """Find the open visit of a unit."""
        row = self._database.execute(
            """SELECT id, started_s, max(
                   started_s,
                   coalesce((SELECT max(time_s) FROM packs WHERE visit = id), 0),
                   coalesce((SELECT max(last_s) FROM chunks WHERE visit = id), 0)
               ) FROM visits WHERE unit = ? AND ended_s IS NULL ORDER BY started_s DESC LIMIT 1""",
            (unit,),
        ).fetchone()
        return _OpenVisit(*row) if row else None

    def describe(self, rig: Rig, time_s: float) -> None:
        """Store what the instruments of this session are from now on. Those that are gone stay: they measured in it.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._transaction():
            self._describe(rig, self.session.number, time_s)

    def _describe(self, rig: Rig, session: int, time_s: float) -> None:
        self._database.executemany(
            """INSERT INTO instruments VALUES (?, ?, ?, ?)
               ON CONFLICT DO UPDATE SET link = excluded.link, interval_s = excluded.interval_s""",
            [(session, it.name, it.link, it.interval_s) for it in rig.instruments],
        )
        rows = [
            (
                session,
                channel.name,
                channel.instrument,
                channel.unit,
                channel.reference,
                channel.accuracy,
                channel.standard_uncertainty,
                channel.slope,
                channel.offset,
                channel.calibrated_on.isoformat() if channel.calibrated_on else "",
                time_s,
            )
            for channel in rig.channels
        ]
        self._database.executemany("INSERT INTO calibrations VALUES (NULL, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '')", rows)

    def _calibrate(self, mark: Corrected, calibration: Calibration) -> None:
        """Store how a channel is read from now on; for the rest it stays as it was."""
        after = calibration.after
        calibrated_on = calibration_date(mark)
        self._database.execute(
            """INSERT INTO calibrations
               SELECT NULL, session, channel, instrument, unit, reference, accuracy, ?, ?, ?,
                   coalesce(?, calibrated), ?, ?
               FROM calibrations WHERE session = ? AND channel = ? ORDER BY number DESC LIMIT 1""",
            (
                *(after.standard_uncertainty, after.slope, after.offset),
                *(calibrated_on.isoformat() if calibrated_on else None, mark.time_s, mark.id),
                *(self.session.number, calibration.channel),
            ),
        )

    def commit(self, packs: Sequence[Pack]) -> list[bytes]:
        """Store packs in one transaction, each under the next number. Returns their payloads.

        Raises:
            NotSavedError: the disk refused; the numbers are free again.

        """
        session = self.session
        rows = []
        for sequence, pack in enumerate(packs, start=self._last_sequence + 1):
            payload = encode_pack(msgspec.structs.replace(pack, sequence=sequence, session=session.number))
            rows.append((sequence, session.number, session.visit, pack.time_s, payload))
        with self._transaction():
            self._database.executemany("INSERT INTO packs VALUES (?, ?, ?, ?, ?)", rows)
        self._last_sequence += len(rows)
        return [payload for *_, payload in rows]

    def add_mark(self, mark: Mark) -> Mark:
        """Store a mark, and with it the calibration or the sheet that it tells of; gives it as it is stored.

        A signature is given its digest here: of what is in the record before it, whatever came while it was asked for.
        One that has its digest, as of a visit that is played again, keeps it, so that a seal that was broken stays so.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._transaction():
            if isinstance(mark, Signed) and not mark.digest:
                mark = msgspec.structs.replace(mark, digest=digest(self._marks_of(self.session.visit)))
            self._add_mark(mark, self.session.visit, self.session.number)
            if isinstance(mark, Corrected):
                self._calibrate(mark, mark.calibration)
            if isinstance(mark, Described):
                add_sheet(self._database, RegisteredSheet(mark.sheet, mark.time_s, mark.id))
            if isinstance(mark, Signed):
                self._database.execute("UPDATE visits SET ended_s = ? WHERE id = ?", (mark.time_s, self.session.visit))
        return mark

    def add_sheets(self, sheets: Sequence[Sheet], time_s: float) -> None:
        """Store sheets that were imported, all or none.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._transaction():
            for sheet in sheets:
                add_sheet(self._database, RegisteredSheet(sheet, time_s))

    def sheets(self) -> list[RegisteredSheet]:
        """Read the newest sheet of every unit, in the order in which they were kept.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return read_sheets(self._database)

    def sheet(self, tag: str) -> RegisteredSheet | None:
        """Read the newest sheet of a unit; None where there is none.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return read_sheet(self._database, tag)

    def visits_of(self, tag: str) -> list[VisitOfUnit]:
        """Read which visits there were at a unit, newest first.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return read_visits(self._database, tag)

    def visited(self) -> dict[str, float]:
        """Read when the last visit at each unit began [s since 1970], by tag.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return read_visited(self._database)

    def add_photograph(self, mark: Photograph, jpeg: bytes) -> None:
        """Store a mark and the picture that it tells of.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._transaction():
            self._add_mark(mark, self.session.visit, self.session.number)
            self._database.execute("INSERT INTO photographs VALUES (?, ?)", (mark.id, jpeg))

    def _add_mark(self, mark: Mark, visit: str, session: int) -> None:
        self._database.execute(
            "INSERT INTO marks (id, visit, session, kind, time_s, payload) VALUES (?, ?, ?, ?, ?, ?)",
            (mark.id, visit, session, mark.kind, mark.time_s, encode(mark)),
        )

    def add_advice(self, time_s: float, grounds: bytes, payload: bytes) -> None:
        """Store an advice as it was published, and what it rests on beside the packs.

        Raises:
            NotSavedError: the disk refused.

        """
        session = self.session
        with self._transaction():
            self._database.execute(
                "INSERT INTO advices VALUES (NULL, ?, ?, ?, ?, ?)",
                (session.visit, session.number, time_s, zlib.compress(grounds), zlib.compress(payload)),
            )

    def newest_grounds(self) -> bytes | None:
        """Read what the newest advice of this visit rests on, of those that can be read.

        Raises:
            NotSavedError: the disk refused.

        """
        newest_first = "SELECT number, grounds FROM advices WHERE visit = ? ORDER BY number DESC"
        with self._refusals():
            rows = self._database.execute(newest_first, (self.session.visit,))
            return next((grounds for _, grounds in read_rows(rows, zlib.decompress, what="advice")), None)

    def packs_of_late(self) -> list[Pack]:
        """Read the newest packs of this visit, oldest first: those of this run of the machine, by one monotonic clock.

        They end before one that cannot be read any more.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            rows = self._database.execute(
                """SELECT payload FROM packs WHERE visit = ? AND session IN (
                       SELECT number FROM sessions WHERE boot = (SELECT boot FROM sessions WHERE number = ?)
                   ) ORDER BY sequence DESC LIMIT ?""",
                (self.session.visit, self.session.number, LATE_PACKS),
            ).fetchall()
        packs = []
        with suppress(MessageError):
            for (payload,) in rows:
                packs.append(decode_pack(payload))
        return packs[::-1]

    def find_mark(self, mark_id: str) -> Mark | None:
        """Find a mark by its id, in any visit.

        Raises:
            NotSavedError: the disk refused, or the mark cannot be read any more.

        """
        with self._refusals():
            rows = self._database.execute("SELECT id, payload FROM marks WHERE id = ?", (mark_id,)).fetchall()
        found = [mark for _, mark in read_rows(rows, decode_mark, what="mark")]
        if rows and not found:
            raise NotSavedError(f"the mark {mark_id} is damaged in the record", "Ask without it, under a new id.")
        return found[0] if found else None

    def marks(self) -> list[Mark]:
        """Read the marks of this visit, oldest first; those that cannot be read are left out and told.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return self._marks_of(self.session.visit)

    def earlier_marks(self) -> list[tuple[str, Sequence[Mark]]]:
        """Read what was done to the circuits of this visit's unit at its earlier visits, by visit, oldest first.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return read_earlier(self._database, self.session.visit)

    def visit_before(self) -> tuple[str, Sequence[Mark]] | None:
        """Read where the rig was last, if that was another visit: the tag of its unit, and its marks.

        With what was said elsewhere to its stops.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            before = self._database.execute(
                """SELECT visits.id, visits.unit FROM sessions JOIN visits ON visits.id = visit
                   WHERE number < ? ORDER BY number DESC LIMIT 1""",
                (self.session.number,),
            ).fetchone()
            is_another = before is not None and before[0] != self.session.visit
            if not is_another:
                return None
            visit, unit = before
            marks = self._marks_of(visit)
            return unit, [*marks, *read_stops_elsewhere(self._database, visit, marks)]

    def stops_elsewhere(self) -> list[Mark]:
        """Read of this visit's stops what stands in other visits, to which they were carried over or the rig was going.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            visit = self.session.visit
            return read_stops_elsewhere(self._database, visit, self._marks_of(visit))

    def instruments_corrected(self) -> dict[str, str]:
        """Tell of which instrument each correction of this visit was, by the id of its mark.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._refusals():
            return self._instruments_corrected(self.session.visit)

    def _instruments_corrected(self, visit: str) -> dict[str, str]:
        rows = self._database.execute(
            """SELECT calibrations.mark, instrument FROM calibrations JOIN sessions ON sessions.number = session
               WHERE visit = ? AND calibrations.mark != ''""",
            (visit,),
        )
        return dict(rows.fetchall())

    def _marks_of(self, visit: str) -> list[Mark]:
        rows = self._database.execute("SELECT id, payload FROM marks WHERE visit = ? ORDER BY number", (visit,))
        return [mark for _, mark in read_rows(rows, decode_mark, what="mark")]

    def outbox(self, sink: Sink, limit: int) -> list[Entry]:
        """Read what comes after a sink's cursor, oldest first.

        Raises:
            NotSavedError: the disk refused.

        """
        statement = {
            "mqtt packs": "SELECT sequence, payload FROM packs WHERE sequence > ? ORDER BY sequence LIMIT ?",
            "mqtt marks": "SELECT number, payload FROM marks WHERE number > ? ORDER BY number LIMIT ?",
        }[sink]
        with self._refusals():
            rows = self._database.execute(statement, (self._cursors.get(sink, 0), limit)).fetchall()
        return [Entry(position, payload) for position, payload in rows]

    def advance(self, sink: Sink, position: int) -> None:
        """Move a sink's cursor, after it has acknowledged everything up to there."""
        self._cursors[sink] = max(position, self._cursors.get(sink, 0))

    def compact(self, newest_packs: int = NEWEST_PACKS) -> int:
        """Make one chunk of the oldest packs, up to a minute of them; returns how many they were.

        The newest packs stay, and those that a sink has not acknowledged.

        Raises:
            NotSavedError: the disk refused.
            RecordError: these packs would not come back as they are; they stay.

        """
        until = min(self._cursors.get("mqtt packs", 0), self._last_sequence - newest_packs)
        with self._refusals():
            rows = self._database.execute(
                "SELECT visit, payload FROM packs WHERE sequence <= ? ORDER BY sequence LIMIT ?",
                (until, CHUNK_PACKS),
            ).fetchall()
        if not rows:
            return 0
        visit = rows[0][0]
        packs, data = _chunk([payload for owner, payload in rows if owner == visit])
        first, last = packs[0], packs[-1]
        with self._transaction():
            self._database.execute(
                "INSERT INTO chunks VALUES (?, ?, ?, ?, ?, ?, ?)",
                (first.sequence, last.sequence, first.session, visit, first.time_s, last.time_s, data),
            )
            self._database.execute("DELETE FROM packs WHERE sequence <= ?", (last.sequence,))
        return len(packs)

    @contextmanager
    def bringing_in(self, rig: Rig, visit: str, time_s: float) -> Iterator[Incoming]:
        """Take a past visit of this id in one transaction, numbered behind all that is there.

        time_s: since when the unit is known, where it was not [s since 1970].

        Raises:
            NotSavedError: the visit is there already, a rig writes this record, or the disk refused: nothing changed.

        """
        with self._refusals():
            rigs = self._database.execute("SELECT 1 FROM sessions WHERE boot != ?", (IMPORTED,)).fetchone()
            known = self._database.execute("SELECT 1 FROM visits WHERE id = ?", (visit,)).fetchone()
        if rigs:
            raise NotSavedError("a rig writes this record", "Bring the visit into a folder of its own.")
        if known:
            again = "Where its map was wrong, erase that visit first (dewline erase), or give another folder."
            raise NotSavedError(f"it is in this record already, as the visit {visit}", again)
        with self._transaction():
            self._database.execute(
                "INSERT INTO units VALUES (?, ?) ON CONFLICT (tag) DO UPDATE SET about = excluded.about",
                (rig.unit.tag, encode(rig.unit).decode()),
            )
            self._database.execute("INSERT INTO visits VALUES (?, ?, ?, NULL)", (visit, rig.unit.tag, time_s))
            register_units(self._database, time_s)
            begin = partial(self._begin_imported, rig, visit)
            incoming = Incoming(self._database, visit, begin, begin(time_s), self._last_sequence)
            yield incoming
        self._last_sequence = incoming.sequence

    def _begin_imported(self, rig: Rig, visit: str, time_s: float) -> int:
        session = self._number("SELECT coalesce(max(number), 0) + 1 FROM sessions")
        self._database.execute(
            "INSERT INTO sessions VALUES (?, ?, ?, ?, ?, NULL)", (session, visit, rig.name, IMPORTED, time_s)
        )
        self._describe(rig, session, time_s)
        return session

    def end_session(self, time_s: float) -> None:
        """End the session. Its visit stays open: a restart on the roof must not tear it in two.

        Raises:
            NotSavedError: the disk refused; the session looks as after a crash.

        """
        with self._transaction():
            self._database.execute("UPDATE sessions SET ended_s = ? WHERE number = ?", (time_s, self.session.number))

    def close(self) -> None:
        """Close the file; the write-ahead log goes into it."""
        self._database.close()

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        """All or nothing, with the cursors as they stand."""
        try:
            with self._refusals():
                self._database.execute("BEGIN IMMEDIATE")
                yield
                self._database.executemany(
                    """INSERT INTO cursors VALUES (?, ?)
                       ON CONFLICT (sink) DO UPDATE SET position = excluded.position""",
                    list(self._cursors.items()),
                )
                self._database.execute("COMMIT")
        finally:
            if self._database.in_transaction:
                with suppress(sqlite3.Error):  # the first error is the one to tell
                    self._database.execute("ROLLBACK")

    @contextmanager
    def _refusals(self) -> Iterator[None]:
        """Whatever SQLite says no with, nothing was saved."""
        try:
            yield
        except sqlite3.Error as error:
            raise refusal(error, self._path) from error

    def _number(self, statement: str) -> int:
        return _number(self._database, statement)


def _number(database: sqlite3.Connection, statement: str) -> int:
    (number,) = database.execute(statement).fetchone()
    return int(number)


def _reading(path: Path) -> closing[sqlite3.Connection]:
    """Open a file that holds something without the right to write: SQLite then leaves it, and its log, as they are."""
    return closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", BUSY_S, uri=True))


def is_whole(path: Path, session: Session) -> bool:
    """Tell whether a file is whole and the record of a session, whatever the one that writes it has in memory.

    Raises:
        NotSavedError: it cannot be looked at now.

    """
    if not path.stat().st_size:
        return False  # and SQLite would delete its log, even if it may only read
    try:
        with _reading(path) as database:
            (found,) = database.execute("PRAGMA quick_check(1)").fetchone()
            of_session = database.execute(
                "SELECT 1 FROM sessions WHERE number = ? AND visit = ?", (session.number, session.visit)
            ).fetchone()
    except sqlite3.Error as error:
        if error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY:
            raise refusal(error, path) from error
        return False
    return found == "ok" and of_session is not None


def _refuse_an_orphaned_log(path: Path) -> None:
    """Refuse an empty file beside a write-ahead log: SQLite would delete the log, and what was committed to it."""
    log = path.with_name(path.name + "-wal")
    if path.exists() and not path.stat().st_size and log.exists() and log.stat().st_size:
        raise DamagedError("the file is empty, though its write-ahead log is not")


def _refuse_what_is_not_ours(path: Path) -> None:
    """Refuse what is damaged or another program's, before it is opened to be written.

    To close it then would write its log into it and delete that, and what is set aside is to be as it was found.
    """
    if not path.exists() or not path.stat().st_size:
        return
    with _reading(path) as database:
        if _number(database, "PRAGMA user_version") == 0 and _number(database, "SELECT count(*) FROM sqlite_schema"):
            raise NotSavedError(
                "it is a database of another program", "Name another file under [rig] record and start anew."
            )
        (found,) = database.execute("PRAGMA quick_check(1)").fetchone()
    if found != "ok":
        raise DamagedError(f"the file is damaged ({found})")


def _chunk(payloads: Sequence[bytes]) -> tuple[list[Pack], bytes]:
    """Make a chunk of the first packs, as many as can share one, and make sure that they come back from it."""
    try:
        decoded = [decode_pack(payload) for payload in payloads]
    except MessageError as error:
        raise RecordError(f"a pack cannot be read: {error}") from error
    packs = list(takewhile(lambda pack: can_share_a_chunk(decoded[0], pack), decoded))
    data = to_chunk(packs)
    if [encode_pack(pack) for pack in from_chunk(data)] != list(payloads[: len(packs)]):
        raise RecordError(f"the packs from {packs[0].sequence} on would not come back from a chunk as they are")
    return packs, data
