"""What the scale under a cylinder shows, as moves to propose: each once it has ended, and what is under way.

A course of readings runs on the unit's own time, which a bench may run faster than the wall's clock; what is proposed
is told by the wall's. The scale's own uncertainty comes on top of that of the course. What lies in the hose is taken
off only where somebody has given it.
"""

import math
from dataclasses import dataclass
from typing import ClassVar

from calc.sentences import Sentence
from calc.weighed_moves import LONGEST_PAUSE_S, POINT_S, Weighed, WeighedMoves, question, so_far
from ingest.wire.packs import Reading
from ingest.wire.proposals import ProposedMove


@dataclass(frozen=True, slots=True)
class MoveSeen:
    """A move that has ended. from_s, to_s: by the wall clock [s since 1970]. says: in words, as a question."""

    what: ProposedMove
    from_s: float
    to_s: float
    says: Sentence


@dataclass(frozen=True, slots=True)
class MoveUnderWay:
    """What has moved so far, and since when by the wall clock [s since 1970]."""

    from_s: float
    says: Sentence


class ScaleMoves:
    """Follows one scale. latency_s: within which it tells a move once it has ended, in the unit's own time [s]."""

    latency_s: ClassVar[float] = LONGEST_PAUSE_S + 2 * POINT_S

    def __init__(self) -> None:
        self._moves = WeighedMoves()
        self._measured_s: float | None = None
        self._began: tuple[float, float] | None = None
        self._now = (0.0, 0.0)
        self._under_way: tuple[float, float] | None = None

    def take(
        self, reading: Reading | None, unit_s: float, time_s: float, *, cylinder: str = "", hose_kg: float = 0.0
    ) -> MoveSeen | None:
        """Take what the scale shows now, None where it is not believed; give the move that has ended by it.

        Args:
            reading: of the cylinder's mass; one that was taken before is no new one.
            unit_s: in the unit's own time [s].
            time_s: by the wall clock [s since 1970].
            cylinder: which one stands on the scale, where that is known.
            hose_kg: what is in the hose now of what left the cylinder, where somebody has given it [kg].

        """
        if reading is None or reading.value is None or reading.time_s == self._measured_s:
            return None
        self._measured_s, self._now = reading.time_s, (unit_s, time_s)
        if self._began is None or unit_s < self._began[0]:
            self._began = self._now
        ended = self._moves.take(unit_s, reading.value)
        self._keep_beginning()
        return None if ended is None else self._seen(ended, reading.standard_uncertainty or 0.0, cylinder, hose_kg)

    @property
    def under_way(self) -> MoveUnderWay | None:
        """What is under way, if anything is."""
        found = self._moves.under_way
        if found is None or self._under_way is None:
            return None
        return MoveUnderWay(self._under_way[1], so_far(found))

    def _keep_beginning(self) -> None:
        """Keep when it began by the wall clock as it was first told, though that clock may be set meanwhile."""
        found = self._moves.under_way
        if found is None:
            self._under_way = None
        elif self._under_way is None or self._under_way[0] != found.began_s:
            self._under_way = found.began_s, self._wall_s(found.began_s)

    def _seen(self, ended: Weighed, scale_kg: float, cylinder: str, hose_kg: float) -> MoveSeen:
        left_kg = ended.mass.value
        held_kg = min(hose_kg, left_kg) if left_kg > 0.0 else 0.0
        what = ProposedMove(
            mass_kg=round(left_kg - held_kg, 5),
            standard_uncertainty_kg=round(math.hypot(ended.mass.standard_uncertainty, scale_kg), 5),
            cylinder=cylinder,
        )
        return MoveSeen(what, self._wall_s(ended.began_s), self._wall_s(ended.ended_s), question(left_kg, held_kg))

    def _wall_s(self, unit_s: float) -> float:
        """Give the moment by the wall clock, at the pace at which the unit's time has gone since the beginning."""
        now_s, wall_s = self._now
        began_s, began_wall_s = self._began or self._now
        pace = (wall_s - began_wall_s) / (now_s - began_s) if now_s > began_s else 1.0
        return round(wall_s - (now_s - unit_s) * pace, 3)
