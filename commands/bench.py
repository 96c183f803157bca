"""The command `bench`: a simulated unit on real transports, and the live page."""

import argparse
import asyncio
import secrets
import signal
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime
from functools import partial
from pathlib import Path

from commands.ending import SETUP_IS_WRONG
from commands.log_level import LOG_LEVEL, log_level
from commands.pages import bench_page, place_options
from ingest.ports import PortTakenError, check_free
from ingest.wire.messages import BrokerAddress


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("--scenario", help="a name in simulators/scenarios, a file, or any; long_lines otherwise")
    parser.add_argument("--list", action="store_true", help="list the scenarios")
    parser.add_argument("--blind", action="store_true", help="hide what is wrong until the trainee's verdict")
    parser.add_argument("--script", type=Path, help="a visit to play, from a TOML file; it names its own scenario")
    parser.add_argument("--speed", type=float, default=1.0, help="how much faster than life the unit runs")
    parser.add_argument("--name", default="", help="who works at this machine, as their lock and signature have it")
    place_options(parser)
    parser.add_argument("--broker-port", type=int, default=18830)
    parser.add_argument("--broker-kind", choices=["auto", "mosquitto", "embedded"], default="auto")
    parser.add_argument("--directory", type=Path, help="where the record goes; else bench-data/ and the time")
    parser.set_defaults(command=run, ends_by_itself=False, usual_log_level="warning")


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from simulators.bench.alone import alone_in
    from simulators.bench.bench import check_speed
    from simulators.errors import SimulatorError

    if options.list:
        _list_scenarios()
        return 0
    try:
        check_speed(options.speed)
        check_free(options.host, options.port, of="the page", option="--port")
        check_free("127.0.0.1", options.broker_port, of="the broker", option="--broker-port")
    except (PortTakenError, SimulatorError) as error:
        print(f"dewline bench: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    directory: Path = options.directory or Path("bench-data") / datetime.now().strftime("%Y-%m-%d_%H%M%S")  # noqa: DTZ005
    try:
        with alone_in(directory.resolve()):
            asyncio.run(_run(options, directory.resolve()))
    except (SimulatorError, OSError) as error:
        print(f"dewline bench: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except (KeyboardInterrupt, asyncio.CancelledError):
        print(f"The bench is stopped; its record stays in {directory}")
    return 0


def _list_scenarios() -> None:
    from simulators.bench.scenario import file_of, names

    width = max(len(name) for name in names())
    for name in names():
        file = file_of(name)
        print(f"{name:{width}} {'*' if file.truth else ' '} {file.title}")
    print("* hides a fault, which --blind keeps from the trainee until the verdict")


async def _run(options: argparse.Namespace, directory: Path) -> None:
    from simulators.bench.bench import STARTS_ANEW, SimulatedRig
    from simulators.bench.children import keep_running
    from simulators.bench.scenario import load_scenario, names
    from simulators.bench.script import load_script
    from simulators.errors import SimulatorError

    this_task = asyncio.current_task()
    assert this_task is not None  # noqa: S101 - we are inside it
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        asyncio.get_running_loop().add_signal_handler(number, this_task.cancel)
    broker = BrokerAddress(host="127.0.0.1", port=options.broker_port)
    script = None if options.script is None else load_script(options.script)
    if script is not None and options.scenario:
        raise SimulatorError(f"{options.script} names its own scenario; leave --scenario {options.scenario} out")
    if script is not None:
        scenario = script.scenario
    else:
        name = options.scenario or "long_lines"
        scenario = load_scenario(secrets.choice(names()) if name == "any" else name)
    page = bench_page(options, directory, broker)
    environment = {LOG_LEVEL: log_level(options).lower()}
    bench = SimulatedRig(
        scenario,
        speed=options.speed,
        directory=directory,
        blind=options.blind,
        script=script,
        tell=partial(print, flush=True),
    )
    async with bench as rig:
        configuration = directory / "rig.toml"
        if rig.starts_anew:
            print(STARTS_ANEW)
        print(f"The record: {rig.record}", flush=True)
        configuration.write_text(rig.configuration(options.broker_port, options.broker_kind), encoding="utf-8")
        daemon = ["daemon", "--config", str(configuration)]
        async with _as_one_error(), asyncio.TaskGroup() as group:
            group.create_task(rig.lasts())
            group.create_task(rig.follow(broker))
            group.create_task(_end_with(rig.ended, this_task))
            group.create_task(keep_running(daemon, rig.environment() | environment, gives_up_at=SETUP_IS_WRONG))
            group.create_task(page.tell_once_it_answers())
            serves = [*page.arguments, "--record", str(rig.record)]
            async with _as_one_error(), asyncio.TaskGroup() as first_to_end:  # before its broker, which it would miss
                first_to_end.create_task(keep_running(serves, environment, gives_up_at=SETUP_IS_WRONG))


async def _end_with(ended: asyncio.Event, bench: "asyncio.Task[None]") -> None:
    """Stop the bench when its script is over."""
    await ended.wait()
    bench.cancel()


@asynccontextmanager
async def _as_one_error() -> AsyncIterator[None]:
    """Give what ended the bench as it is, not as a group of one."""
    from simulators.errors import SimulatorError

    try:
        yield
    except* SimulatorError as errors:
        raise SimulatorError(str(errors.exceptions[0])) from errors
