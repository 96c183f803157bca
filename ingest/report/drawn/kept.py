"""What of a report stands on its sheet, and what is left to the file that holds all of it, where the sheet is full.

Invariant: what is left is told at its place, with the number of its lines; the report itself is never changed.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Literal

import msgspec
from msgspec.structs import replace

from ingest.report.document import (
    Block,
    Fields,
    Items,
    Paragraph,
    Picture,
    Report,
    Run,
    Section,
    Statement,
    Table,
    Trace,
)

Side = Literal["front", "back"]
_PICTURES_YIELD, _TRACE_YIELDS = 2, 6
"""Where photographs and the trace stand in the order in which sections yield (`ingest.report.back`): after the check
sums of files, and after what was met, instruments and the figures of earlier visits."""


class Kept(msgspec.Struct, frozen=True):
    """A report as its sheet has it. left: so many lines of it are not there."""

    report: Report
    left: int = 0


def file_of_all(visit: str) -> str:
    """Name the file that holds all of a report of a visit."""
    return f"report-{visit}.html"


def alone(report: Report, side: Side) -> Report:
    """Give a report with nothing on its other side, to measure this one."""
    return replace(report, back=[]) if side == "front" else replace(report, front=[])


def most_left(report: Report, side: Side) -> int:
    """Tell how many lines of a side may be left out."""
    return len(list(_in_order(report, side)))


def without(kept: Kept, side: Side, lines: int) -> Kept:
    """Leave out so many lines of a side, those first that are needed least."""
    report = kept.report
    go = Counter(at for at, _ in zip(_in_order(report, side), range(lines), strict=False))
    file = file_of_all(report.visit)
    sections = [
        _parted(section, {block: go[number, block] for block in range(len(section.blocks))}, file)
        for number, section in enumerate(getattr(report, side))
    ]
    return Kept(replace(report, **{side: sections}), kept.left + lines)


def _in_order(report: Report, side: Side) -> Iterator[tuple[int, int]]:
    """Give the place of each line that may go, by section and block, the first to go first; of a section, its last."""
    places = [
        (rank, -number, -at, lines_of(block))
        for number, section in enumerate(getattr(report, side))
        for at, block in enumerate(section.blocks)
        if (rank := _rank(section, block))
    ]
    for _, number, at, lines in sorted(places):
        yield from [(-number, -at)] * lines


def _rank(section: Section, block: Block) -> int:
    if isinstance(block, Picture):
        return _PICTURES_YIELD
    if isinstance(block, Trace):
        return _TRACE_YIELDS
    return (isinstance(block, Run) and block.yields) or section.yields


def _parted(section: Section, go: Mapping[int, int], file: str) -> Section:
    lines = sum(go.values())
    if not lines:
        return section
    stays = [
        cut for at, block in enumerate(section.blocks) if (cut := _cut(block, lines_of(block) - go[at])) is not None
    ]
    are_pictures = all(isinstance(section.blocks[at], Picture) for at, count in go.items() if count)
    what = ("photograph" if are_pictures else "line") + ("s" if lines > 1 else "")
    told = Statement(f"{lines} {what} more in the file {file}.", ())
    return replace(section, blocks=[*stays, Paragraph([told])])


def _cut(block: Block, lines: int) -> Block | None:
    """Give the first lines of a block; None for none."""
    if not lines:
        return None
    match block:
        case Items() | Run():
            return replace(block, says=block.says[:lines])
        case Fields() | Table():
            return replace(block, rows=block.rows[:lines])
        case _:
            return block


def lines_of(block: Block) -> int:
    """Count what stands by itself in a block: entries, rows, or the block."""
    match block:
        case Items() | Run():
            return len(block.says)
        case Fields() | Table():
            return len(block.rows)
        case _:
            return 1
