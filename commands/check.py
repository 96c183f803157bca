"""The command `check`: tries a configuration."""

import argparse
import asyncio
import sys
from pathlib import Path

from commands.ending import SETUP_IS_WRONG


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("file", type=Path, help="the configuration of the rig, in TOML")
    parser.add_argument("--within", default="20 s", help="how long the slowest instrument may take")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from calc.errors import CalcError
    from calc.units import parse
    from ingest.checking.structure import Problem
    from ingest.config.load import ConfigError, load, resolve
    from ingest.discover import try_out as check

    try:
        within_s = parse(options.within, "time")
        config = load(options.file)
        rig = resolve(config, options.file)
    except (CalcError, ConfigError) as error:
        print(f"dewline check: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    if rig.record.is_dir():  # the daemon starts all the same, and says that nothing is saved
        wrong = Problem("rig.record", config.rig.record, "is a folder; the name of a file was expected")
        print(f"dewline check: {ConfigError(options.file, [wrong])}", file=sys.stderr)
        return SETUP_IS_WRONG
    trials = asyncio.run(check.try_out(config, rig, within_s=within_s))
    print(check.as_tree(rig.name, trials))
    return 0 if all(trial.is_good for trial in trials) else SETUP_IS_WRONG
