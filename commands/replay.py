"""The command `replay`: plays a recorded visit again, through the judge and the page."""

import argparse
import asyncio
import sys
from datetime import datetime
from functools import partial
from pathlib import Path

from commands.ending import SETUP_IS_WRONG
from commands.log_level import LOG_LEVEL, log_level
from commands.pages import bench_page, place_options
from commands.records import RECORD
from ingest.ports import PortTakenError, check_free

REPLAYED_RIG = "replay"
"""The name of a rig on the wire that plays a record again: it must not pass for the one that is at work."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Plays a recorded visit again through record, judge, broker and page, and says at the end where today's judge "
        "says otherwise. The page then stays until Ctrl-C."
    )
    parser.add_argument("record", type=Path, help=f"such as {RECORD}")
    parser.add_argument("--visit", help="by its id; the newest otherwise")
    parser.add_argument("--speed", type=_speed, default=1.0, help="how much faster than it was, 1 to 1000")
    parser.add_argument("--no-page", action="store_true", help="end once it is played, without a page")
    parser.add_argument("--name", default="", help="the name of who watches")
    place_options(parser)
    parser.add_argument("--broker-port", type=int, default=18830)
    parser.add_argument("--broker-kind", choices=["auto", "mosquitto", "embedded"], default="auto")
    parser.add_argument("--directory", type=Path, help="where the new record goes; else replay-data/ and the time")
    parser.set_defaults(command=run, ends_by_itself=False)


def _speed(text: str) -> float:
    try:
        speed = float(text)
    except ValueError:
        speed = 0.0
    if not 1.0 <= speed <= 1000.0:
        raise argparse.ArgumentTypeError(f"{text!r}: 1 to 1000 was expected")
    return speed


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.broker.serve import BrokerSetupError
    from ingest.record.errors import RecordError
    from simulators.errors import SimulatorError

    directory: Path = options.directory or Path("replay-data") / datetime.now().strftime("%Y-%m-%d_%H%M%S")  # noqa: DTZ005
    try:
        check_free("127.0.0.1", options.broker_port, of="the broker", option="--broker-port")
        if not options.no_page:
            check_free(options.host, options.port, of="the page", option="--port")
        directory.mkdir(parents=True, exist_ok=True)
        return asyncio.run(_run(options, directory.resolve()))
    except (PortTakenError, RecordError, BrokerSetupError, SimulatorError, OSError) as error:
        print(f"dewline replay: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except (KeyboardInterrupt, asyncio.CancelledError):
        print(f"The replay is stopped; what was played stays in {directory}")
        return 0


async def _run(options: argparse.Namespace, directory: Path) -> int:
    from ingest.advice.otherwise import as_lines
    from ingest.broker.serve import serve_broker
    from ingest.config.structs import BrokerConfig
    from ingest.record.reading import open_record
    from ingest.replay.play import play
    from simulators.bench.children import keep_running

    visit = open_record(options.record).visit_named(options.visit)
    into = directory / RECORD
    broker = BrokerConfig(kind=options.broker_kind, listen=f"127.0.0.1:{options.broker_port}")
    print(f"visit {visit.id} at {visit.unit.tag}, into {into}", flush=True)
    async with serve_broker(broker, REPLAYED_RIG, directory) as address:
        tasks = set[asyncio.Task[None]]()
        if not options.no_page:
            page = bench_page(options, directory, address)
            arguments = [*page.arguments, "--record", str(into), "--rig", REPLAYED_RIG]
            environment = {LOG_LEVEL: log_level(options).lower()}
            serves = keep_running(arguments, environment, gives_up_at=SETUP_IS_WRONG)
            tasks = {asyncio.create_task(serves), asyncio.create_task(page.tell_once_it_answers())}
        try:
            played = await play(
                options.record,
                visit,
                into,
                address,
                rig=REPLAYED_RIG,
                speed=options.speed,
                stay=asyncio.Event() if tasks else None,
                tell=partial(print, flush=True),
            )
        finally:
            for task in tasks:
                task.cancel()
            if tasks:
                await asyncio.wait(tasks)
    print("\n".join(as_lines(visit, visit.id, played.came_out)))
    return 1 if played.came_out.others else 0
