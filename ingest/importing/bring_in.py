"""A log into a record, as if its loggers had been read live: through channels, what derives from them, and the judge.

In one transaction: what is killed or refused on the way leaves the record as it was.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from ingest.importing.can_be import check_can_be
from ingest.importing.errors import LogError
from ingest.importing.lines import LogFile, check_is_file, digest_of, open_log
from ingest.importing.log_map import LinesMap, ReadMap
from ingest.importing.reader import Reader, Taken
from ingest.importing.recorded import LINES, rig_of, take_recorded
from ingest.importing.visit_in import visit_into
from ingest.record.errors import HeldError, NotSavedError
from ingest.record.exported import beside, read_beside
from ingest.record.incoming import FROM_A_LOG, Incoming
from ingest.record.lock import Lock
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import SessionBegan
from ingest.wire.texts import shown

TOLD_EVERY_S = 2.0


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an import is: lines and bytes read, of how many."""

    lines: int
    bytes_read: int
    size_bytes: int


Tell = Callable[[Progress], None]
Took = Callable[[int, LogFile], None]


def bring_in(log: Path, read: ReadMap, *, judged: bool = True, tell: Tell = lambda _: None) -> Taken:
    """Take a log into the record that its map was read for; one that is not there yet is begun.

    judged: give advice on it, as live.

    Raises:
        LogError: something in the log cannot be read, or cannot be.
        NotSavedError: the record refused, a rig writes it, or the log is in it already. In both cases nothing changed.

    """

    def take(file: LogFile, incoming: Incoming, taken: Taken, took: Took) -> None:
        reader = Reader(log, file, read, taken, time.time())
        visit_in = visit_into(read, incoming, reader, judged=judged)
        for batch in reader.batches():
            visit_in.take(batch)
            took(len(batch.times_s), file)
        visit_in.store()
        _check_plausible(log, taken, read)

    return _bring_in(log, read.written.log, read.rig, take, tell)


def bring_in_recorded(log: Path, record: Path, *, tell: Tell = lambda _: None) -> Taken:
    """Take a visit that went out as CSV into a record, as it was recorded.

    Raises:
        LogError: as `bring_in`, or what stood beside it is not there.
        RecordError: what stands beside it cannot be read.
        NotSavedError: as `bring_in`.

    """
    exported = read_beside(log)
    if exported is None:
        wrong = f"is a visit that went out, but {beside(log).name}, which went out with it, is not beside it"
        raise LogError(log, 0, f"{wrong}: bring that too, or give a map (--guess proposes one)")
    check_can_be(exported, log)
    return _bring_in(log, LINES, rig_of(exported, record), partial(take_recorded, log, exported), tell)


def _bring_in(
    log: Path, lines: LinesMap, rig: Rig, take: Callable[[LogFile, Incoming, Taken, Took], None], tell: Tell
) -> Taken:
    record = rig.record
    check_is_file(log)
    try:
        record.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotSavedError(f"{record.parent} cannot be the folder of a record: {error.strerror}") from error
    try:
        digest = digest_of(log)
        taken, teller = Taken(digest[:16]), _Teller(tell, log.stat().st_size)
        with closing(Lock(record)), _begun_only_if_whole(record), closing(Record(record)) as opened:
            with open_log(log, lines) as file, opened.bringing_in(rig, taken.visit, time.time()) as incoming:
                take(file, incoming, taken, teller.took)
                if not taken.packs:
                    raise LogError(log, 0, "holds no reading")
                text = f"{FROM_A_LOG}{shown(log.name)}, SHA-256 {digest}"
                incoming.add_mark(SessionBegan(f"{taken.visit}-0", taken.first_s, text=text))
                incoming.end(taken.first_s, taken.last_s)
            return taken
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

    def took(self, lines: int, file: LogFile) -> None:
        self._lines += lines
        if time.monotonic() - self._told_s >= TOLD_EVERY_S:
            self._told_s = time.monotonic()
            self._tell(Progress(self._lines, file.bytes_read, self._size_bytes))


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
