"""What was still open as the visit was left: worked out of what was found, whatever a list of that moment had."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Statement
from ingest.report.said import said
from ingest.visit.checklist import guided
from ingest.visit.making_dead import makes_dead

_BEFORE_A_HAND = "Before a hand goes in, lock, prove dead and discharge afresh."
"""What asks for working dead anew: it held for the visit alone, and is no job that was left."""


def still_open(course: Course) -> Iterator[Statement]:
    """Say what was not met, and of what was left what could not be told, was not made, or was skipped."""
    not_met = [it for it in course.found if it.outcome == "not_met" and not course.standing.findings.is_of_old_part(it)]
    if not_met:
        listed, ids = _titles([it.check for it in not_met]), [it.id for it in not_met]
        yield said(f"Not met as we left: {listed}.", ids, course.visit_id)
    if course.signed is None and course.one("handover") is None:
        return  # what is not made yet may still be
    not_told = [it for it in course.found if it.outcome == "cannot_tell"]
    if not_told:
        listed, ids = _titles([it.check for it in not_told]), [it.id for it in not_told]
        yield said(f"Could not be told: {listed}.", ids, course.visit_id)
    yield from _not_made(course)


def _not_made(course: Course) -> Iterator[Statement]:
    """Tell of what has no finding: the whole visit is what it rests on."""
    outcomes: dict[str, set[str]] = {}
    for it in course.found:
        outcomes.setdefault(it.check, set()).add(it.outcome)
    findings = course.standing.findings
    in_the_panel = findings.left_in_the_panel()
    asked = [*findings.next(course.in_view), *in_the_panel]
    again = [word for word in asked if "met" in outcomes.get(word, ())]
    told = {
        "Not made": [word for word in asked if word not in outcomes],
        "To be made again": [word for word in again if not makes_dead(word)],
        "Skipped": [word for word, of in outcomes.items() if of == {"skipped"} and makes_dead(word)],
    }
    every = course.ids(*outcomes)
    for what, words in told.items():
        if words:
            yield said(f"{what}: {_titles(words)}.", every, course.visit_id)
    not_met = [it.check for it in course.found if it.outcome != "met"]
    if in_the_panel or any(makes_dead(word) for word in (*asked, *not_met)):
        yield said(_BEFORE_A_HAND, every, course.visit_id)


def _titles(words: list[str]) -> str:
    return "; ".join(dict.fromkeys(guided()[word].check.title for word in words))
