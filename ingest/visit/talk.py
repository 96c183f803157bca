"""What a technician and a lead say to each other, as it stands: all of it bounded, whatever people write."""

from collections.abc import Sequence
from typing import NamedTuple

from ingest.visit.asking import Threads
from ingest.visit.fitting import fitting
from ingest.visit.holding import Holds
from ingest.visit.stopping import Stops
from ingest.visit.wanting import Wants
from ingest.wire.messages import Mark
from ingest.wire.talk import HoldStands, StopStands, TalkCounts, ThreadStands, WantStands

THREADS_BYTES = 8 * 1024
WANTS_BYTES = 3 * 1024
HOLDS_BYTES = 3 * 1024
"""How much of `visit` each may be. One always fits: a text has at most 500 letters of at most four bytes."""


class TalkMessage(NamedTuple):
    """What of it stands in `visit`, by the names there."""

    questions: Sequence[ThreadStands]
    wants: Sequence[WantStands]
    holds: Sequence[HoldStands]
    stop: StopStands | None
    talk: TalkCounts


class Talk:
    """What was said in a visit."""

    def __init__(self) -> None:
        self.threads = Threads()
        self.wants = Wants()
        self.holds = Holds()
        self.stops = Stops()

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        for part in (self.threads, self.wants, self.holds, self.stops):
            part.take(mark)

    def message(self, share: float, stops: Stops) -> TalkMessage:
        """Say it for the wire: what is open, oldest first, as far as it fits; the rest follows as that is done with.

        share: of the room for questions; of what a lead asks for, at least the first is told whatever else there is.
        stops: with what the disk has not taken yet.
        """
        return TalkMessage(
            questions=fitting(self.threads.open, max(share * THREADS_BYTES, WANTS_BYTES)),
            wants=fitting(self.wants.open, WANTS_BYTES),
            holds=fitting(self.holds.open, HOLDS_BYTES),
            stop=stops.now(),
            talk=TalkCounts(
                questions_open=len(self.threads.open),
                questions_closed=self.threads.closed,
                wants_open=len(self.wants.open),
                wants_closed=self.wants.closed,
                holds_open=len(self.holds.open),
                holds_closed=self.holds.closed,
                stops_open=stops.open,
                stops_closed=stops.closed,
            ),
        )
