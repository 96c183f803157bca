"""What the owner told us, and how that is now."""

from calc.quantities import Quantity
from ingest.report.course import Course
from ingest.report.document import Fields, Section, Statement
from ingest.report.front.outcome import air_now
from ingest.report.said import quoted, rounded, said, sentence

_NOW = {"gone": "Gone.", "better": "Better, not gone.", "not": "Not solved."}


def complaint(course: Course) -> Section:
    """Say it."""
    return Section("You told us, and now", [Fields([("You told us", _told(course)), ("Now", _now(course))])])


def _told(course: Course) -> Statement:
    words, since = course.chosen("complaint", "complaint"), course.chosen("complaint", "since")
    if not words:
        return said("What you told us is not recorded.", course.visit_id)
    when = " At some hours only." if course.chosen("complaint", "when") == "some_hours" else ""
    text = f"{quoted(words)}{f' Since when: {quoted(since)}.' if since else ''}{when}"
    return said(text, course.ids("complaint"))


def _now(course: Course) -> Statement:
    answered = course.chosen("handover", "complaint")
    if not answered:
        return said("Whether that is solved is not recorded.", course.visit_id)
    air, evidence = air_now(course), course.ids("handover")
    if air is None:
        return said(f"{_NOW[answered]} We did not measure it.", evidence, course.visit_id)
    into, out = (rounded(value, Quantity.TEMPERATURE, course.system) for value in air[:2])
    return said(
        f"{_NOW[answered]} {sentence(f'air goes in at {into} and comes out at {out} (we measured)')}", evidence, air[2]
    )
