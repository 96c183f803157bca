"""Whether there is power where something stands as made dead, and nobody has recorded that power is back.

Power that came and went leaves no trace in what the rig reads later, so it is told on the visit's time line. One
reading that is off tells nothing: the instrument must read it twice.
"""

from collections.abc import Callable, Mapping

from ingest.visit.power import Power, believed, power_in
from ingest.wire.messages import Reading

TOLD_AGAIN_S = 10.0
"""So long after it was told it is told again where it is no mark yet: a disk may have refused it."""


class PowerWatch:
    """Tells that power was read. made_dead_s: when something was last made dead that still counts; None without.

    tell: hears which channel read it, and what. All times are by the clock that nobody sets.
    """

    def __init__(self, made_dead_s: Callable[[], float | None], tell: Callable[[str, float], None]) -> None:
        self._made_dead_s = made_dead_s
        self._tell = tell
        self.begin()

    def begin(self) -> None:
        """Begin anew: at another visit, or in a session that has just begun."""
        self._first_s: float | None = None
        self._found: Power | None = None
        self._told_s: float | None = None

    def follow(self, readings: Mapping[str, Reading], read_s: Mapping[str, float], now_s: float) -> None:
        """Take the readings of a tick, and when each was read: what was read before it was made dead tells nothing."""
        made_dead_s = self._made_dead_s()
        if made_dead_s is None:
            self.begin()
            return
        self._see({name: it for name, it in readings.items() if read_s.get(name, it.time_s) > made_dead_s}, read_s)
        if self._found and (self._told_s is None or now_s - self._told_s >= TOLD_AGAIN_S):
            self._told_s = now_s
            self._tell(self._found.channel, self._found.found.value)

    def _see(self, readings: Mapping[str, Reading], read_s: Mapping[str, float]) -> None:
        power = power_in(believed(readings))
        if power is None:
            self._first_s = None
            return
        at_s = read_s.get(power.channel, readings[power.channel].time_s)
        if self._first_s is None:
            self._first_s = at_s
        elif at_s > self._first_s:
            self._found = power
