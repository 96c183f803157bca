"""The command `report`: makes the report of a visit."""

import argparse
import os
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from commands.ending import SETUP_IS_WRONG
from commands.records import record_file, record_options
from commands.reports import script_of_charts

if TYPE_CHECKING:
    from ingest.record.reading import History
    from ingest.report.making import Asked


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Makes the report of a visit from its record: the front for the owner, the back for the next technician. "
        "Until the visit is signed it is a draft, and says so on every page."
    )
    parser.add_argument("visit", nargs="?", help="its id; the newest visit of the record otherwise")
    record_options(parser)
    parser.add_argument("--paper", choices=["a4", "letter"], help="of a PDF; letter with us units, else a4")
    parser.add_argument("--units", choices=["us", "si"], default="us", help="of the figures")
    parser.add_argument("--zone", help="in which times are told, such as America/Chicago; this machine's otherwise")
    parser.add_argument("-o", "--out", type=Path, help="the file; its name ends in .pdf, .html or .json")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.record.beside import written
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.report.errors import PaperError, ReportError
    from ingest.report.making import Asked, form_of_name, make, rest_of

    started_s = time.monotonic()
    try:
        history = RecordFile(record_file(options))
        visit = options.visit or _newest_visit(history)
        out: Path = options.out or Path(f"report-{visit}.pdf")
        asked = Asked(
            visit=visit,
            form=form_of_name(out.name),
            system=options.units,
            zone=options.zone or _zone_here(),
            paper=options.paper or ("letter" if options.units == "us" else "a4"),
        )
        made = make(
            history, asked, charts=script_of_charts(), tell=lambda step: print(f"{step} …", file=sys.stderr, flush=True)
        )
        with written(out, history.path) as file:
            file.write(made)
        beside = rest_of(made, asked)
        if beside is not None:
            name, whole = beside
            with written(out.with_name(name), history.path) as file:
                file.write(make(history, whole, charts=script_of_charts()))
    except (RecordError, ReportError, PaperError) as error:
        print(f"dewline report: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except OSError as error:
        print(f"dewline report: {error.filename} cannot be read: {error.strerror}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{out}: {len(made) / 1000:.0f} kB, in {time.monotonic() - started_s:.1f} s")
    if beside is not None:
        print(f"{out.with_name(beside[0])}: all of the report; its sheet has no room for a part of it, and says so")
    print(_proven(history, asked))
    return 0


def _proven(history: "History", asked: "Asked") -> str:
    """Say what an independent library makes of the figures of a report."""
    from ingest.report.proof import is_there, prove_visit

    if not is_there():
        return (
            "CoolProp would work its figures out again: in the folder of Dewline, .venv/bin/pip install '.[properties]'"
        )
    proof = prove_visit(history, asked.visit, asked.zone)
    if not proof.figures:
        return f"{proof.library} had no superheat or subcooling to work out again."
    left = f"; at {proof.not_flashed} more pressures it found no equilibrium" if proof.not_flashed else ""
    return f"{proof.library} works out the same {proof.figures} figures within {1e3 * proof.worst_dk:.1f} mK{left}."


def _newest_visit(history: "History") -> str:
    from ingest.report.errors import ReportError

    visit = history.newest_visit()
    if visit is None:
        raise ReportError("there is no visit in the record yet")
    return visit


def _zone_here() -> str:
    """Name the time zone of this machine, as the IANA has it; UTC where it does not say."""
    place = Path(os.environ.get("TZ", "").removeprefix(":") or "/etc/localtime")
    _, zoneinfo, name = str(place.resolve() if place.is_absolute() else place).rpartition("zoneinfo/")
    return name if zoneinfo or not place.is_absolute() else "UTC"
