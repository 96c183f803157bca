"""What was appended after the signature: each with its name and time. The page itself stays as it was signed."""

from collections.abc import Iterator

from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.said import quoted, said
from ingest.wire.messages import Added, Correction, Note, Recovered


def appended(course: Course) -> list[Section]:
    """Say it; nothing where nothing was."""
    told = list(_told(course))
    return [Section("Added after the signature", [Items(told)])] if told else []


def _told(course: Course) -> Iterator[Statement]:
    moves = {mark.id: mark for mark in course.marks if isinstance(mark, Added | Recovered)}
    signed = course.signed.id if course.signed else ""
    corrects: dict[str, str] = {}
    for mark in (*course.marks, *course.later):
        if isinstance(mark, Correction):
            corrects[mark.id] = corrects.get(mark.of, mark.of)
    for mark in course.later:
        by = f"{course.clock.moment(mark.time_s)}, {mark.by}"
        if isinstance(mark, Correction) and (move := moves.get(corrects[mark.id])):
            yield said(f"{by}: {_corrected(course, move, mark)}", mark.id, move.id, signed)
        elif isinstance(mark, Note) and mark.role == "technician":
            yield said(f"{by}: {quoted(mark.text)}", mark.id, signed)


def _corrected(course: Course, move: Added | Recovered, by: Correction) -> str:
    verb = "added" if isinstance(move, Added) else "recovered"
    was = f"the {mass(move.mass_kg, course.system, weighed=True)} that was {verb} at {course.clock.time(move.time_s)}"
    if by.mass_kg is None or by.mass_kg == 0.0:
        return f"{was}: nothing was moved."
    now = mass(by.mass_kg, course.system, weighed=True)
    circuit = f", of circuit {by.circuit}" if by.circuit else ""
    cylinder = f", cylinder {by.cylinder}" if by.cylinder else ""
    return f"{was} was {now}{circuit}{cylinder}."
