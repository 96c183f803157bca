"""A lead's stop: when it was delivered, seen and acknowledged. The newest comes first, and none is lost.

It stands until a lead says go on: that the technician has stopped is no leave to go on.
"""

from collections.abc import Sequence
from math import inf
from typing import TYPE_CHECKING

from msgspec.structs import replace

from calc.sentences import Sentence, minutes, text
from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.wire.messages import Acknowledged, Mark, ReleaseAsk, Released, Seen, SeenAsk, Stop, StopAsk, VisitOpened
from ingest.wire.talk import StopStands
from ingest.wire.texts import is_empty, shown
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


MOST_CARRIED = 12
"""So many stops that stand go along to another visit, in one mark with all that does: a message holds them with the
longest words that a stop may have. Common practice, no source."""


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
    def standing(self) -> tuple[StopStands, ...]:
        """Give those for which no lead has said go on: as they were acknowledged, then those that nobody has."""
        return (*(it for it in self._closed.values() if it.released_s is None), *self.unanswered)

    @property
    def closed(self) -> int:
        """How many were acknowledged."""
        return len(self._closed)

    def has(self, stop: str) -> bool:
        """Whether there is such a stop in this visit."""
        return stop in self._open or stop in self._closed

    def now(self) -> StopStands | None:
        """Give the newest that nobody has acknowledged; else the last acknowledged that stands; else the last."""
        return next(reversed(self.standing or tuple(self._closed.values())), None)

    @property
    def spans(self) -> tuple[tuple[float, float, str], ...]:
        """Tell from when to when each stood [s since 1970], and whose; without end where it still does."""
        return tuple(
            (it.delivered_s, inf if it.released_s is None else it.released_s, it.by)
            for it in (*self._closed.values(), *self._open.values())
        )

    @property
    def stopped_by(self) -> str:
        """Who asked to stop and has not said go on: the newest of them; empty where no stop stands."""
        return self.standing[-1].by if self.standing else ""

    def before_all(self, now_s: float) -> Wording | None:
        """Say who asked to stop and has not said go on; None where no stop stands. now_s: [s since 1970]."""
        if not self.standing:
            return None
        stop = self.standing[-1]
        ago_s = max(now_s - stop.delivered_s, 0.0)
        parts = (text("stop_by", stop.by), minutes("stop_ago", ago_s), text("stop_why", stop.text))
        return worded(Sentence("guard.stop_stands", parts))

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
                for it in mark.stops:
                    if not self.has(it.id):
                        (self._open if it.acknowledged_s is None else self._closed)[it.id] = it
            case Stop():
                self._open[mark.id] = StopStands(mark.id, mark.by, mark.text, delivered_s=mark.time_s)
            case Seen() if mark.of in self._open:
                self._open[mark.of] = _seen(self._open[mark.of], mark)
            case Acknowledged() if mark.of in self._open:
                stop = _seen(self._open.pop(mark.of), mark)
                self._closed[mark.of] = replace(stop, acknowledged_s=mark.time_s, acknowledged_by=mark.by)
            case Released() if mark.of in self._closed and self._closed[mark.of].released_s is None:
                stop = self._closed[mark.of]
                self._closed[mark.of] = replace(stop, released_s=mark.time_s, released_by=mark.by)


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


def check_may_be_carried(stops: Sequence[StopStands]) -> None:
    """See that all stops that stand have room in the visit to come: none is to be lost on the way.

    Raises:
        RefusedError: they are too many.

    """
    if len(stops) > MOST_CARRIED:
        raise RefusedError(
            f"{len(stops)} stops stand for which no lead has said go on, and at most {MOST_CARRIED} go along to "
            "another visit: have a lead say go on to the others first"
        )


def check_may_go_on(ask: ReleaseAsk, stops: Stops) -> None:
    """See that a lead may say go on: whoever has not stopped yet is not told to go on.

    Raises:
        RefusedError: nobody has acknowledged the stop, it stands no more, or it is to be for once.

    """
    if ask.of not in (standing := {it.id: it for it in stops.standing}):
        raise RefusedError("somebody has said go on already")
    if standing[ask.of].acknowledged_s is None:
        raise RefusedError("nobody at the unit has said yet that they have stopped: say go on once they have")
    if ask.once:
        raise RefusedError("a stop stands or it does not: say go on without once, and ask to stop again where needed")


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
