"""The lines of a log, one after another: decoded, parted into cells, numbered, and never all of them at once."""

import codecs
import csv
import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BufferedReader, TextIOWrapper
from pathlib import Path
from typing import cast

from ingest.importing.errors import LogError
from ingest.importing.log_map import LinesMap

LONGEST_LINE = 65_536
"""Letters: no logger writes a longer one, and what has no line ends must not fill the memory."""

_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


@dataclass(frozen=True, slots=True)
class Line:
    """One line after the header. number: in the file, from 1, of its end."""

    number: int
    cells: Sequence[str]


class LogFile:
    """A log, open to be read once. header: the names of its columns."""

    def __init__(self, path: Path, text: TextIOWrapper, log: LinesMap) -> None:
        self._path = path
        self._bytes = cast(BufferedReader, text.buffer)
        self._log = log
        self._number = 0
        self._lines = self._read(text)
        for _ in range(log.header_line - 1):
            if next(self._lines, None) is None:  # a map may count to any number
                break
        self._rows = csv.reader(self._lines, delimiter=log.separator, strict=True, skipinitialspace=True)
        self.header = [cell.strip() for cell in self._next() or ()]
        if not any(self.header):
            raise LogError(path, log.header_line, "no names of columns; log.header_line says in which line they are")

    @property
    def bytes_read(self) -> int:
        """How far the file was read."""
        return self._bytes.tell()

    def column(self, name: str) -> int:
        """Find a column by its name, or as "#3" by its place.

        Raises:
            LogError: there is none, or there are several.

        """
        found = places(self.header, name)
        if len(found) == 1:
            return found[0]
        told = ", ".join(f'"#{index + 1}"' for index in found)
        wrong = f"has several columns {name!r}: say which by its place, {told}" if found else self._no(name)
        if self.header.count(name) < len(found):
            wrong = f"has {name!r} as the name of one column and the place of another: rename it in a copy of the log"
        raise LogError(self._path, self._log.header_line, wrong)

    def _no(self, name: str) -> str:
        known = ", ".join(map(repr, self.header[:40]))
        return f"has no column {name!r}; there are {known}. See to log.separator and log.header_line, too"

    def __iter__(self) -> Iterator[Line]:
        """Give the lines that are not empty."""
        for _ in range(self._log.skip):
            if self._next() is None:
                return
        while (cells := self._next()) is not None:
            if cells:
                yield Line(self._number, cells)

    def _next(self) -> list[str] | None:
        try:
            return next(self._rows, None)
        except csv.Error as error:
            ended = "end of data" in str(error)
            why = "a quotation mark that opens, in this line or one above, never closes: delete it" if ended else error
            raise LogError(self._path, self._number, f"cannot be parted into cells: {why}") from error

    def _read(self, text: TextIOWrapper) -> Iterator[str]:
        while True:
            try:
                line = text.readline(LONGEST_LINE)
            except UnicodeError as error:
                wrong = f"is not {self._log.encoding} from here on ({error}); log.encoding says what it is"
                raise LogError(self._path, self._number + 1, wrong) from error
            except OSError as error:
                raise LogError(self._path, self._number + 1, f"cannot be read: {error.strerror}") from error
            if not line:
                return
            self._number += 1
            if len(line) == LONGEST_LINE and line[-1] not in "\r\n":
                raise LogError(self._path, self._number, f"has over {LONGEST_LINE} letters: no line of a log")
            yield line


def places(header: Sequence[str], name: str) -> list[int]:
    """Find the columns that a name may mean, from 0: by what stands in the header, or as "#3" by the place.

    >>> places(["time", "", "low"], "low"), places(["time", "", "low"], "#2"), places(["#3", "time", "low"], "#3")
    ([2], [1], [0, 2])
    """
    found = {index for index, known in enumerate(header) if known == name}
    if name.startswith("#") and name[1:].isdecimal() and 0 < int(name[1:]) <= len(header):
        found.add(int(name[1:]) - 1)
    return sorted(found)


@contextmanager
def open_log(path: Path, log: LinesMap) -> Iterator[LogFile]:
    """Open a log as its map has it.

    Raises:
        LogError: it is encoded otherwise, or has no header.

    """
    with path.open(encoding=codec_of(path, log.encoding), newline="") as text:
        yield LogFile(path, text, log)


def codec_of(path: Path, encoding: str) -> str:
    """Choose how to decode a log: by the mark at its beginning if there is one, which has to fit the map.

    Raises:
        LogError: the two contradict each other.

    """
    marked = marked_as(path)
    if marked is None:
        return encoding
    if not marked.startswith(codecs.lookup(encoding).name.removesuffix("-le").removesuffix("-be")[:6]):
        wrong = f'its byte order mark says {marked}, and the map {encoding}: write encoding = "{marked}"'
        raise LogError(path, 1, wrong)
    return marked


def marked_as(path: Path) -> str | None:
    """Tell what the byte order mark of a file says; None without one."""
    with path.open("rb") as file:
        start = file.read(3)
    return next((name for mark, name in _MARKS if start.startswith(mark)), None)


def check_is_file(path: Path) -> None:
    """Refuse a folder, and what may never end or never begin.

    Raises:
        LogError: it is one.

    """
    if path.exists() and not path.is_file():
        raise LogError(path, 0, "is a folder, a pipe or a device; a file was expected")


def digest_of(path: Path) -> str:
    """Give the SHA-256 of a file, by which the same log is known again."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
