"""What must be seen at once though the disk refuses it: shown as not saved, and recorded as soon as the disk takes it.

Of all that is asked that is a lead's stop, which may save a hand, and what a technician says to it. Who asked has been
told that it is not saved; what still waits when the daemon ends is lost, and told.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence

from ingest.record.errors import NotSavedError
from ingest.wire.messages import Mark, Stop

logger = logging.getLogger(__name__)

RETRIED_AFTER_S = 1.0
MOST_WAITING = 20
"""More stops than that say nothing that the first does not. What is said to one is not counted."""


class UntilSaved:
    """Marks that wait for the disk, the oldest first.

    find: a mark of the record by its id. add: records one; both raise NotSavedError. changed: told of other marks.
    """

    def __init__(
        self,
        find: Callable[[str], Awaitable[Mark | None]],
        add: Callable[[Mark], Awaitable[None]],
        changed: Callable[[Sequence[Mark]], None],
    ) -> None:
        self._find = find
        self._add = add
        self._changed = changed
        self._waiting: dict[str, Mark] = {}
        self._something = asyncio.Event()

    @property
    def marks(self) -> Sequence[Mark]:
        """Those that wait."""
        return tuple(self._waiting.values())

    def put(self, mark: Mark) -> bool:
        """Let a mark wait; False for a stop too many. What the same person says to a stop again waits once."""
        says = _says(mark)
        if any(_says(it) == says for it in self._waiting.values()):
            return True
        if isinstance(mark, Stop) and sum(isinstance(it, Stop) for it in self._waiting.values()) >= MOST_WAITING:
            return False
        self._waiting[mark.id] = mark
        self._something.set()
        self._changed(self.marks)
        return True

    async def run(self) -> None:
        """Record what waits, until cancelled."""
        try:
            while True:
                await self._something.wait()
                await asyncio.sleep(RETRIED_AFTER_S)
                await self._record()
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
                elif found != mark:  # while it could not be read, nobody knew
                    _tell_lost(mark)
            except NotSavedError as error:
                logger.debug("%s of %s still waits: %s", mark.kind, mark.by, error)
                return
            del self._waiting[mark.id]
            self._changed(self.marks)
        self._something.clear()


def _tell_lost(mark: Mark) -> None:
    logger.error("NOT SAVED, and lost: %s of %s: %s", mark.kind, mark.by, mark.text)


def _says(mark: Mark) -> tuple[str, str, str]:
    """Tell who says what of what; each stop says something of its own."""
    return mark.kind, mark.by, getattr(mark, "of", mark.id)
