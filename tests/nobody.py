"""Somebody for whom the access rights of files count, where the tests run as root."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NOBODY = 65534


@contextmanager
def as_nobody(folder: Path) -> Iterator[None]:
    """Be nobody until the block ends: the owner of this folder and of what is in it, and able to reach it."""
    if os.geteuid() != 0:
        yield
        return
    for each in (folder, *folder.iterdir()):
        os.chown(each, NOBODY, NOBODY)
    for parent in folder.parents:
        if not parent.stat().st_mode & 0o001:
            parent.chmod(parent.stat().st_mode | 0o011)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
