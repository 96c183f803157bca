"""What was done: verbs and parts, what for, and what became of the old part."""

from collections.abc import Iterator

from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.opened import EVACUATED, NOT_PASSED, PRESSED, not_passed
from ingest.report.said import is_offered, listed, own_words, quoted, said, sentence
from ingest.report.words import LOOKED_FOR
from ingest.visit.by_weight import by_weight
from ingest.visit.leaks import OPENED
from ingest.visit.looked import LOOKED_FOR as LOOK
from ingest.visit.tally import Entry

_KEPT = {"kept": "The old part was kept.", "scrapped": "The old part was taken away."}
_TORQUE = {
    "marked": "to the torque that is marked on it",
    "table": "to the torque of the electrical code's table",
    "feel": "by feel",
}


def done(course: Course) -> Section:
    """Say it."""
    told = list(_told(course))
    changed = [name for both in course.came_right() for it in both for name in course.seen_ids(it)]
    text = (
        "A fault was gone at the end; what was done is not recorded."
        if changed
        else "No replacement and no move of refrigerant is recorded: we looked and measured."
    )
    nothing = said(text, changed, course.visit_id)
    return Section("What we did", [Items(told or [nothing])])


def _told(course: Course) -> Iterator[Statement]:
    yield from mended(course)
    yield from _replaced(course)
    yield from _tightened(course)
    yield from _opened(course)
    for circuit in course.moved_circuits():
        yield from _moved(course, circuit)
    for found in course.of("as_it_was"):
        if found.choices.get("cut_outs_reset") == "reset":
            which = found.choices.get("cut_outs", "").strip()
            yield said(
                sentence(f"reset a safety switch that had opened{f': {own_words(which)}' if which else ''}"), found.id
            )


def mended(course: Course) -> Iterator[Statement]:
    """Tell what was put right beside a part or a charge."""
    for look in course.of("look_first"):
        if look.choices.get("repaired") == "yes":
            what = look.choices.get("found_what", "").strip()
            told = f": {quoted(what)}" if what else "; what it was is not recorded"
            yield said(sentence(f"put right what we saw{told}"), look.id)
    for look in course.every(LOOK):
        if look.choices.get("seen") == "mended" and (words := LOOKED_FOR.get(look.choices.get("cause", ""))):
            yield said(sentence(f"put it right that {words}"), look.id)
    for cause in course.of("cause"):
        if what := cause.choices.get("done", "").strip():
            yield said(sentence(f"against its cause: {quoted(what)}"), cause.id)


def _replaced(course: Course) -> Iterator[Statement]:
    for new in course.of("replacement"):
        alike = {
            "met": " by one of the same size",
            "not_met": " by one that is not the same: the back says what differs",
        }
        text = f"replaced the run capacitor{alike.get(new.outcome, '')}"
        why = new.choices.get("why", "").strip()
        told = [
            sentence(text),
            _KEPT.get(new.choices.get("old_part", ""), "What became of the old part is not recorded."),
        ]
        yield said(" ".join([*told, *([sentence(f"Why: {quoted(why)}")] if why else [])]), new.id)


def _tightened(course: Course) -> Iterator[Statement]:
    for found in course.every("connections"):
        if found.choices.get("found") not in ("less_than_a_turn", "a_turn"):
            continue
        which = found.choices.get("terminal", "").strip()
        by = _TORQUE.get(found.choices.get("torque_by", ""), "")
        where = f": {quoted(which)}" if which else ""
        if is_offered("connections", "terminal", which):
            where = " at every terminal that was proved dead"
        yield said(sentence(f"tightened wire connections {by}{where}".replace("  ", " ")), found.id)


def _opened(course: Course) -> Iterator[Statement]:
    for found in course.of(OPENED):
        failed = not_passed(course, found)
        holds = "and saw it hold" if found.outcome == "met" else "which is said to have held"
        steps = {
            "pressed it with nitrogen to find leaks": found.choices.get("gas") == "nitrogen"
            and not {*failed} & {*PRESSED},
            f"drew a vacuum {holds}": found.choices.get("vacuum_course") == "holds" and not {*failed} & {*EVACUATED},
            "renewed its drier": found.choices.get("drier") == "renewed",
        }
        told = [
            sentence(listed([f"opened {course.named(found.circuit)}", *(it for it, is_so in steps.items() if is_so)]))
        ]
        if failed:
            told.append(f"It did not pass: {'; '.join(NOT_PASSED[it][0] for it in failed)}.")
        elif found.outcome == "not_met":
            told.append("It did not pass its tests; which of them is not recorded.")
        yield said(" ".join(told), found.id, course.sheet_id, course.visit_id)


def _moved(course: Course, name: str) -> Iterator[Statement]:
    moves = course.moves(name)
    circuit = next((it for it in course.circuits if it.name == name), None)
    is_by_weight = circuit is not None and by_weight(circuit, moves, None, None) is not None
    for sign, verb, way in ((-1, "took out", "from"), (1, "weighed in" if is_by_weight else "added", "to")):
        of = [move for move in moves if move.sign == sign]
        if not of:
            continue
        amount = mass(sum(move.mass_kg for move in of), course.system, weighed=True)
        what = f"{amount} of {circuit.refrigerant}" if circuit else f"{amount} of refrigerant"
        where = "into" if verb == "weighed in" else way
        text = f"{verb} {what}, {where} {course.named(name)}" if course.several else f"{verb} {what}"
        yield said(
            sentence(f"{text} ({how_known(course, of)})"),
            [
                it for move in (of if sign < 0 else moves) for it in course.move_ids(move)
            ],  # all tell if it was by weight
            course.sheet_id,
        )


def how_known(course: Course, moves: list[Entry]) -> str:
    """Tell how the mass of some moves is known, the least sure of them."""
    marks = {mark.id: mark for mark in course.marks}
    how = {getattr(marks[move.id], "how", "") for move in moves}
    if "estimated" in how:
        return "estimated"
    if how == {"scale"}:
        return "by a scale"
    if "" not in how:
        return "read off a scale"
    by_scale = course.chosen("moving", "mass_known_by") == "scale"
    return "by the difference of the scale" if by_scale else "how it was weighed is not recorded"
