"""Notices that a unit is sound, and keeps once for each charge what it shows then: the next visit compares with it."""

from collections.abc import Mapping, Sequence

from calc.baseline import baseline, is_usual
from calc.diagnosis import Fault
from calc.estimate import Estimate
from calc.judge.state import LIKELIER_THAN_NOT, Decision, State
from calc.situation import Situation
from ingest.visit.found_sound import baselines, is_off
from ingest.wire.messages import BaselineWithdrawn, FoundSound, Mark

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

    def __init__(self, marks: Sequence[Mark] = ()) -> None:
        self._kept = {it.circuit for it in baselines([("", marks)]) if not it.ended}
        self._since: tuple[str, float] | None = None
        self._is_contradicted = any(isinstance(mark, BaselineWithdrawn) for mark in marks)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit: where somebody withdraws one, whoever is there knows better than the figures."""
        if isinstance(mark, FoundSound):
            self._kept.add(mark.circuit)
        elif isinstance(mark, BaselineWithdrawn):
            self._is_contradicted = True
        elif is_off(mark):
            self.moved()

    def moved(self) -> None:
        """Begin anew: refrigerant was moved, or the figures are measured otherwise."""
        self._kept.clear()
        self._since = None

    def follow(self, lately: Situation | None, circuit: str, unit_s: float) -> Mapping[str, Estimate]:
        """Give what a circuit departs by as soon as it has been sound for long enough; else, and later, nothing.

        lately: what it is judged by, if it is sound by its figures alone; else None. unit_s: by the unit's clock [s].
        """
        if lately is None or self._is_contradicted:
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
