"""A password, out of the file that holds it: on a command line or in a configuration others would see it."""

from pathlib import Path

from ingest.whole_file import read_whole

_LARGEST_BYTES = 64 * 1024
"""More than any password; an MQTT password has at most 65,535 bytes (MQTT 3.1.1, section 3.1.3.5)."""


class PasswordError(ValueError):
    """A password file that cannot be used: which, and why. It never tells what is in it."""


def read_password(path: Path) -> str:
    """Read the password that a file holds: all of it but the line's end.

    Raises:
        PasswordError: the file cannot be read, or is empty.

    """
    try:
        password = read_whole(path, _LARGEST_BYTES).decode().rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise PasswordError(f"the password file {path} cannot be read: {error}") from error
    if password.startswith("\ufeff"):
        raise PasswordError(f"the password file {path} begins with a byte order mark: save it as plain UTF-8")
    if not password:
        raise PasswordError(f"the password file {path} is empty: write the password into it, on one line")
    return password
