"""Whether anybody works at the visit.

After hours in which no technician did anything it may be another one, and what was proved dead then proves nothing now.
It goes by the longer of two clocks: the one on the wall may be wrong, and a machine that sleeps stops the other. So it
only asks, and ends nothing.
"""

import asyncio
import logging
import secrets
from collections.abc import Awaitable, Callable, Iterable
from contextlib import suppress
from typing import NamedTuple

from ingest.record.errors import NotSavedError
from ingest.visit.progress import GOES_ON
from ingest.wire.messages import LeftAlone, Mark

logger = logging.getLogger(__name__)

LEFT_LONG_AGO_S = 12 * 3600.0
"""So long after somebody did anything at it a visit may be another one: common practice, no source."""

LOOKING_S = 60.0
"""How often it is looked."""


class At(NamedTuple):
    """A point in time on the wall [s since 1970], and by the clock that nobody sets [s]."""

    time_s: float
    steady_s: float


class Attendance:
    """Tells that a visit was left alone.

    now: the present moment. goes_on: whether the visit is not signed. add: stores a mark; raises NotSavedError.
    """

    def __init__(
        self, now: Callable[[], At], goes_on: Callable[[], bool], add: Callable[[Mark], Awaitable[object]]
    ) -> None:
        self._now = now
        self._goes_on = goes_on
        self._add = add
        self._came, self._looking = asyncio.Event(), asyncio.Lock()
        self._worked: At | None = None
        """When a technician last worked at it; None where it is known to be left, and until there is a visit."""

    async def run(self) -> None:
        """Look at each visit that begins, and every minute, until cancelled."""
        while True:
            try:
                await self.look()
            except NotSavedError as error:
                logger.error("NOT SAVED: that the visit was left alone: %s", error)  # noqa: TRY400 - the disk's fault
            with suppress(TimeoutError):
                await asyncio.wait_for(self._came.wait(), LOOKING_S)
            self._came.clear()

    async def look(self) -> None:
        """Record that the visit was left alone, if it was: before anything that is asked after such a gap.

        Raises:
            NotSavedError: the disk refused.

        """
        async with self._looking:
            if (left_s := self.left_s()) is not None:
                await self._add(LeftAlone(secrets.token_hex(8), round(self._now().time_s, 3), idle_s=round(left_s, 3)))

    def begin(self, began: At, marks: Iterable[tuple[Mark, float]]) -> None:
        """Go on with a visit: when it began, and its marks, each with the steady time [s] of when it was made."""
        self._worked = began
        for mark, made_s in marks:
            self.take(mark, made_s)
        self._came.set()

    def take(self, mark: Mark, made_s: float) -> None:
        """Take the next mark. Who only reads or writes, or opens the visit again, need not be at the unit."""
        if isinstance(mark, LeftAlone):
            self._worked = None
        elif mark.role == "technician" and isinstance(mark, GOES_ON):
            self._worked = At(mark.time_s, made_s)

    def left_s(self) -> float | None:
        """Tell how long it was left [s]; None where it was not, or is known to be."""
        if self._worked is None or not self._goes_on():
            return None
        idle_s = max(now - then for now, then in zip(self._now(), self._worked, strict=True))
        return idle_s if idle_s > LEFT_LONG_AGO_S else None
