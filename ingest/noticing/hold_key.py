"""The HOLD key of a meter, as its frames tell it: a display that is held now and was live just before was pressed now.

What it is held on is what stood steady on the live display until then. Of the held number nothing is taken: some chips
go on to send what they measure, others what they show.
"""

from dataclasses import dataclass

from calc.estimate import Estimate
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Sight


@dataclass(frozen=True, slots=True)
class Press:
    """One press. found: what stood steady on the display; None where it still moved.

    from_s: since when it stood, by the wall clock [s since 1970].
    """

    found: Estimate | None
    from_s: float


class HoldKey:
    """Follows one channel of a meter. One that was held as it began to look was pressed by nobody who was asked."""

    def __init__(self, channel: str, steady: Band) -> None:
        self._channel = channel
        self._plateau = Plateau(steady)
        self._was_live = False
        self._spread = 0.0

    def take(self, sight: Sight) -> Press | None:
        """Take the next sight; tell whether the key was pressed with it."""
        if sight.is_held(self._channel):
            pressed = self._was_live
            found = Estimate(self._plateau.mean, self._spread) if self._plateau.is_steady else None
            press = Press(found, self._plateau.from_s)
            self._was_live = False
            self._plateau.clear()
            return press if pressed else None
        value = sight.value(self._channel)
        self._was_live, self._spread = value is not None, sight.spread(self._channel)
        self._plateau.take(value, sight.unit_s, sight.time_s)
        return None
