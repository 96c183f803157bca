"""Refrigerant that leaves the cylinder on the scale, or comes into it."""

from collections.abc import Sequence
from typing import ClassVar

from msgspec.structs import replace

from calc.sentences import Sentence, text
from ingest.noticing.sight import Seen, Sight
from ingest.visit.scale_moves import ScaleMoves
from ingest.wire.sheet import Sheet

SCALE = "cylinder_mass"
_WITH_CIRCUIT = {"weighed.left": "weighed.left_in_view", "weighed.came": "weighed.came_in_view"}


class MoveSeen:
    """Tells each move once the scale has stood still after it. No hose is taken off: nobody has said what was in it."""

    latency_s: ClassVar[float] = ScaleMoves.latency_s

    def __init__(self) -> None:
        self._moves = ScaleMoves()

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        ended = self._moves.take(sight.reading(SCALE), sight.unit_s, sight.time_s, cylinder=sight.known.cylinder)
        if ended is None:
            return ()
        circuit = sight.known.circuit_at((ended.from_s + ended.to_s) / 2)  # its ends are told within some seconds
        says = _of_circuit(ended.says, circuit, sight.known.sheet)
        return (Seen(replace(ended.what, circuit=circuit), ended.from_s, ended.to_s, says),)


def _of_circuit(said: Sentence, circuit: str, sheet: Sheet | None) -> Sentence:
    """Say of which circuit it is, where there are several: by the time it is kept another one may be in view."""
    if not circuit or sheet is None or len(sheet.circuits) < 2:
        return said
    return Sentence(_WITH_CIRCUIT[said.kind], (*said.parts, text("circuit", circuit)))
