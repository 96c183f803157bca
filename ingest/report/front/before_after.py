"""Before and after as an owner reads it: a few rows, under like conditions or with the difference told."""

from collections.abc import Iterator, Sequence

from calc.quantities import Quantity
from ingest.report.before_after import ON_ANOTHER_LEAD, Moment, Pair, conditions, middle_s, pair_of, work_ids, work_of
from ingest.report.course import Course
from ingest.report.document import Block, Paragraph, Picture, Section, Statement, Table
from ingest.report.level import level_of
from ingest.report.said import NOT_RECORDED, own_words, rounded, said, told_by
from ingest.report.words import CHECKS, PICTURES
from ingest.wire.messages import Finding
from ingest.wire.sheet import Circuit, Motor

_FINISHED = ("panels", "as_it_was", "close_panel", "replacement", "probes_off")
"""Checks whose photographs show the finished work, the one that shows most of it first."""


def before_after(course: Course) -> Section:
    """Say it."""
    pair = pair_of(course)
    rows = [row for row in _rows(course, pair) if any(cell.text != NOT_RECORDED for cell in row[1:])]
    blocks: list[Block] = []
    if rows:
        blocks += [Table(("", "As we came", "As we left"), rows)]
        if told := list(conditions(course, pair)):
            blocks += [Paragraph(told)]
    else:
        blocks += [
            Paragraph([said("Nothing that can be compared was measured as we came and as we left.", course.visit_id)])
        ]
    return Section("Before and after", [*blocks, *_pictures(course)])


def _rows(course: Course, pair: Pair) -> Iterator[Sequence[Statement]]:
    yield _row(course, "Air: in, and out", "", [_air(course, moment) for moment in (pair.before, pair.after)])
    plate = _plate(course)
    label = f"Current of the compressor (its plate: {plate:g} A)" if plate else "Current of the compressor"
    yield _row(course, label, course.sheet_id if plate else "", _amps(course, pair))
    yield from _joints(course)
    for circuit in course.circuits[:2]:
        levels = [level_of(course, circuit, check) for check in ("readings_before", "readings_after")]
        label = "Refrigerant, by the maker's own figure"
        label = f"{label}, {course.named(circuit.name)}" if course.several else label
        cells = [
            None if level is None else said(f"{level.words}{told_by(level.grade)}", level.evidence) for level in levels
        ]
        cells[1] = cells[1] or _not_judged(course, circuit)
        if cells[0] or levels[1]:
            yield _row(course, label, course.sheet_id, cells)
    volts = course.sheet.volts if course.sheet else None
    label = f"Supply voltage (its plate: {volts:.0f} V)" if volts else "Supply voltage"
    yield _row(
        course,
        label,
        course.sheet_id if volts else "",
        [_volts(course, moment) for moment in (pair.before, pair.after)],
    )


def _not_judged(course: Course, circuit: Circuit) -> Statement | None:
    """Tell that the figure was read as we left, and nobody kept it as a reading to judge; None where it was not."""
    after = pair_of(course, circuit.name).after
    read = after.get(course.governs(circuit)) if after and not course.several else None
    if after is None or read is None:
        return None
    stood = course.advice_at(after.time_s)
    is_settling = stood is not None and stood[1].state == "settling"
    text = "cannot tell: still settling" if is_settling else "read, not judged"
    return said(text, read.evidence, stood[0] if stood else "", course.visit_id)


def _joints(course: Course) -> Iterator[Sequence[Statement]]:
    """Tell what a wire connection that was put right lost under load: of the lead that lost the most."""
    every = sorted(course.every("joint_drop"), key=course.seen_s)
    for at, failed in enumerate(every):
        later = [it for it in every[at + 1 :] if it.choices.get("joint") == failed.choices.get("joint")]
        if failed.outcome != "not_met" or not later or later[-1].outcome == "not_met":
            continue
        right = later[-1]
        drops = [name for name in failed.values if name.startswith("drop.") and name in right.values]
        for name in sorted(drops, key=lambda name: -failed.values[name])[:1]:
            lead = {"a": "L1", "b": "L2", "c": "L3"}[name.rpartition(".")[2]]
            label = f"Volts lost in a wire connection, {lead}"
            both = [course.visit_id, *course.seen_ids(failed), *course.seen_ids(right)]
            yield _row(course, label, "", [said(f"{it.values[name]:.1f} V", both) for it in (failed, right)])
            return


def _row(course: Course, label: str, by: str, cells: Sequence[Statement | None]) -> Sequence[Statement]:
    nothing = said(NOT_RECORDED, course.visit_id)
    return (said(label, by, course.visit_id), *(cell or nothing for cell in cells))


def _air(course: Course, moment: Moment | None) -> Statement | None:
    into, out = (moment.get(f"{name}_air_temperature") if moment else None for name in ("return", "supply"))
    if into is None or out is None:
        return None
    told = (rounded(it.value, Quantity.TEMPERATURE, course.system) for it in (into, out))
    return said(f"{', '.join(told)}{told_by(into.grade, out.grade)}", into.evidence, out.evidence)


def _volts(course: Course, moment: Moment | None) -> Statement | None:
    read = moment.get("line_voltage_ab") if moment else None
    return None if read is None else said(rounded(read.value, Quantity.VOLTAGE, course.system), read.evidence)


def _amps(course: Course, pair: Pair) -> list[Statement | None]:
    """Give the compressor's amps: as somebody kept them before and after the work, else as they were at the moments."""
    every = course.every("motor_amps")
    kept = [it for it in every if it.choices.get("motor") == "compressor" and "amps.a" in it.values]
    work = work_of(course)
    began_s, ended_s = (course.seen_s(it) for it in (work[0], work[-1])) if work else (middle_s(pair),) * 2
    first = [it for it in kept if course.seen_s(it) < began_s][:1]
    last = [it for it in kept if it not in first and course.seen_s(it) > ended_s][-1:]
    between = [course.visit_id, *work_ids(course), *(name for it in kept for name in course.seen_ids(it))]
    return [_at(course, found, moment, between) for found, moment in ((first, pair.before), (last, pair.after))]


def _at(course: Course, kept: Sequence[Finding], moment: Moment | None, between: Sequence[str]) -> Statement | None:
    if kept:
        told = rounded(_one_lead(kept[0]), Quantity.CURRENT, course.system)
        how = told_by(kept[0].grades.get("amps.a", kept[0].grade))
        return said(f"{told}{how}", course.seen_ids(kept[0]), between)
    if moment and "compressor_current" in moment.elsewhere:
        return said(ON_ANOTHER_LEAD, moment.elsewhere["compressor_current"], between)
    read = moment.get("compressor_current") if moment else None
    return None if read is None else said(rounded(read.value, Quantity.CURRENT, course.system), read.evidence, between)


def _one_lead(found: Finding) -> float:
    return found.values["amps.a"] / max(found.values.get("turns", 1.0), 1.0)


def _plate(course: Course) -> float | None:
    """Give what the compressor's plate says of its current [A]; of several, that of the circuit in view."""
    motors = [it for it in (course.sheet.parts if course.sheet else ()) if isinstance(it, Motor)]
    rated = [it.rated_current_a for it in motors if it.drives == "compressor" and it.circuit in ("", course.in_view)]
    return next((it for it in rated if it is not None), None)


def _pictures(course: Course) -> list[Block]:
    """Give two photographs: what was found, and the finished work."""
    photographs = course.photographs()

    def shown(findings: Sequence[Finding], what: str) -> list[Block]:
        for found in findings:
            for name in reversed(found.photographs):
                if name in photographs:
                    caption = own_words(photographs[name].text) or PICTURES.get(found.check, "")
                    return [Picture(name, said(f"{what}{f': {caption}' if caption else '.'}", name, found.id))]
        return []

    wrong = [it for it in course.marks if isinstance(it, Finding) and it.check in CHECKS and _shows_a_fault(it)]
    finished = sorted(course.of(*_FINISHED), key=lambda it: _FINISHED.index(it.check))
    return [*shown(wrong, "What we found"), *shown(finished, "The finished work")]


def _shows_a_fault(found: Finding) -> bool:
    if found.check in _FINISHED:
        return False
    return found.outcome == "not_met" or found.choices.get("found") in ("explains", "else", "a_turn")
