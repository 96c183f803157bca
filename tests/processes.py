"""Our commands as real processes, and patience with them."""

import asyncio
import os
import signal
import socket
import sys
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest


def unused_port() -> int:
    """Find a TCP port of this machine on which nothing listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def is_free(port: int) -> bool:
    """Whether a TCP port of this machine can be listened on."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # what lingers after a close takes no port
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
        return True


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


async def eventually(what: str, check: Callable[[], Awaitable[bool]], within_s: float = 20.0) -> None:
    """Wait until `check` holds; fail with `what` if it does not in time."""
    deadline = asyncio.get_running_loop().time() + within_s
    while not await check():
        if asyncio.get_running_loop().time() > deadline:
            pytest.fail(f"not within {within_s:g} s: {what}")
        await asyncio.sleep(0.05)
