"""What must be seen at once, before the disk has it: shown as not saved, and recorded as soon as the disk takes it.

Of all that is asked that is a lead's stop, which may save a hand, and what a technician says to it: it waits for no
disk, full or hanging. Who asked is told what is not saved yet; that is lost where the daemon ends before, so that they
ask again, under the same id, until it is recorded.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress

from ingest.record.errors import NotSavedError, WaitsError
from ingest.wire.messages import Mark, Stop

logger = logging.getLogger(__name__)

RETRIED_AFTER_S = 1.0
SHOWN_WITHIN_S = 0.1
"""A disk that is well takes it sooner; then it is never shown as not saved."""
TOLD_WITHIN_S = 1.0
"""How long who asks waits to be told that it is saved: a page waits for its answer for three seconds."""
MOST_WAITING = 20
"""More stops than that say nothing that the first does not. What is said to one is not counted."""


class UntilSaved:
    """Marks that wait for the disk, the oldest first.

    find: a mark of the record by its id. add: records one; both raise NotSavedError. found: told of one that the disk
    had taken though it refused it. changed: told of other marks.
    """

    def __init__(
        self,
        find: Callable[[str], Awaitable[Mark | None]],
        add: Callable[[Mark], Awaitable[None]],
        found: Callable[[Mark], None],
        changed: Callable[[Sequence[Mark]], None],
    ) -> None:
        self._find = find
        self._add = add
        self._found = found
        self._changed = changed
        self._waiting: dict[str, Mark] = {}
        self._something = asyncio.Event()
        self._tried = asyncio.Event()  # replaced by each trial that ends
        self._refusal = _HANGS

    @property
    def marks(self) -> Sequence[Mark]:
        """Those that wait."""
        return tuple(self._waiting.values())

    async def keep(self, mark: Mark) -> Mark:
        """Show a mark at once, and record it. What the same person says to a stop again is kept once: gives that.

        Raises:
            WaitsError: it is shown, and the disk has not taken it yet.
            NotSavedError: it is a stop too many.

        """
        says = _says(mark)
        kept = next((it for it in self._waiting.values() if _says(it) == says), None) or self._put(mark)
        tried = self._try()
        for within_s in (SHOWN_WITHIN_S, TOLD_WITHIN_S):
            await _wait(tried, within_s)
            if kept.id not in self._waiting:
                return kept
            self._changed(self.marks)
        raise WaitsError(self._refusal if tried.is_set() else _HANGS)

    def _put(self, mark: Mark) -> Mark:
        if isinstance(mark, Stop) and sum(isinstance(it, Stop) for it in self._waiting.values()) >= MOST_WAITING:
            raise NotSavedError(f"{MOST_WAITING} stops are shown and wait for the disk", self._refusal.cure)
        self._waiting[mark.id] = mark
        return mark

    async def flush(self) -> None:
        """Wait until what waits has been tried, but not for a disk that hangs."""
        if self._waiting:
            await _wait(self._try(), TOLD_WITHIN_S)

    def _try(self) -> asyncio.Event:
        """Have what waits tried at once; gives what tells that it was."""
        self._something.set()
        return self._tried

    async def run(self) -> None:
        """Record what waits, until cancelled."""
        try:
            while True:
                await self._something.wait()
                self._something.clear()
                await self._record()
                tried, self._tried = self._tried, asyncio.Event()
                tried.set()
                if self._waiting:
                    await _wait(self._something, RETRIED_AFTER_S)
                    self._something.set()
        finally:
            for mark in self._waiting.values():
                _tell_lost(mark)

    async def _record(self) -> None:
        while self._waiting:  # one may come while another is being recorded
            mark = next(iter(self._waiting.values()))
            try:
                found = await self._find(mark.id)
                if found is None:
                    await self._add(mark)
                elif found == mark:
                    self._found(mark)
                else:  # while it could not be read, nobody knew
                    _tell_lost(mark)
            except NotSavedError as error:
                logger.debug("%s of %s still waits: %s", mark.kind, mark.by, error)
                self._refusal = error
                return
            del self._waiting[mark.id]
            self._changed(self.marks)


_HANGS = NotSavedError("the disk hangs", "Look at the disk that holds the record, and its cable.")


async def _wait(event: asyncio.Event, within_s: float) -> None:
    with suppress(TimeoutError):
        await asyncio.wait_for(event.wait(), within_s)


def _tell_lost(mark: Mark) -> None:
    logger.error("NOT SAVED, and lost: %s of %s: %s", mark.kind, mark.by, mark.text)


def _says(mark: Mark) -> tuple[str, str, str]:
    """Tell who says what of what; each stop says something of its own."""
    return mark.kind, mark.by, getattr(mark, "of", mark.id)
