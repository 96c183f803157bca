"""Whether the electrical cover is closed, by what the guided checks found."""

from ingest.visit.intended import Cover
from ingest.wire.events import MarkBase
from ingest.wire.findings import Finding, FindingAsk
from ingest.wire.proposals import Proposed

CLOSE, COVER = "close_panel", "cover"
"""The check, and its choice that says how the cover is."""
NEVER_OFF = "never_off"
LOOK_FIRST = "look_first"
INTO_THE_PANEL = (
    "prove_dead", "discharge", "wiring_photograph", "capacitor_by_eye", "capacitor_measured", "replacement", "windings",
    "conductor", "connections", "contactor",
)  # fmt: skip
"""Words of the checks' own data: after one of these, if it was not skipped, the cover is off again."""


def looked_behind(found: Finding | FindingAsk) -> bool:
    """Tell whether the first look is said to have been behind the panel too: whoever looks there has it off."""
    return found.check == LOOK_FIRST and found.choices.get("bypassed") == "none"


def was_in_the_panel(found: Finding) -> bool:
    """Tell whether a check that was not skipped is made with the cover off."""
    return looked_behind(found) or found.check in INTO_THE_PANEL


class CoverFold:
    """How the cover stands. now: unknown until somebody says. What was seen before it was closed opens it no more."""

    def __init__(self) -> None:
        self.now: Cover = "unknown"
        self._seen: set[str] = set()
        self._seen_before: set[str] = set()

    def take(self, mark: MarkBase) -> None:
        """Take the next mark."""
        if isinstance(mark, Proposed):
            self._seen.add(mark.id)
        if not isinstance(mark, Finding):
            return
        if mark.check == CLOSE:
            self._seen_before = {*self._seen}
            is_off = mark.outcome == "not_met" and mark.choices.get(COVER) != NEVER_OFF
            self.now = "closed" if mark.outcome == "met" else "open" if is_off else "unknown"
        elif was_in_the_panel(mark) and mark.outcome != "skipped" and mark.proposal not in self._seen_before:
            self.now = "unknown"
