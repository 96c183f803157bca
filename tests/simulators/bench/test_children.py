"""A command of the bench that ends by itself is started again more and more slowly; one that is killed, at once."""

import asyncio
import logging
import os
import signal
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from pathlib import Path

import pytest

from simulators.bench import children
from simulators.bench.children import keep_running
from simulators.errors import SimulatorError
from tests.processes import eventually

SETUP_IS_WRONG = 2
"""The exit code of a command that would only fail again (sysexits of argparse, too)."""


@asynccontextmanager
async def kept_running(*arguments: str) -> AsyncIterator[None]:
    keeping = asyncio.create_task(keep_running(arguments, {}, gives_up_at=99))
    try:
        yield
    finally:
        keeping.cancel()
        with suppress(asyncio.CancelledError):
            await keeping


def pauses_s(records: Sequence[logging.LogRecord]) -> list[float]:
    return [record.args[2] for record in records if record.name == "simulators.bench.children"]  # type: ignore[index, misc]


def ends(records: Sequence[logging.LogRecord]) -> list[int]:
    return [record.args[1] for record in records if record.name == "simulators.bench.children"]  # type: ignore[index, misc]


def child() -> int | None:
    """Give the command that runs, by what the kernel lists of our children."""
    listed = Path(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read_text().split()
    return next((int(pid) for pid in listed if "dewline" in Path(f"/proc/{pid}/cmdline").read_text()), None)


async def test_one_that_is_killed_as_it_starts_is_started_again_at_once(caplog: pytest.LogCaptureFixture) -> None:
    async def is_told() -> bool:
        if (pid := child()) is not None and not pauses_s(caplog.records):
            os.kill(pid, signal.SIGKILL)
        return bool(pauses_s(caplog.records))

    async with kept_running("invite", "--help"):
        await eventually("the killed command is told", is_told)
    assert pauses_s(caplog.records)[0] == 0.0


async def test_one_that_ran_is_started_again_though_it_cannot_start_at_once(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Killed with its broker's guard, the daemon found its port taken: its setup was right all the same."""
    command = ("check", str(tmp_path / "none.toml"))
    with pytest.raises(SimulatorError, match="the check cannot start"):
        await keep_running(command, {}, gives_up_at=SETUP_IS_WRONG)

    async def is_told_again() -> bool:
        if (pid := child()) is not None and not ends(caplog.records):
            os.kill(pid, signal.SIGKILL)
        return keeping.done() or len(ends(caplog.records)) >= 3

    keeping = asyncio.create_task(keep_running(command, {}, gives_up_at=SETUP_IS_WRONG))
    try:
        await eventually("it is started a third time", is_told_again)
        assert ends(caplog.records)[:3] == [-signal.SIGKILL, SETUP_IS_WRONG, SETUP_IS_WRONG]
        assert pauses_s(caplog.records)[:3] == [0.0, 0.25, 0.5]
    finally:
        keeping.cancel()
        with suppress(asyncio.CancelledError, SimulatorError):
            await keeping


async def test_one_that_ends_by_itself_is_started_more_and_more_slowly(
    caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    # On a busy machine a command may take longer than usual even to find that it is none.
    monkeypatch.setattr(children, "HEALTHY_S", 1e6)

    async def is_told_twice() -> bool:
        return len(pauses_s(caplog.records)) >= 2

    async with kept_running("no-such-command"):
        await eventually("two ends are told", is_told_twice)
    assert pauses_s(caplog.records)[:2] == [0.25, 0.5]
