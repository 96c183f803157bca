"""What the daemon itself has to say on the visit's time line, on its way into the record."""

import asyncio
import logging
import secrets
from collections.abc import Awaitable, Callable, Mapping, Sequence

from calc.estimate import Estimate
from ingest.record.errors import NotSavedError
from ingest.wire.messages import (
    CarriedOver,
    FoundSound,
    Mark,
    OwnMark,
    PowerRead,
    Proposed,
    Reloaded,
    StopStands,
    UnitAbout,
    VisitOpened,
)

logger = logging.getLogger(__name__)


class OwnMarks:
    """Queues the daemon's own marks. add: stores one; raises NotSavedError. time_s: tells wall time."""

    def __init__(self, add: Callable[[Mark], Awaitable[object]], time_s: Callable[[], float]) -> None:
        self._add = add
        self._time_s = time_s
        self._waiting: asyncio.Queue[OwnMark | Reloaded | Proposed] = asyncio.Queue()

    def note(self, kind: type[OwnMark | Reloaded], text: str) -> None:
        """Queue a mark of now."""
        self._waiting.put_nowait(kind(*self._head(), text=text))

    def opened(self, unit: str, over: CarriedOver | None, stops: Sequence[StopStands]) -> None:
        """Queue that a visit began at a unit. over: where the instruments are; stops: that stand from before."""
        self._waiting.put_nowait(VisitOpened(*self._head(), text=f"visit at {unit}", carried_over=over, stops=stops))

    def power_read(self, channel: str, value: float) -> None:
        """Queue that a channel read power where something stood as made dead."""
        self._waiting.put_nowait(PowerRead(*self._head(), channel=channel, value=float(f"{value:.4g}")))

    def found_sound(self, unit: UnitAbout, departures: Mapping[str, Estimate], after: str) -> None:
        """Queue what the circuit in view shows, now that it was found sound. after: the newest mark known then."""
        mark = FoundSound(
            *self._head(),
            circuit=unit.circuit,
            refrigerant=unit.refrigerant,
            metering_device=unit.metering_device,
            departures={
                name: (round(it.value, 4), round(it.standard_uncertainty, 4)) for name, it in departures.items()
            },
            after=after,
        )
        self._waiting.put_nowait(mark)

    def _head(self) -> tuple[str, float]:
        return secrets.token_hex(8), round(self._time_s(), 3)

    def put(self, proposed: Proposed) -> None:
        """Queue what the instruments showed."""
        self._waiting.put_nowait(proposed)

    async def run(self) -> None:
        """Store what is queued, until cancelled. A mark that the disk refuses is told, and not kept."""
        while True:
            mark = await self._waiting.get()
            try:
                await self._add(mark)
            except NotSavedError as error:
                told = mark.says.us if isinstance(mark, Proposed) else mark.text
                logger.error("NOT SAVED: mark %r: %s", told, error)  # noqa: TRY400 - the disk's fault
            self._waiting.task_done()

    async def flush(self) -> None:
        """Wait until everything queued has been tried."""
        await self._waiting.join()
