"""Notices that a unit is sound, and keeps once for each charge what it shows then: the next visit compares with it."""

from collections.abc import Iterable, Mapping

from calc.baseline import baseline, is_usual
from calc.diagnosis import Fault
from calc.estimate import Estimate
from calc.judge.state import LIKELIER_THAN_NOT, Decision, State
from calc.situation import Situation
from ingest.wire.messages import FoundSound, Mark

SOUND_FOR_S = 180.0
"""So long all must have been right, in the unit's time: longer than a valve hunts; common practice, no source."""


def is_sound(decision: Decision) -> bool:
    """Tell whether the charge is right, and that nothing is wrong is likelier than not."""
    lead = decision.lead
    return (
        decision.state in (State.NEAR_ENOUGH, State.DONE)
        and lead is not None
        and lead.fault is Fault.NOTHING_WRONG
        and lead.probability > LIKELIER_THAN_NOT
    )


class FoundSoundOnce:
    """Remembers of which circuits it was kept already. marks: those of the visit so far."""

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self._kept: set[str] = set()
        self._since: tuple[str, float] | None = None
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit."""
        if isinstance(mark, FoundSound):
            self._kept.add(mark.circuit)

    def moved(self) -> None:
        """Begin anew: refrigerant was moved, or the figures are measured otherwise."""
        self._kept.clear()
        self._since = None

    def follow(self, lately: Situation | None, circuit: str, unit_s: float) -> Mapping[str, Estimate]:
        """Give what a circuit departs by as soon as it has been sound for long enough; else, and later, nothing.

        lately: what it is judged by, if it is sound by its figures alone; else None. unit_s: by the unit's clock [s].
        """
        if lately is None:
            self._since = None
            return {}
        if self._since is None or self._since[0] != circuit:
            self._since = circuit, unit_s
        if circuit in self._kept or unit_s - self._since[1] < SOUND_FOR_S:
            return {}
        if not is_usual(lately):
            return {}
        self._kept.add(circuit)
        return baseline(lately)
