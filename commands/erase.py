"""The command `erase`: erases visits from a record, but for what the law wants kept."""

import argparse
import sys
import time
from datetime import date, datetime
from pathlib import Path

from commands.ending import SETUP_IS_WRONG

_FIRST_DAY, _LAST_DAY = date(1970, 1, 2), date(2199, 12, 31)
"""Before the first no clock of a machine stands, in any zone; no record holds the last."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("record", type=Path, help="such as visit.sqlite; no daemon may have it")
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("--unit", default="", help="all visits at a unit by its tag, and where it stands")
    which.add_argument("--visit", default="", help="one visit, by its id")
    which.add_argument("--before", type=_day, help="all visits that began before a day, such as 2024-01-31")
    parser.add_argument("--because", type=_reason, required=True, help="why, for those who ask later; name nobody")
    parser.add_argument("--confirmed", action="store_true", help="erase it; without this it is only told what would go")
    parser.set_defaults(command=run)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = date.min
    if not _FIRST_DAY <= day <= _LAST_DAY:
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r} is no day such as 2024-01-31, from {_FIRST_DAY} to {_LAST_DAY}"
        )
    return day


def _reason(text: str) -> str:
    from ingest.wire.texts import LONGEST_TEXT, fault, is_empty

    wrong = "is empty" if is_empty(text) else fault(text, LONGEST_TEXT)
    if wrong:
        raise argparse.ArgumentTypeError(f"the reason {wrong}; one line of words was expected")
    return text


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.local_time import moment_here
    from ingest.record.erasing import erase, find
    from ingest.record.errors import RecordError

    before_s = datetime.combine(options.before, datetime.min.time()).timestamp() if options.before else None
    try:
        found = find(options.record, unit=options.unit, visit=options.visit, before_s=before_s)
        for each in found:
            has = f"{each.marks} marks, {each.photographs} photographs, {each.moves} moves"
            print(f"{moment_here(each.started_s)}, {each.unit}: {has}")
        if not found:
            print("All of that was erased already; what is left of it in the record's log is cleared.")
        if not options.confirmed:
            print(
                "Nothing was erased: --confirmed erases it. Moves of refrigerant stay for five years, without a name."
            )
            return 0
        visits = [each.visit for each in found]
        erase(options.record, visits, because=options.because, now_s=time.time(), unit=options.unit)
    except RecordError as error:
        print(f"dewline erase: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print("Erased. What was published, printed or copied before is beyond reach: copies have to be erased one by one.")
    return 0
