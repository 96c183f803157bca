"""What is left open as the unit was left: checks that are not met, in words that reach the owner's first line."""

from collections.abc import Callable, Mapping

from ingest.report.course import Course
from ingest.report.opened import CONCERN as NOT_PASSED
from ingest.report.said import is_offered, own_words
from ingest.visit.leaks import LEAKS, OPENED
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
    for left in course.standing.charges_left.all():
        told.setdefault(_LEFT_SO, []).append(left.id)
    for failed, right in course.disagreeing():
        if not (course.standing.findings.is_of_old_part(right) or course.was_measured_again(right)):
            told.setdefault(_READ_TWO_WAYS, []).extend([*course.seen_ids(failed), *course.seen_ids(right)])
    return told


_LEFT_SO = "its refrigerant was left as it is, against what its figures ask for"
_READ_TWO_WAYS = "its run capacitor read two ways"


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
    """Give none where what the same joint loses under load was measured afterwards on every leg, and is little."""
    if found.choices.get("found") not in ("a_turn", "less_than_a_turn"):
        return ["a wire connection is not as it should be"]
    by_feel = found.choices.get("torque_by") == "feel"
    return ["a wire connection was tightened by feel alone"] if by_feel and not _is_measured(course, found) else []


def _is_measured(course: Course, tightened: Finding) -> bool:
    """Tell whether each joint in question lost little on every leg after it was tightened; a joint without a name, no.

    In question is each that lost much, and the one that was tightened, where it is named.
    """
    drops = course.every(_MEASURED_AFTER)
    joints = {_named(it, "joint") for it in drops if it.outcome == "not_met"}
    if not is_offered("connections", "terminal", tightened.choices.get("terminal", "").strip()):
        joints.add(_named(tightened, "terminal"))
    good = {
        _named(it, "joint")
        for it in drops
        if it.outcome == "met" and course.seen_s(it) > course.seen_s(tightened) and _legs(course) <= it.values.keys()
    }
    return bool(joints) and "" not in joints and joints <= good


def _named(found: Finding, text: str) -> str:
    return own_words(found.choices.get(text, "")).casefold()


def _legs(course: Course) -> set[str]:
    """Name a drop of every leg: of a unit whose phases are not known, of three."""
    is_single = course.sheet is not None and course.sheet.phases == 1
    return {f"drop.{leg}" for leg in ("ab" if is_single else "abc")}


def _leaks(course: Course, _: Finding) -> list[str]:
    return ["refrigerant leaks from it"] if course.standing.moved.leaks.open else []


_WORDS: Mapping[str, str | Callable[[Course, Finding], list[str]]] = {
    "close_panel": "its electrical cover is not recorded as closed",
    "as_it_was": _as_it_was,
    "probes_off": _ports,
    LEAKS: _leaks,
    OPENED: NOT_PASSED,
    "capacitor_by_eye": "its run capacitor is bad",
    "capacitor_measured": "its run capacitor is bad",
    "capacitor_under_load": "its run capacitor was weak under load, and that was not measured again",
    "windings": "the winding of a motor is bad",
    "contactor": "the switch that turns the compressor on is worn",
    "contactor_live": "the switch that turns the compressor on does not pull in as it should, or loses voltage",
    "start": "a motor does not start as it should",
    "supply": "its supply voltage is outside what its plate allows",
    "motor_amps": "a motor draws another current than its plate lets expect",
    _MEASURED_AFTER: "a wire connection loses voltage under load",
    "connections": _connections,
    "readings_after": "its refrigerant level is not as its maker has it",
    "panels": "not every panel and screw is back",
}
"""By the check; the work's own safety, and whether conditions were fit to judge, is the back's."""

HAVE_DONE: Mapping[str, str] = {
    "a service port leaks": "have the leaking service port shut and capped",
    "a service port is not recorded as shut": "have the service ports shut and capped",
    "whether our lock is off is not recorded": "ask us whether our lock is off; take no lock off yourself",
    "somebody else took our lock off": "tell us who took our lock off, before anybody works on the unit",
    "one of its safety switches stands open": "have it found out why its safety switch opened; let nobody bypass it",
    "its thermostat or dampers are not set as they were": "have its thermostat and dampers set as they were",
    "a tool is missing that may be in it": "have the tool looked for while the unit is off and locked",
    "a wire connection is not as it should be": "have every wire connection put right",
    "a wire connection was tightened by feel alone": "have every wire connection tightened to its torque, or measured "
    "on every leg under load",
    "its electrical cover is not recorded as closed": "have the electrical cover closed; reach for nothing behind it",
    "its run capacitor is bad": "have the run capacitor renewed",
    "its run capacitor was weak under load, and that was not measured again": "have the run capacitor measured again "
    "under load, and renewed if it is weak",
    _LEFT_SO: "have the refrigerant level put right",
    _READ_TWO_WAYS: "have the run capacitor measured again",
    "the winding of a motor is bad": "have the motor whose winding is bad seen to",
    "the switch that turns the compressor on is worn": "have the switch that turns the compressor on renewed",
    "a motor does not start as it should": "have it found out why a motor does not start as it should",
    "its supply voltage is outside what its plate allows": "have the supply voltage put right",
    "a motor draws another current than its plate lets expect": "have it found out why a motor draws another current",
    "a wire connection loses voltage under load": "have the wire connection that loses voltage put right",
    "its refrigerant level is not as its maker has it": "have the refrigerant level put right",
    "not every panel and screw is back": "have the missing panels and screws put back",
}
"""What an owner is to have done about each, by its words; a leak has a task of its own. Common practice, no source."""
