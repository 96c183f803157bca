"""Erases visits from a record: what people said, wrote, drew, photographed and read there; what stays is a tombstone.

What refrigerant went in and came out is of the circuit, not of a person, and the law wants it kept: 3 years after
40 CFR 82.157(l) and 84.106(l), 5 years after (EU) 2024/573, Art. 7 (from memory). Younger moves stay, without who made
them and what they wrote; so does that a baseline of the unit was withdrawn. The tombstone names the visit, the digest
and length of its journal as they were, so that a copy on paper can still be compared, and when and why it was erased.

What was published or handed out before, and what copies there are, is beyond reach.
"""

import sqlite3
from collections.abc import Collection, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import msgspec

from ingest.record.errors import NotSavedError, RecordError
from ingest.record.lock import alone_with
from ingest.record.migrations import STEPS, WITH_ERASURES, WITH_PHOTOGRAPHS, MigrationError, migrate
from ingest.record.numbers import keep_given, last_given
from ingest.record.refusals import refusal
from ingest.record.rows import DAMAGE
from ingest.visit.seal import digest
from ingest.wire.messages import (
    Added,
    BaselineWithdrawn,
    Correction,
    Mark,
    Recovered,
    Sheet,
    Signed,
    UnitAbout,
    decode,
    decode_mark,
    encode,
)

MOVES_KEPT_S = 5 * 366 * 86_400.0
"""For how long what was moved stays, whoever asks: the longer of both laws."""
_EMPTIED = ("packs", "chunks", "advices")
_OF_NOBODY = {"by": "", "role": "", "text": ""}


@dataclass(frozen=True, slots=True)
class Erasure:
    """A tombstone: the visit, its journal's digest and number of marks as they were, when it was erased, and why.

    signed_digest: that of the marks before the signature, which a signed page prints; empty where nobody signed.
    """

    visit: str
    digest: str
    marks: int
    erased_s: float
    because: str
    signed_digest: str = ""


@dataclass(frozen=True, slots=True)
class ToErase:
    """A visit that is there to be erased: when it began, how many marks, photographs and moves it has."""

    visit: str
    unit: str
    started_s: float
    marks: int
    photographs: int
    moves: int


def find(record: Path, *, unit: str = "", visit: str = "", before_s: float | None = None) -> list[ToErase]:
    """Find the visits of a unit, one visit, or those that began before a time [s since 1970], oldest first.

    None where all of them were erased already. The record stays as it is, of whatever version.

    Raises:
        RecordError: the record cannot be read, or never had any of these, or one of them is still open.

    """
    with _looked_at(record) as database:
        (version,) = database.execute("PRAGMA user_version").fetchone()
        if version > len(STEPS):
            raise RecordError(f"the record {record} is of a newer version: use a newer program")
        if not version:
            raise RecordError(f"the record {record} holds nothing yet")
        rows = database.execute(
            """SELECT id, unit, started_s, ended_s FROM visits
               WHERE (:unit = '' OR unit = :unit) AND (:visit = '' OR id = :visit)
                 AND (:before IS NULL OR started_s < :before) ORDER BY started_s""",
            {"unit": unit, "visit": visit, "before": before_s},
        ).fetchall()
        erased = {stone.visit for stone in read_erasures(database)} if version >= WITH_ERASURES else set[str]()
        was_any = bool(rows)
        rows = [row for row in rows if row[0] not in erased]
        still_open = [f"{visit} at {tag}" for visit, tag, _, ended_s in rows if ended_s is None]
        if still_open:
            raise RecordError(f"still open: {', '.join(still_open)}. Sign it, or go to another unit, then erase it")
        if not was_any:
            raise RecordError(f"the record {record} has no such visit")
        return [_to_erase(database, version, *row[:3]) for row in rows]


def erase(record: Path, visits: Collection[str], *, because: str, now_s: float, unit: str = "") -> list[Erasure]:
    """Erase visits, all of them or none, and where a unit stands as it was typed there; while no daemon writes.

    unit: of which goes too, from every sheet, where it stands, how to get there, and its pictures; what its plates say
    stays: that is of the unit. Of no visits it only clears the record's log of what was erased before.

    Raises:
        RecordError: it is held by another process, or cannot be written; or somebody reads it, and its log must be
            cleared by doing this again.

    """
    with _opened(record) as database, _whole(database, record):
        erased = [_erase(database, visit, because, now_s) for visit in visits]
        if unit:
            _forget_place(database, unit)
        return erased


def _forget_place(database: sqlite3.Connection, unit: str) -> None:
    rows = database.execute("SELECT number, sheet FROM sheets WHERE tag = ?", (unit,)).fetchall()
    _without_places(database, rows)
    for tag, text in database.execute("SELECT tag, about FROM units WHERE tag = ?", (unit,)).fetchall():
        _unit_without_place(database, tag, decode(text.encode(), UnitAbout))


def read_erasures(database: sqlite3.Connection) -> Iterator[Erasure]:
    """Read the tombstones of a record, oldest first."""
    for row in database.execute(
        "SELECT visit, digest, marks, erased_s, because, signed_digest FROM erasures ORDER BY erased_s, visit"
    ):
        yield Erasure(*row)


def _to_erase(database: sqlite3.Connection, version: int, visit: str, unit: str, started_s: float) -> ToErase:
    marks = _marks(database, visit)
    photographs = 0
    if version >= WITH_PHOTOGRAPHS:
        (photographs,) = database.execute(
            "SELECT count(*) FROM photographs JOIN marks USING (id) WHERE visit = ?", (visit,)
        ).fetchone()
    return ToErase(visit, unit, started_s, len(marks), photographs, len(list(_moves(marks))))


def _erase(database: sqlite3.Connection, visit: str, because: str, now_s: float) -> Erasure:
    marks = _marks(database, visit)
    signed = next((mark.digest for mark in marks if isinstance(mark, Signed)), "")
    erasure = Erasure(visit, digest(marks), len(marks), now_s, because, signed)
    kept: list[Mark] = [move for move in _moves(marks) if now_s - move.time_s < MOVES_KEPT_S]
    kept += [mark for mark in marks if isinstance(mark, BaselineWithdrawn)]  # else what was withdrawn would count again
    _forget_places_of(database, visit)
    database.execute("DELETE FROM photographs WHERE id IN (SELECT id FROM marks WHERE visit = ?)", (visit,))
    for table in _EMPTIED:
        database.execute(f"DELETE FROM {table} WHERE visit = ?", (visit,))  # noqa: S608 - of a tuple above
    ids = [mark.id for mark in kept]
    database.execute(
        f"DELETE FROM marks WHERE visit = ? AND id NOT IN ({', '.join('?' * len(ids))})",  # noqa: S608 - question marks
        (visit, *ids),
    )
    for mark in kept:
        nobody: Mark = msgspec.structs.replace(mark, **_OF_NOBODY)
        database.execute("UPDATE marks SET payload = ? WHERE id = ?", (encode(nobody), mark.id))
    database.execute(
        "INSERT INTO erasures VALUES (?, ?, ?, ?, ?, ?)",
        (visit, erasure.digest, erasure.marks, now_s, because, erasure.signed_digest),
    )
    return erasure


def _forget_places_of(database: sqlite3.Connection, visit: str) -> None:
    """Take where a unit stands from the sheets typed at a visit, and from the unit where it says the same."""
    rows = database.execute(
        """SELECT sheets.number, sheet FROM sheets JOIN marks ON marks.id = sheets.mark
           WHERE marks.visit = ?""",
        (visit,),
    ).fetchall()
    typed = {(sheet.tag, sheet.place) for sheet in _without_places(database, rows)}
    for tag, text in database.execute("SELECT tag, about FROM units").fetchall():
        about = decode(text.encode(), UnitAbout)
        if (tag, about.place) in typed:
            _unit_without_place(database, tag, about)


def _without_places(database: sqlite3.Connection, rows: Sequence[tuple[int, str]]) -> Sequence[Sheet]:
    """Take it from sheets, each with its number; returns them as they were."""
    sheets = [decode(text.encode(), Sheet) for _, text in rows]
    for (number, _), sheet in zip(rows, sheets, strict=True):
        left = encode(_without_place(sheet)).decode()
        database.execute("UPDATE sheets SET sheet = ? WHERE number = ?", (left, number))
    return sheets


def _unit_without_place(database: sqlite3.Connection, tag: str, about: UnitAbout) -> None:
    left = encode(msgspec.structs.replace(about, place="")).decode()
    database.execute("UPDATE units SET about = ? WHERE tag = ?", (left, tag))


def _marks(database: sqlite3.Connection, visit: str) -> Sequence[Mark]:
    """Read the journal of a visit that is to be erased: all of it, for what cannot be read may be a move.

    Raises:
        RecordError: a mark of it cannot be read.

    """
    marks: list[Mark] = []
    for name, payload in database.execute("SELECT id, payload FROM marks WHERE visit = ? ORDER BY number", (visit,)):
        try:
            marks.append(decode_mark(payload))
        except DAMAGE as error:
            raise RecordError(
                f"mark {name} of visit {visit} cannot be read ({error}): it may be a move that the law wants kept, so "
                "nothing is erased. Put a copy in the place of the record first, in which it can be read"
            ) from error
    return marks


def _moves(marks: Sequence[Mark]) -> Iterator[Added | Recovered | Correction]:
    yield from (mark for mark in marks if isinstance(mark, Added | Recovered | Correction))


def _without_place(sheet: Sheet) -> Sheet:
    parts = [msgspec.structs.replace(part, photographs=()) for part in sheet.parts]
    return msgspec.structs.replace(
        sheet, place="", access="", at=None, roof=None, sketch="", photographs=(), parts=tuple(parts)
    )


@contextmanager
def _looked_at(record: Path) -> Iterator[sqlite3.Connection]:
    """Open a record to be read only, while no daemon has it."""
    if not record.is_file():
        raise RecordError(f"there is no record {record}")
    try:
        with (
            alone_with(record, "look"),
            closing(sqlite3.connect(f"{record.resolve().as_uri()}?mode=ro", uri=True)) as database,
        ):
            yield database
    except sqlite3.Error as error:
        raise refusal(error, record) from error


@contextmanager
def _opened(record: Path) -> Iterator[sqlite3.Connection]:
    """Open a record to be written by nobody else; what is deleted is overwritten."""
    if not record.is_file():
        raise RecordError(f"there is no record {record}")
    try:
        with alone_with(record, "erase"), closing(sqlite3.connect(record, isolation_level=None)) as database:
            for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"):
                database.execute(f"PRAGMA {pragma}")
            migrate(database)
            yield database
    except sqlite3.Error as error:
        raise refusal(error, record) from error
    except MigrationError as error:
        raise NotSavedError(f"the record {record}: {error}") from error


@contextmanager
def _whole(database: sqlite3.Connection, record: Path) -> Iterator[None]:
    """Do all of it or nothing, then leave no trace of it in the file nor in its log.

    No number of a pack that is gone comes twice; those of marks begin again behind the last that is left, and so does
    the cursor of what was published.
    """
    database.execute("BEGIN IMMEDIATE")
    try:
        last = last_given(database)
        yield
        keep_given(database, packs=last)
        database.execute(
            """UPDATE cursors SET position = min(position, (SELECT coalesce(max(number), 0) FROM marks))
               WHERE sink = 'mqtt marks'"""
        )
        database.execute("COMMIT")
    except BaseException:
        database.execute("ROLLBACK")
        raise
    database.execute("VACUUM")
    (busy, *_) = database.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    if busy:
        raise NotSavedError(
            f"it is erased from {record}, but somebody reads that, and till then it still stands in {record.name}-wal",
            "Close what reads it, such as a page, an export or a copy under way, and give the same command again.",
        )
