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
        "columns are: --guess proposes one from the log, to be reviewed; docs/import.md has its keys. A log comes in "
        "whole or not at all."
    )
    parser.add_argument("log", type=Path, help="the log, with the names of its columns in a line")
    parser.add_argument(
        "--guess", action="store_true", help="propose a map, with a question where it cannot know; --map FILE keeps it"
    )
    parser.add_argument("--map", type=Path, help="the map of its columns, in TOML")
    parser.add_argument("--data", type=Path, help="the folder of the record; not that of a rig")
    parser.add_argument("--no-advice", action="store_true", help="do not judge it: much faster, for a log of days")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.config.load import ConfigError
    from ingest.importing.bring_in import bring_in
    from ingest.importing.errors import LogError
    from ingest.importing.guess import guess
    from ingest.importing.log_map import read_map
    from ingest.importing.told import as_lines, progress
    from ingest.record.errors import RecordError

    if not options.guess and not (options.map and options.data):
        print("dewline import: --map and --data are needed; --guess prints a map to begin with", file=sys.stderr)
        return SETUP_IS_WRONG
    try:
        if options.guess:
            return _propose_map(guess(options.log), options.map)
        read = read_map(options.map, options.data / RECORD)
        taken = bring_in(
            options.log,
            read,
            judged=not options.no_advice,
            tell=lambda so_far: print(progress(so_far), file=sys.stderr, flush=True),
        )
    except (ConfigError, LogError, RecordError) as error:
        print(f"dewline import: {error}\nNothing was imported.", file=sys.stderr)
        return SETUP_IS_WRONG
    except KeyboardInterrupt:
        print("Nothing was imported.", file=sys.stderr)
        return STOPPED
    print("\n".join(as_lines(taken, read.rig.record)))
    return 0


def _propose_map(text: str, path: Path | None) -> int:
    """Write a proposed map; one that is there may have been reviewed already, and stays."""
    from ingest.record.beside import written

    if path is None:
        print(text, end="")
        return 0
    if path.exists():
        print(f"dewline import: {path} is there already and may have been reviewed: name another", file=sys.stderr)
        return SETUP_IS_WRONG
    with written(path) as file:
        file.write(text.encode())
    questions = text.count('= "?"')
    print(f"{path} has a question in {questions} places: answer them, and look through the rest")
    return 0
