"""Files: the journal, the readings and the photographs, with sizes and check sums, to compare a copy by."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Items, Run, Section, Statement
from ingest.report.said import said

_FIGURES = 8
"""Of an id and of a check sum, to tell photographs apart by; the journal has all of them."""


def files(course: Course) -> Section:
    """Say it."""
    photographs = course.photographs()
    told = [said(f"{name[:_FIGURES]} {it.digest[:_FIGURES]}", name) for name, it in photographs.items()]
    sizes = dict.fromkeys(f"{it.width} × {it.height}" for it in photographs.values())
    named = f"Photographs: {len(told)}, {', '.join(sizes)}; begin of id and SHA-256"
    return Section("Files", [Items(list(_told(course))), *([Run(named, told)] if told else [])])


def _told(course: Course) -> Iterator[Statement]:
    count = len(course.marks) - (1 if course.signed is not None else 0)
    text = f"Journal: {count} marks; its digest stands on the front."
    yield said(text, course.visit_id)
    if course.known.course:
        first, last = course.known.course[0], course.known.course[-1]
        text = f"Readings: packs {first.sequence} to {last.sequence}, in the record."
        yield said(text, f"pack {first.sequence}", f"pack {last.sequence}", course.visit_id)
