"""The command `import`: brings a log of any logger into a record, by a map of its columns."""

import argparse
import sys
from pathlib import Path

from commands.ending import SETUP_IS_WRONG, STOPPED
from commands.records import RECORD


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Brings a CSV log of any logger into a record, as a visit that was read live. A map in TOML says what its "
        "columns are: --guess proposes one from the log, to be reviewed; docs/import.md has its keys. A visit that "
        "dewline export wrote comes in as it was recorded, without one. A log comes in whole or not at all."
    )
    parser.add_argument("log", type=Path, help="the log, with the names of its columns in a line")
    parser.add_argument(
        "--guess", action="store_true", help="propose a map, with a question where it cannot know; --map FILE keeps it"
    )
    parser.add_argument(
        "--answer", nargs="+", action="extend", default=[], metavar="KEY=WORD", help="to what --guess asks: zone=UTC"
    )
    parser.add_argument("--map", type=Path, help="the map of its columns, in TOML; a visit that went out needs none")
    parser.add_argument("--data", type=Path, help="the folder of the record; not that of a rig")
    parser.add_argument("--no-advice", action="store_true", help="do not judge it: much faster, for a log of days")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.config.load import ConfigError
    from ingest.importing.answers import AnswerError
    from ingest.importing.errors import LogError
    from ingest.record.errors import RecordError

    if not options.guess and not options.data:
        print("dewline import: --data is needed, the folder of the record; or --guess for a map", file=sys.stderr)
        return SETUP_IS_WRONG
    try:
        return _propose_map(options) if options.guess else _bring_in(options)
    except AnswerError as error:
        print(f"dewline import: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except (ConfigError, LogError, RecordError) as error:
        print(f"dewline import: {error}\nNothing was imported.", file=sys.stderr)
        return SETUP_IS_WRONG
    except KeyboardInterrupt:
        print("Nothing was imported.", file=sys.stderr)
        return STOPPED


def _bring_in(options: argparse.Namespace) -> int:
    from ingest.importing.bring_in import Progress, bring_in, bring_in_recorded
    from ingest.importing.log_map import read_map
    from ingest.importing.recorded import is_exported
    from ingest.importing.told import as_lines, progress

    def tell(so_far: Progress) -> None:
        print(progress(so_far), file=sys.stderr, flush=True)

    record = options.data / RECORD
    if options.map:
        taken = bring_in(options.log, read_map(options.map, record), judged=not options.no_advice, tell=tell)
    elif is_exported(options.log):
        taken = bring_in_recorded(options.log, record, tell=tell)
    else:
        print("dewline import: --map is needed; --guess proposes one to begin with", file=sys.stderr)
        return SETUP_IS_WRONG
    print("\n".join(as_lines(taken, record)))
    return 0


def _propose_map(options: argparse.Namespace) -> int:
    """Write a proposed map; one that is there may have been reviewed already: answers alone go into it."""
    from ingest.importing.answers import answered, questions, still_asked, told
    from ingest.importing.guess import guess
    from ingest.importing.recorded import is_exported
    from ingest.record.beside import written
    from ingest.record.exported import read_beside

    path: Path | None = options.map
    proposed = guess(options.log)
    if is_exported(options.log) and read_beside(options.log):
        print(f"{options.log} went out of a record and needs no map: --data alone brings it in again", file=sys.stderr)
    is_there = path is not None and path.exists()
    if is_there and not options.answer:
        way = "name another, or answer what it asks by --answer"
        print(f"dewline import: {path} is there already and may have been reviewed: {way}", file=sys.stderr)
        return SETUP_IS_WRONG
    asking = path.read_text(encoding="utf-8") if path and is_there else proposed.text
    text = answered(asking, options.answer, proposed.choices)
    if path is None:
        print(text, end="")
        return 0
    with written(path) as file:
        file.write(text.encode())
    if not is_there:
        print("\n".join([*proposed.taken, *(f"{name!r} is not read" for name in proposed.left)]))
    print("\n".join([still_asked(path, len(questions(text))), *told(text, proposed.choices)]))
    return 0
