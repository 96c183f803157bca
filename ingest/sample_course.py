"""What one channel's instrument sent lately: how often it speaks, and whether it says anything new.

Bounded: some gaps, some runs, and the samples of the last seconds.
"""

from collections import deque

from calc.situation import Repetition
from ingest.frames import NoNumber, Value

LEARNED_GAPS = 8
"""So many gaps tell how often an instrument speaks; the longest counts, since some send in bursts."""

_RUNS = 50
_RUNS_TO_KNOW = 10
KEPT_S = 10.0
KEPT_INTERVALS = 5
_MOST_KEPT = 1000


class Course:
    """The course of one channel. interval_s: as configured [s]."""

    def __init__(self, interval_s: float) -> None:
        self._configured_s = interval_s
        self._gaps_s: deque[float] = deque(maxlen=LEARNED_GAPS)
        self._recent: deque[tuple[float, Value]] = deque(maxlen=_MOST_KEPT)
        self._runs: deque[int] = deque(maxlen=_RUNS)
        self._run_began_s = 0.0
        self._run = 0

    def add(self, value: Value, monotonic_s: float) -> None:
        """Take a sample as it arrived."""
        if self._recent:
            newest_s, newest = self._recent[-1]
            self._gaps_s.append(monotonic_s - newest_s)
            if value != newest:
                self._runs.append(self._run)
                self._run = 0
        if self._run == 0:
            self._run_began_s = monotonic_s
        self._run += 1
        self._recent.append((monotonic_s, value))
        oldest_s = monotonic_s - max(KEPT_S, KEPT_INTERVALS * self._configured_s)
        while self._recent[0][0] < oldest_s:
            self._recent.popleft()

    @property
    def interval_s(self) -> float:
        """How long the instrument is silent between two samples: as seen, at most as configured [s]."""
        if len(self._gaps_s) < LEARNED_GAPS:
            return self._configured_s
        return min(self._configured_s, max(self._gaps_s))

    @property
    def repetition(self) -> Repetition | None:
        """How the newest number repeats itself; None before it is known what is usual, or where it is no number."""
        if len(self._runs) < _RUNS_TO_KNOW or isinstance(self._recent[-1][1], NoNumber):
            return None
        return Repetition(self._run, max(self._runs), self._recent[-1][0] - self._run_began_s)

    def recent(self) -> list[Value]:
        """Give what came in the last seconds before the newest sample, oldest first."""
        return [value for _, value in self._recent]

    @property
    def recent_s(self) -> float:
        """Over how long those came [s]."""
        return self._recent[-1][0] - self._recent[0][0] if self._recent else 0.0
