"""The HOLD key of a meter, as its frames tell it: a display that is held now and was live just before was pressed now.

What it is held on is what stood steady on the live display until then. Of the held number nothing is taken: some chips
go on to send what they measure, others what they show.
"""

from dataclasses import dataclass

from calc.estimate import Estimate
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Sight

SOONEST_S = 1.0
"""In so short a time no hand takes both leads to another pair and presses, too: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Press:
    """One press. found: what stood steady on the display; None where it still moved.

    from_s: since when it stood, by the wall clock [s since 1970].
    """

    found: Estimate | None
    from_s: float


class HoldKey:
    """Follows one channel of a meter. One that was held as it began to look was pressed by nobody who was asked.

    Only samples count that the meter has sent anew: a link that falls silent shows the last one again and again, and
    where the leads lie by then nobody knows.
    """

    def __init__(self, channel: str, steady: Band) -> None:
        self._channel = channel
        self._plateau = Plateau(steady)
        self._was_live = False
        self._spread = 0.0
        self._sampled_s: float | None = None

    @property
    def stands_at(self) -> float | None:
        """What the live display shows now and has shown for long enough; None where it moves, is held or is lost."""
        return self._plateau.mean if self._plateau.is_steady else None

    def take(self, sight: Sight) -> Press | None:
        """Take the next sight; tell whether the key was pressed with it."""
        if sight.is_held(self._channel):
            pressed = self._was_live
            stood = self._plateau.is_steady and self._was_heard_just_before(sight.time_s)
            found = Estimate(self._plateau.mean, self._spread) if stood else None
            press = Press(found, self._plateau.from_s)
            self._forget()
            return press if pressed else None
        reading = sight.reading(self._channel)
        if reading is None or reading.value is None:
            self._forget()
        elif reading.time_s != self._sampled_s:
            if self._sampled_s is not None and reading.time_s - self._sampled_s > SOONEST_S:
                self._plateau.clear()
            self._was_live, self._sampled_s, self._spread = True, reading.time_s, sight.spread(self._channel)
            self._plateau.take(reading.value, sight.unit_s, sight.time_s)
        return None

    def _was_heard_just_before(self, time_s: float) -> bool:
        """Tell whether the meter was heard so shortly before the press that the leads were where it was pressed."""
        return self._sampled_s is not None and time_s - self._sampled_s <= SOONEST_S

    def _forget(self) -> None:
        self._was_live, self._sampled_s = False, None
        self._plateau.clear()
