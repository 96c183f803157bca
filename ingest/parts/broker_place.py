"""Where a broker of ours has its files."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

FILES_BYTES = 16 * 1024
"""More than they come to."""


@contextmanager
def broker_place(folder: Path) -> Iterator[Path]:
    """Give the files of a broker of ours a place: beside the record, or elsewhere if nothing can be written there."""
    beside = folder / "broker"
    try:
        beside.mkdir(exist_ok=True)  # but not the folder: a drive may belong there
        trial = beside / "trial"
        trial.write_bytes(bytes(FILES_BYTES))
        trial.unlink()
    except OSError:
        with tempfile.TemporaryDirectory(prefix="dewline-broker-", ignore_cleanup_errors=True) as elsewhere:
            yield Path(elsewhere)
    else:
        yield beside
