"""What a report is made of, however it is drawn: statements and what they rest on, in blocks, on a front and a back.

A statement that rests on nothing is not part of a report. What the record has nothing of is told as "not recorded",
which rests on the visit itself.
"""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.record.reading import Origin

System = Literal["us", "si"]


class Statement(msgspec.Struct, frozen=True):
    """A text and the ids of what it rests on: marks, "pack 1207", "advice 12", "sheet RTU-7 version 3", "visit ID"."""

    text: str
    evidence: Sequence[str]


class Headline(msgspec.Struct, frozen=True, tag="headline"):
    """The one line in large letters."""

    says: Statement


class Paragraph(msgspec.Struct, frozen=True, tag="paragraph"):
    """Statements that follow each other."""

    says: Sequence[Statement]


class Items(msgspec.Struct, frozen=True, tag="items"):
    """Statements below each other."""

    says: Sequence[Statement]


class Fields(msgspec.Struct, frozen=True, tag="fields"):
    """What something is called, and what it is: at least one statement each."""

    rows: Sequence[tuple[str, Statement]]


class Run(msgspec.Struct, frozen=True, tag="run"):
    """Statements of one kind that follow each other, parted by semicolons, and what they have in common.

    yields: as of a section, where these go before the rest of theirs.
    """

    name: str
    says: Sequence[Statement]
    yields: int = 0


class Table(msgspec.Struct, frozen=True, tag="table"):
    """Rows of as many statements as there are columns; a statement of an empty text is an empty cell."""

    columns: Sequence[str]
    rows: Sequence[Sequence[Statement]]


class Picture(msgspec.Struct, frozen=True, tag="picture"):
    """A photograph of the record, by the id of its mark, and what it shows."""

    mark: str
    says: Statement


class Line(msgspec.Struct, frozen=True):
    """A course of a figure in the unit it is shown in: values at times [s since 1970]; None where not known."""

    name: str
    unit: str
    times_s: Sequence[float]
    values: Sequence[float | None]


class At(msgspec.Struct, frozen=True):
    """A moment [s since 1970] at which something was done, and in a few words what."""

    time_s: float
    says: Statement


class Trace(msgspec.Struct, frozen=True, tag="trace"):
    """Courses above each other over one time, with what was done at its moments."""

    lines: Sequence[Line]
    moments: Sequence[At]


class Signature(msgspec.Struct, frozen=True, tag="signature"):
    """Who signs; strokes: as drawn on the screen, each of points (x, y) from 0 to 1 of the field; none yet: empty."""

    role: str
    says: Statement
    strokes: Sequence[Sequence[tuple[float, float]]] = ()


Block = Headline | Paragraph | Items | Fields | Run | Table | Picture | Trace | Signature


class Section(msgspec.Struct, frozen=True):
    """Blocks under a title.

    yields: which sections a sheet that is full leaves to the file that holds all of them, 1 before 2; 0: never this.
    """

    title: str
    blocks: Sequence[Block]
    yields: int = 0


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """The page of a visit.

    tag, place: of the unit; empty where no unit was opened. zone: the time zone in which times are told (IANA).
    signed: whether the visit is; what is not is a draft. made_s: up to when the record was read [s since 1970].
    code: the page's short code with a check character. digest: of the journal, as the visit is sealed by it. marks: how
    many marks of the visit it rests on. seal_broken: the record is not as it was signed. origins: why it was not live.
    """

    visit: str
    tag: str
    place: str
    system: System
    zone: str
    signed: bool
    made_s: float
    code: str
    digest: str
    marks: int
    front: Sequence[Section]
    back: Sequence[Section]
    seal_broken: bool = False
    origins: Sequence[Origin] = ()
