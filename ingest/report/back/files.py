"""Files: the journal, the readings and the photographs, with sizes and check sums, to compare a copy by."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Section, Statement, Table
from ingest.report.said import said

_FIGURES = 12
"""Of an id and of a check sum, to tell photographs apart by; the journal has all of them."""


def files(course: Course) -> Section:
    """Say it."""
    return Section("Files", [Table(("What", "Size", "Check sum (SHA-256)"), list(_rows(course)))])


def _rows(course: Course) -> Iterator[tuple[Statement, ...]]:
    count = len(course.marks) - (1 if course.signed is not None else 0)
    by = course.visit_id
    yield said(f"Journal of visit {course.known.visit}", by), said(f"{count} marks", by), said(course.digest, by)
    if course.known.course:
        first, last = course.known.course[0], course.known.course[-1]
        ids = [f"pack {first.sequence}", f"pack {last.sequence}", course.visit_id]
        yield (
            said(f"Readings: packs {first.sequence} to {last.sequence}", ids),
            said("in the record", ids),
            said("", ids),
        )
    photographs = course.photographs()
    if photographs:
        told = "; ".join(f"{name[:_FIGURES]} {it.digest[:_FIGURES]}" for name, it in photographs.items())
        sizes = dict.fromkeys(f"{it.width} × {it.height}" for it in photographs.values())
        ids = list(photographs)
        yield said(f"Photographs: {len(photographs)}", ids, by), said(", ".join(sizes), ids, by), said(told, ids, by)
