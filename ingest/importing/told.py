"""What an import says at the shell: how far it is, and what became of the log."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from ingest.importing.bring_in import Progress
from ingest.importing.reader import Taken


def progress(so_far: Progress) -> str:
    """Say how far an import is.

    >>> progress(Progress(256, 4_000_000, 8_000_000))
    '50 % of 8.0 MB, 256 lines'
    """
    share = 100 * so_far.bytes_read / max(so_far.size_bytes, 1)
    return f"{share:.0f} % of {so_far.size_bytes / 1e6:.1f} MB, {so_far.lines} lines"


def as_lines(taken: Taken, record: Path) -> Iterator[str]:
    """Say what became of a log."""
    begun, ended = (datetime.fromtimestamp(it, UTC).isoformat(" ", "seconds") for it in (taken.first_s, taken.last_s))
    yield f"visit {taken.visit} is in {record}: {taken.packs} lines from {begun} to {ended}, advices: {taken.advices}"
    if taken.gaps:
        yield f"{taken.gaps} gaps of more than three intervals, the longest of {taken.longest_gap_s:g} s"
    if taken.left_out:
        yield f"{taken.left_out} lines were left out, as the map says:"
        yield from (f"  {told}" for told in taken.told)
    for channel, (count, first) in taken.out_of_range.items():
        yield f"{channel}: {count} values cannot be, such as: {first}"
