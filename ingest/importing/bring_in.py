"""A log into a record, as if its loggers had been read live: through channels, what derives from them, and the judge.

Line by line, in one transaction: what is killed or refused on the way leaves the record as it was.
"""

import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from ingest.advice.advisor import Advisor
from ingest.advice.memory import Earlier
from ingest.channels import STALE_INTERVALS, Channels
from ingest.clock import Moment
from ingest.frames import Earlier as ReadEarlier
from ingest.frames import Stamp, Value
from ingest.importing.cells import Cells, parted
from ingest.importing.errors import CellError, LogError
from ingest.importing.lines import Line, LogFile, check_is_file, digest_of, open_log
from ingest.importing.log_map import ReadMap
from ingest.importing.stamps import Stamps
from ingest.importing.stated import other_unit
from ingest.record.chunks import CHUNK_PACKS, can_share_a_chunk
from ingest.record.errors import HeldError, NotSavedError
from ingest.record.incoming import FROM_A_LOG, Incoming
from ingest.record.lock import Lock
from ingest.record.store import Record
from ingest.tick import make_pack
from ingest.wire.messages import AlarmChanged, Pack, SessionBegan
from ingest.wire.texts import shown

ADVISED_EVERY_S = 2.0
"""As live (ingest.parts.judging)."""
TOLD_EVERY_S = 2.0
_MOST_TOLD = 5
"""So many of the lines that were left out are told one by one."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an import is: lines and bytes read, of how many."""

    lines: int
    bytes_read: int
    size_bytes: int


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


def bring_in(
    log: Path, read: ReadMap, *, judged: bool = True, tell: Callable[[Progress], None] = lambda _: None
) -> Taken:
    """Take a log into the record that its map was read for; one that is not there yet is begun.

    judged: give advice on it, as live.

    Raises:
        LogError: something in the log cannot be read, or cannot be.
        NotSavedError: the record refused, a rig writes it, or the log is in it already. In both cases nothing changed.

    """
    record = read.rig.record
    check_is_file(log)
    try:
        record.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotSavedError(f"{record.parent} cannot be the folder of a record: {error.strerror}") from error
    try:
        digest = digest_of(log)
        with closing(Lock(record)), _begun_only_if_whole(record), closing(Record(record)) as opened:
            return _take(log, read, opened, digest, _Teller(tell, log.stat().st_size), judged=judged)
    except HeldError as error:
        wrong = f"another process writes {record} ({error.holder})"
        raise NotSavedError(wrong, "Wait for it, or give a folder of its own.") from error
    except OSError as error:
        raise LogError(log, 0, f"cannot be read: {error.strerror}") from error


@contextmanager
def _begun_only_if_whole(record: Path) -> Iterator[None]:
    """Leave nothing behind of a record that was only begun for this, but the lock, which is held."""
    is_new = not record.exists()
    try:
        yield
    except BaseException:
        if is_new:
            for suffix in ("", "-wal", "-shm"):
                record.with_name(record.name + suffix).unlink(missing_ok=True)
        raise


class _Teller:
    """Tells progress now and then."""

    def __init__(self, tell: Callable[[Progress], None], size_bytes: int) -> None:
        self._tell = tell
        self._size_bytes = size_bytes
        self._lines = 0
        self._told_s = time.monotonic()

    def took(self, file: LogFile) -> None:
        self._lines += 1
        if self._lines % 256 == 0 and time.monotonic() - self._told_s >= TOLD_EVERY_S:
            self._told_s = time.monotonic()
            self._tell(Progress(self._lines, file.bytes_read, self._size_bytes))


def _take(log: Path, read: ReadMap, record: Record, digest: str, teller: _Teller, *, judged: bool) -> Taken:
    visit = digest[:16]
    with open_log(log, read.written.log) as file:
        reader = _Reader(log, file, read, Taken(visit))
        with record.bringing_in(read.rig, visit, time.time()) as incoming:
            visit_in = _VisitIn(read, incoming, reader.taken, judged=judged)
            for time_s, values in reader.readings():
                visit_in.take(time_s, values)
                teller.took(file)
            visit_in.end(log, digest)
            _check_plausible(log, reader.taken, read)
    return reader.taken


class _Reader:
    """Reads the lines of a log as stamps and values."""

    def __init__(self, path: Path, file: LogFile, read: ReadMap, taken: Taken) -> None:
        written = read.written
        self._path, self._file, self._written = path, file, written
        self._cells = Cells(written.log)
        self._stamps = Stamps(written.time, read.interval_s, time.time())
        names = [written.time.column, *filter(None, [written.time.and_column])]
        self._stamp_columns = [file.column(name) for name in names]
        self._columns = [(channel.column, file.column(channel.column)) for channel in written.channels]
        self._check_columns()
        self._moved_s, self._dated_back_s = _average(written.time.value, read.interval_s)
        self._gap_s = STALE_INTERVALS * read.interval_s
        self.taken = taken

    def _check_columns(self) -> None:
        """Refuse a column that is read twice, and one whose header says another unit than the map."""
        taken: dict[int, str] = dict.fromkeys(self._stamp_columns, "the stamps")
        for channel, (_, index) in zip(self._written.channels, self._columns, strict=True):
            name = f"column {index + 1}, {self._file.header[index]!r},"
            if index in taken:
                raise LogError(self._path, self._written.log.header_line, f"{name} is taken for {taken[index]} already")
            taken[index] = channel.channel
            if stated := other_unit(self._file.header[index], channel):
                wrong = f"{name} says {stated!r}, and the map {channel.unit!r}: correct which is wrong"
                raise LogError(self._path, self._written.log.header_line, wrong)

    def readings(self) -> Iterator[tuple[float, dict[str, Value]]]:
        """Give each line's time [s since 1970] and its values by column."""
        before_s = None
        for line in self._file:
            try:
                time_s, values = self._read(line)
            except CellError as error:
                self._leave_out(line, str(error), self._written.log.broken_lines)
                continue
            if before_s is not None and time_s <= before_s:
                how = "the same stamp as" if time_s == before_s else f"a stamp {before_s - time_s:g} s before that of"
                wrong = f'has {how} the line before; see to it, or leave such lines out by not_later = "leave_out"'
                self._leave_out(line, f"{wrong} under [time]", self._written.time.not_later)
                continue
            if before_s is not None and time_s - before_s > self._gap_s:
                self.taken.gaps += 1
                self.taken.longest_gap_s = max(self.taken.longest_gap_s, time_s - before_s)
            before_s = time_s
            yield time_s, values

    def _read(self, line: Line) -> tuple[float, dict[str, Value]]:
        cells = parted(line.cells, len(self._file.header))
        time_s = self._stamps.read(" ".join(cells[index].strip() for index in self._stamp_columns))
        values = {}
        for name, index in self._columns:
            value = self._cells.read(name, cells[index])
            if value is not None:
                values[name] = self._dated(value)
        return time_s + self._moved_s, values

    def _dated(self, value: Value) -> Value:
        return ReadEarlier(value, self._dated_back_s) if self._dated_back_s and isinstance(value, float) else value

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


class _VisitIn:
    """Puts readings through what they go through live, into a record."""

    def __init__(self, read: ReadMap, incoming: Incoming, taken: Taken, *, judged: bool) -> None:
        self._rig, self._incoming, self._taken = read.rig, incoming, taken
        self._logger = read.written.log.logger
        self._channels = Channels(read.rig, lambda stamp: stamp.time_ns / 1e9)
        self._advisor = Advisor(1.0, None) if judged else None
        if self._advisor:
            self._advisor.go_on(Earlier(), read.rig, read.rig.barometric_pressure_pa)
        self._advised_s: float | None = None
        self._packs: list[Pack] = []
        self._number = incoming.sequence

    def take(self, time_s: float, values: Mapping[str, Value]) -> None:
        """Take what one line says."""
        if not self._taken.packs:
            self._taken.first_s = time_s
        monotonic_s = round(time_s - self._taken.first_s, 3)
        self._channels.accept(self._logger, Stamp(round(monotonic_s * 1e9), round(time_s * 1e9)), values)
        pack = make_pack(self._rig, self._incoming.session, self._channels, Moment(monotonic_s, time_s, 0))
        self._number += 1
        pack = msgspec.structs.replace(pack, sequence=self._number)
        if self._packs and (len(self._packs) == CHUNK_PACKS or not can_share_a_chunk(self._packs[0], pack)):
            self._store()
        self._packs.append(pack)
        self._taken.packs += 1
        self._taken.last_s = time_s
        self._look(pack)
        if self._advisor:
            self._judge(self._advisor, pack)

    def _look(self, pack: Pack) -> None:
        """Count what cannot be: of a channel of which nothing can, the unit is wrong."""
        for setup in self._rig.channels:
            reading = pack.readings[setup.name]
            if reading.quality == "out_of_range":
                count, first = self._taken.out_of_range.get(setup.name, (0, reading.reason))
                self._taken.out_of_range[setup.name] = count + 1, first
            elif reading.value is not None:
                self._taken.sound.add(setup.name)

    def _judge(self, advisor: Advisor, pack: Pack) -> None:
        air_pa = self._channels.barometer.pressure_pa
        alarms = advisor.follow(pack, self._rig, air_pa)
        for alarm in alarms.raised:
            told = f"{alarm.kind.value}{', in doubt' if alarm.in_doubt else ''}: {alarm.says}"
            mark = AlarmChanged(f"{self._taken.visit}-{self._number}-{alarm.kind.value}", pack.time_s, text=told)
            self._incoming.add_mark(mark)
            advisor.take(mark, 0.0)
        is_due = self._advised_s is None or pack.monotonic_s - self._advised_s >= ADVISED_EVERY_S
        if not is_due and not alarms.raised and not alarms.ended:
            return
        self._advised_s = pack.monotonic_s
        given = advisor.advise(pack, self._rig, air_pa, self._channels.repetitions())
        if given.is_news:
            self._incoming.add_advice(given.time_s, given.grounds, given.payload)
            self._taken.advices += 1

    def _store(self) -> None:
        self._incoming.add(self._packs)
        self._packs = []

    def end(self, log: Path, digest: str) -> None:
        """Store what is left, and say from where all of it is.

        Raises:
            LogError: there was nothing.

        """
        if not self._taken.packs:
            raise LogError(log, 0, "holds no reading")
        self._store()
        text = f"{FROM_A_LOG}{shown(log.name)}, SHA-256 {digest}"
        self._incoming.add_mark(SessionBegan(f"{self._taken.visit}-0", self._taken.first_s, text=text))
        self._incoming.end(self._taken.first_s, self._taken.last_s)


def _check_plausible(log: Path, taken: Taken, read: ReadMap) -> None:
    """Refuse a log of which a channel never said what can be.

    Raises:
        LogError: it did not.

    """
    columns = {channel.channel: channel.column for channel in read.written.channels}
    wrong = [
        f"{columns[name]} as {name}: none of {count} values can be: {first}"
        for name, (count, first) in taken.out_of_range.items()
        if name not in taken.sound
    ]
    if wrong:
        raise LogError(log, 0, "; ".join(wrong))
