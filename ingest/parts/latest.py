"""The newest pack for those who have just come, at most once a second: those who listen have heard it."""

import math
from collections.abc import Callable

PERIOD_S = 1.0


class Latest:
    """Thins packs out. show: publishes one as retained; monotonic_s: tells time."""

    def __init__(self, show: Callable[[bytes], None], monotonic_s: Callable[[], float]) -> None:
        self._show = show
        self._monotonic_s = monotonic_s
        self._shown_at_s = -math.inf

    def offer(self, payload: bytes) -> None:
        """Show a pack, unless one was shown within the last second."""
        now_s = self._monotonic_s()
        if now_s - self._shown_at_s >= PERIOD_S:
            self._shown_at_s = now_s
            self._show(payload)
