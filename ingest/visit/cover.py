"""Whether the electrical cover is closed, by what the guided checks found."""

from ingest.visit.intended import Cover
from ingest.wire.events import MarkBase
from ingest.wire.findings import Finding

CLOSE, COVER = "close_panel", "cover"
"""The check, and its choice that says how the cover is."""
NEVER_OFF = "never_off"
INTO_THE_PANEL = (
    "prove_dead", "discharge", "wiring_photograph", "capacitor_by_eye", "capacitor_measured", "replacement", "windings",
    "conductor", "connections", "contactor",
)  # fmt: skip
"""Words of the checks' own data: after one of these, if it was not skipped, the cover is off again."""


class CoverFold:
    """How the cover stands. now: unknown until somebody says."""

    def __init__(self) -> None:
        self.now: Cover = "unknown"

    def take(self, mark: MarkBase) -> None:
        """Take the next mark."""
        if not isinstance(mark, Finding):
            return
        if mark.check == CLOSE:
            is_off = mark.outcome == "not_met" and mark.choices.get(COVER) != NEVER_OFF
            self.now = "closed" if mark.outcome == "met" else "open" if is_off else "unknown"
        elif mark.check in INTO_THE_PANEL and mark.outcome != "skipped":
            self.now = "unknown"
