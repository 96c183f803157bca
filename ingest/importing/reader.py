"""The lines of a log as stamps and values, many at once.

What is sound is read column by column. Where anything in some lines is not, they are read anew one after the other, so
that what is told is of the first line that is wrong, and what may be left out is.
"""

import copy
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, pairwise
from pathlib import Path

from ingest.channels import STALE_INTERVALS
from ingest.frames import Earlier, Value
from ingest.importing.cells import Cells, parted
from ingest.importing.errors import CellError, LogError
from ingest.importing.lines import Line, LogFile
from ingest.importing.log_map import ReadMap
from ingest.importing.stamps import Stamps
from ingest.importing.stated import other_unit
from ingest.record.chunks import CHUNK_PACKS

_MOST_TOLD = 5
"""So many of the lines that were left out are told one by one."""
LINES_AT_ONCE = 20 * CHUNK_PACKS


@dataclass(slots=True)
class Taken:
    """What became of a log. left_out: how many lines were; told: the first of them, each with why.

    gaps: how often more than three intervals lie between two lines; longest_gap_s: the longest of them.
    out_of_range: by channel how many values could not be, first the first of them. sound: channels with any that can.
    """

    visit: str
    packs: int = 0
    advices: int = 0
    left_out: int = 0
    told: list[str] = field(default_factory=list)
    gaps: int = 0
    longest_gap_s: float = 0.0
    first_s: float = 0.0
    last_s: float = 0.0
    out_of_range: dict[str, tuple[int, str]] = field(default_factory=dict)
    sound: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class Batch:
    """Some lines that follow each other. times_s: each one's [s since 1970], rising; values: by column, one a line.

    dated_back_s: how long before its line the middle of what its numbers say was, where they are averages.
    """

    times_s: Sequence[float]
    values: dict[str, Sequence[Value | None]]
    dated_back_s: float = 0.0

    def rows(self) -> Iterator[tuple[float, dict[str, Value]]]:
        """Give each line's time [s since 1970] and its values by column."""
        for time_s, *cells in zip(self.times_s, *self.values.values(), strict=True):
            yield time_s, {n: self._dated(cell) for n, cell in zip(self.values, cells, strict=True) if cell is not None}

    def _dated(self, value: Value) -> Value:
        return Earlier(value, self.dated_back_s) if self.dated_back_s and isinstance(value, float) else value


class Reader:
    """Reads a log."""

    def __init__(self, path: Path, file: LogFile, read: ReadMap, taken: Taken, now_s: float) -> None:
        written = read.written
        self._path, self._file, self._written = path, file, written
        self._cells = Cells(written.log)
        try:
            self._stamps = Stamps(written.time, read.interval_s, now_s, path.name)
        except CellError as error:
            raise LogError(path, 0, str(error)) from error
        names = [written.time.column, *filter(None, [written.time.and_column])]
        self._stamp_columns = [file.column(name) for name in names]
        self._columns = {channel.column: file.column(channel.column) for channel in written.channels}
        self._check_columns()
        self._moved_s, self.dated_back_s = _average(written.time.value, read.interval_s)
        self._gap_s = STALE_INTERVALS * read.interval_s
        self._before_s: float | None = None
        self.taken = taken

    def _check_columns(self) -> None:
        """Refuse a column that is read twice, and one whose header says another unit than the map."""
        taken: dict[int, str] = dict.fromkeys(self._stamp_columns, "the stamps")
        for channel in self._written.channels:
            index = self._file.column(channel.column)
            name = f"column {index + 1}, {self._file.header[index]!r},"
            if index in taken:
                raise LogError(self._path, self._written.log.header_line, f"{name} is taken for {taken[index]} already")
            taken[index] = channel.channel
            if stated := other_unit(self._file.header[index], channel):
                wrong = f"{name} says {stated!r}, and the map {channel.unit!r}: correct which is wrong"
                raise LogError(self._path, self._written.log.header_line, wrong)

    def batches(self) -> Iterator[Batch]:
        """Give the lines, some thousands at once.

        Raises:
            LogError: one of them cannot be read, or is not later than the one before.

        """
        lines = iter(self._file)
        while some := list(islice(lines, LINES_AT_ONCE)):
            before = copy.copy(self._stamps)
            try:
                batch = self._all_of(some)
            except CellError:
                self._stamps = before
                batch = self._one_by_one(some)
            self._count_gaps(batch.times_s)
            if batch.times_s:
                yield batch

    def _all_of(self, lines: Sequence[Line]) -> Batch:
        """Read lines of which every one is sound; raises CellError where one is not."""
        columns = list(zip(*(parted(line.cells, len(self._file.header)) for line in lines), strict=False))
        values = {name: self._cells.read_all(name, columns[index]) for name, index in self._columns.items()}
        times_s = [
            self._stamps.read(" ".join(text.strip() for text in texts)) + self._moved_s
            for texts in zip(*(columns[index] for index in self._stamp_columns), strict=True)
        ]
        befores = times_s if self._before_s is None else [self._before_s, *times_s]
        if any(later <= earlier for earlier, later in pairwise(befores)):
            raise CellError("not later than the line before")
        return Batch(times_s, values, self.dated_back_s)

    def _one_by_one(self, lines: Sequence[Line]) -> Batch:
        """Read lines of which some may be left out."""
        times_s: list[float] = []
        rows: list[list[Value | None]] = []
        before_s = self._before_s
        for line in lines:
            try:
                cells = parted(line.cells, len(self._file.header))
                self._check_is_no_header(cells)
                stamp = " ".join(cells[index].strip() for index in self._stamp_columns)
                time_s = self._stamps.read(stamp) + self._moved_s
                row = [self._cells.read(name, cells[index]) for name, index in self._columns.items()]
            except CellError as error:
                self._leave_out(line, str(error), self._written.log.broken_lines)
                continue
            if before_s is not None and time_s <= before_s:
                how = "the same stamp as" if time_s == before_s else f"a stamp {before_s - time_s:g} s before that of"
                past = " (past midnight? cut the log there)" if self._written.time.date else ""
                wrong = (
                    f'has {how} the line before{past}; see to it, or leave such lines out by not_later = "leave_out"'
                )
                self._leave_out(line, f"{wrong} under [time]", self._written.time.not_later)
                continue
            before_s = time_s
            times_s.append(time_s)
            rows.append(row)
        columns = zip(*rows, strict=True) if rows else ([] for _ in self._columns)
        return Batch(times_s, dict(zip(self._columns, columns, strict=True)), self.dated_back_s)

    def _check_is_no_header(self, cells: Sequence[str]) -> None:
        """Refuse the names of the columns where readings were expected, as of logs that were put behind each other."""
        if [cell.strip() for cell in cells] == [name.strip() for name in self._file.header]:
            raise CellError(
                "has the names of the columns once more; delete it, or leave such lines out by "
                'broken_lines = "leave_out" under [log]'
            )

    def _count_gaps(self, times_s: Sequence[float]) -> None:
        befores = times_s if self._before_s is None else [self._before_s, *times_s]
        gaps_s = [gap_s for before_s, time_s in pairwise(befores) if (gap_s := time_s - before_s) > self._gap_s]
        self.taken.gaps += len(gaps_s)
        self.taken.longest_gap_s = max(self.taken.longest_gap_s, *gaps_s, 0.0)
        self._before_s = times_s[-1] if times_s else self._before_s

    def _leave_out(self, line: Line, wrong: str, how: str) -> None:
        if how == "refuse":
            raise LogError(self._path, line.number, wrong)
        self.taken.left_out += 1
        if len(self.taken.told) < _MOST_TOLD:
            self.taken.told.append(f"line {line.number}: {wrong.partition(';')[0]}")


def _average(value: str, interval_s: float) -> tuple[float, float]:
    """Say by how much a line comes after its stamp, and how long before that what it says was so, in the middle [s]."""
    return {
        "sample": (0.0, 0.0),
        "average_before": (0.0, interval_s / 2.0),
        "average_after": (interval_s, interval_s / 2.0),
    }[value]
