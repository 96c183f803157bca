"""Doubts that last: one that passes comes from a start or from a hand on the probe."""

import math
from collections.abc import Sequence

from calc.doubts.observed import Doubt

LASTING_S = 30.0
"""How long a contradiction must have been found: common practice, no source."""


class LastingDoubts:
    """Keeps the doubts that last. Times are the unit's own [s]. lasting: those that already did."""

    def __init__(self, lasting: Sequence[Doubt] = ()) -> None:
        self._since_s: dict[Doubt, float] = dict.fromkeys(lasting, -math.inf)

    def follow(self, found: Sequence[Doubt], time_s: float) -> tuple[Doubt, ...]:
        """Take what was found at this moment; give what has been found for long enough."""
        self._since_s = {doubt: self._since_s.get(doubt, time_s) for doubt in found}
        return tuple(doubt for doubt, since_s in self._since_s.items() if time_s - since_s >= LASTING_S)
