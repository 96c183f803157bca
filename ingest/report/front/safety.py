"""Two lines of safety: what this page does not promise, and what to do if something smells, hums or trips."""

from calc.refrigerants import propagates_flame
from ingest.report.course import Course
from ingest.report.document import Items, Section
from ingest.report.said import said

NO_PROMISE = "This page records the work of one visit. It is no inspection: what was not looked at may be wrong."
CALL = (
    "If it smells of burning, hums or trips again: switch it off, open nothing, and call your service company. Fire: "
    "leave, and call the fire service from outside."
)
IF_IT_LEAKS = (
    " Its refrigerant burns and can hardly be smelt: if a leak detector sounds, touch no switch, leave, and call from "
    "outside."
)


def safety(course: Course) -> Section:
    """Say it."""
    burns = any(propagates_flame(course.refrigerant(circuit).safety_class) for circuit in course.circuits)
    call = said(CALL + IF_IT_LEAKS, course.visit_id, course.sheet_id) if burns else said(CALL, course.visit_id)
    return Section("Safety", [Items([said(NO_PROMISE, course.visit_id), call])])
