"""Who: names, company, certificate, day and times, unit and place, owner; who signed. Its code the page has itself."""

from collections.abc import Iterator, Sequence

from ingest.report.course import Course
from ingest.report.document import Block, Fields, Section, Signature, Statement
from ingest.report.said import NOT_RECORDED, listed, on_one_line, said
from ingest.wire.messages import HandedOver, Signed

TO_WRITE_IN = "____________________"
"""The record has no place for it: whoever hands the page over writes it in."""


def who(course: Course) -> Section:
    """Say it."""
    blocks: list[Block] = [Fields(list(_fields(course))), *_signatures(course)]
    return Section("Who", blocks)


def technicians(course: Course) -> dict[str, str]:
    """Give who worked at the visit as technicians, by name, each with the first mark that says so."""
    names: dict[str, str] = {}
    for mark in course.marks:
        if mark.role == "technician" and mark.by:
            names.setdefault(mark.by, mark.id)
        if isinstance(mark, HandedOver):
            names.setdefault(mark.to, mark.id)
    return names


def _fields(course: Course) -> Iterator[tuple[str, Statement]]:
    def known(text: str, *ids: str | Sequence[str]) -> Statement:
        return said(on_one_line(text), *ids) if text else said(NOT_RECORDED, course.visit_id)

    names, signed = technicians(course), course.signed if isinstance(course.signed, Signed) else None
    yield "Technician", known(listed(list(names)), list(names.values()))
    yield "Company", known(signed.company if signed else "", signed.id if signed else "")
    yield "Telephone of the company", said(TO_WRITE_IN, course.visit_id)
    yield "Certificate, number and type", known(signed.certificate if signed else "", signed.id if signed else "")
    first, last = course.arrived, course.marks[-1] if course.marks else None
    yield "Day", known(course.clock.day(first.time_s) if first else "", first.id if first else "")
    yield "Arrived (first entry)", known(course.clock.time(first.time_s) if first else "", first.id if first else "")
    until = last if signed else None
    yield "Left (signature)", known(course.clock.time(until.time_s) if until else "", until.id if until else "")
    yield "Unit", said(course.known.tag, course.visit_id)
    yield "Place", known(course.sheet.place if course.sheet else "", course.sheet_id)
    yield "Owner, name and address", known(signed.owner if signed else "", signed.id if signed else "")


def _signatures(course: Course) -> Iterator[Signature]:
    signed = course.signed if isinstance(course.signed, Signed) else None
    if signed is None:
        yield Signature("Signed by the technician", said("Not signed yet: this is a draft.", course.visit_id))
        yield Signature("Owner, or who stood for them", said("Not signed.", course.visit_id))
        return
    when = course.clock.moment(signed.time_s)
    yield Signature("Signed by the technician", said(f"{signed.name}, {when}", signed.id), signed.strokes)
    if course.digest_now != course.digest:
        text = "The record is not as it was signed: its check sum now is another one."
        yield Signature("Record", said(text, signed.id, course.visit_id))
    owner = (
        said(f"{on_one_line(signed.owner)}, {when}", signed.id)
        if signed.owner_strokes
        else said("Not signed.", course.visit_id, signed.id)
    )
    yield Signature("Owner, or who stood for them", owner, signed.owner_strokes)
