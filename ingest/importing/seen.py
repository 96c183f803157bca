"""The table in a log that nobody has described: how it is parted, and which lines say names and units."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from ingest.importing.errors import LogError
from ingest.importing.lines import LONGEST_LINE, marked_as
from ingest.importing.log_map import OPEN
from ingest.importing.stated import kinds

NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?([eE][-+]?\d+)?")
_LOOKED_AT = 5000
"""Lines: enough to see a day that is no month in most logs of more than an hour."""
_SEPARATORS = ("\t", ";", ",", "|")
_LINES_ABOVE = 200
"""More than any logger writes above its table: common practice, no source."""
_IN_A_ROW = 5
"""So many lines that look like readings are a table, and not what a logger says of itself."""


@dataclass(slots=True)
class Seen:
    """What the first lines show. separator and decimal: as in the map, this open where numbers have both signs.

    above: the cells above the table; rows: those after the header.
    """

    encoding: str
    separator: str = ","
    decimal: str = "."
    header_line: int = 1
    skip: int = 0
    above: list[str] = field(default_factory=list)
    header: list[str] = field(default_factory=list)
    units: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)


def look(log: Path) -> Seen:
    """Find the table of a log.

    Raises:
        LogError: there is none.

    """
    encoding, lines = _decoded(log)
    if not any(line.strip() for line in lines):
        raise LogError(log, 0, "is empty")
    separator = max(_SEPARATORS, key=lambda sign: _agreement(lines, sign))
    parted = csv.reader(lines, delimiter=separator, skipinitialspace=True)
    try:
        rows = [[cell.strip() for cell in row] for row in parted]
    except csv.Error as error:
        raise LogError(log, parted.line_num, f"cannot be parted into cells: {error}") from error
    if not any(NUMBER.fullmatch(cell) for row in rows for cell in row):
        raise LogError(log, 0, "has no number in any of its first lines: there is nothing to import")
    first = _first_reading(rows)
    usual = len(rows[first])
    names = [index for index in range(first) if any(rows[index]) and 0 <= usual - len(rows[index]) <= 1]
    if not names:
        wrong = "has no line of names above its numbers: put one there, with a name for each column"
        raise LogError(log, 0, f"{wrong}, or write the map by hand")
    header, units = names[-1], list[str]()
    said = [at for at in range(1, len(names)) if _is_units(rows[names[at]])]
    if said:
        units, header = rows[names[said[-1]]], names[said[-1] - 1]
    above = [cell for row in rows[:header] for cell in row if cell]
    seen = Seen(encoding, separator, ".", header + 1, first - header - 1, above, rows[header], units, rows[first:])
    numbers = [cell for row in seen.rows[:50] for cell in row if NUMBER.fullmatch(cell)]
    has_comma, has_point = (any(sign in cell for cell in numbers) for sign in ",.")
    if has_comma and separator != ",":
        seen.decimal = OPEN if has_point else ","
    return seen


def _first_reading(rows: Sequence[Sequence[str]]) -> int:
    """Find the first line of the table: it and those after it look as those at the end do."""
    like = [_looks(row) for row in rows[-max(min(len(rows) // 2, 50), 1) :]]
    usual = max(set(like), key=like.count)
    for index in range(min(len(rows), _LINES_ABOVE)):
        numbers = any(NUMBER.fullmatch(cell) for cell in rows[index])
        if numbers and all(_is_like(row, usual) for row in rows[index : index + _IN_A_ROW]):
            return index
    return 0


def _looks(row: Sequence[str]) -> tuple[int, bool]:
    """Say how many cells a line has, and whether a figure stands in its first, as in stamps."""
    return len(row), bool(row) and any(sign.isdigit() for sign in row[0])


def _is_like(row: Sequence[str], usual: tuple[int, bool]) -> bool:
    cells, has_digit = usual
    return len(row) > 1 and abs(len(row) - cells) <= 1 and _looks(row)[1] >= has_digit


def _decoded(log: Path) -> tuple[str, list[str]]:
    """Read the first lines; what is no UTF-8 is taken for the eight bits of Western Europe, to be looked at."""
    marked = marked_as(log)
    for encoding in [marked] if marked else ["utf-8", "cp1252"]:
        try:
            with log.open(encoding=encoding, newline="") as file:
                return encoding, [line for line in islice(iter(lambda: file.readline(LONGEST_LINE), ""), _LOOKED_AT)]  # noqa: C416
        except UnicodeError:
            continue
    raise LogError(log, 0, f"is not {marked or 'UTF-8, nor of one byte a letter'}; write the map by hand")


def _agreement(lines: Sequence[str], separator: str) -> tuple[int, int]:
    """Say how many lines part into as many cells as most do, and into how many."""
    counts = [line.count(separator) for line in lines if line.strip()]
    usual = max(set(counts), key=counts.count)
    return (counts.count(usual) if usual else 0), usual


def _is_units(row: Sequence[str]) -> bool:
    """Tell whether a line below the names says units: some of ours, and nothing that is long."""
    known = [cell for cell in row if cell and kinds(cell.strip("[]()"))]
    return bool(known) and all(len(cell) <= 12 for cell in row)
