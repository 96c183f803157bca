"""What a clamp finds over the time between two of its readings: the RMS of it all, and the greatest within."""

import math
from collections.abc import Mapping
from typing import NamedTuple


class OverInterval(NamedTuple):
    """RMS over the interval, and the greatest RMS of a moment in it, which a clamp that holds its peak shows [A]."""

    rms_a: float
    greatest_a: float


class Interval:
    """It adds up currents by name."""

    def __init__(self) -> None:
        self._seconds = 0.0
        self._squares: dict[str, float] = {}
        self._greatest: dict[str, float] = {}

    def begin(self) -> None:
        """Forget what was."""
        self._seconds, self._squares, self._greatest = 0.0, {}, {}

    def take(self, currents_a: Mapping[str, float], duration_s: float) -> None:
        """Take these currents for this long."""
        self._seconds += duration_s
        squares, greatest = self._squares, self._greatest
        for name, amps in currents_a.items():
            squares[name] = squares.get(name, 0.0) + amps * amps * duration_s
            if amps > greatest.get(name, -1.0):
                greatest[name] = amps

    def rms_a(self, name: str) -> float:
        """Tell the RMS of one current since it began, once time has passed [A]."""
        return math.sqrt(self._squares[name] / self._seconds)

    def seen(self) -> dict[str, OverInterval]:
        """Tell what there was since it began; nothing if no time has passed."""
        if self._seconds == 0.0:
            return {}
        return {
            name: OverInterval(math.sqrt(square / self._seconds), self._greatest[name])
            for name, square in self._squares.items()
        }
