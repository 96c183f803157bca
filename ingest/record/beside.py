"""A file written out of a record: whole or not at all, and never in the place of a record."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from ingest.record.errors import RecordError

_SQLITE = b"SQLite format 3\0"
"""How every file of SQLite begins (sqlite.org/fileformat2.html, section 1.3)."""
_OF_A_RECORD = ("-wal", "-shm", "-journal", ".lock")
"""How the files are called that belong to a record, behind its name."""


@contextmanager
def written(out: Path, record: Path | None = None) -> Iterator[BinaryIO]:
    """Open a file to be written, out of a record or beside it; one that is there is replaced once the new one is whole.

    Raises:
        RecordError: it is a record, belongs to one, is no file, or cannot be written.

    """
    unfinished = out.with_name(f"{out.name}.writing")
    try:
        for path in (out, unfinished):
            _refuse_a_record(path, record)
        try:
            with unfinished.open("wb") as file:
                yield file
            unfinished.replace(out)
        finally:
            unfinished.unlink(missing_ok=True)
    except OSError as error:
        raise RecordError(f"{out} cannot be written: {error.strerror or error}") from error


def _refuse_a_record(out: Path, record: Path | None) -> None:
    if out.exists() and not out.is_file():
        raise RecordError(f"{out} is no file: name one that is to be written")
    if _is_a_record(out) or (record and out.exists() and record.exists() and out.samefile(record)):
        raise RecordError(f"{out} is a record, or another database, and would be lost: name another file")
    for suffix in _OF_A_RECORD:
        of = out.with_name(out.name.removesuffix(suffix))
        if of != out and (_is_a_record(of) or (record and of.resolve() == record.resolve())):
            raise RecordError(f"{out} belongs to the record {of}, which would be lost with it: name another file")


def _is_a_record(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(_SQLITE)) == _SQLITE
