"""One bench a folder: a second one would take the serial ports of the first, and write over its configuration."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from simulators.errors import SimulatorError


@contextmanager
def alone_in(directory: Path) -> Iterator[None]:
    """Hold a folder, made if need be, for as long as the block runs; the system lets go however we end.

    Raises:
        SimulatorError: another bench holds it, or it cannot be had.

    """
    import fcntl  # Windows has none, and no serial ports of ours

    try:
        directory.mkdir(parents=True, exist_ok=True)
        held = os.open(directory, os.O_RDONLY)  # no child inherits it (PEP 446)
    except OSError as error:
        raise SimulatorError(f"{directory} cannot be the bench's folder: {error.strerror}") from error
    try:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise SimulatorError(
                f"another bench runs in {directory}; stop it, or give this one its own folder with --directory"
            ) from error
        yield
    finally:
        os.close(held)
