"""A copy of a record to keep, while it is written to, and a record from such a copy.

A record that comes from a copy goes on with numbers that none of those had that were given out after the copy was made:
who reads both must not take one for the other.
"""

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from ingest.record.chunks import decode_chunk
from ingest.record.errors import RecordError
from ingest.record.lock import alone_with
from ingest.record.migrations import STEPS, WITH_CHUNKS, WITH_PHOTOGRAPHS
from ingest.record.numbers import keep_given, last_given, last_session_given
from ingest.record.refusals import refusal
from ingest.record.rows import DAMAGE
from ingest.wire.messages import decode_mark, decode_pack

UNKNOWN_SESSIONS, UNKNOWN_PACKS = 1_000, 10_000_000
"""How many numbers are left out where nobody knows what was given out since: weeks at four packs a second."""


_OF_THE_SOURCE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


@dataclass(frozen=True, slots=True)
class Held:
    """What a copy holds: visits, marks, photographs, and the numbers of its last session and pack.

    unreadable: marks, packs and minutes of packs that were changed on a disk and are lost, each as a person says it.
    """

    visits: int
    marks: int
    photographs: int
    last_session: int
    last_pack: int
    unreadable: tuple[str, ...] = ()


def copy(record: Path, to: Path) -> Held:
    """Copy a record as it is at one moment; whoever writes it goes on. The copy is whole, or there is none.

    Raises:
        RecordError: there is no record, the copy's name is taken, or the copy is not whole.

    """
    if not record.is_file():
        raise RecordError(f"there is no record {record}")
    if to.exists():
        raise RecordError(f"{to} is there already: name another file")
    with _unfinished(to) as unfinished:
        try:
            with closing(sqlite3.connect(f"{record.resolve().as_uri()}?mode=ro", uri=True)) as source:
                source.execute("PRAGMA schema_version")
                _copy_into(unfinished, source, record)
        except sqlite3.Error as error:
            raise refusal(error, record) from error
        held = look(unfinished)
        if to.exists():
            raise RecordError(f"{to} came to be there meanwhile, by another copy: name another file")
        unfinished.replace(to)
    return held


@contextmanager
def _unfinished(to: Path) -> Iterator[Path]:
    """Give the name of a file that is this process's alone, until it takes its own name; it is gone whatever fails."""
    file = to.with_name(f"{to.name}.{os.getpid()}.unfinished")
    try:
        file.unlink(missing_ok=True)  # of a process of that number that was killed
        yield file
    finally:
        for left in (file, file.with_name(f"{file.name}-journal")):
            with suppress(OSError):
                left.unlink(missing_ok=True)


def _copy_into(unfinished: Path, source: sqlite3.Connection, record: Path) -> None:
    try:
        with closing(sqlite3.connect(unfinished)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.Error as error:
        if error.sqlite_errorcode & 0xFF in _OF_THE_SOURCE:
            raise refusal(error, record) from error
        raise RecordError(f"{unfinished} cannot be written: {error}. Look at the disk that it is on") from error


def look(copied: Path) -> Held:
    """Look a copy over: every page and every reference of it, every mark, and every pack.

    Raises:
        RecordError: it is no record, is damaged, or a newer program wrote it.

    """
    if not copied.is_file():
        raise RecordError(f"{copied} is no record: there is no such file")
    try:
        with closing(sqlite3.connect(f"{copied.resolve().as_uri()}?mode=ro", uri=True)) as database:
            (version,) = database.execute("PRAGMA user_version").fetchone()
            if not 0 < version <= len(STEPS):
                raise RecordError(f"{copied} is of version {version}; this program knows 1 to {len(STEPS)}")
            problems = [row[0] for row in database.execute("PRAGMA integrity_check(3)")]
            problems = [each for each in problems if each != "ok"]
            problems += [f"a row of {row[0]} points nowhere" for row in database.execute("PRAGMA foreign_key_check")]
            if problems:
                raise RecordError(f"{copied} is damaged: {problems[0]}")
            return replace(_held(database), unreadable=tuple(_unreadable(database, version)))
    except sqlite3.Error as error:
        raise RecordError(f"{copied} is no record: {error}") from error


def restore(copied: Path, record: Path, *, now_s: float) -> tuple[Held, Path | None]:
    """Put a copy in the place of a record, while no daemon has it; tells what it holds, and where went what was there.

    Raises:
        RecordError: the copy is not whole, the place is a folder or the copy's own, a process holds the record, or the
            disk refuses. Then all is as it was.

    """
    if record.is_dir():
        raise RecordError(
            f"{record} is a folder: name the file that is to be the record, such as {record}/visit.sqlite"
        )
    if record.exists() and copied.exists() and record.samefile(copied):
        raise RecordError(f"{record} is the copy itself: name where a daemon is to find it")
    held = look(copied)
    try:
        with alone_with(record, "restore"):
            before = _numbers(record)
            with _unfinished(record) as unfinished:
                _copy_and_count(copied, unfinished, before, held)
                aside = _set_aside(record, now_s)
                unfinished.replace(record)
    except sqlite3.Error as error:
        raise refusal(error, record) from error
    return held, aside


def _copy_and_count(copied: Path, to: Path, given: tuple[int, int] | None, held: Held) -> None:
    """Copy, and go on counting behind what was given out: by the record that was there, else well behind the copy."""
    with closing(sqlite3.connect(to, isolation_level=None)) as target:
        with closing(sqlite3.connect(f"{copied.resolve().as_uri()}?mode=ro", uri=True)) as source:
            source.backup(target)
        sessions, packs = given or (held.last_session + UNKNOWN_SESSIONS, held.last_pack + UNKNOWN_PACKS)
        target.execute("PRAGMA synchronous = FULL")
        keep_given(target, packs=packs, sessions=sessions)  # beside those that the copy itself knows of
        target.execute("PRAGMA journal_mode = DELETE")


def _held(database: sqlite3.Connection) -> Held:
    def count(statement: str) -> int:
        return int(database.execute(statement).fetchone()[0])

    version = count("PRAGMA user_version")
    return Held(
        visits=count("SELECT count(*) FROM visits"),
        marks=count("SELECT count(*) FROM marks"),
        photographs=count("SELECT count(*) FROM photographs") if version >= WITH_PHOTOGRAPHS else 0,
        last_session=last_session_given(database),
        last_pack=last_given(database),
    )


def _unreadable(database: sqlite3.Connection, version: int) -> Iterator[str]:
    """Name the rows that our decoders cannot read, though SQLite can."""
    rows: list[tuple[str, str, Callable[[bytes], object]]] = [
        ("mark", "SELECT id, payload FROM marks", decode_mark),
        ("pack", "SELECT sequence, payload FROM packs", decode_pack),
    ]
    if version >= WITH_CHUNKS:
        rows.append(("the minute of packs from", "SELECT first_sequence, data FROM chunks", decode_chunk))
    for what, statement, read in rows:
        for name, data in database.execute(statement):
            try:
                read(data)
            except DAMAGE:
                yield f"{what} {name}"


def _numbers(record: Path) -> tuple[int, int] | None:
    """Tell the last numbers that a record gave out; None where it cannot be read, or there is none."""
    if not record.is_file():
        return None
    try:
        with closing(sqlite3.connect(f"{record.resolve().as_uri()}?mode=ro", uri=True)) as database:
            held = _held(database)
    except sqlite3.Error:  # damaged, which is why a copy takes its place
        return None
    return held.last_session, held.last_pack


def _set_aside(record: Path, now_s: float) -> Path | None:
    """Keep what stands in a record's place under another name, too: until the copy takes its place, all of it is there.

    What its writer left in the log is folded into it first: a record without its log lacks its newest marks. Where that
    cannot be done, because it is damaged, the log goes with it.
    """
    if not record.exists():
        return None
    _fold_log_into(record)
    stamp = datetime.fromtimestamp(now_s, UTC).strftime("%Y-%m-%dT%H%M%SZ")
    names = (record.with_name(f"{record.stem}.before-restore-{stamp}{nth}{record.suffix}") for nth in _nth())
    aside = next(name for name in names if not name.exists())
    for suffix in ("-wal", "-shm"):
        part = record.with_name(record.name + suffix)
        if part.exists():
            part.rename(aside.with_name(aside.name + suffix))
    try:
        os.link(record, aside)
    except OSError:  # of a disk that knows no second name for a file
        record.rename(aside)
    return aside


def _nth() -> Iterator[str]:
    yield ""
    for number in count(2):
        yield f"-{number}"


def _fold_log_into(record: Path) -> None:
    address = f"{record.resolve().as_uri()}?mode=rw"
    with suppress(sqlite3.Error), closing(sqlite3.connect(address, uri=True)) as database:
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
