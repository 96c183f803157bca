"""A jaw that was put around another lead: its amps changed at once, and nothing that they depend on did.

What a compressor draws follows its volts and the pressures that it works between. A second stage or an unloader moves
the pressures within seconds, so that amps which go to another level while volts and pressures stand are another lead's,
such as a capacitor's. A jaw in the air reads nothing, as a stop does: a stop lets the pressures move. Where no pressure
is measured nothing is told.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from ingest.noticing.motors import LINES, ZERO_A
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Sight

LEVEL = Band(share=0.03, least=0.1, hold_s=15.0)
AWAY_S = 60.0
"""So long a hand takes from one lead to another at most: common practice, no source."""
ANOTHER_SHARE, ANOTHER_A = 0.12, 0.3
"""So far off, at least, is another lead; nearer than that it is the one before. Common practice, no source."""
STANDS_SHARE = 0.03
_PRESSURES = ("suction_pressure", "liquid_pressure")


@dataclass(frozen=True, slots=True)
class Level:
    """A level of amps, what stood beside it, and when: in the unit's own time, and by the wall clock [s]."""

    amps: float
    beside: Mapping[str, float]
    unit_s: float
    time_s: float


class Jaw:
    """Follows one clamp."""

    def __init__(self, channel: str) -> None:
        self._channel = channel
        self._plateau = Plateau(LEVEL)
        self._stood: Level | None = None
        self._own_a: float | None = None

    @property
    def is_elsewhere(self) -> bool:
        """Whether it was put around another lead, and has not come back."""
        return self._own_a is not None

    def take(self, sight: Sight) -> tuple[Level, Level] | None:
        """Take the next sight; give the levels before and after where the jaw has just been moved."""
        amps = sight.value(self._channel)
        flows = amps is not None and amps > ZERO_A
        if not self._plateau.take(amps if flows else None, sight.unit_s, sight.time_s):
            return None
        now = Level(self._plateau.mean, _beside(sight), sight.unit_s, sight.time_s)
        before, self._stood = self._stood, now
        if self._own_a is not None:
            self._own_a = self._own_a if _is_another(now.amps, self._own_a) else None
            return None
        if before is None or not _is_another(now.amps, before.amps) or not _stand(before.beside, now.beside):
            return None
        if sight.unit_s - self._plateau.held_s - before.unit_s > AWAY_S:
            return None
        self._own_a = before.amps
        return before, now


def _is_another(amps: float, than_a: float) -> bool:
    return abs(amps - than_a) > max(ANOTHER_SHARE * than_a, ANOTHER_A)


def _beside(sight: Sight) -> dict[str, float]:
    """Give what amps depend on."""
    return {name: value for name in (*_PRESSURES, *LINES) if (value := sight.value(name)) is not None}


def _stand(before: Mapping[str, float], now: Mapping[str, float]) -> bool:
    """Tell whether all of it is as it was, a pressure among it."""
    known = before.keys() & now.keys()
    alike = all(abs(now[name] - before[name]) <= STANDS_SHARE * before[name] for name in known)
    return alike and not known.isdisjoint(_PRESSURES)
