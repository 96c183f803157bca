"""The cause and its proof: why it failed, what else failed with it, what to watch."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.front.found import OF_PARTS
from ingest.report.said import quoted, said
from ingest.visit.checklist import guided


def cause(course: Course) -> Section:
    """Say it."""
    told = list(_told(course))
    return Section("Cause and its proof", [Items(told or [said("No part was found to have failed.", course.visit_id)])])


def _told(course: Course) -> Iterator[Statement]:
    for check in (*OF_PARTS, "connections", "joint_drop", "supply", "motor_amps", "start"):
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
    if not course.of("cause") and any(course.failed(check) for check in OF_PARTS):
        yield said("Why it failed is not recorded.", course.visit_id)
