"""A clamp of the compressor that was put around another lead: it is asked where it is."""

from collections.abc import Sequence
from typing import ClassVar

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.sentences import Sentence, figure
from ingest.noticing.jaw import LEVEL, Jaw
from ingest.noticing.motors import COMPRESSOR
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedPlace


class ClampMoved:
    """Watches each clamp of the compressor."""

    latency_s: ClassVar[float] = LEVEL.hold_s + 1.0

    def __init__(self) -> None:
        self._jaws = {name: Jaw(name) for name in COMPRESSOR}

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        seen = []
        for name, jaw in self._jaws.items():
            moved = jaw.take(sight)
            if moved is None:
                continue
            before, now = (Estimate(level.amps, sight.spread(name)) for level in moved)
            parts = (figure("was", before, Quantity.CURRENT), figure("now", now, Quantity.CURRENT))
            says = Sentence("noticed.clamp_moved", parts)
            seen.append(Seen(ProposedPlace([name]), moved[0].time_s, sight.time_s, says))
        return seen
