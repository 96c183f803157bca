"""How figures went over the visits to this unit: capacitors, superheat and subcooling, load ratio, loose joints."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from calc.quantities import Quantity
from calc.wording import as_fine_as_known, difference
from ingest.report.course import Course
from ingest.report.document import Run, Section, Statement
from ingest.report.said import own_words, rounded, said
from ingest.visit.part_readings import BY_EYE, REPLACED
from ingest.wire.messages import Finding, PartHistory, PartReading

_FIGURES = ("superheat", "subcooling")


def trend(course: Course) -> list[Section]:
    """Say it; nothing at a first visit."""
    if not course.earlier:
        return []
    rows = sorted([*_parts(course), *_charge(course), *_joints(course)], key=lambda row: (row[0], -row[1]))
    blocks = [Run(what, [told for *_, told in of]) for what, of in groupby(rows, key=lambda row: row[0])]
    return [Section("Over the visits", blocks)] if blocks else []


Row = tuple[str, float, Statement]


def _row(course: Course, what: str, time_s: float, told: str, evidence: Sequence[str]) -> Row:
    return what, time_s, said(f"{course.clock.day(time_s)} {told}", evidence)


def _parts(course: Course) -> Iterator[Row]:
    """Tell the readings of capacitors, and of motors as amps over their plate's."""
    found = {mark.id: mark for _, marks in _visits(course) for mark in marks if isinstance(mark, Finding)}
    for part in course.parts().message():
        for reading in part.readings:
            what = f"{_name(part)}, {reading.label.rpartition(': ')[2]}"
            if reading.quantity == "capacitance":
                renewed = list(_renewed(part, found.values()))
                new = " (since renewed)" if renewed else ""
                text = as_fine_as_known(
                    reading.value, reading.accuracy, reading.quantity, course.system, course.site_pa
                )
                yield _row(course, what, reading.time_s, text + new, [reading.id, *renewed])
            elif reading.check == "motor_amps" and (ratio := _load(found[reading.id], reading)) is not None:
                yield _row(course, f"{what}, load ratio", reading.time_s, f"{ratio:.2f}", [reading.id])


def _renewed(part: PartHistory, found: Iterable[Finding]) -> Iterator[str]:
    """Name what tells that a part was taken out: its replacement, or the date codes up to another one."""
    if part.until_s is None:
        return
    for it in found:
        is_code = it.check == BY_EYE and it.choices.get("date_code") and it.time_s <= part.until_s
        if is_code or (it.check == REPLACED and it.time_s == part.until_s):
            yield it.id


def _name(part: PartHistory) -> str:
    return part.part or part.drives.replace("_", " ") or part.kind


def _load(found: Finding, reading: PartReading) -> float | None:
    rated = {**found.plated, **found.values}.get("rated")
    return reading.value / rated if rated else None


def _charge(course: Course) -> Iterator[Row]:
    """Tell superheat and subcooling as a visit left them, with the outdoor air of then: alike only where that is."""
    for _, marks in _visits(course):
        kept = [it for it in marks if isinstance(it, Finding) and it.check in ("readings_before", "readings_after")]
        for found in {it.circuit: it for it in kept if it.outcome != "skipped"}.values():
            outdoor = found.values.get("outdoor")
            at = f" at {rounded(outdoor, Quantity.TEMPERATURE, course.system)} outdoors" if outdoor else ""
            of = f", circuit {found.circuit}" if course.several and found.circuit else ""
            for name in _FIGURES:
                if name in found.values:
                    text = f"{difference(found.values[name], course.system)}{at}"
                    yield _row(course, f"{name.capitalize()}{of}", found.time_s, text, [found.id])


def _joints(course: Course) -> Iterator[Row]:
    for _, marks in _visits(course):
        for found in marks:
            if isinstance(found, Finding) and found.check == "connections" and found.choices.get("found") == "a_turn":
                where = own_words(found.choices.get("terminal", "")) or "where is not recorded"
                yield _row(course, "Joint found loose", found.time_s, where, [found.id])


def _visits(course: Course) -> Sequence[tuple[str, Sequence[object]]]:
    return [*course.earlier, (course.known.visit, course.marks)]
