"""A lead's stop: when it was delivered, seen and acknowledged. The newest comes first, and none is lost."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.wire.messages import Acknowledged, Mark, Seen, SeenAsk, Stop, StopAsk, VisitOpened
from ingest.wire.talk import StopStands
from ingest.wire.texts import is_empty, shown

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


class Stops:
    """The stops of a visit. closed: how many were acknowledged."""

    def __init__(self) -> None:
        self._open: dict[str, StopStands] = {}
        self._closed: dict[str, StopStands] = {}

    @property
    def open(self) -> int:
        """How many nobody has acknowledged."""
        return len(self._open)

    @property
    def unanswered(self) -> tuple[StopStands, ...]:
        """Give those that nobody has acknowledged, the oldest first."""
        return tuple(self._open.values())

    @property
    def closed(self) -> int:
        """How many were acknowledged."""
        return len(self._closed)

    def has(self, stop: str) -> bool:
        """Whether there is such a stop in this visit."""
        return stop in self._open or stop in self._closed

    def now(self) -> StopStands | None:
        """Give the newest that nobody has acknowledged; else the one that was acknowledged last."""
        return next(reversed((self._open or self._closed).values()), None)

    def with_more(self, elsewhere: Sequence[Mark], unsaved: Sequence[Mark]) -> "Stops":
        """Give them as they stand with what is in no mark of this visit.

        elsewhere: of this visit, and of what was said to them, what stands in others. unsaved: the disk has not taken
        yet; each that it is about is told as not saved.
        """
        whole = Stops()
        whole._open, whole._closed = dict(self._open), dict(self._closed)
        for mark in (*elsewhere, *unsaved):
            whole.take(mark)
        of = {mark.of if isinstance(mark, Seen | Acknowledged) else mark.id for mark in unsaved}
        for stops in (whole._open, whole._closed):
            stops |= {name: replace(stops[name], saved=False) for name in of & stops.keys()}
        return whole

    def take(self, mark: Mark) -> None:
        """Take the next mark. Of several who saw or acknowledged it the first counts."""
        match mark:
            case VisitOpened():
                self._open |= {it.id: it for it in mark.stops if not self.has(it.id)}
            case Stop():
                self._open[mark.id] = StopStands(mark.id, mark.by, mark.text, delivered_s=mark.time_s)
            case Seen() if mark.of in self._open:
                self._open[mark.of] = _seen(self._open[mark.of], mark)
            case Acknowledged() if mark.of in self._open:
                stop = _seen(self._open.pop(mark.of), mark)
                self._closed[mark.of] = replace(stop, acknowledged_s=mark.time_s, acknowledged_by=mark.by)


def _seen(stop: StopStands, mark: Seen | Acknowledged) -> StopStands:
    """Note who saw it; who acknowledges it has seen it."""
    return stop if stop.seen_s is not None else replace(stop, seen_s=mark.time_s, seen_by=mark.by)


def check_none_stands(standing: "Standing") -> None:
    """See that whoever was told to stop has answered: with their visit the stop would leave their screen.

    Raises:
        RefusedError: somebody has not.

    """
    if standing.stops.open and (stop := standing.stops.now()):
        raise RefusedError(
            f"{shown(stop.by)} asked to stop, and nobody at the unit has said that they have stopped: answer that first"
        )


def stop(ask: StopAsk, head: Head, standing: "Standing", _: Facts) -> Stop:
    """Ask the technician to stop."""
    if is_empty(ask.text):
        raise RefusedError("a stop needs a text: why, and what to do")
    return Stop(*head, text=ask.text.strip(), asked_at=standing.visit)


def seen(ask: SeenAsk, head: Head, standing: "Standing", _: Facts) -> Seen:
    """Keep that a page showed it."""
    if not standing.stops.has(ask.of):
        raise RefusedError(f"there is no stop {ask.of!r} in this visit")
    return Seen(*head, of=ask.of)
