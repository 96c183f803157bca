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

import sqlite3
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path
from typing import Literal

import msgspec

from ingest.field_checks import calibration_date, corrected
from ingest.record.chunks import can_share_a_chunk, from_chunk, to_chunk
from ingest.record.errors import NotSavedError, RecordError
from ingest.record.migrations import MigrationError, migrate
from ingest.rig import Rig
from ingest.wire.messages import Calibration, Mark, MessageError, Pack, decode_pack, encode, encode_pack

Sink = Literal["mqtt packs", "mqtt marks"]

RESUMED_WITHIN_S = 12 * 3600.0
"""A visit goes on if the daemon is back at the same unit within this time, after a crash or a stop."""


NEWEST_PACKS = 4 * 3600 * 4
"""Four hours at four a second, the longest span that a page shows, stay as packs; older ones become chunks."""

CHUNK_PACKS = 240
"""One minute."""


@dataclass(frozen=True, slots=True)
class Session:
    """One run of the daemon, and the visit it belongs to. resumed: the visit began before this session."""

    number: int
    visit: str
    visit_started_s: float
    resumed: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """A pack or mark as it is published: its position for the cursor, and its bytes."""

    position: int
    payload: bytes


class Record:
    """An open record. Use it from one thread at a time.

    Raises:
        RecordError: the file cannot be opened, is no record, or a newer version wrote it.

    """

    def __init__(self, path: Path) -> None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._database = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        except (OSError, sqlite3.Error) as error:
            raise RecordError(f"the record {path} cannot be opened: {error}") from error
        try:
            self._prepare()
        except (sqlite3.Error, MigrationError) as error:
            self._database.close()
            raise RecordError(f"the record {path} cannot be used: {error}") from error
        self._session: Session | None = None

    def _prepare(self) -> None:
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
            self._database.execute(f"PRAGMA {pragma}")
        migrate(self._database)
        self._last_sequence = self._number(
            """SELECT max(coalesce((SELECT max(sequence) FROM packs), 0),
                          coalesce((SELECT max(last_sequence) FROM chunks), 0))"""
        )
        self._cursors: dict[str, int] = dict(self._database.execute("SELECT sink, position FROM cursors"))

    @property
    def session(self) -> Session:
        """The session that was begun."""
        if self._session is None:
            raise RuntimeError("no session has begun")
        return self._session

    def begin_session(self, rig: Rig, *, boot: str, new_visit: str, time_s: float) -> Session:
        """Start a session, in the unit's open visit if there is one, else in a new visit of the given id.

        Raises:
            NotSavedError: the disk refused.

        """
        with self._transaction():
            self._database.execute(
                "INSERT INTO units VALUES (?, ?) ON CONFLICT (tag) DO UPDATE SET about = excluded.about",
                (rig.unit.tag, encode(rig.unit).decode()),
            )
            opened = self._open_visit(rig.unit.tag, time_s)
            visit, visit_started_s = opened or (new_visit, time_s)
            if not opened:
                self._database.execute("INSERT INTO visits VALUES (?, ?, ?, NULL)", (visit, rig.unit.tag, time_s))
            number = self._number("SELECT coalesce(max(number), 0) + 1 FROM sessions")
            self._database.execute(
                "INSERT INTO sessions VALUES (?, ?, ?, ?, ?, NULL)", (number, visit, rig.name, boot, time_s)
            )
            self._describe(corrected(rig, self._marks_of(visit)), number, time_s)
        self._session = Session(number, visit, visit_started_s, resumed=opened is not None)
        return self._session

    def _open_visit(self, unit: str, time_s: float) -> tuple[str, float] | None:
        """Find the open visit of a unit; one that was left long ago is closed at its last pack."""
        row = self._database.execute(
            """SELECT id, started_s, max(
                   started_s,
                   coalesce((SELECT max(time_s) FROM packs WHERE visit = id), 0),
                   coalesce((SELECT max(last_s) FROM chunks WHERE visit = id), 0)
               ) FROM visits WHERE unit = ? AND ended_s IS NULL ORDER BY started_s DESC LIMIT 1""",
            (unit,),
        ).fetchone()
        if row is None:
            return None
        visit, started_s, last_s = row
        if time_s - last_s <= RESUMED_WITHIN_S:
            return visit, started_s
        self._database.execute("UPDATE visits SET ended_s = ? WHERE id = ?", (last_s, visit))
        return None

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

    def _calibrate(self, mark: Mark, calibration: Calibration) -> None:
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
            payload = encode_pack(msgspec.structs.replace(pack, sequence=sequence))
            rows.append((sequence, session.number, session.visit, pack.time_s, payload))
        with self._transaction():
            self._database.executemany("INSERT INTO packs VALUES (?, ?, ?, ?, ?)", rows)
        self._last_sequence += len(rows)
        return [payload for *_, payload in rows]

    def add_mark(self, mark: Mark) -> None:
        """Store a mark, and with it the calibration that it tells of.

        Raises:
            NotSavedError: the disk refused.

        """
        session = self.session
        with self._transaction():
            self._database.execute(
                "INSERT INTO marks (id, visit, session, kind, time_s, payload) VALUES (?, ?, ?, ?, ?, ?)",
                (mark.id, session.visit, session.number, mark.kind, mark.time_s, encode(mark)),
            )
            if mark.calibration:
                self._calibrate(mark, mark.calibration)

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
        """Read what the newest advice of this visit rests on."""
        row = self._database.execute(
            "SELECT grounds FROM advices WHERE visit = ? ORDER BY number DESC LIMIT 1", (self.session.visit,)
        ).fetchone()
        return zlib.decompress(row[0]) if row else None

    def find_mark(self, mark_id: str) -> Mark | None:
        """Find a mark by its id, in any visit.

        Raises:
            NotSavedError: the disk refused.

        """
        with _refusals():
            row = self._database.execute("SELECT payload FROM marks WHERE id = ?", (mark_id,)).fetchone()
        return msgspec.json.decode(row[0], type=Mark) if row else None

    def marks(self) -> list[Mark]:
        """Read the marks of this visit, oldest first."""
        return self._marks_of(self.session.visit)

    def _marks_of(self, visit: str) -> list[Mark]:
        rows = self._database.execute("SELECT payload FROM marks WHERE visit = ? ORDER BY number", (visit,))
        return [msgspec.json.decode(payload, type=Mark) for (payload,) in rows]

    def outbox(self, sink: Sink, limit: int) -> list[Entry]:
        """Read what comes after a sink's cursor, oldest first.

        Raises:
            NotSavedError: the disk refused.

        """
        statement = {
            "mqtt packs": "SELECT sequence, payload FROM packs WHERE sequence > ? ORDER BY sequence LIMIT ?",
            "mqtt marks": "SELECT number, payload FROM marks WHERE number > ? ORDER BY number LIMIT ?",
        }[sink]
        with _refusals():
            rows = self._database.execute(statement, (self._cursors.get(sink, 0), limit)).fetchall()
        return [Entry(position, payload) for position, payload in rows]

    def advance(self, sink: Sink, position: int) -> None:
        """Move a sink's cursor, after it has acknowledged everything up to there."""
        self._cursors[sink] = position

    def compact(self, newest_packs: int = NEWEST_PACKS) -> int:
        """Make one chunk of the oldest packs, up to a minute of them; returns how many they were.

        The newest packs stay, and those that a sink has not acknowledged.

        Raises:
            NotSavedError: the disk refused.
            RecordError: these packs would not come back as they are; they stay.

        """
        until = min(self._cursors.get("mqtt packs", 0), self._last_sequence - newest_packs)
        with _refusals():
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
            with _refusals():
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
                self._database.execute("ROLLBACK")

    def _number(self, statement: str) -> int:
        (number,) = self._database.execute(statement).fetchone()
        return int(number)


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except sqlite3.OperationalError as error:
        raise NotSavedError(str(error)) from error


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
