"""How figures follow what they are on their way to: lags of their own, one or two of them, and a dead time.

Makers have a technician wait 10 to 20 min after each change. Distribution settles within 300 s of a start and 60 s of a
stop, fast at first and then gently (abstract of a study with quick-closing valves on an R-410A split, Applied Thermal
Engineering 2018); capacity after a start is a sum of two exponentials (Kim and Bullard 2001, abstract; constants not at
hand). A change of charge takes one lag of 120 to 300 s (laboratory traces, from memory).
"""

import math
from collections import deque
from collections.abc import Mapping
from typing import NamedTuple


class Course(NamedTuple):
    """Two exponentials: the part that follows fast, and the lags of both [s]."""

    fast: float
    fast_s: float
    slow_s: float


RUNNING: Mapping[str, Course] = {
    "suction_pressure": Course(0.85, 10.0, 90.0),
    "liquid_pressure": Course(0.75, 18.0, 110.0),
    "discharge_pressure": Course(0.75, 18.0, 110.0),
    "suction_line_temperature": Course(0.6, 25.0, 80.0),
    "liquid_line_temperature": Course(0.7, 35.0, 100.0),
    "discharge_line_temperature": Course(0.5, 60.0, 420.0),
    "supply_air_temperature": Course(0.8, 40.0, 600.0),
    "compressor_current": Course(0.8, 2.0, 60.0),
}
"""Parts and lags: common practice, no source, within the published spans; a wet coil takes 15 to 30 min (from memory),
which is the slow part of the supply air."""

RESTING: Mapping[str, Course] = {
    "suction_pressure": Course(0.8, 20.0, 240.0),
    "liquid_pressure": Course(0.8, 20.0, 240.0),
    "discharge_pressure": Course(0.8, 20.0, 240.0),
    "suction_line_temperature": Course(0.5, 120.0, 600.0),
    "liquid_line_temperature": Course(0.5, 120.0, 600.0),
    "discharge_line_temperature": Course(0.3, 200.0, 1800.0),
    "supply_air_temperature": Course(0.7, 90.0, 600.0),
    "compressor_current": Course(1.0, 0.2, 0.2),
}

CHARGE_LAG_S = 75.0
"""Each of the two lags in a row through which a change of charge spreads: 150 s together."""

CHARGE_DEAD_TIME_S = 10.0
"""Until it shows anywhere (common practice, no source)."""

START_DEFICIT, START_LAG_S = 0.25, 100.0
"""After a start this part of the charge lies where it does not count, and comes out of there: the suction is drawn down
first, and rises (common practice, no source; three lags are the published 300 s)."""


class Following:
    """One figure on its way, by its course; both parts go on from where the figure is when the way changes."""

    def __init__(self, value: float) -> None:
        self._fast = self._slow = value
        self._part = 1.0

    @property
    def value(self) -> float:
        """Where it is."""
        return self._part * self._fast + (1.0 - self._part) * self._slow

    def go_on(self, target: float, course: Course, step_s: float, slowness: float) -> None:
        """Follow the target for this long."""
        if course.fast != self._part:
            self._fast = self._slow = self.value
            self._part = course.fast
        self._fast = approached(self._fast, target, step_s, course.fast_s * slowness)
        self._slow = approached(self._slow, target, step_s, course.slow_s * slowness)


class DeadTime:
    """What was put in comes out this much later."""

    def __init__(self, value: float, delay_s: float) -> None:
        self._value, self._delay_s, self._now_s = value, delay_s, 0.0
        self._waiting: deque[tuple[float, float]] = deque()

    def go_on(self, value: float, step_s: float) -> float:
        """Put in what is so from now on, and get what comes out after this long."""
        newest = self._waiting[-1][1] if self._waiting else self._value
        if value != newest:
            self._waiting.append((self._now_s + self._delay_s, value))
        self._now_s += step_s
        while self._waiting and self._waiting[0][0] <= self._now_s:
            self._value = self._waiting.popleft()[1]
        return self._value


def approached(value: float, target: float, step_s: float, lag_s: float) -> float:
    """Give where a lag of first order brings a value."""
    return target + (value - target) * math.exp(-step_s / lag_s)
