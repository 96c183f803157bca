"""What is remembered of the unit at work: worked out from its earlier visits, renewed with every finding, and told."""

from collections.abc import Callable, Sequence

from ingest.visit.found_sound import baselines
from ingest.visit.part_readings import PartReadings
from ingest.visit.unit_history import MarksOfVisit, unit_history, visit_before
from ingest.wire.messages import (
    Added,
    Baseline,
    BaselineWithdrawn,
    Checked,
    Corrected,
    Correction,
    Described,
    Finding,
    FoundSound,
    Mark,
    Recovered,
    Sheet,
    VisitBefore,
    encode,
)


class Memory:
    """The visits before this one, and the readings of the parts. show: publishes a kind of message as retained."""

    def __init__(self, show: Callable[[str, bytes], None]) -> None:
        self._show = show
        self._earlier: Sequence[MarksOfVisit] = ()
        self._visits: list[VisitBefore] = []
        self._visit = ""
        self._marks: list[Mark] = []
        self._tag = ""
        self.baselines: Sequence[Baseline] = ()
        self.part_readings = PartReadings(None)

    def begin(
        self, earlier: Sequence[MarksOfVisit], visit: str, marks: Sequence[Mark], tag: str, sheet: Sheet | None
    ) -> None:
        """Take what the record has of a unit. earlier: its visits before, oldest first; marks: of the one under way.

        A record that takes another's place in the middle of a visit knows nothing of those before: they stay known.
        """
        if earlier or visit != self._visit:
            self._earlier = earlier
            self._visits = [told for it in reversed(earlier) if (told := visit_before(*it)) is not None]
        self._visit, self._tag = visit, tag
        self._marks = list(marks)
        self._read(sheet)

    def take(self, mark: Mark, sheet: Sheet | None) -> None:
        """Take the next mark. sheet: of the unit at work, as it is now."""
        self._marks.append(mark)
        match mark:
            case Finding():
                self.part_readings.take(self._visit, mark)
                self._tell(sheet)
            case FoundSound() | BaselineWithdrawn() | Checked() | Corrected() | Correction() | Added() | Recovered():
                self._tell(sheet)
            case Described() if mark.sheet.tag == self._tag:  # other parts may be meant where nobody named one
                self._read(sheet)

    def _read(self, sheet: Sheet | None) -> None:
        self.part_readings = PartReadings(sheet)
        for visit, marks in (*self._earlier, (self._visit, self._marks)):
            for mark in marks:
                self.part_readings.take(visit, mark)
        self._tell(sheet)

    def _tell(self, sheet: Sheet | None) -> None:
        unnamed = sheet.circuits[0].name if sheet else ""
        kept = baselines([*self._earlier, (self._visit, self._marks)], unnamed)
        self.baselines = [it.told() for it in reversed(kept)]
        self._show("history", encode(unit_history(self._tag, self._visits, self.part_readings, self.baselines)))
