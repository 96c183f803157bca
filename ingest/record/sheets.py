"""The register of units within the record: every sheet that was kept of each, and the visits there were at it.

A sheet is only ever added; of a unit the newest that can be read counts.
"""

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from ingest.record.rows import read_rows
from ingest.visit.sheets import from_about
from ingest.wire.messages import Sheet, UnitAbout, decode, encode


@dataclass(frozen=True, slots=True)
class RegisteredSheet:
    """A sheet, since when it holds [s since 1970], and the id of its mark; empty: as configured, or imported."""

    sheet: Sheet
    since_s: float
    mark: str = ""


@dataclass(frozen=True, slots=True)
class VisitOfUnit:
    """A visit: its id, when it began and ended [s since 1970]; ended_s is None while it is open."""

    id: str
    started_s: float
    ended_s: float | None


def add_sheet(database: sqlite3.Connection, kept: RegisteredSheet) -> None:
    """Keep a sheet as the newest of its unit."""
    database.execute(
        "INSERT INTO sheets VALUES (NULL, ?, ?, ?, ?)",
        (kept.sheet.tag, encode(kept.sheet).decode(), kept.since_s, kept.mark),
    )


def register_units(database: sqlite3.Connection, time_s: float) -> None:
    """Keep a sheet of every unit that has none: the one just configured, and those of a record before the register."""
    units = database.execute("SELECT tag, about FROM units WHERE tag NOT IN (SELECT tag FROM sheets)").fetchall()
    for _, unit in read_rows(units, _unit, what="unit"):
        add_sheet(database, RegisteredSheet(from_about(unit), time_s))


def read_sheets(database: sqlite3.Connection) -> list[RegisteredSheet]:
    """Read the newest sheet of every unit, in the order in which they were kept."""
    found: dict[str, RegisteredSheet] = {}
    newest_first = database.execute("SELECT tag, sheet, since_s, mark FROM sheets ORDER BY number DESC")
    wanted = ((tag, tuple(row)) for tag, *row in newest_first if tag not in found)
    for tag, kept in read_rows(wanted, _kept, what="the sheet of"):
        found[tag] = kept  # noqa: PERF403 - what is found decides what is read next
    return list(found.values())[::-1]


def read_sheet(database: sqlite3.Connection, tag: str) -> RegisteredSheet | None:
    """Read the newest sheet of a unit; None where there is none."""
    return next(iter(read_versions(database, tag)), None)


def read_versions(database: sqlite3.Connection, tag: str) -> Iterator[RegisteredSheet]:
    """Read every sheet that was kept of a unit, newest first."""
    rows = database.execute("SELECT tag, sheet, since_s, mark FROM sheets WHERE tag = ? ORDER BY number DESC", (tag,))
    for _, kept in read_rows(((tag, tuple(row)) for tag, *row in rows), _kept, what="the sheet of"):
        yield kept


def read_visits(database: sqlite3.Connection, tag: str) -> list[VisitOfUnit]:
    """Read which visits there were at a unit, newest first."""
    rows = database.execute(
        """SELECT id, started_s, ended_s FROM visits WHERE unit = ?
           ORDER BY (SELECT min(number) FROM sessions WHERE visit = id) DESC""",
        (tag,),
    )
    return [VisitOfUnit(*row) for row in rows]


def read_visited(database: sqlite3.Connection) -> dict[str, float]:
    """Read when the last visit at each unit began [s since 1970], by tag."""
    return dict(database.execute("SELECT unit, max(started_s) FROM visits GROUP BY unit"))


def _unit(about: str) -> UnitAbout:
    return decode(about.encode(), UnitAbout)


def _kept(row: tuple[str, float, str]) -> RegisteredSheet:
    sheet, since_s, mark = row
    return RegisteredSheet(decode(sheet.encode(), Sheet), since_s, mark)
