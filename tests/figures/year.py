"""How long a record of a year takes: to open any visit of it, to report on any, to take ten million readings out.

1,500 visits to 300 units, each with the journal of a visit that a technician played at the bench, moves and photographs
among it, and half an hour of packs with noise; the last of them goes on until it has ten million readings.
"""

import os
import random
import sqlite3
import tempfile
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import msgspec

from ingest.record.chunks import Chunk, gather
from ingest.record.reading import RecordFile, open_record
from ingest.record.store import Record
from ingest.register.remembered import as_lines
from ingest.rig import Rig
from ingest.visit.standing import Standing
from ingest.wire.messages import as_recorded
from tests.figures import Figure
from tests.figures.in_and_out import MINUTES_MADE, READINGS, in_a_child
from tests.figures.report_composed import write_visit
from tests.figures.storage import packs_of_a_minute
from tests.ingest.report.recorded import read
from tests.rigs import make_rig

_VISITS, _UNITS = 1_500, 300
_APART_S = 365 * 86_400 / _VISITS
_MINUTES = 30
_LOOKED_AT = 8


def measure() -> Iterator[Figure]:
    """Make the record, and measure at some of its visits, the first and the last among them; the worst is told."""
    with tempfile.TemporaryDirectory() as folder:
        directory = Path(folder)
        rig = make_rig(directory)
        began_s = time.monotonic()
        readings = write_year(rig)
        size_mb = rig.record.stat().st_size / 1e6
        made = f"{_VISITS} visits, {readings / 1e6:.0f} million readings, {size_mb:.0f} MB"
        yield Figure("a year in one record", f"{made}, made in {time.monotonic() - began_s:.0f} s", "-")
        chance = random.Random(1)
        visits = ["v1", f"v{_VISITS - 1}", *(f"v{chance.randrange(2, _VISITS)}" for _ in range(_LOOKED_AT - 2))]
        yield _worst("a visit opened: journal, standing, readings", visits, lambda it: _open(rig.record, it), "<= 1 s")
        tags = [f"U{number}" for number in range(0, _UNITS, _UNITS // _LOOKED_AT)]
        yield _worst(
            "what is remembered of a unit", tags, lambda tag: as_lines(RecordFile(rig.record), tag, "us"), "<= 1 s"
        )
        report = ["report", "--record", str(rig.record), "-o", str(directory / "report.pdf")]
        yield _worst("a visit reported as PDF", visits, lambda it: _run([*report[:1], it, *report[1:]]), "<= 5 s")
        yield _worst("a rig begins in it", [""], lambda _: _begin(rig), "<= 1 s")
        for kind in ("csv", "parquet", "senml"):
            words = ["export", "--record", str(rig.record), "--visit", f"v{_VISITS}", "--to", kind]
            took_s, busy_s, most_mb = in_a_child(_command([*words, "-o", str(directory / "out")]))
            measured = f"{took_s:.0f} s, {busy_s:.0f} s of a core, {most_mb:.0f} MB"
            yield Figure(f"export of {READINGS / 1e6:.0f} million readings as {kind}", measured, "<= 60 s, <= 300 MB")


def write_year(rig: Rig) -> int:
    """Write the record; returns how many readings there are."""
    visit = read("low_blend")
    with closing(Record(rig.record)) as record:
        record.begin_session(rig, boot="b", new_visit="v0", time_s=0.0)
    made = [gather([msgspec.structs.replace(as_recorded(it), sequence=1) for it in packs_of_a_minute(rig, minute)])
            for minute in range(MINUTES_MADE)]  # fmt: skip
    per_chunk = len(made[0].times) * len(made[0].columns)
    sequence, readings = 1, 0
    with closing(sqlite3.connect(rig.record)) as database, database:
        for number in range(1, _VISITS + 1):
            write_visit(database, visit, number, units=_UNITS, apart_s=_APART_S)
            minutes = _MINUTES if number < _VISITS else READINGS // per_chunk + 1
            for minute in range(minutes):
                began_s = number * _APART_S + minute * 60
                moved = moved_to(made[minute % MINUTES_MADE], sequence, round(1000 * began_s), 60_000 * minute)
                last = sequence + len(moved.times) - 1
                data = zlib.compress(msgspec.json.encode(moved), level=1)
                row = (sequence, last, number + 1, f"v{number}", began_s, began_s + 60)
                database.execute("INSERT INTO chunks VALUES (?, ?, ?, ?, ?, ?, ?)", (*row, data))
                sequence, readings = last + 1, readings + per_chunk
    return readings


def moved_to(chunk: Chunk, sequence: int, time_ms: int, monotonic_ms: int) -> Chunk:
    """Give a chunk as it would have been at another time."""
    shift_ms = time_ms - chunk.times[0]
    columns = [
        msgspec.structs.replace(column, times=[column.times[0] + shift_ms, *column.times[1:]])
        for column in chunk.columns
    ]
    return msgspec.structs.replace(
        chunk,
        sequence=sequence,
        times=[time_ms, *chunk.times[1:]],
        monotonic=[monotonic_ms, *chunk.monotonic[1:]],
        columns=columns,
    )


def _worst(what: str, names: list[str], act: Callable[[str], object], target: str) -> Figure:
    taken_s, busy_s = [], []
    for name in names:
        began_s, before_s = time.perf_counter(), sum(os.times()[:4])
        act(name)
        taken_s.append(time.perf_counter() - began_s)
        busy_s.append(sum(os.times()[:4]) - before_s)
    return Figure(what, f"{max(taken_s):.2f} s at worst, {max(busy_s):.2f} s of a core", target)


def _open(record: Path, visit: str) -> None:
    marks = [found.mark for found in RecordFile(record).marks_after(visit, 0)]
    assert marks
    Standing(visit, marks)
    arrays = open_record(record).visit(visit)
    assert len(arrays["superheat"].values) == _MINUTES * 240


def _begin(rig: Rig) -> None:
    with closing(Record(rig.record)) as record:
        record.begin_session(rig, boot="another", new_visit="next", time_s=2e9)


def _run(words: list[str]) -> None:
    in_a_child(_command(words))


def _command(words: list[str]) -> str:
    return f"import dewline; assert dewline.main({words!r}) == 0"
