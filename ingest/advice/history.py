"""What was read and derived of late, in the unit's own time."""

import math
from collections import deque
from collections.abc import Mapping
from itertools import islice

from calc.settling import mean_of_last
from ingest.wire.messages import Reading

JUDGED_CHANNELS = frozenset(
    {
        "suction_pressure",
        "suction_line_temperature",
        "liquid_pressure",
        "liquid_line_temperature",
        "barometric_pressure",
    }
)
"""What superheat and subcooling come from."""
HISTORY_S = 20 * 60.0
SPACING_S = 1.0
_MEAN_OVER_S = 60.0
_MOST_IN_IT = int(_MEAN_OVER_S / SPACING_S) + 2
"""So many points lie in that at most, and one or two before it."""
_NOT_OF_NOW = frozenset({"stale", "elsewhere"})
"""What an instrument should have renewed, and what it reads of something else than the circuit."""


class History:
    """What was measured and derived in the last 20 minutes, or since the charge was last changed, once a second.

    speed: how much faster than life the unit runs. Times here are the unit's own. The same packs make the same
    history, from whichever of them it begins. because: the kind of sentence that says why it begins where it does;
    empty where it begins with the visit. left_alone_since_s: since when the charge was not changed, by the monotonic
    clock; an interruption does not touch that.
    """

    def __init__(self, speed: float = 1.0) -> None:
        self.speed = speed
        self.because = ""
        self.since_monotonic_s: float | None = None
        self.left_alone_since_s: float | None = None
        self._series: dict[str, deque[tuple[float, float]]] = {}
        self._second: int | None = None

    def unit_s(self, monotonic_s: float) -> float:
        """Give a moment in the unit's own time [s]."""
        return monotonic_s * self.speed

    def clock_s(self, unit_s: float) -> float:
        """Give how long a time of the unit takes by the clock [s]."""
        return unit_s / self.speed

    def add(self, monotonic_s: float, readings: Mapping[str, Reading]) -> None:
        """Take the readings of one tick; those that are unknown, stale or elsewhere are left out."""
        if self.since_monotonic_s is None:
            self.since_monotonic_s = monotonic_s
        if self.left_alone_since_s is None:
            self.left_alone_since_s = monotonic_s
        time_s = self.unit_s(monotonic_s)
        second, self._second = self._second, math.floor(time_s / SPACING_S)
        if second == self._second:
            return
        for series in self._series.values():
            while series and series[0][0] < time_s - HISTORY_S:
                series.popleft()
        for name, reading in readings.items():
            if reading.value is not None and reading.quality not in _NOT_OF_NOW:
                self._series.setdefault(name, deque()).append((time_s, reading.value))

    def restart(self, because: str) -> None:
        """Forget what came before: the charge was changed, or something else measures it now."""
        self.interrupt(because)
        self.left_alone_since_s = None

    def interrupt(self, because: str) -> None:
        """Forget what came before, but for when the charge was last changed."""
        self.because = because
        self.since_monotonic_s = None
        self._second = None
        self._series.clear()

    def begin_as(
        self, since_monotonic_s: float | None, because: str, speed: float, left_alone_since_s: float | None
    ) -> None:
        """Begin where another history began, without what was measured."""
        self.restart(because)
        self.speed, self.since_monotonic_s, self.left_alone_since_s = speed, since_monotonic_s, left_alone_since_s

    def undisturbed_s(self, monotonic_s: float) -> float:
        """Tell for how long the charge has been left alone [s]."""
        return self._since(self.left_alone_since_s, monotonic_s)

    def followed_s(self, monotonic_s: float) -> float:
        """Tell for how long it has been followed [s]."""
        return self._since(self.since_monotonic_s, monotonic_s)

    def _since(self, since_s: float | None, monotonic_s: float) -> float:
        return 0.0 if since_s is None else self.unit_s(monotonic_s - since_s)

    def course(self, name: str) -> tuple[list[float], list[float]]:
        """Give times [s] and values of a channel or figure."""
        series = self._series.get(name, ())
        return [time_s for time_s, _ in series], [value for _, value in series]

    def mean(self, name: str, monotonic_s: float) -> float | None:
        """Average a channel or figure over the last minute; None where it was not known in it."""
        now_s = self.unit_s(monotonic_s)
        newest_first = reversed(self._series.get(name, deque()))
        recent = list(islice(newest_first, _MOST_IN_IT))
        times_s, values = [point[0] for point in recent], [point[1] for point in recent]
        return mean_of_last(times_s, values, now_s=now_s, over_s=_MEAN_OVER_S)
