"""The commands `backup` and `restore`: a copy of a record to keep, and such a copy in its place."""

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from commands.ending import SETUP_IS_WRONG


def add_backup(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("record", type=Path, help="such as visit.sqlite; a daemon may be writing it")
    parser.add_argument("copy", type=Path, help="a file that is not there yet")
    parser.set_defaults(command=_backup)


def _backup(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.keeping import copy

    try:
        held = copy(options.record, options.copy)
    except (RecordError, OSError) as error:
        print(f"dewline backup: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    end = "it is whole." if not held.unreadable else "it is as the record is."
    print(f"{options.copy}: {held.visits} visits, {held.marks} marks, {held.photographs} photographs; {end}")
    return _told_unreadable("backup", held.unreadable)


def add_restore(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("copy", type=Path, help="as dewline backup made it")
    parser.add_argument("record", type=Path, help="where a daemon is to find it; none may have it now")
    parser.set_defaults(command=_restore)


def _restore(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.keeping import restore

    try:
        held, aside = restore(options.copy, options.record, now_s=time.time())
    except (RecordError, OSError) as error:
        print(f"dewline restore: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{options.record} is as it was copied." + (f" What was there is {aside}." if aside else ""))
    return _told_unreadable("restore", held.unreadable)


def _told_unreadable(command: str, unreadable: Sequence[str]) -> int:
    """Tell which rows of a copy cannot be read; returns the exit code."""
    for row in unreadable:
        print(f"dewline {command}: {row} cannot be read; an older copy may have it", file=sys.stderr)
    return int(bool(unreadable))
