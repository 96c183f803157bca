"""A small file, read whole. What is no file, or larger than it can be, is refused before it is waited for or held."""

import errno
import stat
from pathlib import Path


class NotSmallFileError(OSError):
    """It is no regular file, or too large. wrong: which, and what was expected."""

    def __init__(self, number: int, wrong: str, path: Path) -> None:
        super().__init__(number, wrong, str(path))
        self.wrong = wrong


def read_whole(path: Path, most_bytes: int) -> bytes:
    """Read a file that others may have put there: a pipe may never begin, and a device never end.

    most_bytes: more than any such file has, which is never held.

    Raises:
        NotSmallFileError: it is no file, or larger than that.
        OSError: it is not there, or cannot be read.

    """
    mode = path.stat().st_mode
    if not stat.S_ISREG(mode):
        what = "a directory" if stat.S_ISDIR(mode) else "a pipe or a device"
        raise NotSmallFileError(errno.EINVAL, f"it is {what}; a file was expected", path)
    with path.open("rb") as file:
        content = file.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise NotSmallFileError(errno.EFBIG, f"it is too large; at most {most_bytes} bytes are read", path)
    return content
