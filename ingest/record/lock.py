"""One writer a record: a lock on a file beside it, which says who holds it.

It is not a lock on the record itself, because those who only read it must not notice. The system lets go of it however
the holder ends.
"""

import os
import socket
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ingest.record.errors import HeldError, NotSavedError, RecordError
from ingest.record.refusals import refusal

_LOCKED_BYTE = 1 << 20
"""Where locks also keep others from reading, far behind what is to be read."""


class Lock:
    """The lock on a record, held from here until `close`. By whichever link it is named, it is one.

    Raises:
        HeldError: another daemon holds it.
        NotSavedError: the folder refuses, or no file is in the lock's place.

    """

    def __init__(self, record: Path) -> None:
        self._path = Path(f"{os.path.realpath(record)}.lock")
        try:
            self._file = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)  # no child inherits it (PEP 446)
        except OSError as error:
            raise refusal(error, record) from error
        if not stat.S_ISREG(os.fstat(self._file).st_mode):
            os.close(self._file)
            raise NotSavedError(f"{self._path} is a pipe or a device, not a lock", "Remove it: it is made anew.")
        try:
            _take(self._file)
        except OSError as error:
            holder = _legible(os.read(self._file, 200)) or "unknown"
            os.close(self._file)
            raise HeldError(holder) from error
        os.lseek(self._file, 0, os.SEEK_SET)
        with suppress(OSError):  # on a full disk the lock holds all the same
            os.ftruncate(self._file, 0)
            os.write(self._file, f"process {os.getpid()} on {socket.gethostname()}\n".encode())

    @property
    def holds(self) -> bool:
        """Whether the file beside the record is still the one that is locked."""
        try:
            there = self._path.stat()
        except OSError:
            return False
        return os.path.samestat(there, os.fstat(self._file))

    def close(self) -> None:
        """Let go; the file stays, or two could each lock one of their own."""
        os.close(self._file)


@contextmanager
def alone_with(record: Path, to: str) -> Iterator[None]:
    """Hold the lock for what somebody asked for by hand. to: what that is, such as "erase".

    Raises:
        RecordError: a process writes the record.

    """
    try:
        lock = Lock(record)
    except HeldError as error:
        raise RecordError(f"{error.holder} writes {record}: stop it, {to}, and start it again") from error
    try:
        yield
    finally:
        lock.close()


def _legible(said: bytes) -> str:
    """Give what a holder says of itself: anybody may have written it, and it ends in a log."""
    return "".join(letter for letter in said.decode(errors="replace").strip() if letter.isprintable())


if sys.platform == "win32":
    import msvcrt

    def _take(file: int) -> None:
        os.lseek(file, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
