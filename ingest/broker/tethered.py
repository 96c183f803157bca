"""A child process that lives no longer than we do, however we end.

A shell holds the reading end of a pipe and kills the child when the pipe closes, which the kernel does
when we exit, and as well when we are killed. Unlike Linux's parent-death signal this works on every
POSIX system, does not depend on which of our threads started the child, and holds for a child that
changes its user.
"""

import asyncio
import logging
from collections import deque
from collections.abc import Sequence

_TETHER = """
exec 3<&0
"$@" </dev/null 3<&- & child=$!
(read -r _ <&3; kill -9 "$child") >/dev/null 2>&1 & tether=$!
exec 3<&-
wait "$child" 2>/dev/null; status=$?
kill "$tether" 2>/dev/null
exit "$status"
"""

_REMEMBERED_LINES = 5


class Tethered:
    """One run of a command. What it writes to its error stream goes to `log`, and its last lines are kept."""

    def __init__(self, process: asyncio.subprocess.Process, log: logging.Logger) -> None:
        self._process = process
        self._log = log
        self._lines: deque[str] = deque(maxlen=_REMEMBERED_LINES)
        self._listening = asyncio.create_task(self._listen())

    @classmethod
    async def start(cls, command: Sequence[str], log: logging.Logger) -> "Tethered":
        """Start a command, apart from our terminal: its Ctrl-C is ours to handle, in our own order."""
        process = await asyncio.create_subprocess_exec(
            "/bin/sh", "-c", _TETHER, "tether", *command,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.DEVNULL,
            stderr=asyncio.subprocess.PIPE,
            start_new_session=True,
        )  # fmt: skip
        return cls(process, log)

    @property
    def is_running(self) -> bool:
        """Whether the command has not ended yet."""
        return self._process.returncode is None

    @property
    def last_words(self) -> str:
        """The last lines of its error stream."""
        return "; ".join(self._lines)

    async def wait(self) -> int:
        """Wait until it ends; returns the exit code, which is 128 + n where signal n ended it."""
        await asyncio.wait([self._listening])  # whoever gives up waiting must not end the listening
        return await self._process.wait()

    async def ends_within(self, within_s: float) -> bool:
        """Tell whether it ends in this time."""
        await asyncio.wait([self._listening], timeout=within_s)
        return self._listening.done()

    async def stop(self) -> None:
        """Kill it, if it still runs."""
        assert self._process.stdin is not None  # noqa: S101 - we asked for a pipe
        self._process.stdin.close()
        await self.wait()

    async def _listen(self) -> None:
        assert self._process.stderr is not None  # noqa: S101 - we asked for a pipe
        async for line in self._process.stderr:
            self._lines.append(line.decode(errors="replace").strip())
            self._log.warning("%s", self._lines[-1])
