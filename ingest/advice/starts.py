"""Whether the newest start of a visit stalled, as the diagnosis of it proposed, with the parts that are in now."""

from collections.abc import Iterable

from ingest.visit.findings import REPLACEMENT
from ingest.wire.messages import Finding, Mark, Proposed, ProposedFinding


class Stalled:
    """Remembers when the newest start stalled.

    marks: those of the visit so far. at_s: when it was [s since 1970]; None where it did not stall.
    """

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self.at_s: float | None = None
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit: each start that was diagnosed takes the place of the one before.

        What stalled with a part that was exchanged since tells nothing of the next start.
        """
        match mark:
            case Proposed(what=ProposedFinding(check="start", choices=found), from_s=began_s):
                self.at_s = began_s if found.get("course") == "stalled" else None
            case Finding(check=check) if check == REPLACEMENT and mark.outcome != "skipped":
                self.at_s = None

    def turned(self) -> None:
        """Take that it has come to run and to pump since: what stalled before tells nothing of why it rests now."""
        self.at_s = None
