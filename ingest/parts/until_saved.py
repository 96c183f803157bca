"""What must be seen at once though the disk refuses it: shown as not saved, and recorded as soon as the disk takes it.

Of all that is asked that is a lead's stop, which may save a hand, and what a technician says to it. Who asked has been
told that it is not saved; what still waits when the daemon ends is lost, and told.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence

from ingest.record.errors import NotSavedError
from ingest.wire.messages import Mark

logger = logging.getLogger(__name__)

RETRIED_AFTER_S = 1.0
MOST_WAITING = 20
"""More stops than that say nothing that the first does not."""


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
        """Let a mark wait; False where it does not, since there are too many. What says the same waits once."""
        says = _says(mark)
        if any(_says(it) == says for it in self._waiting.values()):
            return True
        if len(self._waiting) >= MOST_WAITING:
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
                logger.error("NOT SAVED, and lost: %s of %s: %s", mark.kind, mark.by, mark.text)

    async def _record(self) -> None:
        while self._waiting:  # one may come while another is being recorded
            mark = next(iter(self._waiting.values()))
            try:
                if await self._find(mark.id) is None:
                    await self._add(mark)
            except NotSavedError as error:
                logger.debug("%s of %s still waits: %s", mark.kind, mark.by, error)
                return
            del self._waiting[mark.id]
            self._changed(self.marks)
        self._something.clear()


def _says(mark: Mark) -> tuple[str, str]:
    """Tell what a mark says of what; each stop says something of its own."""
    return mark.kind, getattr(mark, "of", mark.id)
