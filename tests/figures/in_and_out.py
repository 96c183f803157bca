"""How long it takes to write ten million readings out of a record and to bring logs in, and how much memory."""

import json
import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
import zlib
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import msgspec

from ingest.importing.answers import answered
from ingest.importing.guess import guess
from ingest.record.chunks import gather
from ingest.record.store import Record
from ingest.wire.messages import as_recorded
from tests.figures import Figure
from tests.figures.storage import packs_of_a_minute
from tests.rigs import make_rig

READINGS = 10_000_000
MINUTES_MADE = 20
"""So many minutes are made, noise included; the rest repeats them, each minute under its own time."""
LINES = int(os.environ.get("DEWLINE_LOG_LINES", "1000000"))
"""Of the larger of two logs; `make logs` has ten million."""

PROBES = {
    "Suction pressure (psig)": 118.0,
    "Suction line temp (degF)": 52.0,
    "Liquid pressure (psig)": 340.0,
    "Liquid line temp (degF)": 96.0,
    "Return air temp (degF)": 75.0,
    "Supply air temp (degF)": 57.0,
    "Outdoor air temp (degF)": 95.0,
    "Compressor current (A)": 9.2,
}
"""What a log is of, and its level."""

_CHILD = """
import json, resource, sys, time
began_s, busy_s = time.perf_counter(), time.process_time()
exec(sys.argv[1])
took_s, busy_s = time.perf_counter() - began_s, time.process_time() - busy_s
print(json.dumps([took_s, busy_s, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]), file=sys.stderr)
"""


def measure() -> Iterator[Figure]:
    """Write ten million readings out in each kind, and bring in a log and one four times as long."""
    with tempfile.TemporaryDirectory() as folder:
        directory = Path(folder)
        record, readings = _record(directory)
        plainly = "from ingest.record.reading import RecordFile\nfrom pathlib import Path\n"
        plainly += f"for pack in RecordFile(Path({str(record)!r})).packs_after(0): pass"
        plain_s, _, plain_mb = in_a_child(plainly)
        yield Figure(
            f"reading {readings / 1e6:.1f} million readings plainly", f"{plain_s:.0f} s, {plain_mb:.0f} MB", "-"
        )
        for kind in ("csv", "parquet", "senml"):
            words = ["export", "--record", str(record), "--to", kind, "-o", str(directory / f"out.{kind}")]
            took_s, busy_s, most_mb = in_a_child(f"import dewline; assert dewline.main({words!r}) == 0")
            size_mb = (directory / f"out.{kind}").stat().st_size / 1e6
            of_reading = f"{took_s / plain_s:.2f} of reading"
            measured = (
                f"{took_s:.0f} s, {busy_s:.0f} s of a core, {of_reading}, {most_mb:.0f} MB, file {size_mb:.0f} MB"
            )
            yield Figure(f"export of them as {kind}", measured, "<= 60 s, <= 300 MB")
            (directory / f"out.{kind}").unlink()
        for lines in (LINES // 4, LINES):
            took_s, busy_s, most_mb = in_a_child(_bringing_in(directory, lines))
            measured = f"{took_s:.0f} s, {lines / busy_s:.0f} lines in a second of a core, {most_mb:.0f} MB"
            yield Figure(f"import of {lines} lines, without advice", measured, "memory the same for both")


def _record(directory: Path) -> tuple[Path, int]:
    """Make a record of one visit with so many readings, all of them chunks."""
    rig = make_rig(directory)
    made = []
    for minute in range(MINUTES_MADE):
        packs = [msgspec.structs.replace(as_recorded(pack), sequence=1) for pack in packs_of_a_minute(rig, minute)]
        made.append(gather(packs))
    per_chunk = len(packs_of_a_minute(rig, 0)) * len(made[0].columns)
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="visit", time_s=1_700_000_000.0)
    record.close()
    with closing(sqlite3.connect(rig.record)) as database, database:
        for number in range(READINGS // per_chunk + 1):
            chunk = made[number % MINUTES_MADE]
            count, shift_ms = len(chunk.times), 60_000 * (number - number % MINUTES_MADE)
            moved = msgspec.structs.replace(
                chunk,
                sequence=number * count + 1,
                times=[chunk.times[0] + shift_ms, *chunk.times[1:]],
                monotonic=[chunk.monotonic[0] + shift_ms, *chunk.monotonic[1:]],
                columns=[
                    msgspec.structs.replace(column, times=[column.times[0] + shift_ms, *column.times[1:]])
                    for column in chunk.columns
                ],
            )
            began_s = moved.times[0] / 1000
            row = (moved.sequence, (number + 1) * count, 1, "visit", began_s, began_s + 60)
            data = zlib.compress(msgspec.json.encode(moved), level=9)
            database.execute("INSERT INTO chunks VALUES (?, ?, ?, ?, ?, ?, ?)", (*row, data))
    return rig.record, (READINGS // per_chunk + 1) * per_chunk


def _bringing_in(directory: Path, lines: int) -> str:
    """Write a log of eight probes, 98 bytes a line, and say how it is brought in."""
    chance = random.Random(1)
    rows = [",".join(f"{chance.gauss(level, level / 200):.2f}" for level in PROBES.values()) for _ in range(9973)]
    log, map_ = directory / f"{lines}.csv", directory / f"{lines}.toml"
    began = datetime(2026, 1, 1)  # noqa: DTZ001 - as a logger writes it
    with log.open("w", encoding="utf-8") as file:
        file.write(",".join(["Time", *PROBES, "Remark"]) + "\n")
        for second in range(lines):
            stamp = (began + timedelta(seconds=second)).isoformat(" ", "milliseconds")
            file.write(f"{stamp},{rows[second % len(rows)]},running normally all day\n")
    words = ["zone=UTC", "elevation=100m", "tag=RTU-9", "refrigerant=R-410A", "metering_device=txv"]
    words += ["pressure.accuracy=1psi", "temperature.accuracy=0.5degC", "current.accuracy=0.1A"]
    map_.write_text(answered(guess(log).text, words, {}), encoding="utf-8")
    command = ["import", str(log), "--map", str(map_), "--data", str(directory / str(lines)), "--no-advice"]
    return f"import dewline; assert dewline.main({command!r}) == 0"


def in_a_child(does: str) -> tuple[float, float, float]:
    """Run it in a process of its own; gives how long it takes, and of a core [s], and the most memory it had [MiB]."""
    began_s = time.monotonic()
    run = subprocess.run([sys.executable, "-c", _CHILD, does], capture_output=True, text=True, check=False)
    if run.returncode:
        raise RuntimeError(f"after {time.monotonic() - began_s:.0f} s: {run.stderr[-2000:]}")
    took_s, busy_s, most_mb = json.loads(run.stderr.splitlines()[-1])
    return took_s, busy_s, most_mb
