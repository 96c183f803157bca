"""The time line: begin and end, moves of refrigerant, checks that tell of the course, notes; and one small trace."""

import re
from collections.abc import Iterator

from calc.quantities import QUANTITIES, Quantity
from calc.units import difference_to_display, display_unit, to_display
from calc.wording import mass
from ingest.report.channels import NAMES, OF_A_CIRCUIT, OUTCOMES
from ingest.report.course import Course, readings_of
from ingest.report.document import At, Fields, Line, Section, Trace
from ingest.report.front.who import technicians
from ingest.report.left import told_left
from ingest.report.level import level_of
from ingest.report.said import own_words, quoted, said, sentence
from ingest.visit.checklist import guided
from ingest.wire.messages import (
    Acknowledged,
    Added,
    AlarmChanged,
    ChargeLeft,
    Corrected,
    Described,
    Finding,
    FoundSound,
    HandedOver,
    HoseSet,
    LeftAlone,
    Mark,
    Note,
    Pack,
    Placed,
    PowerRead,
    Recovered,
    Released,
    Resumed,
    Signed,
    Stop,
    VisitOpened,
    Waiting,
)

_OF_THE_COURSE = ("isolate", "power_back", "start", "replacement", "opened", "readings_before", "readings_after")
"""Checks that tell how the visit went; the table of checks has all of them, each with its time."""
_WAITS = {
    "parts": "for parts",
    "owner": "for the owner",
    "lead": "for a lead",
    "weather": "for the weather",
    "curing": "for something to cure",
    "settling": "for the figures to settle",
    "other": "",
}
_LINES = ("suction_pressure", "liquid_pressure", "compressor_current")
"""Beside the figure that shows the charge."""
_LEAST_POINTS = 3


def time_line(course: Course) -> Section:
    """Say it."""
    told = [(mark, text) for mark in course.marks if (text := _told(course, mark))]
    is_alone = len(technicians(course)) <= 1
    rows = [
        (course.clock.time(course.seen_s(mark)), said(_by(mark, text, is_alone=is_alone), _evidence(course, mark)))
        for mark, text in sorted(told, key=lambda it: course.seen_s(it[0]))
    ]
    if course.marks:
        offset = course.clock.offset(course.marks[0].time_s)
        rows.append(("Times of", said(f"{course.clock.zone} ({offset}).", course.visit_id)))
    return Section("Time line", [*([Fields(rows)] if rows else []), *_trace(course)])


def _by(mark: Mark, text: str, *, is_alone: bool) -> str:
    """Add who did it, where several were there; of the rig and of a lead, always."""
    return (
        text if mark.by and mark.role != "lead" and is_alone else f"{text.removesuffix('.')} ({mark.by or 'the rig'})."
    )


def _evidence(course: Course, mark: Mark) -> list[str]:
    if isinstance(mark, Added | Recovered):
        entry = course.standing.moved.ledgers.entries[mark.id]
        return [*course.move_ids(entry), *course.seen_ids(mark), course.visit_id]
    if isinstance(mark, Acknowledged | Released):  # of what stop: one of this visit, or one that came along to it
        stops = [it.id for it in course.marks if it.id == mark.of or (isinstance(it, VisitOpened) and it.stops)]
        return [mark.id, *stops, course.visit_id]
    return [*course.seen_ids(mark), course.visit_id]


def _told(course: Course, mark: Mark) -> str:  # noqa: C901 - one line a kind of mark
    """Say in a few words what a mark tells; empty of what is of no report: a lead's words, and what the page has."""
    match mark:
        case VisitOpened():
            return "Visit began."
        case Added() | Recovered():
            return _moved(course, mark)
        case Finding() if mark.check in _OF_THE_COURSE and mark.id in {it.id for it in course.every(mark.check)}:
            part = (
                f", {mark.part}"
                if mark.part
                else f", circuit {mark.circuit}"
                if course.several and mark.circuit
                else ""
            )
            return f"{guided()[mark.check].check.title}{part}: {OUTCOMES[mark.outcome]}."
        case Note() if mark.role == "technician":
            return quoted(mark.text)
        case Waiting():
            return sentence(
                f"it waits {_WAITS[mark.reason]}".strip() + (f": {own_words(mark.text)}" if mark.text else "")
            )
        case Resumed():
            return "It goes on."
        case LeftAlone():
            return f"Nobody recorded anything for {round(mark.idle_s / 60)} min."
        case ChargeLeft():
            of = f"refrigerant of {course.named(mark.circuit)}" if course.several and mark.circuit else "refrigerant"
            return sentence(f"{of} {told_left(course, mark)}")
        case HandedOver():
            return sentence(f"{mark.to} takes over" + (f": {own_words(mark.text)}" if mark.text else ""))
        case HoseSet():
            return f"A hose at the {mark.port} port is {'open' if mark.on else 'shut'}."
        case Placed() if course.several and mark.on in {it.name for it in course.circuits}:
            return f"Probes on circuit {mark.on}."
        case PowerRead():
            return "Power read; nobody had yet recorded that the lock was off."
        case AlarmChanged():
            return sentence(_in_units(course, mark.text))
        case FoundSound():
            return _found_sound(course, mark)
        case Corrected():
            return f"{NAMES.get(mark.calibration.channel, mark.calibration.channel)} is read corrected from here on."
        case Described() if mark.sheet.tag == course.known.tag:
            return "The sheet of the unit was described anew."
        case Stop():
            return "A lead asked to stop."
        case Acknowledged() if course.standing.stops.has(mark.of):
            return "The lead's stop was read."
        case Released() if course.standing.stops.has(mark.of):
            return "The lead said go on."
        case Signed():
            return f"Signed: {mark.name}."
    return ""


def _in_units(course: Course, text: str) -> str:
    """Tell a difference that an alarm names in the reader's units: its words are kept in those of the United States."""

    def told(found: re.Match[str]) -> str:
        value, spread = (float(it) * 5 / 9 for it in found.group("value", "spread"))
        return f"{found['name']} {value:.1f} ± {spread:.1f} K"

    return text if course.system == "us" else _DIFFERENCE.sub(told, text)


_DIFFERENCE = re.compile(r"(?P<name>Superheat|Subcooling) (?P<value>[\d.]+) ± (?P<spread>[\d.]+) °F")


def _found_sound(course: Course, mark: FoundSound) -> str:
    circuit = next((it for it in course.circuits if it.name == (mark.circuit or course.in_view)), None)
    read = (
        (level_of(course, circuit, "readings_after"), level_of(course, circuit, "readings_before")) if circuit else ()
    )
    levels = [level for level in read if level]
    if levels and levels[0].state == "cannot tell":
        return "Figures kept while nothing was wrong that shows; whether its refrigerant is enough is too near to tell."
    return f"Kept as what {course.named(mark.circuit) if course.several else 'this unit'} shows when sound."


def _moved(course: Course, mark: Added | Recovered) -> str:
    """Tell a move as corrections left it, with its phase."""
    entry = course.standing.moved.ledgers.entries[mark.id]
    verb = "Added" if entry.sign > 0 else "Recovered"
    of = f", {course.named(entry.circuit or course.standing.moved.ledgers.unnamed)}" if course.several else ""
    if entry.mass_kg <= 0.0:
        return f"{verb}: nothing after all, as it was corrected."
    amount = mass(entry.mass_kg, course.system, weighed=True)
    corrected = (
        ""
        if entry.mass_kg == mark.mass_kg
        else f" (noted as {mass(mark.mass_kg, course.system, weighed=True)}, corrected)"
    )
    phase = f" as {mark.phase}" if mark.phase else ""
    cylinder = f", cylinder {entry.cylinder}" if entry.cylinder else ""
    return f"{verb} {amount}{phase}{corrected}{of}{cylinder}."


def _trace(course: Course) -> Iterator[Trace]:
    """Draw the figure that shows the charge, both pressures and the compressor's amps, with the moves among them."""
    if len(course.known.course) < _LEAST_POINTS:
        return
    governs = [course.governs(circuit) for circuit in course.circuits if circuit.name == course.in_view]
    lines = [line for name in (*governs, *_LINES) if (line := _line(course, name)) is not None]
    moments = [
        At(course.seen_s(mark), said(text, *_evidence(course, mark)))
        for mark in course.marks
        if (text := _in_a_few_words(course, mark))
    ]
    if lines:
        yield Trace(lines, moments)


def _in_a_few_words(course: Course, mark: Mark) -> str:
    match mark:
        case Added() | Recovered():
            entry = course.standing.moved.ledgers.entries[mark.id]
            sign = "+" if entry.sign > 0 else "−"
            return f"{sign}{mass(entry.mass_kg, course.system, weighed=True)}" if entry.mass_kg > 0.0 else ""
        case Finding(check="isolate", outcome="met"):
            return "off"
        case Finding(check="power_back") if mark.outcome != "skipped":
            return "power back"
        case Finding(check="replacement") if mark.outcome != "skipped" and not mark.builds_on:
            return "renewed"
        case Finding(check="readings_before") if mark.outcome != "skipped":
            return "before"
        case Finding(check="readings_after") if mark.outcome != "skipped":
            return "after"
    return ""


def _line(course: Course, name: str) -> Line | None:
    quantity = QUANTITIES[name]
    read = [
        (pack.time_s, readings_of(pack).get(name) if _is_of_it(course, name, pack.time_s) else None)
        for pack in course.known.course
    ]
    if name in ("superheat", "subcooling"):
        read = [
            (pack.time_s, None if _is_off(pack) else it)
            for pack, (_, it) in zip(course.known.course, read, strict=True)
        ]
    values = [it.value for _, it in read if it is not None]
    if len(values) < _LEAST_POINTS:
        return None
    unit = display_unit(max(values, key=abs), quantity, course.system)
    shown = [None if it is None else _shown(course, it.value, quantity, unit) for _, it in read]
    label = next(each[1] for each in shown if each is not None)
    numbers = [None if each is None else round(each[0], 2) for each in shown]
    return Line(NAMES[name], label, [time_s for time_s, _ in read], numbers)


def _is_off(pack: Pack) -> bool:
    """Tell whether the compressor stood still then, as far as its current was read: no charge shows without it."""
    amps = readings_of(pack).get("compressor_current")
    return amps is not None and amps.value < _RUNS_FROM_A


_RUNS_FROM_A = 0.5
"""Common practice, no source."""


def _is_of_it(course: Course, name: str, time_s: float) -> bool:
    """Tell whether the probes were on the circuit in view then: what they read of another one is no line of this."""
    if not course.several or name not in OF_A_CIRCUIT:
        return True
    circuits = {circuit.name for circuit in course.circuits}
    placed = [
        mark.on if isinstance(mark, Placed) else mark.circuit
        for mark in course.marks
        if mark.time_s <= time_s
        and ((isinstance(mark, Placed) and mark.on in circuits) or (isinstance(mark, VisitOpened) and mark.circuit))
    ]
    return (placed[-1] if placed else course.circuits[0].name) == course.in_view


def _shown(course: Course, value: float, quantity: Quantity, unit: str) -> tuple[float, str]:
    if quantity is Quantity.TEMPERATURE_DIFFERENCE:
        return difference_to_display(value, quantity, course.system)
    return to_display(value, quantity, course.system, barometric_pressure_pa=course.site_pa, unit=unit)
