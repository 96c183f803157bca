"""A password, out of the file that holds it: on a command line or in a configuration others would see it."""

from pathlib import Path


class PasswordError(ValueError):
    """A password file that cannot be used: which, and why. It never tells what is in it."""


def read_password(path: Path) -> str:
    """Read the password that a file holds: all of it but the line's end.

    Raises:
        PasswordError: the file cannot be read, or is empty.

    """
    try:
        password = path.read_text(encoding="utf-8").rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise PasswordError(f"the password file {path} cannot be read: {error}") from error
    if password.startswith("\ufeff"):
        raise PasswordError(f"the password file {path} begins with a byte order mark: save it as plain UTF-8")
    if not password:
        raise PasswordError(f"the password file {path} is empty: write the password into it, on one line")
    return password
