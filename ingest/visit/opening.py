"""Another unit opened: whether the rig may go there, what of it comes into view, and what was read where it was."""

from typing import TYPE_CHECKING

from calc.sentences import Sentence, text
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.placing import OF_A_UNIT
from ingest.visit.questions import as_one
from ingest.visit.stopping import check_none_stands
from ingest.visit.tags import nearest
from ingest.wire.messages import OpenAsk, VisitOpened
from ingest.wire.texts import shown
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


def open_visit(ask: OpenAsk, head: Head, standing: "Standing", facts: Facts) -> VisitOpened:
    """Say where the rig is to go."""
    sheet = facts.sheets.get(ask.unit)
    if sheet is None:
        near = nearest(ask.unit, list(facts.sheets))
        meant = f"did you mean {shown(near)}? If not, " if near else ""
        raise RefusedError(f"there is no unit {shown(ask.unit)!r} in the register: {meant}describe it first")
    circuits = [circuit.name for circuit in sheet.circuits]
    circuit = ask.circuit or circuits[0]
    if circuit not in circuits:
        raise RefusedError(f"{shown(ask.unit)} has no circuit {shown(circuit)!r}; it has {', '.join(circuits)}")
    check_none_stands(standing)
    if not ask.confirmed and (asked := [*_is_left_unsigned(ask, standing, facts), *_hoses_open(standing, facts)]):
        raise DoubtfulError(as_one(asked))
    came_from, carried = _carried(ask.unit, standing, facts)
    return VisitOpened(
        *head,
        text=f"visit at {sheet.tag}",
        unit=sheet.tag,
        circuit=circuit,
        grade=ask.grade,
        came_from=came_from,
        carried=carried,
    )


def _carried(unit: str, standing: "Standing", facts: Facts) -> tuple[str, list[str]]:
    """Name the unit at which channels were read, and those that may have been left there; none that never left this."""
    here, placing = facts.unit.tag, standing.placing
    stayed = placing.unsaid if placing.came_from == unit else frozenset()
    carried = [name for name in facts.readings if name in OF_A_UNIT and name not in stayed]
    if unit == here or not carried:
        return "", []
    return placing.came_from if placing.unsaid.issuperset(carried) else here, carried


def _is_left_unsigned(ask: OpenAsk, standing: "Standing", facts: Facts) -> list[Wording]:
    """Ask of the unit at work: to open it again ends its visit as it is."""
    if ask.unit != facts.unit.tag or standing.progress.state == "signed":
        return []
    return [worded(Sentence("open.unsigned", (text("unit", ask.unit),)))]


def _hoses_open(standing: "Standing", facts: Facts) -> list[Wording]:
    hoses = sorted(standing.placing.hoses)
    told = [(text("port", port), text("unit", facts.unit.tag)) for port in hoses[:1]]
    return [worded(Sentence("open.hose_open", parts)) for parts in told]
