"""What is remembered of a unit, for people at the shell: its visits, and every reading of its parts, newest first."""

from collections.abc import Iterator

from calc import wording
from calc.quantities import STANDARD_PRESSURE_PA
from calc.units import System
from ingest.local_time import day_here
from ingest.record.reading import Erasure, History, VisitOfUnit
from ingest.visit.checklist import guided
from ingest.visit.part_readings import PartReadings
from ingest.visit.unit_history import visit_before
from ingest.wire.messages import FindingStands, PartHistory, VisitBefore

_LABEL = {
    "herm": "capacitance",
    "fan": "capacitance",
    "tolerance": "percentage",
    "volts": "voltage",
    "hertz": "frequency",
}
"""What stands on a can, in the kinds of `calc.units`."""


def as_lines(record: History, tag: str, system: System) -> list[str]:
    """Give the lines about a unit; none where the record knows of no visit to it. All of it, however much.

    Raises:
        RecordError: the record cannot be read.

    """
    kept = record.sheet(tag)
    parts = PartReadings(kept.sheet if kept else None)
    erased = {each.visit: each for each in record.erasures()}
    visits: list[VisitBefore] = []
    for visit in reversed(record.visits_of(tag)):
        marks = [recorded.mark for recorded in record.marks_after(visit.id, 0)]
        for mark in marks:
            parts.take(visit.id, mark)
        told = visit_before(visit.id, marks)
        visits += [told] if told else []
    return [
        *(line for visit in reversed(visits) for line in _visit(visit, system)),
        *(_erased(visit, each) for visit in record.visits_of(tag) if (each := erased.get(visit.id))),
        *(line for part in parts.message() for line in _part(part, system)),
    ]


def _visit(it: VisitBefore, system: System) -> Iterator[str]:
    signed = f"signed by {it.signed_by}" if it.signed_by else "signed by nobody"
    yield ", ".join(filter(None, [day_here(it.began_s), it.technician, signed]))
    answered = ", ".join(filter(None, [it.was_answered, it.left]))
    yield from _lines(
        ("complaint", it.complaint),
        ("answered, left", answered),
        *(("found", _found(found, system)) for found in it.found),
    )
    for moved in it.moved:
        added, recovered = (wording.mass(mass_kg, system) for mass_kg in (moved.added_kg, moved.recovered_kg))
        yield f"  circuit {moved.circuit or 'in view'}: added {added}, recovered {recovered}"
    yield from _lines(
        ("the next person must know", it.next_person),
        ("read again", it.next_reading),
        ("the owner", it.owner),
        *(("nobody replied to", question) for question in it.open_questions),
    )


def _erased(visit: VisitOfUnit, it: Erasure) -> str:
    signed = f", as it was signed {it.signed_digest}" if it.signed_digest else ""
    began, erased = day_here(visit.started_s), day_here(it.erased_s)
    return f"{began}, erased {erased}: {it.because}. {it.marks} marks, digest {it.digest}{signed}"


def _lines(*told: tuple[str, str]) -> Iterator[str]:
    """Write what is known; a text of several lines stands in one."""
    return (f"  {what}: {' '.join(said.split())}" for what, said in told if said)


def _found(it: FindingStands, system: System) -> str:
    what = " ".join(filter(None, [guided()[it.check].check.title, it.part or it.circuit]))
    says = getattr(it.says, system) if it.says else ""
    return " ".join(filter(None, [f"{what}: {it.outcome.replace('_', ' ')}.", says]))


def _part(it: PartHistory, system: System) -> Iterator[str]:
    name = it.part or it.drives.replace("_", " ") or it.kind
    yield f"{name}, taken out {day_here(it.until_s)}" if it.until_s is not None else name
    read = {**it.label, "tolerance": 100 * it.label["tolerance"]} if "tolerance" in it.label else it.label
    label = ", ".join(
        f"{name} {wording.as_fine_as_known(read[name], None, kind, system, STANDARD_PRESSURE_PA)}"
        for name, kind in _LABEL.items()
        if name in read
    )
    if label:
        yield f"  label: {label}"
    for reading in it.readings:
        figure = wording.as_fine_as_known(
            reading.value, reading.accuracy, reading.quantity, system, STANDARD_PRESSURE_PA
        )
        place, outcome = reading.label.rpartition(": ")[2], reading.outcome.replace("_", " ")
        yield f"  {day_here(reading.time_s)}  {place}: {figure}  ({reading.grade}, {outcome})"
    if it.since_s is not None:
        yield f"  {day_here(it.since_s)}  fitted"
