"""A visit that went out as CSV, in again: each reading as it was recorded, and nothing worked out anew.

Its unit and channels stand in the file that the export wrote beside it (`ingest.record.exported`).
"""

from codecs import BOM_UTF8
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby, islice
from math import nan
from pathlib import Path
from typing import TypeVar

from calc.quantities import CHANNELS, QUANTITIES, Quantity
from calc.units import conversion
from ingest.checking.plate import Span
from ingest.importing.can_be import STAMP_S
from ingest.importing.cells import parted
from ingest.importing.errors import CellError, LogError
from ingest.importing.lines import LogFile, check_is_file
from ingest.importing.log_map import LinesMap
from ingest.importing.reader import Taken
from ingest.record.chunks import CHUNK_PACKS, Chunk, Column, differences, runs
from ingest.record.exported import Exported, beside
from ingest.record.guarded import unguarded
from ingest.record.headers import OF_A_PACK, Heads, heads
from ingest.record.incoming import Incoming
from ingest.record.reading import RecordedChannel
from ingest.rig import ChannelSetup, InstrumentSetup, Rig
from ingest.wire.messages import DECIMALS, QUALITIES
from ingest.wire.texts import LONGEST_TEXT, fault

T = TypeVar("T")

LINES = LinesMap(interval="1 s")
"""As an export writes them: UTF-8, commas, points, one line of names."""


def is_exported(log: Path) -> bool:
    """Tell by its first columns whether a file is a visit that went out.

    Raises:
        LogError: it cannot be read.

    """
    first = ",".join(OF_A_PACK).encode()
    check_is_file(log)
    try:
        with log.open("rb") as file:
            return file.read(len(first) + len(BOM_UTF8)).removeprefix(BOM_UTF8).startswith(first)
    except OSError as error:
        raise LogError(log, 0, f"cannot be read: {error.strerror}") from error


def rig_of(exported: Exported, record: Path) -> Rig:
    """Give what measured a visit."""
    by_instrument: dict[tuple[str, str, float], list[ChannelSetup]] = {}
    for channel in exported.channels:
        instrument = channel.instrument, channel.link, channel.interval_s
        by_instrument.setdefault(instrument, []).append(_setup(channel))
    instruments = tuple(InstrumentSetup(*it, tuple(channels)) for it, channels in by_instrument.items())
    return Rig("imported", record, nan, nan, exported.unit, instruments)  # pressures are absolute already


def _setup(channel: RecordedChannel) -> ChannelSetup:
    reference = channel.reference or None
    to_si = conversion(channel.unit, CHANNELS[channel.name], reference=reference, barometric_pressure_pa=0.0)
    return ChannelSetup(
        channel.name,
        channel.instrument,
        channel.name,
        channel.unit,
        channel.reference,
        to_si,
        channel.accuracy,
        channel.interval_s,
        channel.slope,
        channel.offset,
        date.fromisoformat(channel.calibrated) if channel.calibrated else None,
        channel.standard_uncertainty,
    )


@dataclass(frozen=True, slots=True)
class _Row:
    """One row as it stands. has: which channels and figures its pack had."""

    line: int
    cells: Sequence[str]
    session: str
    has: tuple[str, ...]


def take_recorded(
    log: Path, exported: Exported, file: LogFile, incoming: Incoming, taken: Taken, took: Callable[[int, LogFile], None]
) -> None:
    """Take the rows of a visit into a record.

    Raises:
        LogError: one cannot be read, or stands where it did not.

    """
    table = _Table(log, file)
    session: str | None = None
    for rows in table.rows_alike():
        chunk = table.chunk(rows, incoming)
        first_s, last_s = chunk.times[0] / 1000.0, sum(chunk.times) / 1000.0
        for row, time_s in ((rows[0], first_s), (rows[-1], last_s)):
            _check_is_of(exported, time_s, log, row.line)
        if session is not None and rows[0].session != session:
            incoming.begin_session(first_s, taken.last_s)
            chunk = table.chunk(rows, incoming)
        session = rows[0].session
        incoming.add_chunk(chunk)
        taken.first_s, taken.last_s = taken.first_s or first_s, last_s
        taken.packs += len(rows)
        took(len(rows), file)


def _check_is_of(exported: Exported, time_s: float, log: Path, line: int) -> None:
    """Refuse a row that is not of the visit of which the file beside it tells: one of them may be another's."""
    if not (exported.first_s or 0.0) <= time_s <= (exported.last_s or 0.0):
        wrong = f"is of another time than the visit {exported.visit}, of which {beside(log).name} tells"
        raise LogError(log, line, f"{wrong}: bring the two that went out together")


class _Table:
    """The rows of a visit that went out. Columns that are none of an export's are left."""

    def __init__(self, log: Path, file: LogFile) -> None:
        self._log, self._file = log, file
        self._at = {name: file.column(name) for name in OF_A_PACK}
        named = [(name, heads(name)) for name in QUANTITIES]
        self._names = {
            name: Heads(*(str(file.column(head)) for head in head_names))
            for name, head_names in named
            if head_names.value in file.header
        }

    def rows_alike(self) -> Iterator[list[_Row]]:
        """Give the rows in order, so many at once as can be a chunk: of one session, with the same columns."""
        for _, group in groupby(self._rows(), lambda row: (row.session, row.has)):
            while rows := list(islice(group, CHUNK_PACKS)):
                yield rows

    def _rows(self) -> Iterator[_Row]:
        before, qualities = 0, {name: int(it.quality) for name, it in self._names.items()}
        for line in self._file:
            try:
                cells = parted(line.cells, len(self._file.header))
                sequence = _whole("sequence", cells[self._at["sequence"]])
                _whole("session", cells[self._at["session"]])
            except CellError as error:
                raise LogError(self._log, line.number, str(error)) from error
            if sequence <= before:
                wrong = f"pack {sequence} follows pack {before}: the rows are not in the order in which they went out"
                raise LogError(self._log, line.number, f"{wrong}; sort them by sequence")
            before = sequence
            has = tuple(name for name, at in qualities.items() if cells[at])
            yield _Row(line.number, cells, cells[self._at["session"]], has)

    def chunk(self, rows: Sequence[_Row], incoming: Incoming) -> Chunk:
        """Lay rows out as a chunk, numbered behind what came in so far."""

        def column(name: str, read: Callable[[str, str], T]) -> list[T]:
            return self._column(rows, name, self._at[name], read)

        times_ms = column("time", _time_ms)
        return Chunk(
            "imported",
            incoming.sequence + 1,
            incoming.session,
            runs(column("epoch", _whole)),
            runs(column("unsaved_packs", _whole)),
            differences(column("monotonic_s", _thousandths)),
            differences(times_ms),
            [self._of(name, rows, times_ms) for name in rows[0].has],
        )

    def _of(self, name: str, rows: Sequence[_Row], times_ms: Sequence[int]) -> Column:
        head, at = heads(name), self._names[name]
        scale = 10.0 ** DECIMALS[QUANTITIES[name]]

        def scaled(column: str, text: str) -> int | None:
            value = _number(column, text) if text else None
            if value is not None and value < _LEAST.get(QUANTITIES[name], -_LARGEST):
                raise CellError(f"{column}: {text[:40]!r} cannot be")
            return None if value is None else round(value * scale)

        values = self._column(rows, head.value, int(at.value), scaled)
        ages_ms = self._column(rows, head.age, int(at.age), _age_ms)
        spreads = self._column(
            rows,
            head.standard_uncertainty,
            int(at.standard_uncertainty),
            lambda column, text: _spread(column, text) if text else None,
        )
        return Column(
            name,
            runs(value is not None for value in values),
            differences(value for value in values if value is not None),
            differences(time_ms - age_ms for time_ms, age_ms in zip(times_ms, ages_ms, strict=True)),
            runs(self._column(rows, head.quality, int(at.quality), _quality)),
            runs(self._column(rows, head.reason, int(at.reason), _reason)),
            runs(spreads),
        )

    def _column(self, rows: Sequence[_Row], name: str, at: int, read: Callable[[str, str], T]) -> list[T]:
        found = []
        for row in rows:
            try:
                found.append(read(name, row.cells[at]))
            except CellError as error:
                raise LogError(self._log, row.line, str(error)) from error
        return found


def _number(column: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError as error:
        raise CellError(f"{column}: {text[:40]!r} is no number") from error
    if not abs(value) < _LARGEST:
        raise CellError(f"{column}: {text[:40]!r} is beyond any reading")
    return value


_LARGEST = 1e12
"""More than any reading and any stamp [SI]."""


_LEAST = {Quantity.PRESSURE: -2e4, Quantity.TEMPERATURE: -273.15}
"""In the units of the columns: nothing is below absolute zero (0 K, SI Brochure, 2.3.1), and of a vacuum a probe whose
zero is off reads a little less than nothing: 0.2 bar, common practice, no source."""
_AGE_S = Span(-9e8, 1e10)
"""Below nothing where a clock was set back, by 28 years at most: common practice, no source."""


def _spread(column: str, text: str) -> float:
    value = _number(column, text)
    if value < 0.0:
        raise CellError(f"{column}: {text[:40]!r} cannot be: an uncertainty is not below nothing")
    return value


def _age_ms(column: str, text: str) -> int:
    if not _AGE_S.least <= _number(column, text) <= _AGE_S.most:
        raise CellError(f"{column}: {text[:40]!r} is beyond any age of a reading")
    return _thousandths(column, text)


def _reason(column: str, cell: str) -> str:
    text = unguarded(cell)
    if wrong := fault(text, LONGEST_TEXT):
        raise CellError(f"{column}: {wrong}")
    return text


def _thousandths(column: str, text: str) -> int:
    return round(_number(column, text) * 1000.0)


def _whole(column: str, text: str) -> int:
    if not text.isascii() or not text.isdecimal():
        raise CellError(f"{column}: {text[:40]!r} is no whole number")
    if len(text.lstrip("0")) > _MOST_FIGURES:
        raise CellError(f"{column}: {text[:40]!r} is more than any record counts")
    return int(text)


_MOST_FIGURES = 16
"""More than a record ever counts: common practice, no source."""


def _quality(column: str, text: str) -> str:
    if text not in QUALITIES:
        raise CellError(f"{column}: {text[:40]!r} is none of {', '.join(QUALITIES)}")
    return text


def _time_ms(column: str, text: str) -> int:
    try:
        found = datetime.fromisoformat(text)
    except ValueError as error:
        raise CellError(f"{column}: {text[:40]!r} is not written as an export writes it") from error
    if found.tzinfo is None:
        raise CellError(f"{column}: {text[:40]!r} does not state its zone, as an export does")
    if not STAMP_S.least <= found.timestamp() <= STAMP_S.most:
        raise CellError(f"{column}: {text[:40]!r} is of no year in which a rig records")
    return round(found.timestamp() * 1000.0)
