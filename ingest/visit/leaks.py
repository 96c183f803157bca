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
_PROBES_OFF = "probes_off"
_CORES, _LATER = "caps_and_cores", "as_they_come_off"
"""The cores that the probes are on, which are looked at as those come off: until then a leak that is open stays so."""


class Leaks:
    """By the name of a circuit. open: when a leak was found that nobody repaired [s since 1970]; sought: looked for.

    still_open: from earlier visits, likewise.
    """

    def __init__(self, still_open: Mapping[str, float] = MappingProxyType({})) -> None:
        self.open = dict(still_open)
        self.sought: set[str] = set()
        self._cores_to_come: set[str] = set()
        self._unnamed = ""

    def name(self, unnamed: str) -> None:
        """Say which circuit was meant where none was named: it is asked for by its name."""
        for circuits in (self.sought, self._cores_to_come):
            if "" in circuits:
                circuits.add(unnamed)
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
        elif mark.outcome == "met" and (
            mark.check == OPENED or (mark.check == _PROBES_OFF and circuit in self._cores_to_come)
        ):
            self.open.pop(circuit, None)

    def _look(self, mark: Finding, circuit: str) -> None:
        if mark.outcome in _LOOKED:
            self.sought.add(circuit)
        self._cores_to_come.discard(circuit)
        if LEAK in mark.choices.values():
            self.open.setdefault(circuit, mark.time_s)
        elif mark.outcome == "met" and mark.choices.get(_CORES) == _LATER:
            self._cores_to_come.add(circuit)
        elif mark.outcome == "met":
            self.open.pop(circuit, None)
