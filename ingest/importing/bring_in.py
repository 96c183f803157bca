"""A log into a record, as if its loggers had been read live: through channels, what derives from them, and the judge.

In one transaction: what is killed or refused on the way leaves the record as it was.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from ingest.importing.errors import LogError
from ingest.importing.lines import LogFile, check_is_file, digest_of, open_log
from ingest.importing.log_map import ReadMap
from ingest.importing.reader import Reader, Taken
from ingest.importing.visit_in import visit_into
from ingest.record.errors import HeldError, NotSavedError
from ingest.record.lock import Lock
from ingest.record.store import Record

TOLD_EVERY_S = 2.0


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an import is: lines and bytes read, of how many."""

    lines: int
    bytes_read: int
    size_bytes: int


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

    def took(self, lines: int, file: LogFile) -> None:
        self._lines += lines
        if time.monotonic() - self._told_s >= TOLD_EVERY_S:
            self._told_s = time.monotonic()
            self._tell(Progress(self._lines, file.bytes_read, self._size_bytes))


def _take(log: Path, read: ReadMap, record: Record, digest: str, teller: _Teller, *, judged: bool) -> Taken:
    visit = digest[:16]
    with open_log(log, read.written.log) as file:
        reader = Reader(log, file, read, Taken(visit), time.time())
        with record.bringing_in(read.rig, visit, time.time()) as incoming:
            visit_in = visit_into(read, incoming, reader, judged=judged)
            for batch in reader.batches():
                visit_in.take(batch)
                teller.took(len(batch.times_s), file)
            visit_in.end(log, digest)
            _check_plausible(log, reader.taken, read)
    return reader.taken


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
