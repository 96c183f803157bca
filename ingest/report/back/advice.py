"""Advice that was given, and what was done: at each move of refrigerant, and as the visit ended. No more, no blame."""

from collections.abc import Iterator

from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Section, Statement, Table
from ingest.report.said import NOTHING, said
from ingest.wire.messages import Added, Recovered, Warned


def advice(course: Course) -> Section:
    """Say it."""
    rows = [*_moves(course), *_at_the_end(course)]
    nothing = [(NOTHING, said("No advice is recorded.", course.visit_id), NOTHING)]
    return Section("Advice given, and what was done", [Table(("Time", "Advice", "What was done"), rows or nothing)])


def _moves(course: Course) -> Iterator[tuple[Statement, ...]]:
    warned = {mark.of: mark for mark in course.marks if isinstance(mark, Warned)}
    for mark in course.marks:
        if not isinstance(mark, Added | Recovered):
            continue
        entry = course.standing.moved.ledgers.entries[mark.id]
        stood, told = course.advice_before(course.began_s(mark)), warned.get(mark.id)
        words = [] if stood is None else [getattr(stood[1].sentence, course.system)]
        words += [] if told is None else [getattr(told.says, course.system)]
        ids = [stood[0] if stood else "", told.id if told else "", *(course.seen_ids(mark) if stood else [])]
        verb = "added" if entry.sign > 0 else "recovered"
        did = f"{mass(entry.mass_kg, course.system, weighed=True)} {verb}" if entry.mass_kg > 0.0 else "nothing moved"
        yield (
            said(course.clock.time(course.seen_s(mark)), course.seen_ids(mark)),
            said(" ".join(words) or "none", ids if any(ids) else [course.visit_id]),
            said(f"{did}.", course.move_ids(entry)),
        )


def _at_the_end(course: Course) -> Iterator[tuple[Statement, ...]]:
    if not course.marks:
        return
    last = course.advice_at(course.marks[-1].time_s)
    if last is not None:
        words = getattr(last[1].sentence, course.system)
        yield said("at the end", course.marks[-1].id), said(words, last[0], course.marks[-1].id), NOTHING
