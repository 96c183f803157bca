"""A visit and its unit as JSON, by the schema docs/visit.schema.json."""

from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec

from ingest.record.columns import RecordedVisit
from ingest.record.reading import RecordFile
from ingest.wire.messages import Advice, ChannelAbout, Mark, Sheet, UnitAbout, encode


class VisitExport(msgspec.Struct, frozen=True, kw_only=True):
    """A visit: its unit as it was in view, the newest sheet of it, how it was measured, and its journal.

    started_s, ended_s: [s since 1970]; ended_s is null while it is open. marks: oldest first, none is ever changed.
    advices: as they were given. Photographs are named in marks, and stay in the record.
    """

    format: Literal["dewline visit 1"] = "dewline visit 1"
    visit: str
    started_s: float
    ended_s: float | None
    unit: UnitAbout
    sheet: Sheet | None
    channels: Sequence[ChannelAbout]
    marks: Sequence[Mark]
    advices: Sequence[Advice] = ()


def parts(record: RecordFile, visit: RecordedVisit) -> Iterator[bytes]:
    """Write it, advice by advice: those of days do not fit a list."""
    sheet = record.sheet(visit.unit.tag)
    told = VisitExport(
        visit=visit.id,
        started_s=visit.started_s,
        ended_s=visit.ended_s,
        unit=visit.unit,
        sheet=sheet.sheet if sheet else None,
        channels=[channel.about() for channel in record.channels(visit.id)],
        marks=[recorded.mark for recorded in record.marks_after(visit.id, 0)],
    )
    yield encode(told).removesuffix(b"]}")  # the advices come last
    separator = b""
    for advice in record.advices():
        if advice.visit == visit.id:
            yield separator + advice.payload
            separator = b",\n"
    yield b"]}\n"
