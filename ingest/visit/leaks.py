"""Leaks of a unit by what the guided checks found: where one is open, and where one was looked for."""

from collections.abc import Mapping
from types import MappingProxyType

from ingest.wire.events import MarkBase
from ingest.wire.findings import Finding

LEAKS = "leaks"
OPENED = "opened"
LEAK = "leak"
"""Words of the checks' own data: the check of the evidence, the one of an opened circuit, and what it is called there
where a place leaks."""
_LOOKED = ("met", "not_met")


class Leaks:
    """By the name of a circuit. open: when a leak was found that nobody repaired [s since 1970]; sought: looked for.

    still_open: from earlier visits, likewise.
    """

    def __init__(self, still_open: Mapping[str, float] = MappingProxyType({})) -> None:
        self.open = dict(still_open)
        self.sought: set[str] = set()
        self._unnamed = ""

    def name(self, unnamed: str) -> None:
        """Say which circuit was meant where none was named: it is asked for by its name."""
        if "" in self.sought:
            self.sought.add(unnamed)
        if "" in self.open:
            self.open.setdefault(unnamed, self.open.pop(""))
        self._unnamed = unnamed

    def take(self, mark: MarkBase, in_view: str) -> None:
        """Take the next mark. in_view: the circuit that is, which a finding is of where it names none."""
        if not isinstance(mark, Finding):
            return
        circuit = mark.circuit or in_view or self._unnamed
        if mark.check == LEAKS:
            self._look(mark, circuit)
        elif mark.check == OPENED and mark.outcome == "met":
            self.open.pop(circuit, None)

    def _look(self, mark: Finding, circuit: str) -> None:
        if mark.outcome in _LOOKED:
            self.sought.add(circuit)
        if LEAK in mark.choices.values():
            self.open.setdefault(circuit, mark.time_s)
        elif mark.outcome == "met":
            self.open.pop(circuit, None)
