"""One writer a record: a lock on a file beside it, which says who holds it.

It is not a lock on the record itself, because those who only read it must not notice. The system lets go of it however
the holder ends.
"""

import os
import socket
import sys
from contextlib import suppress
from pathlib import Path

from ingest.record.errors import HeldError
from ingest.record.refusals import refusal

_LOCKED_BYTE = 1 << 20
"""Where locks also keep others from reading, far behind what is to be read."""


class Lock:
    """The lock on a record, held from here until `close`. By whichever link it is named, it is one.

    Raises:
        HeldError: another daemon holds it.
        NotSavedError: the folder refuses.

    """

    def __init__(self, record: Path) -> None:
        self._path = record.resolve().with_name(record.resolve().name + ".lock")
        try:
            self._file = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)  # no child inherits it (PEP 446)
        except OSError as error:
            raise refusal(error, record) from error
        try:
            _take(self._file)
        except OSError as error:
            holder = os.read(self._file, 200).decode(errors="replace").strip() or "unknown"
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


if sys.platform == "win32":
    import msvcrt

    def _take(file: int) -> None:
        os.lseek(file, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
