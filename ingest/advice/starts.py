"""Whether the newest start of a visit stalled or did not pump, as was proposed or said, with the parts that are in."""

import re
from collections.abc import Iterable, Mapping

from ingest.visit.findings import REPLACEMENT
from ingest.wire.messages import Finding, Mark, Proposed, ProposedFinding

_START, _STALLED, _PUMPED_NOT = "start", "stalled", "backwards"
_SECTIONS = frozenset({"herm", "fan"})
_COMPRESSOR, _OF_ANOTHER_MOTOR = re.compile(r"\bcompressor\b"), re.compile(r"\b(fan|blower)\b")
_IN_ITS_WAY = re.compile(
    r"\b(cap|capacitor|start|relay|contactor|overload|wir(e|es|ing)|conductors?|connect(ion|ions|or)|leads?|lugs?|"
    r"terminals?|fuses?|disconnect|breaker)\b"
)
"""Words for what keeps a compressor from turning, besides itself, as parts are called: common practice, no source."""


class Stalled:
    """Remembers when the newest start of the compressor stalled, or drew current and did not pump.

    marks: those of the visit so far. at_s: when it stalled; pumped_not_s: when it pumped nothing [s since 1970]; None
    where it was otherwise.
    """

    def __init__(self, marks: Iterable[Mark] = ()) -> None:
        self.at_s: float | None = None
        self.pumped_not_s: float | None = None
        self._exchanged_s: dict[str, float] = {}  # when each exchange was first recorded, by the id of its finding
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> None:
        """Take a mark of the visit: each start takes the place of the one before.

        What is kept of a proposal says no more than that did, and may be kept long after. What stalled with a part that
        was exchanged since tells nothing of the next start; what turned backwards does so with any part. An exchange
        that was recorded before the stall has had its start, whatever is added to its record later.
        """
        match mark:
            case Proposed(what=ProposedFinding(check=check, choices=choices), from_s=at_s) if check == _START:
                self._started(choices, at_s)
            case Finding(check=check, proposal="", choices=choices, time_s=at_s) if check == _START and _is_told(mark):
                self._started(choices, at_s)
            case Finding(check=check) if check == REPLACEMENT and mark.outcome != "skipped":
                self._exchanged(mark)

    def _exchanged(self, found: Finding) -> None:
        begun_s = self._exchanged_s[found.id] = self._exchanged_s.get(found.builds_on, found.time_s)
        if self.at_s is not None and begun_s > self.at_s and _may_explain_a_stall(found):
            self.at_s = None

    def _started(self, choices: Mapping[str, str], at_s: float) -> None:
        course = choices.get("course")
        self.at_s = at_s if course == _STALLED else None
        self.pumped_not_s = at_s if course == _PUMPED_NOT else None

    def turned(self) -> None:
        """Take that it has come to run and to pump since: what failed before tells nothing of why it rests now."""
        self.at_s = self.pumped_not_s = None


def _is_told(found: Finding) -> bool:
    """Tell whether a finding says how the compressor started."""
    is_compressor = found.choices.get("motor", "compressor") == "compressor"
    return is_compressor and found.outcome != "skipped" and "course" in found.choices


def _may_explain_a_stall(exchanged: Finding) -> bool:
    """Tell whether the part that was exchanged is one that the compressor turns by: a fan's is none.

    Which sections a capacitor has is told by what was read off it or stands in its sheet; of all else by what it is
    called. Where no part is named it is the capacitor that the check is of.
    """
    read = (*exchanged.values, *exchanged.plated, *exchanged.recalled)
    if sections := _SECTIONS & {name.partition(".")[2] for name in read}:
        return "herm" in sections
    named = exchanged.part.lower()
    if not named or _COMPRESSOR.search(named):
        return True
    return not _OF_ANOTHER_MOTOR.search(named) and bool(_IN_ITS_WAY.search(named))
