"""Which section of a can a meter is on, where its label leaves no other: what fails holds less than its label.

A can of 45 and 5 µF that reads 43.6 µF is measured at its 45 µF section; what reads 5.0 µF after that, at the other.
What reads 9 µF may be either, one that has failed or one of another can: nothing is said then, and a person is asked.
"""

from dataclasses import dataclass
from typing import Literal

from calc.estimate import Estimate
from calc.motor.capacitor import USUAL_TOLERANCE_RATIO
from ingest.noticing.sight import Known
from ingest.wire.sheet import Capacitor

LEAST_SHARE = 0.5
"""Of the larger section's label: one that holds less has failed, and is asked about (common practice, no source)."""
MOST_SHARE = 2.0
"""Of the smaller section's label: no such section holds more, of whichever can (common practice, no source)."""
SITTING_S = 600.0
"""So long one stays at a can: what was read first tells of what is read next (common practice, no source)."""

How = Literal["only", "other"]
"""Why it is this section: no other can read so much; or the other one was read just before."""


@dataclass(slots=True)
class Sections:
    """What was read at a can so far. larger_s: when its larger section was read last, in the unit's own time [s]."""

    larger_s: float | None = None

    def of(self, found: Estimate, unit_s: float, known: Known) -> tuple[str, How] | None:
        """Name the section that this reading can only be of, and why; None where another could read so."""
        can = only_can(known)
        if can is None or can.herm_f is None or can.fan_f is None:
            return None  # of one section or several cans a person says which it was
        (smaller_f, smaller), (larger_f, larger) = sorted(((can.herm_f, "herm"), (can.fan_f, "fan")))
        if found.value > max(MOST_SHARE * smaller_f, LEAST_SHARE * larger_f):
            self.larger_s = unit_s
            return larger, "only"
        tolerance = USUAL_TOLERANCE_RATIO if can.tolerance_share is None else can.tolerance_share
        was_larger = self.larger_s is not None and unit_s - self.larger_s <= SITTING_S
        if was_larger and abs(found.value - smaller_f) <= tolerance * smaller_f:
            return smaller, "other"
        return None


def only_can(known: Known) -> Capacitor | None:
    """Give the one can of the unit; None where the sheet has none, or several."""
    cans = [] if known.sheet is None else [part for part in known.sheet.parts if isinstance(part, Capacitor)]
    return cans[0] if len(cans) == 1 else None
