"""Whether anybody works at the visit.

After hours without a word from a technician it may be another one, and what was proved dead then proves nothing now. It
goes by the clock on the wall, because a machine that sleeps stops every other; so it only asks, and ends nothing.
"""

from collections.abc import Callable, Iterable

from ingest.wire.messages import LeftAlone, Mark, VisitOpened

LEFT_LONG_AGO_S = 12 * 3600.0
"""So long after its last word a visit may be another one: common practice, no source."""


class Attendance:
    """Tells that a visit was left alone.

    time_s: wall time [s since 1970]. goes_on: whether the visit is not signed. tell: hears for how long [s].
    """

    def __init__(self, time_s: Callable[[], float], goes_on: Callable[[], bool], tell: Callable[[float], None]) -> None:
        self._time_s = time_s
        self._goes_on = goes_on
        self._tell = tell
        self._heard_s: float | None = None
        """When a technician last recorded anything; None where that was told, and until there is a visit."""

    def begin(self, started_s: float, marks: Iterable[Mark]) -> None:
        """Go on with a visit: when it began [s since 1970], and its marks."""
        self._heard_s = started_s
        for mark in marks:
            self.take(mark)
        self.look()

    def take(self, mark: Mark) -> None:
        """Take the next mark. Who opens a visit again has yet to say that it is the same."""
        if isinstance(mark, LeftAlone):
            self._heard_s = None
        elif mark.role == "technician" and not isinstance(mark, VisitOpened):
            self._heard_s = mark.time_s

    def look(self) -> None:
        """Tell it, if it is so, until that is a mark."""
        if self._heard_s is None or not self._goes_on():
            return
        idle_s = self._time_s() - self._heard_s
        if idle_s > LEFT_LONG_AGO_S:
            self._tell(idle_s)
