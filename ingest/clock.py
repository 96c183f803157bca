"""The clock of a visit: ages by the monotonic clock, stamps by wall time, its steps in the open.

Stamps are the monotonic clock plus an offset. The offset follows the machine's wall clock slowly while they
differ a little, so stamps stay in order. When they differ by more than half a second somebody has set the
clock: the offset jumps, the epoch counts up, and the step is told. A stamp once given is never changed.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from ingest.frames import Stamp

STEP_S = 0.5
"""A greater difference between wall clock and stamps is a step, not a drift."""

SLEW_RATE = 0.01
"""How fast stamps catch up with a wall clock that drifts [s/s]; a disciplined clock drifts less."""


def asleep_s() -> float:
    """Tell for how long this machine has slept since it started [s]; 0 where no clock of it goes on meanwhile.

    Linux has one: CLOCK_BOOTTIME, clock_gettime(2).
    """
    if not hasattr(time, "CLOCK_BOOTTIME"):
        return 0.0
    return time.clock_gettime(time.CLOCK_BOOTTIME) - time.clock_gettime(time.CLOCK_MONOTONIC)


@dataclass(frozen=True, slots=True)
class Moment:
    """A point in time. time_s: wall time [s since 1970]. epoch: how many steps of the clock came before."""

    monotonic_s: float
    time_s: float
    epoch: int


@dataclass(frozen=True, slots=True)
class ClockStep:
    """The wall clock was set: by how much [s], forward positive, and the first moment after."""

    by_s: float
    moment: Moment


class Clock:
    """Tells moments. `now` reads both clocks; a test brings its own."""

    def __init__(self, now: Callable[[], Stamp] = Stamp.now) -> None:
        self._now = now
        stamp = now()
        self._offset_ns = stamp.time_ns - stamp.monotonic_ns
        self._followed_ns = stamp.monotonic_ns
        self._epoch = 0
        self._began_ns = self._offset_ns

    def follow(self) -> ClockStep | None:
        """Follow the wall clock; call it once a tick. Returns the step, where the clock was set."""
        stamp = self._now()
        behind_ns = stamp.time_ns - stamp.monotonic_ns - self._offset_ns
        elapsed_ns = stamp.monotonic_ns - self._followed_ns
        self._followed_ns = stamp.monotonic_ns
        if abs(behind_ns) > STEP_S * 1e9:
            self._offset_ns += behind_ns
            self._epoch += 1
            return ClockStep(behind_ns / 1e9, self._moment(stamp.monotonic_ns))
        limit_ns = round(elapsed_ns * SLEW_RATE)
        self._offset_ns += max(-limit_ns, min(limit_ns, behind_ns))
        return None

    def now(self) -> Moment:
        """Tell this moment."""
        return self._moment(self._now().monotonic_ns)

    def time_s(self, stamp: Stamp) -> float:
        """Tell the wall time of an arrival, by the present epoch."""
        return (stamp.monotonic_ns + self._offset_ns) / 1e9

    def steady_s(self, monotonic_s: float | None = None) -> float:
        """Tell what the wall clock would show if nobody had set it since the start: now, or at a monotonic time [s].

        It is for what compares and for ages, and goes on as the monotonic clock does; nothing of it is recorded.
        """
        at_ns = self._now().monotonic_ns if monotonic_s is None else round(monotonic_s * 1e9)
        return (at_ns + self._began_ns) / 1e9

    def steady_of(self, time_s: float) -> float:
        """Place a stamp of an earlier session among them. One of the future was made before the clock was set: now."""
        return self.steady_s() - max(self.now().time_s - time_s, 0.0)

    def _moment(self, monotonic_ns: int) -> Moment:
        return Moment(monotonic_ns / 1e9, (monotonic_ns + self._offset_ns) / 1e9, self._epoch)
