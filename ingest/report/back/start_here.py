"""Start here: how it was left, what is open, and what whoever was here wrote for the next one."""

import re
from collections.abc import Iterator

from ingest.report.back.still_open import still_open
from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.front.complaint import said_to_be_gone
from ingest.report.front.not_told import read_live, was_live
from ingest.report.running import HowLeft, how_left
from ingest.report.said import own_words, quoted, said, sentence
from ingest.wire.messages import AlarmChanged

_LEFT = {"running": "left running", "concern": "left running, with a concern", "off": "left off and locked"}
_ANSWERED = {
    "better": "the complaint is better",
    "not": "the complaint is not answered",
}


_LISTED = re.compile(
    r"(?:Not met|Could not be told|Not made|To be made again|Skipped): [^.]*\.\s*"
    r"|The charge is not done: the judge still asks for it\.\s*"
    r"|The charge was left as it is, against the advice\. [^.]*\.\s*"
    r"|A lead asked to stop and has not said go on: what is to be made is not told until then\s*"
    r"|Nothing is left open\.\s*"
)
"""What the page puts there by itself, in its own words, as it stood then: nobody wrote that."""


def start_here(course: Course) -> Section:
    """Say it."""
    return Section("Start here", [Items(list(_told(course)))])


def _told(course: Course) -> Iterator[Statement]:
    answer = course.chosen("handover", "complaint")
    gone = said_to_be_gone(course) if answer == "gone" else None
    was = how_left(course)
    left = [_left(course, was), gone.text if gone else _ANSWERED.get(answer, "")]
    if any(left):
        yield said(sentence("; ".join(filter(None, left))), was.evidence, gone.evidence if gone else [])
    else:
        yield said("How it was left is not recorded.", course.visit_id)
    locks = course.standing.findings.locks
    if locks:
        names = ", ".join(own_words(lock) or "somebody not known" for lock in locks)
        yield said(f"A lock is on, put there by: {names}.", course.ids("isolate", "power_back"), course.visit_id)
    if live := was_live(course):
        yield said(f"When it was to be off, {read_live(course, live)}.", course.seen_ids(live))
    yield from _written(course)
    yield from still_open(course)
    yield from _backwards(course)
    yield from _floodback(course)
    for hose in sorted(course.standing.placing.hoses):
        yield said(f"A hose stands open at the {hose} port, by the record.", course.visit_id)
    for question in course.standing.talk.threads.open:
        if not question.replies:
            yield said(f"Asked, and not answered: {quoted(question.text)}", question.id)


def _left(course: Course, left: HowLeft) -> str:
    """Tell how it was left, as the front's first line has it."""
    match left.state:
        case "off":
            return _LEFT["off"]
        case "stands":
            return "it does not run"
        case "against":
            return f"said to run; the instruments read {left.against}"
    return _LEFT.get(course.chosen("handover", "left"), "")


def _written(course: Course) -> Iterator[Statement]:
    """Tell what somebody wrote for the next person, apart from what the page had listed."""
    if written := _LISTED.sub("", course.chosen("handover", "next_person")).strip():
        yield said(sentence(f"what you must know: {quoted(written)}"), course.ids("handover"))
    else:
        yield said("Nobody wrote what the next person must know.", course.ids("handover"), course.visit_id)


def _floodback(course: Course) -> Iterator[Statement]:
    alarms = [it for it in course.marks if isinstance(it, AlarmChanged) and it.text.startswith("floodback")]
    for alarm in alarms[-1:]:
        yield said(
            f"Alarm of floodback at {course.clock.time(alarm.time_s)}, liquid may have reached the compressor: see the "
            "time line.",
            alarm.id,
            course.visit_id,
        )


def _backwards(course: Course) -> Iterator[Statement]:
    for failed, right in course.came_right():
        if failed.choices.get("course") == "backwards":
            motor = course.motor_of(right)
            yield said(
                f"The {motor} likely turned backwards at first and ran the right way later: what was exchanged, the "
                "order of the phases and which way the fans turn are not recorded.",
                course.seen_ids(failed),
                course.seen_ids(right),
            )
