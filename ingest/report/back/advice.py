"""Advice that was given, and what was done: at each move of refrigerant, and as the visit ended. No more, no blame."""

import re
from collections.abc import Iterator

from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Section, Statement, Table
from ingest.report.said import NOTHING, said
from ingest.wire.messages import Added, Advice, Recovered, Warned


def advice(course: Course) -> Section:
    """Say it."""
    rows = [*_moves(course), *_at_the_end(course)]
    nothing = [(NOTHING, said("No advice is recorded.", course.visit_id), NOTHING)]
    return Section("Advice given, and what was done", [Table(("Time", "Advice", "What was done"), rows or nothing)])


def _words(course: Course, given: Advice) -> str:
    """Give its sentence without the chance of a fault: on a page it would stand as a mark for the work."""
    return re.sub(r" \(\d+ %\)", "", getattr(given.sentence, course.system))


def _moves(course: Course) -> Iterator[tuple[Statement, ...]]:
    warned = {mark.of: mark for mark in course.marks if isinstance(mark, Warned)}
    for mark in course.marks:
        if not isinstance(mark, Added | Recovered):
            continue
        entry = course.standing.moved.ledgers.entries[mark.id]
        stood, told = course.advice_before(course.began_s(mark)), warned.get(mark.id)
        words = [] if stood is None else [_words(course, stood[1])]
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
        yield (
            said("at the end", course.marks[-1].id),
            said(_words(course, last[1]), last[0], course.marks[-1].id),
            NOTHING,
        )
