"""Cylinders: which, with what in it, before and after, and where recovered refrigerant goes."""

from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Block, Items, Section, Statement, Table
from ingest.report.said import NOT_RECORDED, listed, said
from ingest.visit.tally import Entry
from ingest.wire.messages import CylinderDescribed, CylinderStands, Finding

_USES = {"virgin": "to charge with", "recovery": "recovered"}


def cylinders(course: Course) -> Section:
    """Say it."""
    rows = [_row(course, it) for it in course.standing.moved.cylinders_stand()]
    blocks: list[Block] = [Table(("Cylinder", "For", "Refrigerant", "Given, taken", "Holds now"), rows)] if rows else []
    moves = [move for name in course.moved_circuits() for move in course.moves(name)]
    told = _destination(course, [move for move in moves if move.sign < 0])
    if not rows and moves:
        told = [said("Which cylinder it came from, or went into, is not recorded.", course.visit_id), *told]
    nothing = [] if rows or told else [said("No cylinder was used.", course.visit_id)]
    return Section("Cylinders", [*blocks, *([Items([*told, *nothing])] if told or nothing else [])])


def _row(course: Course, it: CylinderStands) -> tuple[Statement, ...]:
    marks = [mark.id for mark in course.marks if isinstance(mark, CylinderDescribed) and mark.name == it.name]
    entries = [entry for entry in course.standing.moved.ledgers.entries.values() if entry.cylinder == it.name]
    ids = [name for entry in entries for name in course.move_ids(entry)]
    given = [
        f"{mass(amount, course.system, weighed=True)} {way}"
        for amount, way in ((it.taken_kg, "into the unit"), (it.given_kg, "out of the unit"))
        if amount > 0.0
    ]
    holds = NOT_RECORDED if it.holds_kg is None else mass(it.holds_kg, course.system, weighed=True)
    return (
        said(it.name, marks),
        said(_USES[it.use], marks),
        said(it.refrigerant or NOT_RECORDED, marks, ids if not it.refrigerant else []),
        said(listed(given) or "none", marks, ids),
        said(holds, marks, ids if it.holds_kg is not None else [course.visit_id]),
    )


def _destination(course: Course, recovered: list[Entry]) -> list[Statement]:
    """Tell where what was recovered goes, by the newest finding of each circuit."""
    if not recovered:
        return []
    moved = [name for move in recovered for name in course.move_ids(move)]
    told = [
        said(f"What was recovered{_of(course, found)} {_GOES[goes]}.", found.id, moved)
        for found in course.of("moving")
        if (goes := found.choices.get("destination", "")) in _GOES
    ]
    text = "Where the recovered refrigerant goes (kept, returned, sent to reclaim) is not recorded."
    return told or [said(text, moved, course.visit_id)]


def _of(course: Course, found: Finding) -> str:
    return f" of circuit {found.circuit}" if course.several and found.circuit else ""


_GOES = {"kept": "is kept", "returned": "goes back into equipment of this owner", "reclaim": "is sent to reclaim"}
