"""The cause and its proof: why it failed, what else failed with it, what to watch."""

from collections.abc import Iterator

from calc.wording import as_fine_as_known
from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.front.found import OF_PARTS, parts_that_failed
from ingest.report.said import listed, quoted, said
from ingest.visit.checklist import guided
from ingest.wire.messages import Finding

OF_A_CAUSE = (*OF_PARTS, "connections", "joint_drop", "supply", "motor_amps", "start")
"""Checks that tell of a part whether it failed: what they found not met stands here."""


def cause(course: Course) -> Section:
    """Say it."""
    told = list(_told(course))
    return Section("Cause and its proof", [Items(told or [said("No part was found to have failed.", course.visit_id)])])


def _told(course: Course) -> Iterator[Statement]:
    for check in OF_A_CAUSE:
        for found in course.failed(check):
            says = "" if found.says is None else getattr(found.says, course.system)
            at = course.clock.time(course.seen_s(found))
            yield said(
                f"{at} {guided()[check].check.title}{f', {found.part}' if found.part else ''}: {says}",
                course.seen_ids(found),
            )
    for found in course.of("cause"):
        options = next(it.options for it in guided()["cause"].check.choices if it.name == "cause")
        evidence, done = (found.choices.get(name, "").strip() for name in ("evidence", "done"))
        told = [f"Cause: {options.get(found.choices.get('cause', ''), 'not recorded')}."]
        told += [f"Evidence: {quoted(evidence)}"] if evidence else ["Evidence: not recorded."]
        told += [f"Done about it: {quoted(done)}"] if done else []
        yield said(" ".join(told), found.id)
    for failed, right in course.disagreeing():
        measured = listed([_measured(course, it) for it in (failed, right)])
        text = (
            f"Two readings of {failed.part or 'the run capacitor'} disagree ({measured}): which is right, and a cause, "
        )
        yield said(f"{text}are not recorded.", course.seen_ids(failed), course.seen_ids(right))
    if not course.of("cause") and parts_that_failed(course):
        yield said("Why the part failed was not found out.", course.visit_id)


def _measured(course: Course, found: Finding) -> str:
    """Tell what a finding measured, the reading that is furthest from its label."""
    it = max(course.part_readings[found.id], key=lambda it: abs(it.value / it.label_value - 1) if it.label_value else 0)
    return as_fine_as_known(it.value, it.accuracy, it.quantity, course.system, course.site_pa)
