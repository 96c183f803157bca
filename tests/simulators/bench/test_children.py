"""The commands of a bench: who dies by itself as it starts is started again more and more slowly; who is killed, at once."""

import asyncio
import logging
import os
import signal
from pathlib import Path

import pytest

from simulators.bench.children import keep_running


def pauses_s(caplog: pytest.LogCaptureFixture) -> list[float]:
    return [float(str(record.args[2])) for record in caplog.records if isinstance(record.args, tuple)]


def child() -> int | None:
    """Give the only child of this process that runs, by what the kernel lists."""
    listed = Path(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read_text().split()
    running = [int(pid) for pid in listed if "dewline" in Path(f"/proc/{pid}/cmdline").read_text()]
    return running[0] if running else None


async def test_one_that_is_killed_as_it_starts_is_started_again_at_once(caplog: pytest.LogCaptureFixture) -> None:
    bench = asyncio.create_task(keep_running(["invite", "--help"], {}, gives_up_at=2))
    with caplog.at_level(logging.WARNING):
        while not pauses_s(caplog):
            await asyncio.sleep(0.01)
            if (pid := child()) is not None:
                os.kill(pid, signal.SIGKILL)
    bench.cancel()
    assert pauses_s(caplog)[0] == 0.0


async def test_one_that_ends_by_itself_as_it_starts_is_started_more_and_more_slowly(
    caplog: pytest.LogCaptureFixture,
) -> None:
    bench = asyncio.create_task(keep_running(["no-such-command"], {}, gives_up_at=99))
    with caplog.at_level(logging.WARNING):
        while len(pauses_s(caplog)) < 2:
            await asyncio.sleep(0.05)
    bench.cancel()
    assert pauses_s(caplog) == [0.25, 0.5]
