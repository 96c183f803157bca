"""The register for people at the shell: what there is, newest first."""

from collections.abc import Mapping, Sequence

from ingest.local_time import day_here
from ingest.record.reading import RegisteredSheet
from ingest.wire.messages import Sheet

NEVER = "no visit yet"


def as_lines(units: Sequence[RegisteredSheet], visited: Mapping[str, float]) -> list[str]:
    """Give a line for each unit: tag, when it was last visited, circuits and place.

    visited: when the last visit at each unit began [s since 1970], by tag.
    """

    def newest_s(kept: RegisteredSheet) -> float:
        return max(kept.since_s, visited.get(kept.sheet.tag, 0.0))

    sheets = [kept.sheet for kept in sorted(units, key=newest_s, reverse=True)]
    rows = [(sheet.tag, _when(visited.get(sheet.tag)), _circuits(sheet), sheet.place) for sheet in sheets]
    widths = [max(len(row[column]) for row in rows) for column in range(3)] if rows else []
    columns = [[f"{text:{width}}" for text, width in zip(row, widths, strict=False)] for row in rows]
    return ["  ".join([*cells, row[3]]).rstrip() for cells, row in zip(columns, rows, strict=True)]


def _circuits(sheet: Sheet) -> str:
    if len(sheet.circuits) == 1:
        return sheet.circuits[0].refrigerant
    return ", ".join(f"{circuit.name} {circuit.refrigerant}" for circuit in sheet.circuits)


def _when(visited_s: float | None) -> str:
    if visited_s is None:
        return NEVER
    return day_here(visited_s)
