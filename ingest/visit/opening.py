"""Another unit opened: whether the rig may go there, and what of it comes into view."""

from typing import TYPE_CHECKING

from calc.sentences import Sentence, text
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.tags import nearest
from ingest.wire.messages import OpenAsk, VisitOpened
from ingest.wire.texts import shown
from ingest.wire.wording import worded

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
    if ask.unit == facts.unit.tag and standing.progress.state != "signed":
        raise RefusedError(f"the visit at {shown(ask.unit)} is open already")
    hoses = sorted(standing.placing.hoses)
    if hoses and not ask.confirmed:
        raise DoubtfulError(worded(Sentence("open.hose_open", (text("port", hoses[0]), text("unit", facts.unit.tag)))))
    return VisitOpened(*head, text=f"visit at {sheet.tag}", unit=sheet.tag, circuit=circuit, grade=ask.grade)
