"""A unit described: whether its sheet may be kept, and what to ask first where it does not go with what is known."""

from collections.abc import Mapping, Sequence

from calc.charging_chart import ChartPoint, find_unusual
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, amount, term, text
from ingest.visit import tags
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.renaming import renamed_in, with_names
from ingest.visit.sheets import changed_circuits, differences, faults, has_circuit
from ingest.visit.standing import Standing
from ingest.wire.messages import Circuit, DescribeAsk, Described, Sheet, Wording
from ingest.wire.sheet import revision
from ingest.wire.texts import same_name, shown
from ingest.wire.wording import worded

_FAULTS_TOLD = 20
_UNDONE_TOLD = 8


def describe(ask: DescribeAsk, head: Head, standing: Standing, facts: Facts) -> Described:
    """Keep a sheet; refuse one that cannot be, and ask about one that makes another unit of what is known."""
    problems = faults(ask.sheet)
    if not problems and ask.sheet.tag not in facts.sheets and (wrong := tags.fault(ask.sheet.tag)):
        raise RefusedError(f"the sheet cannot be kept: tag {shown(ask.sheet.tag)!r}: {wrong}")
    if problems:
        told = "; ".join(map(str, problems[:_FAULTS_TOLD]))
        rest = f"; and {len(problems) - _FAULTS_TOLD} more" if len(problems) > _FAULTS_TOLD else ""
        raise RefusedError(f"the sheet cannot be kept: {told}{rest}")
    names = _renamed(ask, facts)
    in_view = names.get(standing.placing.circuit, standing.placing.circuit)
    if ask.sheet.tag == facts.unit.tag and in_view and not has_circuit(ask.sheet, in_view):
        where = shown(in_view)
        raise RefusedError(f"the probes are on circuit {where}, which this sheet has not: put them on another first")
    sheets = {tag: with_names(it, names) if tag == ask.sheet.tag else it for tag, it in facts.sheets.items()}
    asked = [*_stale(ask, facts.sheets, standing), *doubts(ask.sheet, sheets)]
    if asked and not ask.confirmed:
        raise DoubtfulError(*map(to_ask, asked))
    return Described(*head, sheet=ask.sheet, circuits_were=tuple(ask.circuits_were))


def _renamed(ask: DescribeAsk, facts: Facts) -> dict[str, str]:
    """Tell which circuits are only named otherwise; refuse names that the unit at work has not, or has twice."""
    names = renamed_in(ask.sheet, ask.circuits_were)
    if not names:
        return {}
    known = facts.sheets.get(ask.sheet.tag)
    if known is None or ask.sheet.tag != facts.unit.tag:
        raise RefusedError("circuits_were: circuits are renamed at the unit at work alone: open that unit first")
    have = [circuit.name for circuit in known.circuits]
    if list(ask.circuits_were) != have:
        raise RefusedError(
            f"circuits_were: {', '.join(map(shown, ask.circuits_were))} were named, and the unit has "
            f"{', '.join(map(shown, have))}: name each of them, in that order, as the sheet has them"
        )
    if len(ask.sheet.circuits) < len(have):
        raise RefusedError("circuits_were: the sheet has fewer circuits than before: leave it out where one is gone")
    return names


def _stale(ask: DescribeAsk, known: Mapping[str, Sheet], standing: Standing) -> list[Wording]:
    """Ask about a sheet that was made from one that no longer holds: it would undo what somebody else read since.

    One that says of none what it was made from is taken for such where somebody else described the unit last.
    """
    now = known.get(ask.sheet.tag)
    if now is None or ask.builds_on == revision(now):
        return []
    by = standing.described_by.get(ask.sheet.tag, "")
    if not ask.builds_on and (not by or same_name(by, ask.by)):
        return []
    undone = differences(now, ask.sheet)
    if not undone:
        return []
    rest = f", and {len(undone) - _UNDONE_TOLD} more" if len(undone) > _UNDONE_TOLD else ""
    told = (text("tag", ask.sheet.tag), text("undone", ", ".join(undone[:_UNDONE_TOLD]) + rest))
    return [worded(Sentence("sheet.changed_since", told))]


def doubts(sheet: Sheet, known: Mapping[str, Sheet]) -> list[Wording]:
    """Ask what is to be asked before a sound sheet is kept. known: the sheets there are, by tag."""
    if sheet.tag in known:
        changes = changed_circuits(known[sheet.tag], sheet)
        told = [_change(sheet.tag, before, after) for before, after in changes]
        before = known[sheet.tag]
        told += [*_judged_otherwise(before, sheet), *_plates_otherwise(before, sheet), *_parts_gone(before, sheet)]
    else:
        told = _about_tag(sheet.tag, list(known))
    charts_were = [_points(it) for it in known[sheet.tag].circuits] if sheet.tag in known else []
    told += [it for circuit in sheet.circuits if _points(circuit) not in charts_were for it in _unusual(sheet, circuit)]
    return [worded(it) for it in told]


def _points(circuit: Circuit) -> set[tuple[float, float, float]]:
    return {(wet_k, outdoor_k, superheat_dk) for wet_k, outdoor_k, superheat_dk in circuit.superheat_chart_k}


def _unusual(sheet: Sheet, circuit: Circuit) -> list[Sentence]:
    """Ask about a chart that no published table is like: most such are a slip of the thumb, and some are printed so."""
    found = find_unusual([ChartPoint(*point) for point in circuit.superheat_chart_k])
    if found is None:
        return []
    told = [text("tag", sheet.tag), text("circuit", circuit.name)]
    for point, prefix in zip(found, ("", "next_"), strict=True):
        told += [
            amount(f"{prefix}wet_bulb", point.return_wet_bulb_k, Quantity.TEMPERATURE),
            amount(f"{prefix}outdoor", point.outdoor_dry_bulb_k, Quantity.TEMPERATURE),
            amount(f"{prefix}superheat", point.superheat_dk, Quantity.TEMPERATURE_DIFFERENCE),
        ]
    return [Sentence("sheet.chart_unusual", tuple(told))]


def _about_tag(tag: str, known: Sequence[str]) -> list[Sentence]:
    """Ask of a new tag whether it is one that is known, or one of ours with a mistake in it."""
    alike = next((other for other in known if tags.looks_like(tag, other)), "")
    if alike:
        return [Sentence("tag.looks_like", (text("tag", tag), text("near", alike)))]
    if tags.kind_of(tag) != "mistyped":
        return []
    if near := tags.nearest(tag, known):
        return [Sentence("tag.mistyped_near", (text("tag", tag), text("near", near)))]
    return [Sentence("tag.mistyped", (text("tag", tag),))]


def _change(tag: str, before: Circuit, after: Circuit | None) -> Sentence:
    parts = [text("tag", tag), text("circuit", before.name), *_held("before", before)]
    if after is None:
        return Sentence("sheet.gone", tuple(parts))
    return Sentence("sheet.changed", (*parts, *_held("after", after)))


def _judged_otherwise(before: Sheet, after: Sheet) -> list[Sentence]:
    """Ask where a circuit would be judged by another figure, or against another target, than it was until now."""
    later = {circuit.name: circuit for circuit in after.circuits}
    asked = []
    for was in before.circuits:
        would_be = later.get(was.name)
        if would_be is None:
            continue
        where = (text("tag", after.tag), text("circuit", was.name))
        if was.metering_device != would_be.metering_device:
            devices = (term("device_before", was.metering_device), term("device_after", would_be.metering_device))
            asked.append(Sentence("sheet.device_changed", (*where, *devices)))
        if not _points(was) <= _points(would_be):  # more of the same chart changes nothing that was entered
            asked.append(Sentence("sheet.chart_changed", where))
        for figure, target_dk, later_dk in (
            ("superheat", was.target_superheat_dk, would_be.target_superheat_dk),
            ("subcooling", was.target_subcooling_dk, would_be.target_subcooling_dk),
        ):
            if target_dk is None or target_dk == later_dk:
                continue
            told = (*where, term("figure", figure), amount("target_before", target_dk, Quantity.TEMPERATURE_DIFFERENCE))
            if later_dk is None:
                is_charted = figure == "superheat" and would_be.superheat_chart_k
                asked.append(Sentence("sheet.target_by_chart" if is_charted else "sheet.target_gone", told))
            else:
                after_it = amount("target_after", later_dk, Quantity.TEMPERATURE_DIFFERENCE)
                asked.append(Sentence("sheet.target_changed", (*told, after_it)))
    return asked


def _plates_otherwise(before: Sheet, after: Sheet) -> list[Sentence]:
    """Ask where what alarms and findings go by was read otherwise off a plate before; what nobody knew is none."""
    asked = [("the unit", "mode")] if before.mode != after.mode else []
    circuits, parts = ({it.name: it for it in them} for them in (after.circuits, after.parts))
    for was in (*before.circuits, *before.parts):
        would_be = (circuits if isinstance(was, Circuit) else parts).get(was.name)
        known = [key for key in _GO_BY if getattr(was, key, None) is not None]
        asked += [(was.name, key) for key in known if would_be and getattr(was, key) != getattr(would_be, key, None)]
    tag = text("tag", after.tag)
    return [Sentence("sheet.plate_changed", (tag, text("of", of), term("plate", key))) for of, key in asked]


_GO_BY = ("rated_current_a", "herm_f", "fan_f", "tolerance_share", "high_side_design_pressure_pa")


def _parts_gone(before: Sheet, after: Sheet) -> list[Sentence]:
    """Ask where a unit would have lost parts: their plates, and what is measured of them, would go with them."""
    left = {it.name for it in after.parts}
    gone = [it.name for it in before.parts if it.name not in left]
    if not gone:
        return []
    return [Sentence("sheet.parts_gone", (text("tag", after.tag), text("parts", ", ".join(gone))))]


def _held(when: str, circuit: Circuit) -> list[Part]:
    held = text(f"refrigerant_{when}", circuit.refrigerant)
    if circuit.charge_kg is None:
        return [held, Part(when, "sentence", terms=(f"sheet.held_{when}",))]
    charge = amount(f"charge_{when}", circuit.charge_kg, Quantity.MASS)
    return [held, charge, Part(when, "sentence", terms=(f"sheet.charged_{when}",))]
