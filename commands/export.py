"""The command `export`: a visit out of a record as CSV, Parquet, SenML or JSON."""

import argparse
import sys
from pathlib import Path

from commands.ending import SETUP_IS_WRONG, drop_output
from commands.records import RECORD


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Writes a visit out of a record, also while a daemon records: csv has a row for each pack, with value, quality "
        "and standard uncertainty of each channel, the unit in the column's name; parquet the same; senml the packs as "
        "they were published, one a line; json the unit, the journal and the advices (docs/visit.schema.json)."
    )
    where = parser.add_mutually_exclusive_group(required=True)
    where.add_argument("--data", type=Path, help=f"the folder in which {RECORD} is")
    where.add_argument("--record", type=Path, help="the record itself")
    parser.add_argument("--visit", help="by its id; the newest otherwise")
    parser.add_argument("--to", required=True, choices=("csv", "parquet", "senml", "json"), help="the kind of file")
    parser.add_argument("-o", "--out", type=Path, required=True, help="the file, or - for standard output")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.export.write import STANDARD_OUTPUT, write_visit
    from ingest.record.errors import RecordError

    record = options.record or options.data / RECORD
    try:
        visit = write_visit(record, options.visit, options.to, options.out)
    except RecordError as error:
        print(f"dewline export: {error}", file=sys.stderr)
        if options.out == STANDARD_OUTPUT:
            drop_output()
        return SETUP_IS_WRONG
    print(f"visit {visit.id} at {visit.unit.tag} is in {options.out}", file=sys.stderr)
    return 0
