"""Whether the newest start of a visit stalled, as the diagnosis of it proposed."""

from collections.abc import Iterable

from ingest.wire.messages import Mark, Proposed, ProposedFinding


class Stalled:
    """Remembers when the newest start stalled.

    marks: those of the visit so far. at_s: when it was [s since 1970]; None where it did not stall.
    """

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self.at_s: float | None = None
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit: each start that was diagnosed takes the place of the one before."""
        if isinstance(mark, Proposed) and isinstance(mark.what, ProposedFinding) and mark.what.check == "start":
            self.at_s = mark.from_s if mark.what.choices.get("course") == "stalled" else None

    def turned(self) -> None:
        """Take that it has come to run and to pump since: what stalled before tells nothing of why it rests now."""
        self.at_s = None
