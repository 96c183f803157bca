"""How late a pack came: after an outage the rig sends its backlog first, and old figures must not pass for live.

Two clocks tell it, each by how much longer a pack's way seems than the quickest one's of its session: the wall clocks,
whose setting does not count but which may be set meanwhile, and the monotonic ones, which stand still while a machine
sleeps. Only what both call late is late.
"""

from dataclasses import dataclass

from ingest.wire.messages import Pack

UNNOTICED_S = 2.0
"""Networks and busy machines hold a pack up for so long now and then, and it is live all the same."""

DRIFT = 1e-4
"""By how much two quartz clocks may part, at the very worst (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Now:
    """The clocks of the page's machine [s]."""

    monotonic_s: float
    time_s: float


class Lateness:
    """Of the packs of one rig. A new session of it is measured anew: its monotonic clock may be another one."""

    def __init__(self) -> None:
        self._session: int | None = None
        self._by_monotonic, self._by_wall = _Quickest(), _Quickest()

    def of(self, pack: Pack, now: Now) -> float:
        """Tell how late a pack came [s]; nothing where it is hardly late."""
        if pack.session != self._session:
            self._session = pack.session
            self._by_monotonic, self._by_wall = _Quickest(), _Quickest()
        late_s = min(
            self._by_monotonic.behind(now.monotonic_s - pack.monotonic_s, now.monotonic_s),
            self._by_wall.behind(now.time_s - pack.time_s, now.monotonic_s),
        )
        return late_s if late_s > UNNOTICED_S else 0.0


class _Quickest:
    """The quickest way until now, by the difference of two clocks, which may drift apart slowly."""

    def __init__(self) -> None:
        self._least_s, self._at_s = float("inf"), 0.0

    def behind(self, way_s: float, at_s: float) -> float:
        """Take one more, and tell by how much it was slower."""
        grown_s = self._least_s + DRIFT * (at_s - self._at_s)
        self._least_s, self._at_s = min(way_s, grown_s), at_s
        return way_s - self._least_s
