"""A D-Bus of our own, which ends with us even if we are killed."""

import asyncio
import logging
import shutil
import sys
import tempfile
from asyncio.subprocess import PIPE
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from simulators.errors import SimulatorError

logger = logging.getLogger(__name__)

START_TIMEOUT_S = 10.0

_CONFIGURATION = """<busconfig>
  <listen>unix:path={directory}/bus</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow own="*"/>
    <allow send_destination="*"/>
    <allow receive_sender="*"/>
  </policy>
</busconfig>
"""

_UNTIL_OUR_END = """
dbus-daemon --nofork --nopidfile --nosyslog --print-address=1 --config-file="$1/bus.conf" 2>"$1/told" &
exec >/dev/null
cat
kill $! 2>/dev/null
wait
rm -r "$1"
"""
"""`cat` ends when our end of its pipe closes, which the kernel sees to if we are killed. Nobody else holds
the other pipe, so that a dbus-daemon that ends is noticed at once."""


def available() -> str | None:
    """Say why there can be no private bus on this machine; None where there can."""
    if not sys.platform.startswith("linux"):
        return "D-Bus is the message bus of Linux only"
    if shutil.which("dbus-daemon") is None:
        return "dbus-daemon is missing; it comes with the system package dbus"
    return None


@asynccontextmanager
async def private_bus() -> AsyncIterator[str]:
    """Run a dbus-daemon that only this user reaches; gives its address.

    Raises:
        SimulatorError: there is none on this machine, or it did not start.

    """
    reason = available()
    if reason:
        raise SimulatorError(reason)
    directory = Path(tempfile.mkdtemp(prefix="dewline-bus-"))
    configuration = _CONFIGURATION.format(directory=directory)
    (directory / "bus.conf").write_text(configuration, encoding="utf-8")
    command = ("sh", "-c", _UNTIL_OUR_END, "sh", str(directory))
    process = await asyncio.create_subprocess_exec(*command, stdin=PIPE, stdout=PIPE, start_new_session=True)
    try:
        yield await _address(process, directory / "told")
    finally:
        if process.stdin:
            process.stdin.close()
        await process.wait()


async def _address(process: asyncio.subprocess.Process, told: Path) -> str:
    async with asyncio.timeout(START_TIMEOUT_S):
        line = await process.stdout.readline() if process.stdout else b""
    if not line:
        raise SimulatorError(f"dbus-daemon did not start: {_said(told)}")
    if said := _said(told):  # such as that it may not open more files, which it need not
        logger.info("%s", said)
    return line.decode().strip()


def _said(told: Path) -> str:
    return told.read_text(encoding="utf-8").strip()
