"""Refrigerant that leaves the cylinder on the scale, or comes into it."""

from collections.abc import Sequence
from typing import ClassVar

from ingest.noticing.sight import Seen, Sight
from ingest.visit.scale_moves import ScaleMoves

SCALE = "cylinder_mass"


class MoveSeen:
    """Tells each move once the scale has stood still after it. No hose is taken off: nobody has said what was in it."""

    latency_s: ClassVar[float] = ScaleMoves.latency_s

    def __init__(self) -> None:
        self._moves = ScaleMoves()

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        ended = self._moves.take(sight.reading(SCALE), sight.unit_s, sight.time_s, cylinder=sight.known.cylinder)
        return () if ended is None else (Seen(ended.what, ended.from_s, ended.to_s, ended.says),)
