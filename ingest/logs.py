"""Logging for people and machines: one event, one line."""

import logging
import time
from collections.abc import Callable


class OneLine(logging.Formatter):
    """Keeps every event on one line, a traceback too, so that no part is mistaken for another event."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s: %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        """Format an event; line breaks within it become ` | `."""
        return " | ".join(line.strip() for line in super().format(record).splitlines() if line.strip())


MOST_ALIKE = 20
WINDOW_S = 60.0


class FewAlike(logging.Filter):
    """Lets through the first events of a kind in each minute, and says how many more there were.

    A kind is the line of code that logs. Whoever sends us nonsense by the thousand fills no disk with it.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._clock = clock
        self._kinds: dict[tuple[str, int], tuple[float, int]] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether an event is to be written."""
        kind, now_s = (record.pathname, record.lineno), self._clock()
        began_s, count = self._kinds.get(kind, (now_s, 0))
        if now_s - began_s >= WINDOW_S:
            if count > MOST_ALIKE:
                record.msg = f"{record.getMessage()} ({count - MOST_ALIKE} more like it were not written)"
                record.args = ()
            began_s, count = now_s, 0
        self._kinds[kind] = (began_s, count + 1)
        return count < MOST_ALIKE
