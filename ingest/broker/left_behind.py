"""A broker that a killed daemon left behind: its tether was killed with it, and it would keep the port for ever."""

import asyncio
import logging
import os
import signal
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from pathlib import Path

logger = logging.getLogger(__name__)


@asynccontextmanager
async def alone_in(directory: Path, command: Sequence[str]) -> AsyncIterator[None]:
    """Hold a directory for as long as the block runs, and first end what a former holder still runs by this command.

    While another daemon is alive in the directory, its broker is its own, and nothing is ended.
    """
    import fcntl  # Windows has none, and no mosquitto of ours

    held = os.open(directory, os.O_RDONLY)  # no child inherits it (PEP 446); the system lets go however we end
    try:
        with suppress(BlockingIOError):
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
            await _end(command)
        yield
    finally:
        os.close(held)


async def _end(command: Sequence[str]) -> None:
    for pid in await _running(command):
        logger.warning("%s was left behind by a daemon that was killed; ending it", " ".join(command))
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)


async def _running(command: Sequence[str]) -> list[int]:
    """List the processes with exactly this command line: it names a configuration that is ours alone."""
    try:
        listing = await asyncio.create_subprocess_exec(
            *("ps", "-A", "-ww", "-o", "pid=,args="), stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.DEVNULL
        )
    except FileNotFoundError:
        logger.warning("without the program ps a broker that was left behind cannot be found")
        return []
    out, _ = await listing.communicate()
    lines = (line.strip().partition(" ") for line in out.decode(errors="replace").splitlines())
    return [int(pid) for pid, _, arguments in lines if arguments.strip() == " ".join(command)]
