"""The command `rerun`: the advices of a record worked out again."""

import argparse
import sys
from pathlib import Path

from commands.ending import SETUP_IS_WRONG


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Works every advice of a record out again from its readings, and says in words, visit by visit, what today's "
        "judge would say otherwise. Exit code 1 where it would."
    )
    parser.add_argument("record", type=Path, help="such as visit.sqlite")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.advice.otherwise import as_lines, by_visit
    from ingest.advice.rerun import rerun
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile

    try:
        found = by_visit(rerun(options.record))
        visits = {visit.id: visit for visit in RecordFile(options.record).visits()}
    except RecordError as error:
        print(f"dewline rerun: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    for visit, come_out in found.items():
        print("\n".join(as_lines(visits.get(visit), visit, come_out)))
    same = sum(come_out.same for come_out in found.values())
    others = sum(come_out.others for come_out in found.values())
    print(f"{same} advices come out as they were given, {others} do not.")
    return 1 if others else 0
