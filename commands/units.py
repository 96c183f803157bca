"""The command `units`: the register of units."""

import argparse
import secrets
import sys
import time
from pathlib import Path

from commands.ending import SETUP_IS_WRONG


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    record = argparse.ArgumentParser(add_help=False)
    record.add_argument("--record", type=Path, required=True, help="such as visit.sqlite, of a rig on this machine")
    acts = parser.add_subparsers(required=True, metavar="ACT")
    listing = acts.add_parser("list", parents=[record], help="list the units, the last visited first")
    listing.set_defaults(command=_list)
    history = acts.add_parser("history", parents=[record], help="tell the visits and the readings of parts of a unit")
    history.add_argument("tag", help="as it is engraved")
    history.add_argument("--units", choices=("us", "si"), default="us", help="of the figures")
    history.set_defaults(command=_history)
    issue = acts.add_parser("issue", parents=[record], help="make up tags that no unit has, to be engraved")
    issue.add_argument("--count", type=int, choices=range(1, 101), default=1, metavar="N", help="how many, up to 100")
    issue.set_defaults(command=_issue)
    label = acts.add_parser("label", help="draw a label: the tag as a QR code and in large print")
    label.add_argument("tag", help="as it is engraved")
    label.add_argument("--out", type=Path, help="an SVG file; else it is printed")
    label.set_defaults(command=_label)
    export = acts.add_parser("export", parents=[record], help="write all units into a file")
    export.add_argument("file", type=Path, help="its name ends in .csv or .json")
    export.set_defaults(command=_export)
    bring = acts.add_parser("import", parents=[record], help="take units from a file, all of them or none")
    bring.add_argument("file", type=Path, help="its name ends in .csv or .json; docs/units.md has its columns")
    bring.add_argument("--confirmed", action="store_true", help="what the import asked is so")
    bring.set_defaults(command=_import)


def _list(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.register.listing import as_lines

    history = RecordFile(options.record)
    try:
        lines = as_lines(history.sheets(), history.visited())
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print("\n".join(lines) if lines else f"there is no unit in {options.record} yet")
    return 0


def _history(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.register.remembered import as_lines

    try:
        lines = as_lines(RecordFile(options.record), options.tag, options.units)
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print("\n".join(lines) if lines else f"{options.record} knows of no visit to {options.tag}")
    return 0


def _issue(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.visit.tags import issue

    try:
        taken = [kept.sheet.tag for kept in RecordFile(options.record).sheets()]
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    for _ in range(options.count):
        taken.append(issue(taken, secrets.choice))
        print(taken[-1])
    return 0


def _label(options: argparse.Namespace) -> int:
    from ingest.record.beside import written
    from ingest.record.errors import RecordError
    from ingest.register.label import as_svg
    from ingest.visit.tags import kind_of
    from ingest.wire.texts import LONGEST_NAME, fault, is_empty

    wrong = "is empty" if is_empty(options.tag) else fault(options.tag, LONGEST_NAME)
    if wrong:
        print(f"dewline units: the tag {wrong}", file=sys.stderr)
        return SETUP_IS_WRONG
    if kind_of(options.tag) == "mistyped":
        print("dewline units: is that tag right? Its check character does not fit.", file=sys.stderr)
    if options.out is None:
        print(as_svg(options.tag), end="")
        return 0
    try:
        with written(options.out) as file:
            file.write(as_svg(options.tag).encode())
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    return 0


def _export(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.register.bringing_in import RegisterError, write_sheets

    try:
        sheets = [kept.sheet for kept in RecordFile(options.record).sheets()]
        write_sheets(options.file, sheets, options.record)
    except (RecordError, RegisterError) as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{len(sheets)} units are in {options.file}")
    return 0


def _import(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.register.bringing_in import RegisterError, bring_in, read_sheets
    from ingest.register.faults import UnitsFileError

    try:
        sheets = read_sheets(options.file)
        found = bring_in(options.record, sheets, time_s=round(time.time(), 3), confirmed=options.confirmed)
    except (RecordError, RegisterError, UnitsFileError) as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{found.new} units are new, {found.changed} changed, {found.same} were as they are")
    return 0
