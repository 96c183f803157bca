"""Ending a task that may not want to end.

One cancellation is a request. What cleans up after it may wait for a service that never answers, and needs another.
"""

import asyncio
from collections.abc import Callable
from typing import Any

GRACE_S = 3.0
"""For what ends in order: a thread that waits for its port, a broker that is told good-bye."""

AGAIN_S = 0.5
TIMES = 3
"""How often a task is cancelled that does not end; then it is left to itself."""


async def end(*tasks: asyncio.Future[Any], grace_s: float = GRACE_S, left: Callable[[], None] | None = None) -> bool:
    """Cancel tasks, again if need be, and wait for them; within `grace_s` and a second they have ended, or are left.

    left: called if any is left. Returns whether all have ended. A cancellation of whoever waits hurries it on.
    """
    waits_s = (grace_s, *[AGAIN_S] * (TIMES - 1))
    pending: set[asyncio.Future[Any]] = set(tasks)
    cancelled: asyncio.CancelledError | None = None
    for wait_s in waits_s:
        for task in pending:
            task.cancel()
        try:
            if pending:
                _, pending = await asyncio.wait(pending, timeout=wait_s)
        except asyncio.CancelledError as error:
            cancelled = error
            pending = {task for task in pending if not task.done()}
    if pending and left:
        left()
    if cancelled:
        raise cancelled
    return not pending
