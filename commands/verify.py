"""The command `verify`: tries the file of a report."""

import argparse
import sys
from pathlib import Path

from commands.ending import SETUP_IS_WRONG
from commands.records import record_file, record_options
from commands.reports import script_of_charts

VERIFIED = {
    "matches": 0,
    "later": 3,
    "no_visit": 4,
    "not_compared": 5,
    "changed": 6,
    "differs": 7,
    "seal_broken": 8,
    "erased": 9,
    "earlier_erased": 10,
    "photographs": 11,
}
"""The exit codes of `dewline verify`. None is 1: with that Python ends where the program itself failed."""
LARGEST_REPORT_BYTES = 64 * 1024 * 1024
"""Ours are of some megabytes: what is larger is not read into memory."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Tries the file of a report. Exit codes: 0 the record gives the same; 1 this program failed, and nothing was "
        "tried; 2 it cannot be tried; 3 as 0, but marks came later; 6 the file was changed; 7 it is not what the "
        "record says; 8 the record is not as it was signed. Not compared: 4 the record has no such visit; 5 it names "
        "another version; 9 the visit was erased; 10 an earlier visit was; 11 photographs are amiss."
    )
    parser.add_argument("file", type=Path, help="a report as it was made: PDF, HTML or JSON")
    record_options(parser)
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.report.errors import PaperError, ReportError
    from ingest.report.verifying import verify

    try:
        if not options.file.is_file():
            print(f"dewline verify: {options.file} is no file that is there to be read", file=sys.stderr)
            return SETUP_IS_WRONG
        if options.file.stat().st_size > LARGEST_REPORT_BYTES:
            print(f"dewline verify: {options.file} has more than 64 MiB: it is no report", file=sys.stderr)
            return SETUP_IS_WRONG
        found = verify(options.file.read_bytes(), RecordFile(record_file(options)), charts=script_of_charts())
    except (RecordError, ReportError, PaperError) as error:
        print(f"dewline verify: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except OSError as error:
        print(f"dewline verify: {error.filename} cannot be read: {error.strerror}", file=sys.stderr)
        return SETUP_IS_WRONG
    if found.made is not None:
        print(f"Visit {found.made.visit}, code {found.made.code}, journal {found.made.digest}")
    print(found.says)
    return VERIFIED[found.outcome]
