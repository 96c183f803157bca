"""Start here: how it was left, what is open, and what whoever was here wrote for the next one."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.said import quoted, said, sentence
from ingest.visit.checklist import guided

_LEFT = {"running": "left running", "concern": "left running, with a concern", "off": "left off and locked"}
_ANSWERED = {
    "gone": "the complaint is gone",
    "better": "the complaint is better",
    "not": "the complaint is not answered",
}


def start_here(course: Course) -> Section:
    """Say it."""
    return Section("Start here", [Items(list(_told(course)))])


def _told(course: Course) -> Iterator[Statement]:
    handover = course.one("handover")
    left = [_LEFT.get(course.chosen("handover", "left"), ""), _ANSWERED.get(course.chosen("handover", "complaint"), "")]
    if handover and any(left):
        yield said(sentence("; ".join(filter(None, left))), handover.id)
    else:
        yield said("How it was left is not recorded.", course.visit_id)
    locks = course.standing.findings.locks
    if locks:
        names = ", ".join(lock or "somebody not known" for lock in locks)
        yield said(f"A lock is on, put there by: {names}.", course.ids("isolate", "power_back"), course.visit_id)
    if words := course.chosen("handover", "next_person"):
        yield said(sentence(f"what you must know: {quoted(words)}"), course.ids("handover"))
    else:
        yield said("What the next person must know is not recorded.", course.visit_id)
    not_met = [it for it in course.found if it.outcome == "not_met" and not course.standing.findings.is_of_old_part(it)]
    open_ones = [guided()[it.check].check.title for it in not_met]
    if open_ones:
        ids = [it.id for it in not_met]
        yield said(f"Not met as we left: {', '.join(dict.fromkeys(open_ones))}.", ids, course.visit_id)
    for failed, right in course.came_right():
        if failed.choices.get("course") == "backwards":
            motor = course.motor_of(right)
            yield said(
                f"The {motor} likely turned backwards at first and ran the right way later: what was exchanged, the "
                "order of the phases and which way the fans turn are not recorded.",
                course.seen_ids(failed),
                course.seen_ids(right),
            )
    for hose in sorted(course.standing.placing.hoses):
        yield said(f"A hose stands open at the {hose} port, by the record.", course.visit_id)
    for question in course.standing.talk.threads.open:
        if not question.replies:
            yield said(f"Asked, and not answered: {quoted(question.text)}", question.id)
