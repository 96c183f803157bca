"""What is wrong with a file of units: all of it, each with the line and the column where it stands."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ingest.whole_file import NotSmallFileError, read_whole

LARGEST_FILE_BYTES = 32 * 1024 * 1024
"""Beyond any shop's register; common practice, no source."""


@dataclass(frozen=True, slots=True, order=True)
class FileFault:
    """One thing that is wrong. line: from 1; 0 for the file as a whole. column: of a table, or the key in a sheet."""

    line: int
    column: str
    said: str

    def __str__(self) -> str:
        where = ", ".join(filter(None, (f"line {self.line}" if self.line else "", self.column)))
        return f"{where}: {self.said}" if where else self.said


class UnitsFileError(Exception):
    """A file that cannot be used. Nothing of it is."""

    def __init__(self, path: Path, faults: Sequence[FileFault]) -> None:
        super().__init__(path, faults)
        self.path = path
        self.faults = sorted(faults)

    def __str__(self) -> str:
        return "\n  ".join([f"{self.path} cannot be used, and nothing of it was imported:", *map(str, self.faults)])


def read_text(path: Path) -> str:
    """Read a file of units. A byte order mark, as spreadsheets write it, is no part of it.

    Raises:
        UnitsFileError: it cannot be read, is too large, or is not UTF-8.

    """
    try:
        content = read_whole(path, LARGEST_FILE_BYTES)
    except NotSmallFileError as error:
        raise UnitsFileError(path, [FileFault(0, "", error.wrong)]) from error
    except OSError as error:
        raise UnitsFileError(path, [FileFault(0, "", f"it cannot be read: {error.strerror}")]) from error
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        said = "it is not UTF-8: save it as CSV UTF-8, or as JSON"
        raise UnitsFileError(path, [FileFault(line, "", said)]) from error
