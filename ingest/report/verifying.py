"""Tries the file of a report: whether it is as it was made, and whether the record says the same.

The digest that a file carries of itself tells damage. Who changes a report on purpose can write a new one: so it is
made anew from the record, as the visit was then, and compared byte by byte.
"""

from typing import Literal

import msgspec

from ingest.record.erasing import Erasure
from ingest.record.reading import History
from ingest.report.drawn.own_digest import ChangedError, Form, Made, opened
from ingest.report.making import Asked, make, program
from ingest.visit.seal import digest

Outcome = Literal["matches", "later", "changed", "differs", "not_compared", "no_visit"]


class Verdict(msgspec.Struct, frozen=True):
    """What came of it, and in words. made: what the file says that it was made of, where it is whole."""

    outcome: Outcome
    says: str
    made: Made | None = None


def verify(data: bytes, history: History, *, charts: str) -> Verdict:
    """Try the file of a report with a record. charts: as for `make`.

    Raises:
        RecordError: the record cannot be read.
        ReportError, PaperError: the report cannot be made anew.

    """
    try:
        form, made = opened(data)
    except ChangedError as error:
        return Verdict("changed", f"CHANGED: {error}.")
    erased = next((each for each in history.erasures() if each.visit == made.visit), None)
    if erased is not None:
        return _of_erased(erased, made)
    if not history.has_visit(made.visit):
        return Verdict("no_visit", f"Unchanged since it was made. The record has no visit {made.visit}.", made)
    marks = history.marks_of([made.visit])[made.visit]
    if digest(marks[: made.marks]) != made.journal:
        return Verdict(
            "differs",
            "Unchanged since it was made, but NOT OF THIS RECORD: the marks of the visit in the record are not those "
            "that it was made of.",
            made,
        )
    return _compared(data, _again(history, form, made, charts), made, later=len(marks) - made.marks)


def _of_erased(erased: Erasure, made: Made) -> Verdict:
    """Say what is left to compare with of a visit that was erased: the digest and the number of its marks."""
    if (erased.marks, erased.digest) == (made.marks, made.journal):
        compared = "of the very journal that the record says it had"
    elif erased.marks > made.marks:
        compared = f"of {made.marks} marks, and the record says that there were {erased.marks} in the end"
    else:
        compared = "of ANOTHER journal than the record says it had"
    was = f"The visit was erased from the record ({erased.because}); the report is {compared}."
    return Verdict("no_visit", f"Unchanged since it was made. {was}", made)


def _again(history: History, form: Form, made: Made, charts: str) -> bytes:
    asked = Asked(visit=made.visit, form=form, system=made.system, zone=made.zone, paper=made.paper)
    return make(history, asked, charts=charts, marks=made.marks)


def _compared(data: bytes, again: bytes, made: Made, *, later: int) -> Verdict:
    if data != again and made.program != program():
        return Verdict(
            "not_compared",
            f"Unchanged since it was made, and its journal is the record's. {made.program} made it; this is "
            f"{program()}, which draws otherwise: whether each word is as the record has it was not compared. Make the "
            "report anew and compare.",
            made,
        )
    if data != again:
        return Verdict(
            "differs",
            "Its journal is the record's, but made anew from the record the report is ANOTHER: what it says is not "
            "what the record says, or what it rests on beside the visit's marks has changed.",
            made,
        )
    stands = "signed" if made.signed else "a draft"
    says = f"Unchanged since it was made ({stands}), and the record gives the same to the last byte."
    if not later:
        return Verdict("matches", f"{says} It matches the record.", made)
    came = "1 mark" if later == 1 else f"{later} marks"
    return Verdict("later", f"{says} The record has {came} of the visit that came later: they are not in it.", made)
