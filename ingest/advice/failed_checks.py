"""Channels that failed a field check of this visit: what they say is in doubt until they pass one or are corrected."""

from collections.abc import Collection, Iterable

from calc.doubts.observed import SURE, Doubt
from calc.sentences import Sentence
from ingest.wire.messages import Checked, Corrected, Mark


class FailedChecks:
    """Remembers which channels were found beyond their maker's limit. marks: those of the visit so far."""

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self._failed: dict[str, None] = {}
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit; whoever checked wrongly checks again."""
        if isinstance(mark, Checked):
            if mark.check.verdict == "out":
                self._failed[mark.check.channel] = None
            elif mark.check.verdict == "within":
                self._failed.pop(mark.check.channel, None)
        elif isinstance(mark, Corrected):
            self._failed.pop(mark.calibration.channel, None)

    def doubts(self, channels: Collection[str]) -> tuple[Doubt, ...]:
        """Give a doubt about each that failed and is still one of the rig's channels."""
        return tuple(
            Doubt((name,), Sentence("doubt.failed_check"), Sentence("fix.failed_check"), SURE)
            for name in self._failed
            if name in channels
        )
