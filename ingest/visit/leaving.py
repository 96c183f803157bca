"""A charge that a technician leaves as it is, against what the judge asks for: the visit is then led to its end.

It is a person's decision, and tells nothing of the charge: who looks at it later finds it against what was advised.
"""

from typing import TYPE_CHECKING

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.finding import asks_for_a_stop, asks_of_charge
from ingest.wire.held_back import LEAD_STOPPED
from ingest.wire.messages import ChargeLeft, LeaveChargeAsk
from ingest.wire.texts import is_empty, shown

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


def leave_charge(ask: LeaveChargeAsk, head: Head, standing: "Standing", facts: Facts) -> ChargeLeft:
    """Leave it, for a reason; not while somebody asked to stop, or something has to be stopped for."""
    in_view = standing.placing.circuit
    if ask.circuit and ask.circuit != in_view:
        raise RefusedError(
            f"circuit is {shown(ask.circuit)!r}, and the judge speaks of {shown(in_view)!r}, where the probes are"
        )
    if ask.reason == "other" and is_empty(ask.text):
        raise RefusedError("text is empty: with reason = other the reason in words was expected")
    if by := standing.stops.stopped_by:
        raise RefusedError(f"{shown(by)} asked to stop and has not said go on: until then nothing is left or closed")
    if asks_for_a_stop(facts):
        raise RefusedError("the advice is to stop the unit, or an alarm stands: see to that before the charge is left")
    advice = facts.advice
    if not standing.is_judged_since_go_on or (advice is not None and advice.sentence.kind == LEAD_STOPPED):
        raise RefusedError("what is advised now that work goes on is not told yet: ask again once it is")
    if advice is None or not (asks_of_charge(facts) and standing.findings.is_at_charge(in_view)):
        raise RefusedError("nothing is asked of the charge now: closing comes by itself, without leaving it")
    step = advice.next_step
    return ChargeLeft(
        *head,
        text=ask.text.strip(),
        reason=ask.reason,
        circuit=in_view,
        advised=advice.sentence,
        advised_kg=None if step is None else step.step_kg,
    )
