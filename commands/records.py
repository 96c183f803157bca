"""Which record a command is about."""

import argparse
from pathlib import Path

RECORD = "visit.sqlite"
"""What a record is called in a folder of its own."""


def record_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that name a record or its folder."""
    place = parser.add_mutually_exclusive_group(required=True)
    place.add_argument("--record", type=Path, help="such as visit.sqlite")
    place.add_argument("--data", type=Path, help="the folder of a bench, with its record in it")


def record_file(options: argparse.Namespace) -> Path:
    """Give the record that the options name; of a folder the one in it.

    Raises:
        ReportError: there is none, or several.

    """
    from ingest.report.errors import ReportError

    if options.record is not None:
        path: Path = options.record
        if not path.is_file():
            raise ReportError(f"there is no record {path}")
        return path
    folder: Path = options.data
    found = sorted(folder.glob("*.sqlite"))
    if len(found) != 1:
        names = ", ".join(each.name for each in found) or "none"
        raise ReportError(f"{options.data} was to have one record in it, a file *.sqlite; found: {names}")
    return found[0]
