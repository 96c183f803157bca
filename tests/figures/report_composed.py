"""How long the report of a visit of two hours takes to compose, from a record of a year, beside one of that visit."""

import json
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import msgspec

from ingest.record.chunks import to_chunk
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.report.compose import compose
from ingest.wire.messages import decode_pack
from tests.figures import Figure
from tests.ingest.report.recorded import Visit, read
from tests.rigs import make_rig

_VISITS, _UNITS = 1_000, 40
"""Four a day, to forty units."""
_LASTS_S, _PACKS, _CHUNK = 7_200.0, 28_800, 240
"""Two hours at four packs a second, a minute in a chunk."""
_ROUNDS = 3


def measure() -> Iterator[Figure]:
    """Measure the newest visit of each record, by the best of several rounds."""
    visit = read("low_blend")
    with tempfile.TemporaryDirectory() as folder:
        few_s, many_s = (_composed_s(Path(folder) / f"{count}.sqlite", visit, count) for count in (1, _VISITS))
    told = f"{many_s:.2f} s, {many_s / few_s:.1f}x of it alone"
    yield Figure("report composed, a visit of 2 h among 1,000", told, "<= 1 s")


def _composed_s(path: Path, visit: Visit, count: int) -> float:
    rig = make_rig(path.parent)
    with closing(Record(path)) as writer:
        writer.begin_session(rig, boot="b", new_visit="v0", time_s=0.0)
    with closing(sqlite3.connect(path)) as database, database:
        for number in range(1, count + 1):
            write_visit(database, visit, number)
        _write_packs(database, visit, count)
    taken = []
    for _ in range(_ROUNDS):
        began_s = time.perf_counter()
        report = compose(RecordFile(path), f"v{count}", system="us", zone="UTC")
        taken.append(time.perf_counter() - began_s)
    assert report.signed
    return min(taken)


def write_visit(
    database: sqlite3.Connection, visit: Visit, number: int, *, units: int = _UNITS, apart_s: float = _LASTS_S
) -> None:
    """Write a visit once more, to the next of so many units, and let it last two hours.

    apart_s: from the beginning of one to that of the next [s].
    """
    name, tag = f"v{number}", f"U{number % units}"
    began_s = number * apart_s
    about, rig, boot = database.execute("SELECT about, rig, boot FROM units, sessions").fetchone()
    database.execute("INSERT OR IGNORE INTO units VALUES (?, ?)", (tag, about))
    database.execute("INSERT INTO visits VALUES (?, ?, ?, NULL)", (name, tag, began_s))
    database.execute("INSERT INTO sessions VALUES (?, ?, ?, ?, ?, NULL)", (number + 1, name, rig, boot, began_s))
    for mark in (_later(json.loads(mark), visit, name, began_s) for mark in visit.marks):
        row = (mark["id"], name, number + 1, mark["kind"], mark["time_s"], json.dumps(mark).encode())
        database.execute("INSERT INTO marks VALUES (NULL, ?, ?, ?, ?, ?, ?)", row)


def _later(mark: dict[str, Any], visit: Visit, name: str, began_s: float) -> dict[str, Any]:
    first_s, last_s = (json.loads(visit.marks[at])["time_s"] for at in (0, -1))
    for key in {"time_s", "from_s", "to_s"} & mark.keys():
        mark[key] = began_s + (mark[key] - first_s) * _LASTS_S / (last_s - first_s)
    for key in {"id", "of", "builds_on", "proposal"} & mark.keys():
        mark[key] = f"{name}-{mark[key]}"
    return mark


def _write_packs(database: sqlite3.Connection, visit: Visit, number: int) -> None:
    known = decode_pack(visit.packs[0].encode())
    for first in range(0, _PACKS, _CHUNK):
        packs = [
            msgspec.structs.replace(known, sequence=at + 1, time_s=number * _LASTS_S + at / 4, monotonic_s=at / 4)
            for at in range(first, first + _CHUNK)
        ]
        row = (first + 1, first + _CHUNK, number + 1, f"v{number}", packs[0].time_s, packs[-1].time_s, to_chunk(packs))
        database.execute("INSERT INTO chunks VALUES (?, ?, ?, ?, ?, ?, ?)", row)
