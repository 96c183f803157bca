"""The tick: follows the clock, and every 250 ms makes one pack of all that is known."""

import logging
from collections.abc import Callable

from ingest.channels import Channels
from ingest.clock import Clock, asleep_s
from ingest.rig import Rig
from ingest.tick import PERIOD_S, every, make_pack
from ingest.wire.messages import ClockStepped, Pack, Reading

logger = logging.getLogger(__name__)

Note = Callable[[type[ClockStepped], str], None]


_OR_SLEPT = ", or this machine slept for as long"
"""On Linux the monotonic clock stands still meanwhile: clock_gettime(2), from memory."""

_LEAST_SLEEP_S = 0.5
"""The two clocks are read one after the other: less may be that."""


class Ticking:
    """Ticks. rig, session: what is ticked for. took: told of each pack. note: puts a mark on the visit's time line.

    asleep_s: for how long this machine has slept since it started [s].
    """

    def __init__(
        self,
        clock: Clock,
        channels: Channels,
        *,
        rig: Callable[[], Rig],
        session: Callable[[], int],
        took: Callable[[Pack], None],
        note: Note,
        asleep_s: Callable[[], float] = asleep_s,
    ) -> None:
        self._clock = clock
        self._channels = channels
        self._rig = rig
        self._session = session
        self._took = took
        self._note = note
        self._asleep_s = asleep_s
        self._slept_s = asleep_s()
        self.newest: Pack | None = None
        self._heard_s: dict[str, float] = {}

    @property
    def readings(self) -> dict[str, Reading]:
        """What the newest pack holds."""
        return dict(self.newest.readings) if self.newest else {}

    @property
    def read_s(self) -> dict[str, float]:
        """When each of them was read, by the clock that nobody sets; a figure made of several by its stamp."""
        if self.newest is None:
            return {}
        set_by_s = self.newest.time_s - self._clock.steady_s(self.newest.monotonic_s)
        stamped = {name: it.time_s - set_by_s for name, it in self.newest.readings.items()}
        return stamped | {name: self._clock.steady_s(at_s) for name, at_s in self._heard_s.items()}

    async def run(self) -> None:
        """Tick until cancelled."""
        await every(PERIOD_S, self.tick)

    def tick(self) -> None:
        """Tick once."""
        step = self._clock.follow()
        if step is not None:
            what = f"the clock was set by {step.by_s:+.3f} s{_OR_SLEPT if step.by_s > 0.0 else ''}"
            logger.warning("%s", what)
            self._note(ClockStepped, what)
        slept_s = self._asleep_s()
        if slept_s - self._slept_s > _LEAST_SLEEP_S:
            self._channels.slept(slept_s - self._slept_s)
            self._slept_s = slept_s
        self.newest = make_pack(self._rig(), self._session(), self._channels, self._clock.now())
        self._heard_s = self._channels.heard_s()
        self._took(self.newest)
