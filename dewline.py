"""The command line of Dewline: its commands, and how one is run.

What each does is in `commands`, which imports only the room that it needs: arithmetic at the shell must not wait for a
web framework.
"""

import argparse
import logging
import os
import sys
from collections.abc import Sequence

from commands import (
    backup,
    bench,
    calc,
    check,
    daemon,
    dashboard,
    erase,
    export,
    importing,
    instruments,
    invite,
    people,
    refrigerant,
    replay,
    report,
    rerun,
    units,
    verify,
)
from commands.added_refrigerants import put_added_on_shelf
from commands.ending import SETUP_IS_WRONG, STOPPED, drop_output
from commands.log_level import log_level
from ingest.logs import FewAlike, OneLine
from ingest.parent import end_with_parent

ONE_THREAD = "OPENBLAS_NUM_THREADS"
"""The matrices of a judgement are small: more threads than one wait for each other on every core, and do no more."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    os.environ.setdefault(ONE_THREAD, "1")  # before numpy is loaded, which no import above does
    options = _options(arguments)
    log = logging.StreamHandler()
    log.setFormatter(OneLine())
    log.addFilter(FewAlike())
    log.setLevel(log_level(options))
    logging.basicConfig(level=log_level(options), handlers=[log])
    if not logging.root.isEnabledFor(logging.DEBUG):  # it warns that it takes BlueZ for a new one; nothing to be done
        logging.getLogger("bleak.backends.bluezdbus.version").setLevel(logging.ERROR)
    if options.with_parent:
        end_with_parent()
    return _run(options) if not options.works_with_added or put_added_on_shelf() else SETUP_IS_WRONG


def _run(options: argparse.Namespace) -> int:
    """Run a command; one that ends by itself is stopped, or loses who reads it, without a traceback."""
    if not options.ends_by_itself:
        return int(options.command(options))
    try:
        code = int(options.command(options))
        sys.stdout.flush()
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        drop_output()
        return 0
    except KeyboardInterrupt:
        print("dewline: stopped", file=sys.stderr)
        return STOPPED
    return code


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    """Read the command line. Words of a list may stand on both sides of an option, which argparse takes for no words.

    `parse_intermixed_args` would take them, but refuses a parser that has commands. Only `calc` takes a list.
    """
    parser = _parser()
    options, further = parser.parse_known_args(arguments)
    wrong = further if "values" not in options else [word for word in further if word.startswith("-")]
    if wrong:
        parser.error(f"unrecognized arguments: {' '.join(wrong)}")
    if further:
        options.values += further
    return options


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="dewline", description="A live charging bench for technicians.")
    parser.add_argument("--with-parent", action="store_true", help="stop when standard input closes")
    parser.add_argument("--log-level", choices=["debug", "info", "warning", "error"], help="what is logged, and worse")
    parser.set_defaults(ends_by_itself=True, works_with_added=True, usual_log_level="info")  # of most commands
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    calc.add(commands.add_parser("calc", help="run one calculation, with units in the values", add_help=False))
    instruments.add(commands.add_parser("instruments", help="look for instruments, and propose how to read them"))
    check.add(commands.add_parser("check", help="try a configuration: reach its instruments, read each channel"))
    daemon.add(commands.add_parser("daemon", help="read the instruments, record, publish over MQTT"))
    rerun.add(commands.add_parser("rerun", help="work the advices of a record out again, from its readings"))
    backup.add_backup(commands.add_parser("backup", help="copy a record to keep, while it is written to"))
    backup.add_restore(commands.add_parser("restore", help="put such a copy in the place of a record"))
    erase.add(commands.add_parser("erase", help="erase visits from a record, but for what the law wants kept"))
    refrigerant.add(commands.add_parser("refrigerant", help="refrigerants: list them, add one, check the added"))
    replay.add(commands.add_parser("replay", help="play a recorded visit again, through the judge and the page"))
    export.add(commands.add_parser("export", help="write a record as CSV, Parquet, SenML or JSON"))
    importing.add(commands.add_parser("import", help="bring a log of any logger into a record, by a map of columns"))
    units.add(commands.add_parser("units", help="the register of units: list, import, export, tags and labels"))
    report.add(commands.add_parser("report", help="make the report of a visit, as PDF, HTML or JSON"))
    verify.add(commands.add_parser("verify", help="try the file of a report: unchanged, and as recorded?"))
    dashboard.add(commands.add_parser("dashboard", help="serve the live page"))
    people.add(commands.add_parser("people", help="who may come in at the page by a password"))
    invite.add(commands.add_parser("invite", help="make a one-time link to the page"))
    bench.add(commands.add_parser("bench", help="a simulated unit on real transports, and the live page"))
    return parser


if __name__ == "__main__":
    sys.exit(main())
