"""Whole visits as a record has them, to read and to take things away from.

Each file under visits/ is one visit that a technician played at the bench (`tests/e2e/test_visits_by_touch.py`), with
those of its packs that a report reads. It is made anew from a bench's record by

    python -m tests.ingest.report.recorded RECORD NAME
"""

import base64
import gzip
import hashlib
import sys
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace

from ingest.record.reading import (
    AdviceOfVisit,
    Erasure,
    Origin,
    RecordedChannel,
    RecordFile,
    RegisteredSheet,
    VisitOfUnit,
)
from ingest.report.known import read_known
from ingest.visit.seal import digest
from ingest.wire.messages import (
    Advice,
    Mark,
    Pack,
    Photograph,
    Sheet,
    Signed,
    decode_mark,
    decode_pack,
    encode,
    encode_pack,
)
from tests.ingest.report.made import PHOTOGRAPHS, photograph

VISITS = Path(__file__).parent / "visits"


class Visit(msgspec.Struct, frozen=True):
    """What a file holds. marks, packs, advices, grounds: as the record has them; numbers: of the advices."""

    id: str
    tag: str
    marks: Sequence[str]
    sheets: Sequence[tuple[Sheet, float, str]]
    packs: Sequence[str]
    numbers: Sequence[int]
    advices: Sequence[Advice]
    grounds: Sequence[str]
    channels: Sequence[tuple[str, str, str, str, float, float, str, str]]


class Shelf:
    """A history of these visits, the oldest first, and nothing else. Its lists may be changed."""

    def __init__(self, *visits: Visit) -> None:
        self.erased: list[Erasure] = []
        self.origin: list[Origin] = []
        self.tags = {it.id: it.tag for it in visits}
        self.marks = {it.id: with_pictures([decode_mark(mark.encode()) for mark in it.marks]) for it in visits}
        self.packs = {it.id: [decode_pack(pack.encode()) for pack in it.packs] for it in visits}
        self.kept = [RegisteredSheet(*sheet) for it in visits for sheet in it.sheets]
        self.given = {
            it.id: [
                AdviceOfVisit(number, advice, base64.b64decode(grounds))
                for number, advice, grounds in zip(it.numbers, it.advices, it.grounds, strict=True)
            ]
            for it in visits
        }
        self.measured = {it.id: [_channel(*channel) for channel in it.channels] for it in visits}

    @classmethod
    def of(cls, visit: str, tag: str, marks: Sequence[Mark], *sheets: Sheet) -> "Shelf":
        """A shelf with one visit of these marks."""
        kept = [(sheet, 0.0, "") for sheet in sheets]
        return cls(Visit(visit, tag, [encode(mark).decode() for mark in marks], kept, [], [], [], [], []))

    def put(self, visit: str, tag: str, marks: Sequence[Mark]) -> None:
        """Put another visit after those that there are."""
        self.tags[visit], self.marks[visit], self.packs[visit] = tag, list(marks), []
        self.given[visit], self.measured[visit] = [], []

    def origins(self, visit: str) -> list[Origin]:
        return self.origin

    def photograph(self, mark_id: str) -> bytes | None:
        return picture()

    def erasures(self) -> list[Erasure]:
        return self.erased

    def unit_of(self, visit: str) -> str | None:
        return self.tags.get(visit)

    def has_visit(self, visit: str) -> bool:
        return visit in self.tags

    def newest_visit(self) -> str | None:
        return list(self.tags)[-1] if self.tags else None

    def marks_of(self, visits: Sequence[str]) -> dict[str, list[Mark]]:
        return {visit: list(self.marks[visit]) for visit in visits}

    def packs_at(self, visit: str, times_s: Sequence[float], within_s: float) -> list[Pack | None]:
        def nearest(time_s: float) -> Pack | None:
            near = [pack for pack in self.packs[visit] if abs(pack.time_s - time_s) <= within_s]
            return min(near, key=lambda pack: abs(pack.time_s - time_s), default=None)

        return [nearest(time_s) for time_s in times_s]

    def advices_of(self, visit: str) -> Iterator[AdviceOfVisit]:
        yield from self.given[visit]

    def channels(self, visit: str) -> list[RecordedChannel]:
        return self.measured[visit]

    def sheets_of(self, tag: str) -> list[RegisteredSheet]:
        return [it for it in self.kept if it.sheet.tag == tag][::-1]

    def visits_of(self, tag: str) -> list[VisitOfUnit]:
        return [VisitOfUnit(visit, 0.0, None) for visit, at in reversed(self.tags.items()) if at == tag]


def read(name: str) -> Visit:
    """Read a visit of a file."""
    return msgspec.json.decode(gzip.decompress((VISITS / f"{name}.json.gz").read_bytes()), type=Visit)


@cache
def picture() -> bytes:
    """Give the one JPEG that stands for every photograph: those of the visits themselves are not kept with them."""
    return photograph(PHOTOGRAPHS[0]) or b""


def with_pictures(marks: Sequence[Mark]) -> list[Mark]:
    """Give marks whose photographs are that one, sealed anew where they were sealed rightly."""
    taken = hashlib.sha256(picture()).hexdigest()
    made: list[Mark] = []
    for number, mark in enumerate(marks):
        if isinstance(mark, Photograph):
            made.append(replace(mark, digest=taken))
        elif isinstance(mark, Signed) and mark.digest == digest(marks[:number]):
            made.append(replace(mark, digest=digest(made)))
        else:
            made.append(mark)
    return made


def names() -> list[str]:
    return sorted(path.name.removesuffix(".json.gz") for path in VISITS.glob("*.json.gz"))


def thinned(record: RecordFile) -> Visit:
    """Give the newest visit of a record with no more packs than a report reads, and no more advices."""
    visit = record.newest_visit()
    assert visit is not None
    known = read_known(record, visit)
    packs = {pack.sequence: pack for pack in (*known.moments.values(), *known.course)}
    channels = [_tuple(it) for it in known.channels]
    return Visit(
        visit,
        known.tag,
        [encode(mark).decode() for mark in known.marks],
        [(it.sheet, it.since_s, it.mark) for it in record.sheets_of(known.tag)[::-1]],
        [encode_pack(pack).decode() for _, pack in sorted(packs.items(), key=lambda it: it[1].time_s)],
        [it.number for it in known.advices],
        [it.advice for it in known.advices],
        [base64.b64encode(it.grounds).decode() for it in known.advices],
        channels,
    )


Channel = tuple[str, str, str, Any, float, float, str, str]
"""Of a channel what a report reads: name, instrument, unit, reference, both of its ±, calibrated, mark."""


def _tuple(it: RecordedChannel) -> Channel:
    spreads = (it.accuracy, it.standard_uncertainty)
    return it.name, it.instrument, it.unit, it.reference, *spreads, it.calibrated, it.mark


def _channel(*it: Any) -> RecordedChannel:
    name, instrument, unit, reference, accuracy, spread, calibrated, mark = it
    return RecordedChannel(name, instrument, "", 0.0, unit, reference, accuracy, spread, 1.0, 0.0, calibrated, mark)


if __name__ == "__main__":
    taken = thinned(RecordFile(Path(sys.argv[1])))
    VISITS.mkdir(exist_ok=True)
    (VISITS / f"{sys.argv[2]}.json.gz").write_bytes(gzip.compress(msgspec.json.encode(taken), 9, mtime=0))
