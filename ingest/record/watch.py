"""Whether the record on the disk is still the one that is being written, told from the directory alone.

SQLite does not notice when its file is deleted or replaced: it goes on in one that has no name any more. The file is
never opened here, because closing it again would give up SQLite's locks on it (POSIX).
"""

import os
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Look:
    """A file and its write-ahead log, as the directory shows them. None where there is none.

    file: which one it is (device, inode). content: its size and when it was last changed [ns].
    log: which one it is. log_bytes: its size; it only grows while somebody has it open.
    """

    file: tuple[int, int] | None
    content: tuple[int, int] | None
    log: tuple[int, int] | None
    log_bytes: int


def look(path: Path) -> Look:
    """Look at a record.

    Raises:
        OSError: the directory cannot be read.

    """
    file, log = _stat(path), _stat(path.with_name(path.name + "-wal"))
    return Look(
        file=(file.st_dev, file.st_ino) if file else None,
        content=(file.st_size, file.st_mtime_ns) if file else None,
        log=(log.st_dev, log.st_ino) if log else None,
        log_bytes=log.st_size if log else 0,
    )


def _stat(path: Path) -> os.stat_result | None:
    try:
        return path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return None
