"""What is left open as the unit was left: checks that are not met, in words that reach the owner's first line."""

from collections.abc import Callable, Mapping

from ingest.report.course import Course
from ingest.visit.leaks import LEAKS
from ingest.wire.messages import Finding

_MEASURED_AFTER = "joint_drop"


def concerns(course: Course) -> Mapping[str, list[str]]:
    """Name each with the findings that it rests on; what was found of a part that is out since is none."""
    told: dict[str, list[str]] = {}
    for found in course.found:
        words = _WORDS.get(found.check)
        if found.outcome != "not_met" or words is None or course.standing.findings.is_of_old_part(found):
            continue
        for concern in [words] if isinstance(words, str) else words(course, found):
            told.setdefault(concern, []).append(found.id)
    return told


def _ports(_: Course, found: Finding) -> list[str]:
    return [
        "a service port leaks" if found.choices.get("cores") == "leaks" else "a service port is not recorded as shut"
    ]


def _as_it_was(_: Course, found: Finding) -> list[str]:
    return [words for (name, chosen), words in _LEFT.items() if found.choices.get(name) == chosen]


_LEFT = {
    ("power", "throughout"): "whether our lock is off is not recorded",
    ("power", "other"): "somebody else took our lock off",
    ("cut_outs_reset", "open"): "one of its safety switches stands open",
    ("thermostat", "changed"): "its thermostat or dampers are not set as they were",
    ("tools", "missing"): "a tool is missing that may be in it",
}


def _connections(course: Course, found: Finding) -> list[str]:
    """Give none where what it loses under load was measured after it was tightened, and is little."""
    if found.choices.get("found") not in ("a_turn", "less_than_a_turn"):
        return ["a wire connection is not as it should be"]
    after = [it for it in course.of(_MEASURED_AFTER) if it.outcome == "met"]
    measured_after = any(course.seen_s(it) > course.seen_s(found) for it in after)
    by_feel = found.choices.get("torque_by") == "feel"
    return ["a wire connection was tightened by feel alone"] if by_feel and not measured_after else []


def _leaks(course: Course, _: Finding) -> list[str]:
    return ["refrigerant leaks from it"] if course.standing.moved.leaks.open else []


_WORDS: Mapping[str, str | Callable[[Course, Finding], list[str]]] = {
    "close_panel": "its electrical cover is not recorded as closed",
    "as_it_was": _as_it_was,
    "probes_off": _ports,
    LEAKS: _leaks,
    "capacitor_by_eye": "its run capacitor is bad",
    "capacitor_measured": "its run capacitor is bad",
    "capacitor_under_load": "its run capacitor was weak under load, and that was not measured again",
    "windings": "the winding of a motor is bad",
    "contactor": "the switch that turns the compressor on is worn",
    "start": "a motor does not start as it should",
    "supply": "its supply voltage is outside what its plate allows",
    "motor_amps": "a motor draws another current than its plate lets expect",
    _MEASURED_AFTER: "a wire connection loses voltage under load",
    "connections": _connections,
    "readings_after": "its refrigerant level is not as its maker has it",
    "panels": "not every panel and screw is back",
}
"""By the check; the work's own safety, and whether conditions were fit to judge, is the back's."""
