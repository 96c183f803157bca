"""Noticing: follows the packs, and puts what the instruments show by themselves on the visit's time line."""

import logging
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from ingest.noticing.noticer import Failure, Noticer
from ingest.noticing.sight import Known
from ingest.wire.messages import ByHold, Mark, Pack, Proposed

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class NoticedVisit:
    """What is noticed of. known: what is known beside the readings. is_open: whether anything may still be proposed."""

    known: Callable[[], Known]
    speed: Callable[[], float]
    is_open: Callable[[], bool]


class Noticing:
    """Notices in one visit. propose: puts a proposal on its way into the record.

    left_out: told which recognisers have failed and are left out, as often as that changes. by_hold: likewise what the
    HOLD key of a meter takes next.
    """

    def __init__(
        self,
        noticed: NoticedVisit,
        propose: Callable[[Proposed], None],
        left_out: Callable[[tuple[str, ...]], None],
        by_hold: Callable[[ByHold | None], None],
    ) -> None:
        self._noticed = noticed
        self._propose = propose
        self._left_out = left_out
        self._tell_by_hold = by_hold
        self._by_hold: ByHold | None = None
        self._noticer = Noticer("", noticed.speed())
        self._refused: dict[str, str] = {}
        self._failed: dict[str, Failure] = {}

    def begin(self, visit: str, packs: Sequence[Pack], marks: Iterable[Mark]) -> None:
        """Go on in a visit from what the record holds of it."""
        self._noticer = Noticer(visit, self._noticed.speed())
        self._put(self._noticer.go_on(packs, marks, self._noticed.known()))
        self._tell_failed()
        self._by_hold = None  # another visit knows of none
        self._tell_held()

    def take(self, mark: Mark) -> None:
        """Take a mark."""
        self._noticer.take(mark)
        self._tell_failed()

    def follow(self, pack: Pack) -> None:
        """Take the pack of a tick."""
        self._put(self._noticer.follow(pack, self._noticed.known()))
        self._tell_failed()
        self._tell_held()
        if self._noticer.refused != self._refused:
            self._refused = dict(self._noticer.refused)
            logger.warning("not seen: %s", "; ".join(f"{name}: {why}" for name, why in self._refused.items()))

    def _tell_failed(self) -> None:
        failed = self._noticer.failed
        if failed == self._failed:
            return
        for name, failure in failed.items():
            if failure != self._failed.get(name):
                told = "the recogniser %r failed on the pack of %.3f s; it is left out until a reload"
                logger.error(told, name, failure.time_s, exc_info=failure.error)
        self._failed = dict(failed)
        self._left_out(tuple(sorted(failed)))

    def _tell_held(self) -> None:
        by_hold = self._noticer.by_hold
        if by_hold != self._by_hold:
            self._by_hold = by_hold
            self._tell_by_hold(by_hold)

    def _put(self, proposed: Sequence[Proposed]) -> None:
        if not self._noticed.is_open():
            return
        for each in proposed:
            logger.info("seen: %s", each.says.us)
            self._propose(each)
