"""A dead time: what goes in comes out some seconds later, whatever the steps."""

from collections import deque


class Delay:
    """Holds values until they are old enough. Before the first is, it gives the first."""

    def __init__(self, dead_time_s: float) -> None:
        self._dead_time_s = dead_time_s
        self._now_s = 0.0
        self._waiting: deque[tuple[float, float]] = deque()

    def __call__(self, value: float, step_s: float) -> float:
        """Put in the value of now, this long after the last, and take out the one of a dead time ago.

        >>> delay = Delay(1.0)
        >>> [delay(value, 0.5) for value in (1.0, 2.0, 3.0, 4.0)]
        [1.0, 1.0, 1.0, 2.0]
        """
        self._now_s += step_s
        self._waiting.append((self._now_s, value))
        while len(self._waiting) > 1 and self._waiting[1][0] <= self._now_s - self._dead_time_s + 1e-9:
            self._waiting.popleft()
        return self._waiting[0][1]
