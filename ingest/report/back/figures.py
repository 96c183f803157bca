"""Figures before and after with their ±, target, limit with its source, and verdict."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from calc.comparing import Comparison, compare, outcome
from calc.quantities import QUANTITIES, Quantity
from calc.wording import as_fine_as_known, difference
from ingest.report.before_after import AT_REST, ON_ANOTHER_LEAD, Moment, Pair, conditions, middle_s, pair_of, work_of
from ingest.report.channels import NAMES, OF_A_CIRCUIT, OF_THE_UNIT, OUTCOMES
from ingest.report.course import Course
from ingest.report.document import Block, Items, Paragraph, Section, Statement, Table
from ingest.report.level import Level, level_of
from ingest.report.said import NOTHING, figure, listed, said, told_by
from ingest.wire.messages import Added, Finding, PartReading, Recovered
from ingest.wire.sheet import Circuit

COLUMNS = ("Figure", "Before", "After", "Target", "Limit, source", "Verdict")
_USUAL = "±6 %, where the label is silent: common practice, no source"
Row = Sequence[Statement]


def figures(course: Course) -> Section:
    """Say it: of several circuits the same figure in one row."""
    pair = pair_of(course)
    of_each = [(circuit, pair_of(course, circuit.name)) for circuit in course.circuits]
    read = [(circuit, of_it) for circuit, of_it in of_each if any(_is_there(name, of_it) for name in OF_A_CIRCUIT)]
    blocks: list[Block] = []
    if len(read) == 1 and not course.several:
        (circuit, of_it) = read[0]
        blocks.append(Table(COLUMNS, list(_of_circuit(course, circuit, of_it))))
    elif read:
        blocks.append(_of_several(course, read))
        blocks.append(Items([told for circuit, _ in read for told in _judgement(course, circuit)]))
    for circuit, of_it in read:
        named = [said(f"Circuit {circuit.name}:", course.visit_id)] if course.several else []
        blocks.append(Paragraph([*named, *_when(course, of_it), *conditions(course, of_it)]))
    rows = [_row(course, name, pair) for name in OF_THE_UNIT if _is_there(name, pair)]
    blocks += [Table(("Figure, whole unit", *COLUMNS[1:]), rows)] if rows else []
    parts = list(_of_parts(course, pair))
    blocks += [Table(("Part", *COLUMNS[1:]), parts)] if parts else []
    return Section("Figures", [*blocks, *_not_measured(course, [pair, *(of_it for _, of_it in of_each)])])


def _of_several(course: Course, read: Sequence[tuple[Circuit, Pair]]) -> Table:
    columns = [f"{circuit.name}, {word}" for circuit, _ in read for word in ("before", "after")]
    rows = [
        [
            said(NAMES[name], course.visit_id),
            *(_cell(course, name, moment) for _, of_it in read for moment in (of_it.before, of_it.after)),
        ]
        for name in OF_A_CIRCUIT
        if any(_is_there(name, of_it) for _, of_it in read)
    ]
    return Table(("Figure, by circuit", *columns), rows)


def _judgement(course: Course, circuit: Circuit) -> Iterator[Statement]:
    """Tell of one of several circuits in a sentence what the figure that shows its charge was held against."""
    target, limit, verdict = _judged(course, circuit)
    if verdict.text:
        text = f"Circuit {circuit.name}, {NAMES[course.governs(circuit)].lower()}: target {target.text}, {limit.text}"
        yield said(f"{text}: {verdict.text}.", verdict.evidence)


def _not_measured(course: Course, pairs: Sequence[Pair]) -> Iterator[Block]:
    """Name what usually is measured and was not, instead of empty rows."""
    lacking = [
        word for word, names in _USUALLY.items() if not any(_is_there(name, pair) for name in names for pair in pairs)
    ]
    if len(lacking) == len(_USUALLY):
        yield Paragraph([said("No figure is recorded.", course.visit_id)])
    elif lacking:
        yield Paragraph([said(f"Not measured: {listed(lacking)}.", course.visit_id)])


_USUALLY: Mapping[str, Sequence[str]] = {
    "superheat": ("superheat",),
    "subcooling": ("subcooling",),
    "suction pressure": ("suction_pressure",),
    "liquid pressure": ("liquid_pressure", "discharge_pressure"),
    "suction line": ("suction_line_temperature",),
    "liquid line": ("liquid_line_temperature",),
    "discharge line": ("discharge_line_temperature",),
    "return air": ("return_air_temperature",),
    "wet bulb of the return air": ("return_air_wet_bulb",),
    "supply air": ("supply_air_temperature",),
    "outdoor air": ("outdoor_air_temperature",),
    "volts": ("line_voltage_ab",),
    "compressor amps": ("compressor_current", *(f"compressor_current_{phase}" for phase in "abc")),
    "condenser fan amps": ("condenser_fan_current",),
    "blower amps": ("blower_current",),
}
"""Figures of a visit that is whole, each with what may stand for it: common practice, no source."""


def _is_there(name: str, pair: Pair) -> bool:
    return any(
        moment is not None and any(name in of for of in (moment.read, moment.elsewhere, moment.at_rest))
        for moment in (pair.before, pair.after)
    )


def _when(course: Course, pair: Pair) -> Iterator[Statement]:
    told = [
        f"{word} at {course.clock.time(moment.time_s)}"
        for word, moment in (("before", pair.before), ("after", pair.after))
        if moment is not None
    ]
    ids = [it.mark for it in (pair.before, pair.after) if it is not None]
    yield said(f"Read {' and '.join(told)}.", ids, course.visit_id)


def _of_circuit(course: Course, circuit: Circuit, pair: Pair) -> Iterator[Row]:
    for name in OF_A_CIRCUIT:
        if _is_there(name, pair):
            row = _row(course, name, pair)
            yield (*row[:3], *_judged(course, circuit)) if name == course.governs(circuit) else row


def _judged(course: Course, circuit: Circuit) -> Row:
    """Give target, limit and verdict of the figure that shows the charge, of the newest reading."""
    before, after = (level_of(course, circuit, check) for check in ("readings_before", "readings_after"))
    level = after or before
    if level is None:
        return NOTHING, NOTHING, NOTHING
    verdict = f"before: {_verdict(level)}" if after is None else _verdict(after)
    if before and after:
        verdict = f"{_verdict(before)}, then {verdict}"
    by = [name for it in (before, after) if it for name in it.evidence]
    limit = f"±{difference(level.tolerance_dk, course.system)}: protocol; target: {level.source}"
    return (
        said(difference(level.target_dk, course.system), level.evidence),
        said(limit, level.evidence),
        said(verdict, by, course.visit_id),
    )


def _verdict(level: Level) -> str:
    compared: Comparison = compare(
        level.value, level.target_dk - level.tolerance_dk, level.target_dk + level.tolerance_dk
    )
    return outcome(compared).value


def _row(course: Course, name: str, pair: Pair) -> Row:
    moments = (pair.before, pair.after)
    label = NAMES[name]
    if name == "air_split" and all(it.value < 0 for moment in moments if moment and (it := moment.get(name))):
        label, moments = "Rise of the air", (_turned(pair.before, name), _turned(pair.after, name))
    cells = [_cell(course, name, moment) for moment in moments]
    return said(label, course.visit_id), *cells, NOTHING, NOTHING, NOTHING


def _turned(moment: Moment | None, name: str) -> Moment | None:
    """Give a moment with a difference counted the other way."""
    if moment is None or (it := moment.get(name)) is None:
        return moment
    return replace(moment, read={**moment.read, name: replace(it, value=-it.value)})


def _cell(course: Course, name: str, moment: Moment | None) -> Statement:
    if moment is not None and name in moment.elsewhere:
        return said(ON_ANOTHER_LEAD, moment.elsewhere[name])
    if moment is not None and name in moment.at_rest:
        return said(AT_REST, moment.at_rest[name])
    read = moment.get(name) if moment is not None else None
    if read is None:
        return NOTHING
    by = course.site_ids if QUANTITIES[name] is Quantity.PRESSURE else []
    told = figure(name, read.value, read.spread, course.system, course.site_pa)
    return said(f"{told}{told_by(read.grade)}", read.evidence, by)


def _of_parts(course: Course, pair: Pair) -> Iterator[Row]:
    """Tell what was measured of each part, the first and the newest of each figure; one alone by when it was read."""
    work = [mark for mark in work_of(course) if not isinstance(mark, Added | Recovered)]
    until_s = course.seen_s(work[0]) if work else middle_s(pair)
    by_work = [course.visit_id, *(name for mark in work for name in course.seen_ids(mark))]
    found = {mark.id: mark for mark in course.marks if isinstance(mark, Finding)}
    told: dict[tuple[str, str, str], list[PartReading]] = {}
    for name, readings in course.part_readings.items():
        for reading in readings if name in found else ():
            told.setdefault((found[name].part, reading.quantity, reading.of), []).append(reading)
    for several in sorted(told.values(), key=lambda it: min(reading.time_s for reading in it)):
        in_order = sorted(several, key=lambda it: it.time_s)
        first, last = in_order[0], in_order[-1]
        of = found[last.id]
        motor = course.motor_of(of) if last.quantity == "current" else "part"
        name = f"{of.part or motor}, {last.label.rpartition(': ')[2]}"
        is_late = last is first and course.seen_s(of) > until_s
        shown = (None, last) if is_late else (first, None if last is first else last)
        before, after = (NOTHING if it is None else said(_amount(course, it), it.id, by_work) for it in shown)
        target, limit = _limit(course, of, last)
        has_no_limit = last.quantity == "current" and of.choices.get("motor") == "compressor" and of.outcome == "met"
        verdict = NOTHING if has_no_limit else said(OUTCOMES[of.outcome], of.id)
        if first is not last and (doubted := [it for it in course.disagreeing() if first.id == it[0].id]):
            ids = [name for pair_of_it in doubted for it in pair_of_it for name in course.seen_ids(it)]
            verdict = said("readings disagree", ids, course.visit_id)
        yield said(name, of.id), before, after, target, limit, verdict


def _amount(course: Course, it: PartReading) -> str:
    told = as_fine_as_known(it.value, it.accuracy, it.quantity, course.system, course.site_pa)
    return f"{told}{told_by(it.grade)}"


def _limit(course: Course, found: Finding, it: PartReading) -> tuple[Statement, Statement]:
    if it.label_value:
        label = as_fine_as_known(it.label_value, None, it.quantity, course.system, course.site_pa)
        known = {**found.recalled, **found.plated, **found.values}
        share = known.get("tolerance")
        limit = _USUAL if share is None else f"±{100 * share:g} %: its label"
        return said(label, found.id), said(limit, found.id)
    if it.quantity == "current" and (rated := {**found.plated, **found.values}.get("rated")):
        plate = as_fine_as_known(rated, None, it.quantity, course.system, course.site_pa)
        is_compressor = found.choices.get("motor") == "compressor"
        named = f"RLA {plate}: its plate; it is no limit" if is_compressor else f"FLA {plate}: its plate"
        return NOTHING, said(named, found.id)
    return NOTHING, NOTHING
