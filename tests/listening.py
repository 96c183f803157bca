"""A link at work in a test: what it delivered, and how it ended."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from ingest.frames import Delivered, Frame, Link, Notice
from tests.processes import BUSY

TIMEOUT_S = 0.3 * BUSY
"""How long a link is to wait for an answer of a device that lives in the event loop of the test: a busy machine holds
that up."""


class Listener:
    """What one run of a link brought."""

    def __init__(self, link: Link) -> None:
        self.frames: list[Frame] = []
        self.notices: list[Notice] = []
        self.connections = 0
        self._changed = asyncio.Event()
        self.task = asyncio.create_task(link.run(self._deliver, self._connected))
        self.task.add_done_callback(lambda _: self._changed.set())

    def _deliver(self, delivered: Delivered) -> None:
        if isinstance(delivered, Notice):
            self.notices.append(delivered)
        else:
            self.frames.append(delivered)
        self._changed.set()

    def _connected(self) -> None:
        self.connections += 1
        self._changed.set()

    async def connected(self) -> None:
        """Wait until the link says that it is connected."""
        await self.until(lambda: self.connections > 0)

    async def heard(self, count: int) -> list[Frame]:
        """Wait for that many frames."""
        await self.until(lambda: len(self.frames) >= count)
        return self.frames

    @property
    def problems(self) -> dict[str, str]:
        """What is wrong now, by part."""
        newest = {notice.part: notice.problem for notice in self.notices}
        return {part: problem for part, problem in newest.items() if problem}

    async def error(self) -> BaseException:
        """Wait for the link to fail, and say with what."""
        async with asyncio.timeout(10 * BUSY):
            await asyncio.wait([self.task])
        error = self.task.exception()
        assert error is not None
        return error

    async def until(self, check: Callable[[], bool]) -> None:
        """Wait until what the link brought satisfies `check`. An error that ended the link comes out here."""
        async with asyncio.timeout(10 * BUSY):
            while not check():
                if self.task.done():
                    self.task.result()
                self._changed.clear()
                await self._changed.wait()


@asynccontextmanager
async def listening(link: Link) -> AsyncIterator[Listener]:
    """Run a link until the block ends."""
    listener = Listener(link)
    try:
        yield listener
    finally:
        listener.task.cancel()
        await asyncio.wait([listener.task])
