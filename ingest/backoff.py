"""How long to wait before trying again."""

import random
from collections.abc import Callable

SHORTEST_S = 0.5
LONGEST_S = 15.0
HEALTHY_S = 10.0
"""Who stayed connected this long has recovered, and starts again from the shortest wait."""


class Backoff:
    """Waits that double from 0.5 s to 15 s, spread at random so that not all come back at one moment.

    spread: gives a number between 0 and 1.
    """

    def __init__(self, spread: Callable[[], float] = random.random) -> None:
        self._spread = spread
        self._failures = 0

    @property
    def failures(self) -> int:
        """How many came since the last healthy spell."""
        return self._failures

    def next_wait_s(self, healthy_for_s: float) -> float:
        """Count a failure after a connection that held for so long; say how long to wait [s]."""
        if healthy_for_s >= HEALTHY_S:
            self._failures = 0
        longest = min(LONGEST_S, SHORTEST_S * 2.0**self._failures)
        self._failures += 1
        return SHORTEST_S + (longest - SHORTEST_S) * self._spread()
