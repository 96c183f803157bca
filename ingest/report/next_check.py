"""When a circuit is to be checked for leaks again, counted from the last check that the record has."""

from calendar import monthrange
from collections.abc import Sequence
from datetime import date

from ingest.report.clock import day
from ingest.report.course import Course
from ingest.report.leaks import looks_at
from ingest.visit.leaks import LEAKS
from ingest.wire.messages import Finding
from ingest.wire.sheet import Circuit

_CAN_TELL = ("detector", "bubbles")


def leak_checks_of(course: Course, circuit: Circuit) -> list[Finding]:
    """Give the checks of a circuit at this visit that can find a leak: by eye alone none can."""
    return [look for look in looks_at(course, circuit.name) if look.choices.get("by") in _CAN_TELL]


def every_leak_check(course: Course, circuit: Circuit) -> list[Finding]:
    """Give those at the visits before, too."""
    before = [
        it
        for _, marks in course.earlier
        for it in marks
        if isinstance(it, Finding) and it.check == LEAKS and it.outcome != "skipped"
        if it.circuit in ("", circuit.name) and it.choices.get("by") in _CAN_TELL
    ]
    return [*before, *leak_checks_of(course, circuit)]


def next_check_by(course: Course, made: Sequence[Finding], months: int) -> str:
    """Tell the day of the next check, some months after the last of those that were made."""
    last = course.clock.at(max(found.time_s for found in made)).date()
    return day(months_later(last, months))


def months_later(start: date, months: int) -> date:
    """Give the day some months later, or the last of that month.

    >>> months_later(date(2026, 8, 31), 6), months_later(date(2026, 5, 30), 12)
    (datetime.date(2027, 2, 28), datetime.date(2027, 5, 30))
    """
    years, month = divmod(start.month - 1 + months, 12)
    year = start.year + years
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1]))
