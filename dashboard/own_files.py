"""The small files that a page leaves for itself, read whole: what is no file, or too large, is refused at once."""

import errno
import hashlib
import stat
import unicodedata
from pathlib import Path

from dashboard.errors import SettingsError

LARGEST_BYTES = 64 * 1024
"""More than a note, a secret or a certificate has."""


def read_own(path: Path) -> bytes:
    """Read one of them. A pipe that somebody put there may never begin, and a device never end.

    `ingest.whole_file` does so for the files of the daemon, which a page may not know.

    Raises:
        OSError: it is not there, is no regular file, is too large, or cannot be read.

    """
    mode = path.stat().st_mode
    if not stat.S_ISREG(mode):
        raise OSError(errno.EINVAL, "it is no regular file", str(path))
    with path.open("rb") as file:
        content = file.read(LARGEST_BYTES + 1)
    if len(content) > LARGEST_BYTES:
        raise OSError(errno.EFBIG, f"it has more than {LARGEST_BYTES} bytes", str(path))
    return content


def file_of(name: str) -> str:
    """Turn a person's name into that of a file, whatever letters it has, large or small."""
    return hashlib.sha256(unicodedata.normalize("NFC", name.casefold()).encode()).hexdigest()


def make_folder(path: Path) -> None:
    """Make a folder that its owner alone reads.

    Raises:
        SettingsError: something else is there.

    """
    try:
        path.mkdir(mode=0o700, exist_ok=True)
    except FileExistsError as error:
        raise SettingsError(f"{path} is to be a folder of marks, and something else is there: remove it") from error
