"""What was found of a channel there where it measures: how much too high it reads, at this visit."""

from collections.abc import Iterable

from calc.estimate import Estimate
from ingest.wire.messages import Checked, CheckKind, Corrected, Mark, Reloaded

_IN_PLACE: frozenset[CheckKind] = frozenset({"one_pipe", "reference", "open_to_air", "closed_jaw"})
"""Ice tells nothing of how a clamp sits on its pipe, nor of the sun that shines on it."""


class CheckedInPlace:
    """Remembers what the newest check of each channel found. marks: those of the visit so far."""

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self._found: dict[str, Estimate] = {}
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit: what was found is taken off by a correction, and is of no other instrument."""
        match mark:
            case Checked(check=check) if check.kind in _IN_PLACE:
                self._found[check.channel] = Estimate(check.offset, check.offset_standard_uncertainty)
            case Corrected(calibration=calibration) if calibration.channel in self._found:
                spread = self._found[calibration.channel].standard_uncertainty
                self._found[calibration.channel] = Estimate(0.0, spread)
            case Reloaded():
                self._found.clear()

    @property
    def found(self) -> dict[str, Estimate]:
        """By channel, how much too high it reads [unit of the channel]."""
        return dict(self._found)
