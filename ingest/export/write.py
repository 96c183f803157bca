"""Writing a visit into a file, by the kind of it."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from math import inf
from pathlib import Path
from typing import BinaryIO, Literal, get_args

import msgspec

from ingest.export import csv_rows, senml_lines, visit_json
from ingest.record.arrow import arrow, batch_of, schema_of
from ingest.record.beside import written
from ingest.record.columns import RecordedVisit
from ingest.record.errors import RecordError
from ingest.record.exported import Exported, beside, read_beside
from ingest.record.reading import RecordFile, open_record
from ingest.wire.messages import encode

Kind = Literal["csv", "parquet", "senml", "json"]
KINDS: tuple[str, ...] = get_args(Kind)
STANDARD_OUTPUT = Path("-")
_GROUP_BLOCKS = 256
"""A row group of Parquet is about an hour at four packs a second."""


def write_visit(record: Path, visit: str | None, kind: Kind, out: Path) -> RecordedVisit:
    """Write a visit of a record; without an id the newest. out: a file, or "-" for standard output.

    Raises:
        RecordError: the record or the visit cannot be read, the file cannot be written, or an extra is missing.

    """
    found = open_record(record).visit_named(visit)
    history = RecordFile(record)
    if kind == "csv":
        _csv(history, found, out)
        return found
    with _opened(out, record) as file:
        {"parquet": _parquet, "senml": _senml, "json": _json}[kind](history, found, file)
    return found


@contextmanager
def _opened(out: Path, record: Path) -> Iterator[BinaryIO]:
    if out != STANDARD_OUTPUT:
        with written(out, record) as file:
            yield file
        return
    try:
        yield sys.stdout.buffer
        sys.stdout.buffer.flush()
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        raise
    except OSError as error:
        raise RecordError(f"standard output cannot be written: {error.strerror or error}") from error


def _names(record: RecordFile, visit: RecordedVisit) -> list[str]:
    """Name every channel and figure of a visit. It is read once for that: only its packs know."""
    return list(dict.fromkeys(name for block in record.blocks(visit.id) for name in block.columns))


def _csv(record: RecordFile, visit: RecordedVisit, out: Path) -> None:
    """Write the rows, and beside a file what they need to come in again."""
    if out != STANDARD_OUTPUT:
        read_beside(out)  # refuses what is no such file, before that is lost
    names = _names(record, visit)
    first_s, last_s = inf, -inf
    with _opened(out, record.path) as file:
        file.write(csv_rows.header(names).encode())
        for block in record.blocks(visit.id):
            file.write(csv_rows.rows(block, names).encode())
            first_s, last_s = min(first_s, float(block.times_s.min())), max(last_s, float(block.times_s.max()))
        if out == STANDARD_OUTPUT:
            return
        channels = record.channels(visit.id)
        told = Exported(visit=visit.id, unit=visit.unit, channels=channels, first_s=first_s, last_s=last_s)
        with written(beside(out), record.path) as other:
            other.write(msgspec.json.format(encode(told), indent=2) + b"\n")


def _parquet(record: RecordFile, visit: RecordedVisit, file: BinaryIO) -> None:
    arrow()
    names = _names(record, visit)
    schema = schema_of(names)
    with arrow("pyarrow.parquet").ParquetWriter(file, schema, compression="zstd") as writer:
        group = []
        for block in record.blocks(visit.id):
            group.append(batch_of(block, names, schema))
            if len(group) == _GROUP_BLOCKS:
                writer.write_table(arrow().Table.from_batches(group, schema))
                group = []
        writer.write_table(arrow().Table.from_batches(group, schema))


def _senml(record: RecordFile, visit: RecordedVisit, file: BinaryIO) -> None:
    for block in record.blocks(visit.id):
        file.write(senml_lines.lines(block))


def _json(record: RecordFile, visit: RecordedVisit, file: BinaryIO) -> None:
    for part in visit_json.parts(record, visit):
        file.write(part)
