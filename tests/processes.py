"""Our commands as real processes, and patience with them."""

import asyncio
import itertools
import os
import random
import signal
import socket
import sys
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import pytest

PORTS = range(10_240, 32_768)
"""Below those that the kernel hands out by itself: nobody's own end of a connection, not even a reconnecting client's
to the very port it seeks, takes one while a broker is away."""

Result = TypeVar("Result")

WORKERS = 8


BUSY = float(os.environ.get("DEWLINE_BUSY", "4"))
"""How many times longer than on a quiet machine the tests wait for what they await. Mutants are not waited for so long:
under most of those that lose a message it never comes."""


def _ports_of_ours() -> Iterator[int]:
    """Deal out ports that no other worker of this run has, from anywhere on, so that runs side by side differ."""
    worker = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
    ours = PORTS[worker % WORKERS :: WORKERS]
    begin = random.randrange(len(ours))
    return itertools.cycle([*ours[begin:], *ours[:begin]])


_ports = _ports_of_ours()


def unused_port() -> int:
    """Find a TCP port of this machine on which nothing listens, another one each time."""
    return next(filter(is_free, _ports))


def is_free(port: int) -> bool:
    """Whether a TCP port of this machine can be listened on."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # what lingers after a close takes no port
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
        return True


_page_port = 0


def page_port() -> int:
    """The port at which this worker serves its pages, the same each time while nobody else listens there.

    A browser keeps what it has compiled of a page by its address.
    """
    global _page_port  # noqa: PLW0603 - one for all
    if not _page_port or not is_free(_page_port):
        _page_port = unused_port()
    return _page_port


@dataclass(frozen=True)
class Command:
    """One of our commands as a running process, with the file its output goes to."""

    process: asyncio.subprocess.Process
    log: Path

    def output(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace")


@asynccontextmanager
async def running(arguments: Sequence[str], log: Path, environment: Mapping[str, str] = {}) -> AsyncIterator[Command]:
    """Run `dewline ARGUMENTS` until the block ends; what it printed is shown when the block fails."""
    with log.open("wb") as output:
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            "dewline",
            *arguments,
            stdin=asyncio.subprocess.DEVNULL,
            stdout=output,
            stderr=output,
            env=os.environ | environment,
        )
    command = Command(process, log)
    try:
        yield command
    except BaseException:
        print(f"--- dewline {' '.join(arguments)}\n{command.output()[-6000:]}")
        raise
    finally:
        if process.returncode is None:
            process.send_signal(signal.SIGTERM)
            try:
                async with asyncio.timeout(8):
                    await process.wait()
            except TimeoutError:
                process.kill()
                await process.wait()


async def within(what: str, awaited: Awaitable[Result], within_s: float = 20.0) -> Result:
    """Wait for something that has no patience of its own; fail with `what` if it does not come in time."""
    patience = asyncio.timeout(BUSY * within_s)
    try:
        async with patience:
            return await awaited
    except TimeoutError:
        if patience.expired():
            pytest.fail(f"not within {BUSY * within_s:g} s: {what}")
        raise


async def eventually(what: str, check: Callable[[], Awaitable[bool]], within_s: float = 20.0) -> None:
    """Wait until `check` holds; fail with `what` if it does not in time on a machine however busy."""
    deadline = asyncio.get_running_loop().time() + BUSY * within_s
    while not await check():
        if asyncio.get_running_loop().time() > deadline:
            pytest.fail(f"not within {BUSY * within_s:g} s: {what}")
        await asyncio.sleep(0.05)
