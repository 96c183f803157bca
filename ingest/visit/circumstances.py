"""What is so of a visit, as far as it makes the visit ask for a check: from its findings, its moves, and the unit."""

from collections.abc import Collection, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from calc.refrigerants import get, propagates_flame
from ingest.wire.checklist import Fact
from ingest.wire.messages import Finding, Sheet, UnitAbout
from ingest.wire.sheet import Capacitor

_OF_THREE_PHASES = frozenset({"line_voltage_bc", "line_voltage_ca", "compressor_current_b", "compressor_current_c"})
_BY_EYE = "capacitor_by_eye"
CONTENT = "what_is_in_it"
"""The word of the check that says what is in a circuit."""
_NOT_THE_PANEL, _NOT_THE_CIRCUIT = frozenset({"circuit", "only_look"}), frozenset({"panel", "only_look"})


@dataclass(frozen=True, slots=True)
class Place:
    """What is known of the unit beforehand. is_three_phase: None where neither its plate nor a measured leg tells.

    capacitors: by their names in the sheet, if there is one.
    """

    is_flammable: bool = False
    is_three_phase: bool | None = None
    capacitors: tuple[str, ...] = ()


def place_of(unit: UnitAbout, channels: Collection[str], sheet: Sheet | None) -> Place:
    """Tell it from the plate and the sheet; without those, a second pair or leg that is measured is of three phases."""
    of_three = None if sheet is None or sheet.phases is None else sheet.phases == 3
    if of_three is None and not _OF_THREE_PHASES.isdisjoint(channels):
        of_three = True
    capacitors = [part.name for part in (sheet.parts if sheet else ()) if isinstance(part, Capacitor)]
    return Place(get(unit.refrigerant).is_flammable, of_three, tuple(capacitors))


def _has_burst(by_eye: Finding) -> bool:
    """Tell whether one look shows that a capacitor is gone: there is nothing left to measure."""
    return by_eye.choices.get("top") == "domed" or by_eye.choices.get("can") == "leaking"


@dataclass(frozen=True, slots=True)
class Course:
    """How a visit went so far. findings: the newest of each check. moves, additions: of refrigerant.

    failed: the newest by which each check was not met at this visit, whatever it found since. cover_said_off: somebody
    said at this visit that the electrical cover is off, or on again.
    """

    findings: Mapping[str, Finding]
    not_met: AbstractSet[str]
    moves: int
    additions: int
    failed: Mapping[str, Finding]
    cover_said_off: bool = False

    def chosen(self, check: str, name: str) -> str:
        """Give what was chosen in a check; empty if nothing was."""
        found = self.findings.get(check)
        return "" if found is None else found.choices.get(name, "")

    def was_done(self, *checks: str) -> bool:
        """Whether one of these was made, and not skipped."""
        return any(check in self.findings and self.findings[check].outcome != "skipped" for check in checks)

    def fails(self, *checks: str) -> bool:
        """Whether one of these is found not met, of whichever part."""
        return not self.not_met.isdisjoint(checks)

    def failed_once(self, *checks: str) -> bool:
        """Whether one of these was found not met at this visit: the part that took its place may be sound since."""
        return not self.failed.keys().isdisjoint(checks)


def facts(place: Place, course: Course) -> frozenset[Fact]:
    """Tell what is so. The panel and the circuit are taken as needed until somebody says otherwise."""
    work = course.chosen("complaint", "work")
    then, by_weight = course.chosen("readings_before", "then"), course.chosen("moving", "why_by_weight")
    isolated = course.was_done("isolate", "prove_dead")
    panel = work not in _NOT_THE_PANEL or (isolated and not course.cover_said_off)
    circuit = work not in _NOT_THE_CIRCUIT or course.was_done("probes_on") or course.moves > 0
    flammable = place.is_flammable or propagates_flame(course.chosen(CONTENT, "safety_class"))
    seen_failed = course.failed.get(_BY_EYE)
    by_eye = course.fails(_BY_EYE) and _has_burst(course.findings[_BY_EYE])
    of_three = place.is_three_phase
    if of_three is None and (phases := course.chosen("prove_dead", "phases")):
        of_three = phases == "three"
    burst = seen_failed is not None and _has_burst(seen_failed)
    capacitor_failed = burst or course.failed_once("capacitor_measured", "capacitor_under_load")
    so: Mapping[Fact, bool] = {
        "panel": panel,
        "circuit": circuit,
        "dead_first": panel or isolated or course.cover_said_off,
        "cover_needed": panel or (flammable and circuit) or course.cover_said_off,
        "flammable": flammable,
        "single_phase": not of_three,
        "three_phase": of_three is True,
        "phases_unknown": of_three is None,
        "capacitor_in_question": not by_eye and (course.was_done("capacitor_by_eye") or course.fails("start")),
        "capacitor_failed": capacitor_failed,
        "winding_in_question": course.fails("start", "motor_amps") or course.chosen("look_first", "trips") == "trips",
        "joint_in_question": course.fails("supply", "connections", "contactor"),
        "contactor_in_question": course.fails("contactor", "contactor_live")
        or course.chosen("power_back", "held_by") in ("coil", "contactor"),
        "part_failed": capacitor_failed or course.failed_once("windings", "contactor", "contactor_live", "connections"),
        "cause_in_question": course.fails("looked_for"),
        "touched_wires": course.was_done("capacitor_measured", "replacement"),
        "moving": then in ("move", "open") or course.moves > 0 or course.was_done("moving"),
        "added": course.additions > 0,
        "recovered": course.moves > course.additions,
        "opened": then == "open" or by_weight == "opened",
    }
    return frozenset(fact for fact, is_so in so.items() if is_so)
