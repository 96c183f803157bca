"""The daemon as a process of its machine."""

import asyncio
import secrets
import signal
import sys
from pathlib import Path

DISCONNECT_S = 0.3


def heed_signals(stop: asyncio.Event, reload: asyncio.Event) -> None:
    """Stop on SIGTERM and SIGINT, reload on SIGHUP."""
    if sys.platform != "win32":  # there, asyncio.run turns Ctrl-C into a cancellation
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGINT):
            loop.add_signal_handler(number, stop.set)
        loop.add_signal_handler(signal.SIGHUP, reload.set)


def boot_id() -> str:
    """Identify this run of the machine, so that monotonic times can be compared or not."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return secrets.token_hex(16)


async def end(task: asyncio.Task[None]) -> None:
    """Cancel a task; where it then waits for a frozen broker to disconnect, cancel that too."""
    task.cancel()
    await asyncio.wait({task}, timeout=DISCONNECT_S)
    task.cancel()
    await asyncio.wait({task})
