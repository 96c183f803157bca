"""Advice that was given, and what was done: at each move of refrigerant, or as it was left, and as the visit ended.

No more, and no blame.
"""

import re
from collections.abc import Iterator
from dataclasses import replace

from calc.sentences import Sentence
from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Fields, Paragraph, Section, Statement
from ingest.report.left import told_left
from ingest.report.said import said
from ingest.wire.messages import Added, Advice, ChargeLeft, Recovered, Warned, Wording
from ingest.wire.wording import worded

_CHANCE = r" \(\d+ %\)"
_STOP = "guard.stop_stands"


def advice(course: Course) -> Section:
    """Say it."""
    rows = [*_moves(course), *_at_the_end(course)]
    told = Fields(rows) if rows else Paragraph([said("No advice is recorded.", course.visit_id)])
    return Section("Advice given, and what was done", [told])


def _words(course: Course, given: Advice) -> str:
    """Give its sentence without the chance of a fault: on a page it would stand as a mark for the work."""
    return re.sub(_CHANCE, "", getattr(given.sentence, course.system))


def _moves(course: Course) -> Iterator[tuple[str, Statement]]:
    warned = {mark.of: mark for mark in course.marks if isinstance(mark, Warned)}
    for mark in course.marks:
        if isinstance(mark, ChargeLeft):
            stood_then = re.sub(_CHANCE, "", getattr(mark.advised, course.system))
            yield course.clock.time(mark.time_s), said(f"{stood_then} Done: {told_left(course, mark)}.", mark.id)
        if not isinstance(mark, Added | Recovered):
            continue
        entry = course.standing.moved.ledgers.entries[mark.id]
        stood, told = course.advice_before(course.began_s(mark)), warned.get(mark.id)
        words = [] if stood is None else [_words(course, stood[1])]
        warning = _without_a_stop(told)
        words += [] if warning is None else [getattr(warning, course.system)]
        ids = [
            stood[0] if stood else "",
            told.id if told and warning else "",
            *(course.seen_ids(mark) if stood else []),
        ]
        verb = "added" if entry.sign > 0 else "recovered"
        did = f"{mass(entry.mass_kg, course.system, weighed=True)} {verb}" if entry.mass_kg > 0.0 else "nothing moved"
        by = [*course.seen_ids(mark), *(ids if any(ids) else [course.visit_id]), *course.move_ids(entry)]
        yield course.clock.time(course.seen_s(mark)), said(f"{' '.join(words) or 'None.'} Done: {did}.", by)


def _without_a_stop(told: Warned | None) -> Wording | None:
    """Give what was told before a move, but not that a lead's stop stood: that is between them, and not handed over."""
    if told is None:
        return None
    if _STOP not in told.warnings:
        return told.says
    rest = tuple(kind for kind in told.warnings if kind != _STOP)
    listed = next((part for part in told.says.parts if part.place == "said"), None)
    if not rest or listed is None:
        return None
    kept = replace(listed, terms=tuple(kind for kind in listed.terms if kind != _STOP))
    return worded(Sentence(told.says.kind, tuple(kept if it is listed else it for it in told.says.parts)))


def _at_the_end(course: Course) -> Iterator[tuple[str, Statement]]:
    if not course.marks:
        return
    last = course.advice_at(course.marks[-1].time_s)
    if last is not None:
        yield "At the end", said(_words(course, last[1]), last[0], course.marks[-1].id)
