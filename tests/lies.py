"""What somebody may put where a program expects a small file of its own: nothing of it may be waited for or held."""

import os
from collections.abc import Callable, Mapping
from pathlib import Path

GIGABYTE = 1 << 30


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _gigabyte(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(GIGABYTE)


LIES: Mapping[str, Callable[[Path], object]] = {
    "a pipe": os.mkfifo,
    "a device without end": _device,
    "a directory": Path.mkdir,
    "a gigabyte": _gigabyte,
    "nothing": Path.touch,
    "no text": lambda path: path.write_bytes(bytes(range(256))),
    "half a text": lambda path: path.write_bytes(b'{"format": "dew'),
    "lists in lists": lambda path: path.write_bytes(b'{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}"),
    "another text": lambda path: path.write_bytes(b'{"a": [1e308, -1, null], "b": "0001-01-01"}'),
}
"""How each is made at a path."""


def put(lie: str, path: Path) -> None:
    """Put one at a path, in the place of the file that is there."""
    path.unlink(missing_ok=True)
    LIES[lie](path)
