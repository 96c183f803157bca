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
PLACES = ("caps_and_cores", "joints", "coil_ends")
"""Where that check looks, by its own words."""
_LOOKED = ("met", "not_met")
PROBES_OFF = "probes_off"
_CORES, _LATER = "caps_and_cores", "as_they_come_off"
"""The cores that the probes are on, which are looked at as those come off: until then a leak that is open stays so."""


def was_looked(found: Finding) -> bool:
    """Tell whether a finding of that check names a place that was looked at, or what by."""
    at_places = any(found.choices.get(place) in ("tight", LEAK) for place in PLACES)
    return at_places or bool(found.choices.get("by")) or found.outcome in _LOOKED


class Leaks:
    """By the name of a circuit. open: when a leak was found that nobody repaired [s since 1970]; sought: looked for.

    looks: what was looked at, oldest first. repairs: what was found after them that ends a leak. still_open: as open,
    from earlier visits.
    """

    def __init__(self, still_open: Mapping[str, float] = MappingProxyType({})) -> None:
        self.open = dict(still_open)
        self.sought: set[str] = set()
        self._cores_to_come: set[str] = set()
        self.looks: dict[str, list[Finding]] = {}
        self.repairs: dict[str, list[Finding]] = {}
        self._unnamed = ""

    def name(self, unnamed: str) -> None:
        """Say which circuit was meant where none was named: it is asked for by its name."""
        for circuits in (self.sought, self._cores_to_come):
            if "" in circuits:
                circuits.add(unnamed)
        if "" in self.open:
            self.open.setdefault(unnamed, self.open.pop(""))
        for of in (self.looks, self.repairs):
            if "" in of:
                of[unnamed] = sorted([*of.pop(""), *of.get(unnamed, ())], key=lambda it: it.time_s)
        self._unnamed = unnamed

    def take(self, mark: MarkBase, in_view: str) -> None:
        """Take the next mark. in_view: the circuit that is, which a finding is of where it names none."""
        if not isinstance(mark, Finding):
            return
        circuit = mark.circuit or in_view or self._unnamed
        if mark.check == LEAKS:
            self._look(mark, circuit)
        elif mark.outcome == "met" and (
            mark.check == OPENED or (mark.check == PROBES_OFF and circuit in self._cores_to_come)
        ):
            self.open.pop(circuit, None)
            self.repairs.setdefault(circuit, []).append(mark)

    def _look(self, mark: Finding, circuit: str) -> None:
        if mark.outcome in _LOOKED:
            self.sought.add(circuit)
        self._cores_to_come.discard(circuit)
        if was_looked(mark) and mark.outcome != "skipped":
            before = [it for it in self.looks.get(circuit, ()) if it.id != mark.builds_on]
            self.looks[circuit] = [*before, mark]
        if LEAK in mark.choices.values():
            self.open.setdefault(circuit, mark.time_s)
        elif mark.outcome == "met" and mark.choices.get(_CORES) == _LATER:
            self._cores_to_come.add(circuit)
        elif mark.outcome == "met":
            self.open.pop(circuit, None)
