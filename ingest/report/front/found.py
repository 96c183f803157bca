"""What was found, each with how sure that is, and why it failed: at most three sentences, causes before signs."""

from collections.abc import Callable, Iterator, Mapping

from ingest.report.course import Course
from ingest.report.document import Paragraph, Section, Statement
from ingest.report.leaks import found_it, is_open, looks_at, settled_by
from ingest.report.level import level_of, told_level
from ingest.report.said import is_offered, listed, own_words, quoted, said, sentence, sure
from ingest.report.words import CAPACITOR, CAUSES, CONTACTOR, LOOKED_FOR, MOTORS, STARTS
from ingest.visit.looked import LOOKED_FOR as LOOK
from ingest.wire.messages import Finding

MOST = 3
_NONE = "No fault was found by what was checked; the back says what that was."
_NONE_SO_FAR = "No fault is recorded so far."
OF_A_CAPACITOR = ("capacitor_by_eye", "capacitor_measured", "capacitor_under_load")
OF_PARTS = (*OF_A_CAPACITOR, "windings", "contactor", "contactor_live")
_SPENT_SHARE = 0.05
"""Of its label: a capacitor below it does nothing any more."""


def found(course: Course) -> Section:
    """Say it."""
    told = list(findings(course))
    shown = told[:MOST]
    if len(told) > MOST:
        shown[-1] = said(f"{shown[-1].text} More was found: see the back.", shown[-1].evidence)
    if not shown:
        shown = [said(_NONE if course.one("handover") else _NONE_SO_FAR, course.visit_id)]
    return Section("What we found", [Paragraph([*shown, *_why(course)])])


def findings(course: Course) -> Iterator[Statement]:
    """Give all that was found, what explains the most first."""
    yield from _looks(course)
    yield from _disagreeing(course)
    yield from _parts(course)
    for check in _WORDS:
        if check not in OF_PARTS:
            yield from (it for found in course.failed(check) if (it := _told(course, found)))
    yield from _levels(course)
    yield from _leaks(course)
    yield from _capacitors_that_fade(course)
    yield from _last_word(course)


def _told(course: Course, found: Finding) -> Statement | None:
    words = _WORDS[found.check](course, found)
    return said(sentence(f"{words} ({sure(found.grade)})"), found.id) if words else None


def _looks(course: Course) -> Iterator[Statement]:
    for look in course.of("look_first"):
        what, kind = look.choices.get("found_what", ""), look.choices.get("found", "")
        if kind in ("explains", "else"):
            nothing_said = "something that explains the complaint" if kind == "explains" else "something else to mend"
            by = " (photographed)" if look.photographs else ""
            unsaid = f" {nothing_said}; what it was is not recorded"
            yield said(sentence(f"we saw{f': {quoted(what)}' if what else unsaid}{by}"), look.id)
    by_cause = {(it.circuit, it.choices.get("cause")): it for it in course.every(LOOK)}
    for look in by_cause.values():
        points_at = LOOKED_FOR.get(look.choices.get("cause", ""))
        if points_at and look.choices.get("seen") in ("mended", "found"):
            yield said(sentence(f"{points_at} ({sure(look.grade)})"), look.id)


def _disagreeing(course: Course) -> Iterator[Statement]:
    for failed, right in course.disagreeing():
        share = shares_of(course, failed)
        first = f" about {_roughly(worst_of(share))} of the strength on its label, then what it says" if share else ""
        text = f"Two readings of the run capacitor, right after each other, disagree{':' if first else ''}{first}"
        yield said(f"{text}; which is right is not recorded.", course.seen_ids(failed), course.seen_ids(right))


def _last_word(course: Course) -> Iterator[Statement]:
    """Tell which other cause the figures pointed at last, where they spoke for leaving the charge alone."""
    for word, number in likely_at_last(course):
        yield said(f"Likely: {_LIKELY[word]}.", f"advice {number}", course.visit_id)


def likely_at_last(course: Course) -> Iterator[tuple[str, int]]:
    """Give that cause, and the number of the advice that named it; nothing where there was none, or none told here."""
    for it in course.known.advices[-1:]:
        parts = it.advice.sentence.parts if it.advice.sentence.kind == "headline.another_cause" else ()
        for word in (term for part in parts if part.place == "fault" for term in part.terms):
            if word in _LIKELY:
                yield word, it.number


_LIKELY = {
    "condenser fouling or low outdoor airflow": "the outdoor coil is dirty or short of air",
    "low evaporator airflow": "too little air goes over the indoor coil",
}


def _parts(course: Course) -> Iterator[Statement]:
    """Tell of each part once: the finding that says most, where several say it of one."""
    told: dict[str, list[Finding]] = {}
    doubted = {failed.id for failed, _ in course.disagreeing()}
    for check in OF_PARTS:
        for found in course.failed(check):
            if found.id in doubted:
                continue
            kind = "capacitor" if check in OF_A_CAPACITOR else check
            told.setdefault(f"{kind} {found.part}", []).append(found)
    for several in told.values():
        if statement := _told(course, several[-1]):
            yield said(statement.text, statement.evidence)


def _levels(course: Course) -> Iterator[Statement]:
    """Tell of a level that was put right: one that was left alone may look wrong for another cause."""
    for circuit in course.circuits:
        level, moves = level_of(course, circuit, "readings_before"), course.moves(circuit.name)
        if level is None:
            continue
        sign = 1 if level.is_at_the_edge else {"too little": 1, "too much": -1}.get(level.state)
        if any(move.sign == sign for move in moves):
            ids = [it for move in moves for it in course.move_ids(move)]
            yield said(sentence(f"{told_level(course, circuit, level)} (we measured)"), level.evidence, ids)


def _leaks(course: Course) -> Iterator[Statement]:
    """Tell of each circuit where it leaks, or leaked before it was repaired or looked at again."""
    for name in sorted(course.standing.moved.leaks.looks):
        found = [look for look in looks_at(course, name) if found_it(look)]
        for look in found[-1:]:
            places = look.choices.get("places", "").strip()
            where = f" from circuit {name}" if course.several and name else ""
            where += f" at {own_words(places)}" if places else ""
            how = _LOOKED_BY.get(look.choices.get("by", ""), "we saw")
            does = "leaks" if is_open(course, name) else "leaked"
            yield said(sentence(f"refrigerant {does}{where} ({how})"), look.id, settled_by(course, name))


_LOOKED_BY = {"seen": "we saw", "detector": "a detector showed it", "bubbles": "bubbles showed it"}


def _capacitors_that_fade(course: Course) -> Iterator[Statement]:
    for found in course.of("capacitor_measured"):
        if found.says is not None and found.says.kind in ("finding.goes_next", "finding.may_go_next"):
            yield said(
                "The run capacitor still does its work and gets weaker: it will be the next to fail (likely).", found.id
            )


def _capacitor_by_eye(_: Course, found: Finding) -> str:
    signs = [word for name, chosen, word in _BY_EYE if found.choices.get(name) == chosen]
    return f"the {CAPACITOR}, {listed(signs)}" if signs else ""


_BY_EYE = (
    ("top", "domed", "was bulged: it had failed"),
    ("can", "leaking", "was leaking: it had failed"),
    ("can", "rusted", "was rusted"),
    ("terminals", "burnt", "had burnt terminals"),
    ("strap", "loose", "was not fastened"),
)


def shares_of(course: Course, found: Finding) -> list[float]:
    """Give what a finding measured of a run capacitor, each as a share of its label."""
    return [it.value / it.label_value for it in course.part_readings.get(found.id, ()) if it.label_value]


def worst_of(shares: list[float]) -> float:
    """Give the share that is furthest from the label."""
    return max(shares, key=lambda share: abs(share - 1.0))


def _capacitor(course: Course, found: Finding) -> str:
    shares = shares_of(course, found)
    if not shares:
        return f"the {CAPACITOR}, was not as its label says"
    worst = worst_of(shares)
    if worst < _SPENT_SHARE:
        return f"the {CAPACITOR}, did nothing any more"
    if worst > 1.0:
        return f"the {CAPACITOR}, was stronger than its label says: it had failed"
    under_load = " under load" if found.check == "capacitor_under_load" else ""
    return f"the {CAPACITOR}, had about {_roughly(worst)} of the strength on its label left{under_load}"


def _roughly(share: float) -> str:
    """Tell a share as it is said.

    >>> _roughly(0.2), _roughly(0.52), _roughly(0.88)
    ('a fifth', 'half', '90 %')
    >>> _roughly(38.18 / 45)
    '85 %'
    """
    names = {0.1: "a tenth", 0.2: "a fifth", 0.25: "a quarter", 0.33: "a third", 0.5: "half"}
    return next((name for of, name in names.items() if abs(share - of) < _NEARLY), f"{5 * round(20 * share)} %")


_NEARLY = 0.03


def _contactor(_: Course, found: Finding) -> str:
    faces, travel = found.choices.get("faces"), found.choices.get("travel")
    signs = [{"pitted": "had burnt or pitted contacts", "insects": "had insects between its contacts"}.get(faces or "")]
    signs += ["stuck"] if travel == "sticks" else []
    return f"the {CONTACTOR}, {listed(list(filter(None, signs))) or 'did not work as it should'}"


def _contactor_live(_: Course, found: Finding) -> str:
    signs = {"chatters": "chattered", "out": "did not pull in"}
    how = signs.get(found.choices.get("when_called", ""), "did not work as it should under power")
    return f"the {CONTACTOR}, {how}"


def _connections(_: Course, found: Finding) -> str:
    where = found.choices.get("terminal", "").strip()
    is_named = where and not is_offered("connections", "terminal", where)
    at = f", {quoted(where)}," if is_named else ""
    loose, hot = found.choices.get("found") == "a_turn", found.choices.get("heat") == "seen"
    if not loose and not hot:
        return ""
    signs = listed([*(["was loose"] if loose else []), *(["had been hot"] if hot else [])])
    return f"a wire connection{at} {signs}{'' if is_named else '; which one is not recorded'}"


def _joint(_: Course, found: Finding) -> str:
    where = found.choices.get("joint", "").strip()
    named = f"a wire connection{f' ({own_words(where)})' if where else ''} was likely loose or worn"
    drops, amps = [value for name, value in found.values.items() if name.startswith("drop.")], found.values.get("amps")
    if not drops:
        return named
    heat = "" if amps is None else f", which makes about {_about(max(drops) * amps)} W of heat there, reckoned"
    return f"{named}: under load {max(drops):.1f} V was lost in it{heat}"


def _about(watts: float) -> str:
    return f"{5 * round(watts / 5)}" if watts >= _TO_FIVES_FROM_W else f"{watts:.1g}"


_TO_FIVES_FROM_W = 10.0


def _start(_: Course, found: Finding) -> str:
    if found.choices.get("course") == "backwards" and found.grade == "measured":
        motor = MOTORS[found.choices.get("motor", "")]
        return f"the {motor} drew current and did not pump: likely it turned backwards"
    course = STARTS.get(found.choices.get("course", ""))
    return f"the {MOTORS[found.choices.get('motor', '')]} {course}" if course else ""


def _motor(_: Course, found: Finding) -> str:
    return f"the {MOTORS[found.choices.get('motor', '')]} drew another current than its plate lets expect"


def _winding(course: Course, found: Finding) -> str:
    return f"the winding inside the {course.motor_of(found)} is damaged"


def _content(_: Course, found: Finding) -> str:
    if found.choices.get("leak_detector") == "alarm":
        return "the unit's own leak detector was in alarm"
    if found.choices.get("at_rest") == "off_saturation":
        return "what is in the circuit is not the refrigerant of its plate alone: air, or another one, is in it"
    return ""


_WORDS: Mapping[str, Callable[[Course, Finding], str]] = {
    "capacitor_by_eye": _capacitor_by_eye,
    "capacitor_measured": _capacitor,
    "capacitor_under_load": _capacitor,
    "windings": _winding,
    "contactor": _contactor,
    "contactor_live": _contactor_live,
    "connections": _connections,
    "joint_drop": _joint,
    "start": _start,
    "supply": lambda _, __: "the supply voltage was outside what the plate of the unit allows",
    "motor_amps": _motor,
    "what_is_in_it": _content,
}
"""What a check that was not met found, in words, by the check; empty where that is none for an owner."""


def parts_that_failed(course: Course) -> list[str]:
    """Name the findings of parts that failed: not the reading that the next one contradicted."""
    doubted = {failed.id for failed, _ in course.disagreeing()}
    return [it.id for check in OF_PARTS for it in course.failed(check) if it.id not in doubted]


def _why(course: Course) -> list[Statement]:
    """Say why it failed, where a part did."""
    failed = parts_that_failed(course)
    causes = course.of("cause")
    if not causes:
        return [said("Why the part failed was not found out.", course.visit_id, failed)] if failed else []
    cause = causes[-1]
    words = CAUSES.get(cause.choices.get("cause", ""))
    if not words:
        return [said("We do not know why it failed.", cause.id)]
    evidence = cause.choices.get("evidence", "").strip()
    return [said(sentence(f"it likely failed from {words}{f': {quoted(evidence)}' if evidence else ''}"), cause.id)]
