"""The command `daemon`: reads the instruments, records, publishes."""

import argparse
import asyncio
import sys
from pathlib import Path

from commands.ending import SETUP_IS_WRONG


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("--config", type=Path, required=True, help="the configuration of the rig, in TOML")
    parser.set_defaults(command=run, ends_by_itself=False)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest import daemon
    from ingest.config.load import ConfigError, load

    try:
        config = load(options.config)
        asyncio.run(daemon.run(config, options.config))
    except (ConfigError, daemon.StartError) as error:
        print(f"dewline daemon: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    return 0
