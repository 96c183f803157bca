"""The record for those who only read it: the page, the rerun, an export.

One interface, whatever keeps the record. `History` says what can be asked; `RecordFile` answers from the file on this
machine, beside the daemon that writes it. A record that is not there yet holds nothing yet: that is no error. Nor is a
row that was damaged: it is left out and told, and the rest is what it was.

Everything here blocks: run it in a thread. Packs come one by one, because hours of them do not fit a list; what reads
them must come to an end, for the file cannot be tidied up meanwhile.
"""

import sqlite3
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal, Protocol

import msgspec

from ingest.record.chunks import CHUNK_PACKS, can_share_a_chunk, decode_chunk, from_chunk, gather, nearest_in_chunk
from ingest.record.columns import Block, OpenRecord, RecordedVisit, block_of
from ingest.record.erasing import Erasure, read_erasures
from ingest.record.errors import RecordError
from ingest.record.migrations import STEPS, WITH_ERASURES, WITH_PHOTOGRAPHS, WITH_SHEETS
from ingest.record.rows import read_rows
from ingest.record.sheets import (
    RegisteredSheet,
    VisitOfUnit,
    read_sheet,
    read_sheets,
    read_versions,
    read_visited,
    read_visits,
)
from ingest.wire.messages import Advice, ChannelAbout, Mark, Pack, UnitAbout, decode, decode_mark, decode_pack

Origin = Literal["simulated", "played"]
"""Why readings are not those of a unit that somebody works at."""
REPLAY = "replay"
"""The boot of a session in which a recorded visit was played again."""
_CHUNK = "the minute of packs from"

__all__ = ["AdviceOfVisit", "Erasure", "History", "Origin", "RecordError", "RecordFile", "RecordedAdvice"]
__all__ += ["RecordedChannel", "RecordedMark", "RecordedVisit", "RegisteredSheet", "VisitOfUnit", "open_record"]


@dataclass(frozen=True, slots=True)
class RecordedMark:
    """A mark and its number: marks count from 1 in the order in which they were recorded."""

    number: int
    mark: Mark


@dataclass(frozen=True, slots=True)
class RecordedAdvice:
    """An advice as it was published, what it rests on beside the packs (`ingest.advice.rerun`), session and visit.

    number: advices count from 1 in the order in which they were given.
    """

    number: int
    session: int
    visit: str
    grounds: bytes
    payload: bytes


@dataclass(frozen=True, slots=True)
class RecordedChannel:
    """How a channel was measured: columns of `instruments` and `calibrations` (docs/record.md).

    mark: the id of the one by which it was corrected; empty: as configured.
    """

    name: str
    instrument: str
    link: str
    interval_s: float
    unit: str
    reference: Literal["absolute", "gauge", ""]
    accuracy: float
    standard_uncertainty: float
    slope: float
    offset: float
    calibrated: str
    mark: str = ""

    def about(self) -> ChannelAbout:
        """Tell it to those who read it."""
        return ChannelAbout(self.name, self.instrument, self.unit, self.accuracy, self.reference, self.calibrated)


@dataclass(frozen=True, slots=True)
class AdviceOfVisit:
    """An advice and its number: advices count from 1 in the order in which they were given, over all visits.

    grounds: `ingest.advice.rerun.Grounds` as JSON, what it rests on beside the packs.
    """

    number: int
    advice: Advice
    grounds: bytes


class History(Protocol):
    """What a record can be asked. Every method raises RecordError where the record cannot be read."""

    def packs_after(self, sequence: int) -> Iterator[Pack]:
        """Read the packs after a number, oldest first; 0 for all there are."""
        ...

    def newest_packs(self, limit: int, *, after: int = 0, visit: str | None = None) -> Iterator[Pack]:
        """Read the newest packs after a number, oldest first, at most `limit`. visit: only those of this one."""
        ...

    def packs_between(self, visit: str, start_s: float, end_s: float) -> Iterator[Pack]:
        """Read the packs of a visit that are stamped from `start_s` to `end_s` [s since 1970], in order of number."""
        ...

    def packs_at(self, visit: str, times_s: Sequence[float], within_s: float) -> list[Pack | None]:
        """Read the pack of a visit that is nearest to each of these moments; None where there is none within so long.

        Far quicker than reading all between them: for what shows a visit of hours in a few dozen points.
        """
        ...

    def newest_visit(self) -> str | None:
        """Tell the id of the visit that began last; None before the first."""
        ...

    def has_visit(self, visit: str) -> bool:
        """Tell whether a visit, by its id, was begun in it."""
        ...

    def marks_after(self, visit: str, number: int) -> Iterator[RecordedMark]:
        """Read the marks of a visit after a number, oldest first; 0 for all there are."""
        ...

    def marks_of(self, visits: Sequence[str]) -> dict[str, list[Mark]]:
        """Read the marks of several visits at once, oldest first, by the ids of the visits, in the order given."""
        ...

    def advices(self) -> Iterator[RecordedAdvice]:
        """Read every advice, oldest first."""
        ...

    def advices_of(self, visit: str) -> Iterator[AdviceOfVisit]:
        """Read the advices of a visit, oldest first, each with its number."""
        ...

    def channels(self, visit: str) -> list[RecordedChannel]:
        """Read how each channel was measured at a visit, as of its end."""
        ...

    def unit_of(self, visit: str) -> str | None:
        """Read the tag of the unit that a visit was at; None where there is no such visit."""
        ...

    def sheets(self) -> list[RegisteredSheet]:
        """Read the newest sheet of every unit, in the order in which they were kept."""
        ...

    def sheet(self, tag: str) -> RegisteredSheet | None:
        """Read the newest sheet of a unit; None where there is none."""
        ...

    def sheets_of(self, tag: str) -> list[RegisteredSheet]:
        """Read every sheet that was kept of a unit, newest first."""
        ...

    def visits_of(self, tag: str) -> list[VisitOfUnit]:
        """Read which visits there were at a unit, newest first."""
        ...

    def visited(self) -> dict[str, float]:
        """Read when the last visit at each unit began [s since 1970], by tag."""
        ...

    def photograph(self, mark_id: str) -> bytes | None:
        """Read the JPEG of a photograph, by the id of its mark; None where this record has none."""
        ...

    def erasures(self) -> list[Erasure]:
        """Read what was erased from it, oldest first."""
        ...

    def origins(self, visit: str) -> list[Origin]:
        """Tell why a visit was not live: a simulated unit, a visit played again, both; empty for one that was live."""
        ...


def open_record(path: Path | str) -> OpenRecord:
    """Open a record to compute with it: `open_record(path).visit()["superheat"].values`.

    Raises:
        RecordError: there is none, or it cannot be read.

    """
    path = Path(path)
    if not path.is_file():
        raise RecordError(f"the record {path} cannot be read: there is no such file")
    return OpenRecord(RecordFile(path))


class RecordFile:
    """The history in a record on this machine. Each reading opens the file anew, so that a new record is seen."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def packs_after(self, sequence: int) -> Iterator[Pack]:
        """See History."""
        with self._open() as database:
            if database:
                yield from _packs_after(database, sequence)

    def newest_packs(self, limit: int, *, after: int = 0, visit: str | None = None) -> Iterator[Pack]:
        """See History."""
        with self._open() as database:
            if database:
                yield from _packs_after(database, max(after, _last_sequence(database) - limit), visit)

    def packs_between(self, visit: str, start_s: float, end_s: float) -> Iterator[Pack]:
        """See History."""
        chunks = """SELECT first_sequence, data FROM chunks WHERE visit = ? AND first_s <= ? AND last_s >= ?
            ORDER BY first_sequence"""
        packs = "SELECT sequence, payload FROM packs WHERE visit = ? AND time_s BETWEEN ? AND ? ORDER BY sequence"
        with self._open() as database:
            if database:
                for _, chunk in read_rows(database.execute(chunks, (visit, end_s, start_s)), from_chunk, what=_CHUNK):
                    yield from (pack for pack in chunk if start_s <= pack.time_s <= end_s)
                for _, pack in read_rows(database.execute(packs, (visit, start_s, end_s)), decode_pack, what="pack"):
                    yield pack

    def packs_at(self, visit: str, times_s: Sequence[float], within_s: float) -> list[Pack | None]:
        """See History."""
        with self._open() as database:
            return [_pack_at(database, visit, time_s, within_s) if database else None for time_s in times_s]

    def newest_visit(self) -> str | None:
        """See History."""
        with self._open() as database:
            row = (
                database
                and database.execute(
                    "SELECT visit FROM sessions GROUP BY visit ORDER BY min(number) DESC LIMIT 1"
                ).fetchone()
            )
        return row[0] if row else None

    def has_visit(self, visit: str) -> bool:
        """See History."""
        with self._open() as database:
            return bool(database and database.execute("SELECT 1 FROM visits WHERE id = ?", (visit,)).fetchone())

    def marks_after(self, visit: str, number: int) -> Iterator[RecordedMark]:
        """See History."""
        marks = "SELECT number, payload FROM marks WHERE visit = ? AND number > ? ORDER BY number"
        with self._open() as database:
            if database:
                for found, mark in read_rows(database.execute(marks, (visit, number)), decode_mark, what="mark"):
                    yield RecordedMark(found, mark)

    def marks_of(self, visits: Sequence[str]) -> dict[str, list[Mark]]:
        """See History."""
        marks = "SELECT visit, payload FROM marks WHERE visit IN (SELECT value FROM json_each(?)) ORDER BY number"
        found: dict[str, list[Mark]] = {visit: [] for visit in visits}
        with self._open() as database:
            if database:
                rows = database.execute(marks, (msgspec.json.encode(visits).decode(),))
                for visit, mark in read_rows(rows, decode_mark, what="a mark of visit"):
                    found[visit].append(mark)
        return found

    def advices(self) -> Iterator[RecordedAdvice]:
        """See History."""
        with self._open() as database:
            if database:
                rows = database.execute(f"{_ADVICES} ORDER BY number")
                yield from (advice for _, advice in read_rows(_by_number(rows), _recorded_advice, what="advice"))

    def advice(self, number: int) -> RecordedAdvice | None:
        """Read one advice by its number; None where it cannot be read."""
        with self._open() as database:
            if not database:
                return None
            rows = database.execute(f"{_ADVICES} WHERE number = ?", (number,)).fetchall()
        return next((advice for _, advice in read_rows(_by_number(rows), _recorded_advice, what="advice")), None)

    def advices_of(self, visit: str) -> Iterator[AdviceOfVisit]:
        """See History."""
        advices = (
            f"SELECT number, grounds, payload FROM advices WHERE {_OF_ITS_SESSIONS} AND visit = :visit ORDER BY number"  # noqa: S608
        )
        with self._open() as database:
            if database:
                rows = database.execute(advices, {"visit": visit})
                both = ((number, texts) for number, *texts in rows)
                for number, (advice, grounds) in read_rows(both, _advice, what="advice"):
                    yield AdviceOfVisit(number, advice, grounds)

    def unit_of(self, visit: str) -> str | None:
        """See History."""
        with self._open() as database:
            row = database and database.execute("SELECT unit FROM visits WHERE id = ?", (visit,)).fetchone()
        return row[0] if row else None

    def sheets(self) -> list[RegisteredSheet]:
        """See History."""
        with self._open() as database:
            return read_sheets(database) if database and _has_sheets(database) else []

    def sheet(self, tag: str) -> RegisteredSheet | None:
        """See History."""
        with self._open() as database:
            return read_sheet(database, tag) if database and _has_sheets(database) else None

    def sheets_of(self, tag: str) -> list[RegisteredSheet]:
        """See History."""
        with self._open() as database:
            return list(read_versions(database, tag)) if database and _has_sheets(database) else []

    def visits_of(self, tag: str) -> list[VisitOfUnit]:
        """See History."""
        with self._open() as database:
            return read_visits(database, tag) if database else []

    def visited(self) -> dict[str, float]:
        """See History."""
        with self._open() as database:
            return read_visited(database) if database else {}

    def photograph(self, mark_id: str) -> bytes | None:
        """See History. A record that no daemon has opened since photographs are kept has no table of them."""
        with self._open() as database:
            if not database or not _has_photographs(database):
                return None
            row = database.execute("SELECT jpeg FROM photographs WHERE id = ?", (mark_id,)).fetchone()
        return row[0] if row else None

    def erasures(self) -> list[Erasure]:
        """See History."""
        with self._open() as database:
            return list(read_erasures(database)) if database and _version(database) >= WITH_ERASURES else []

    def origins(self, visit: str) -> list[Origin]:
        """See History. Of a record from before sessions were told apart nobody knows whether a unit was simulated."""
        simulated = "SELECT 1 FROM simulated JOIN sessions ON number = session WHERE visit = ?"
        replayed = "SELECT 1 FROM sessions WHERE boot = ? AND visit = ?"
        with self._open() as database:
            if not database:
                return []
            found: list[Origin] = []
            if _version(database) >= WITH_ERASURES and database.execute(simulated, (visit,)).fetchone():
                found.append("simulated")
            if database.execute(replayed, (REPLAY, visit)).fetchone():
                found.append("played")
            return found

    def visits(self) -> list[RecordedVisit]:
        """Read which visits there are, in the order in which they began."""
        visits = """SELECT id, about, started_s, ended_s FROM visits JOIN units ON tag = unit
            ORDER BY (SELECT min(number) FROM sessions WHERE visit = id)"""
        with self._open() as database:
            rows = database.execute(visits).fetchall() if database else []
        found = read_rows(((visit, (visit, *row)) for visit, *row in rows), _recorded_visit, what="visit")
        return [visit for _, visit in found]

    def visit_packs(self, visit: str, *, after: int = 0) -> Iterator[Pack]:
        """Read the packs of a visit after a number, oldest first; 0 for all there are."""
        with self._open() as database:
            if database:
                yield from _packs_after(database, after, visit)

    def blocks(self, visit: str) -> Iterator[Block]:
        """Read the packs of a visit by columns, oldest first."""
        with self._open() as database:
            if database:
                yield from _blocks_of(database, visit)

    def channels(self, visit: str) -> list[RecordedChannel]:
        """See History."""
        newest = f"""SELECT channel, calibrations.instrument, link, interval_s, unit, reference, accuracy,
                standard_uncertainty, slope, offset, calibrated, mark
            FROM calibrations JOIN instruments USING (session) WHERE instruments.name = calibrations.instrument
            AND number IN (SELECT max(number) FROM calibrations WHERE {_OF_ITS_SESSIONS}
                AND (mark = '' OR mark IN (SELECT id FROM marks WHERE visit = :visit)) GROUP BY channel)
            ORDER BY number"""  # noqa: S608 - a constant
        with self._open() as database:
            return [RecordedChannel(*row) for row in database.execute(newest, {"visit": visit})] if database else []

    def _size(self) -> int:
        try:
            return self.path.stat().st_size
        except FileNotFoundError:
            return 0
        except OSError as error:
            raise RecordError(f"the record {self.path} cannot be read: {error}") from error

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection | None]:
        """Open the file for reading, at one point in time; None where nothing is recorded yet."""
        if not self._size():  # SQLite would delete the log of an empty file, even if it may only read
            yield None
            return
        try:
            with closing(sqlite3.connect(f"{self.path.resolve().as_uri()}?mode=ro", uri=True)) as database:
                database.execute("BEGIN")
                (version,) = database.execute("PRAGMA user_version").fetchone()
                if version > len(STEPS):
                    raise RecordError(f"the record {self.path} is of a newer version: use a newer program")
                try:
                    yield database if version else None
                except sqlite3.OperationalError as error:
                    if version == len(STEPS) or not str(error).startswith(("no such table", "no such column")):
                        raise
                    raise RecordError(
                        f"the record {self.path} is of version {version}, and this program reads {len(STEPS)}: start a "
                        "daemon with it once, which brings it forward, or do so with a copy of it by dewline backup"
                    ) from error
        except sqlite3.Error as error:
            raise RecordError(f"the record {self.path} cannot be read: {error}") from error


def _pack_at(database: sqlite3.Connection, visit: str, time_s: float, within_s: float) -> Pack | None:
    around = (visit, time_s + within_s, time_s - within_s)
    chunks = "SELECT first_sequence, data FROM chunks WHERE visit = ? AND first_s <= ? AND last_s >= ?"
    packs = "SELECT sequence, payload FROM packs WHERE visit = ? AND time_s <= ? AND time_s >= ? ORDER BY time_s"
    nearest = partial(nearest_in_chunk, time_s=time_s)
    found = [pack for _, pack in read_rows(database.execute(chunks, around), nearest, what=_CHUNK)]
    found += [pack for _, pack in read_rows(database.execute(packs, around), decode_pack, what="pack")]
    near = [pack for pack in found if abs(pack.time_s - time_s) <= within_s]
    return min(near, key=lambda pack: abs(pack.time_s - time_s), default=None)


_OF_ITS_SESSIONS = "session IN (SELECT session FROM marks WHERE visit = :visit)"
"""One session may be of several visits, as the rig goes from unit to unit."""


def _advice(row: Sequence[bytes]) -> tuple[Advice, bytes]:
    grounds, payload = map(zlib.decompress, row)
    return decode(payload, Advice), grounds


def _has_sheets(database: sqlite3.Connection) -> bool:
    """Tell whether a record is of a version that keeps sheets: an older one gets there once a daemon opens it."""
    return _version(database) >= WITH_SHEETS


_ADVICES = "SELECT number, session, visit, grounds, payload FROM advices"
_AdviceRow = tuple[int, int, str, bytes, bytes]


def _by_number(rows: Iterable[_AdviceRow]) -> Iterator[tuple[int, _AdviceRow]]:
    return ((row[0], row) for row in rows)


def _recorded_advice(row: _AdviceRow) -> RecordedAdvice:
    number, session, visit, grounds, payload = row
    return RecordedAdvice(number, session, visit, zlib.decompress(grounds), zlib.decompress(payload))


def _recorded_visit(row: tuple[str, str, float, float | None]) -> RecordedVisit:
    visit, about, started_s, ended_s = row
    return RecordedVisit(visit, decode(about.encode(), UnitAbout), started_s, ended_s)


def _has_photographs(database: sqlite3.Connection) -> bool:
    """Likewise whether it keeps photographs."""
    return _version(database) >= WITH_PHOTOGRAPHS


def _version(database: sqlite3.Connection) -> int:
    (version,) = database.execute("PRAGMA user_version").fetchone()
    return int(version)


def _last_sequence(database: sqlite3.Connection) -> int:
    (last,) = database.execute(
        """SELECT max(coalesce((SELECT max(sequence) FROM packs), 0),
                      coalesce((SELECT max(last_sequence) FROM chunks), 0))"""
    ).fetchone()
    return int(last)


def _packs_after(database: sqlite3.Connection, sequence: int, visit: str | None = None) -> Iterator[Pack]:
    """Read the packs after a number, from chunks and then one by one. visit: only those of this one; None for all."""
    chunks = """SELECT first_sequence, data FROM chunks WHERE last_sequence > :after AND first_sequence >=
        coalesce((SELECT max(first_sequence) FROM chunks WHERE first_sequence <= :after), 0)
        AND visit = coalesce(:visit, visit) ORDER BY first_sequence"""
    packs = """SELECT sequence, payload FROM packs WHERE sequence > :after AND visit = coalesce(:visit, visit)
        ORDER BY sequence"""
    those = {"after": sequence, "visit": visit}
    for _, chunk in read_rows(database.execute(chunks, those), from_chunk, what=_CHUNK):
        yield from (pack for pack in chunk if (pack.sequence or 0) > sequence)
    for _, pack in read_rows(database.execute(packs, those), decode_pack, what="pack"):
        yield pack


def _blocks_of(database: sqlite3.Connection, visit: str) -> Iterator[Block]:
    """Read the chunks of a visit, and those that its newest packs would make."""
    chunks = "SELECT first_sequence, data FROM chunks WHERE visit = ? ORDER BY first_sequence"
    packs = "SELECT sequence, payload FROM packs WHERE visit = ? ORDER BY sequence"
    for _, block in read_rows(database.execute(chunks, (visit,)), _block, what=_CHUNK):
        yield block
    run: list[Pack] = []
    for _, pack in read_rows(database.execute(packs, (visit,)), decode_pack, what="pack"):
        follows = run and pack.sequence == (run[-1].sequence or 0) + 1 and can_share_a_chunk(run[0], pack)
        if run and (not follows or len(run) == CHUNK_PACKS):
            yield block_of(gather(run))
            run = []
        run.append(pack)
    if run:
        yield block_of(gather(run))


def _block(data: bytes) -> Block:
    return block_of(decode_chunk(data))
