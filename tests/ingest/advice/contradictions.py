"""What two parts of one advice must never say beside each other."""

from collections.abc import Iterator

from ingest.wire.messages import Advice

_ALL_CLEAR = "nothing wrong"
_MAY_MOVE = {"detail.may_add", "detail.may_recover", "detail.may_recover_liquid"}
_MOVES = {
    f"headline.{kind}"
    for kind in (
        *("add", "add_first", "add_ice", "add_first_ice"),
        *("recover", "recover_liquid", "recover_added", "recover_added_liquid"),
    )
}


def contradictions(advice: Advice) -> Iterator[str]:
    """Find what parts of one advice say against each other."""
    lead = advice.causes[0].fault if advice.causes else ""
    verdict = advice.verification.state if advice.verification else "may not be judged"
    moves = advice.sentence.kind in _MOVES
    yield from _of_the_all_clear(advice, lead)
    yield from _of_poor_instruments(advice, {detail.kind for detail in advice.details})
    if (advice.next_step is not None) is not moves:
        yield "an amount beside a headline that does not ask for one, or the other way round"
    if (advice.state == "move") is not moves:
        yield "a headline of another state"
    if advice.state == "done" and verdict != "right":
        yield "done, but the charge is not verified"
    if verdict in ("too little", "too much") and advice.state != "move":
        yield "a wrong charge beside a state that leaves it"
    if advice.next_step is not None:
        adds = advice.next_step.step_kg > 0
        if verdict == ("too much" if adds else "too little") or verdict == "right":
            yield "the amount goes against the verdict"
        if lead != ("undercharge" if adds else "overcharge") or advice.causes[0].held_back is not None:
            yield "an amount for another cause, or for one that is held back"
    if advice.state in ("starting", "settling", "not running") and advice.causes:
        yield "causes of a unit that has not settled"


def _of_the_all_clear(advice: Advice, lead: str) -> Iterator[str]:
    if advice.alarms and (advice.state != "stop" or _ALL_CLEAR in [cause.fault for cause in advice.causes]):
        yield "nothing wrong, or no stop, beside an alarm"
    if (lead == _ALL_CLEAR) is not (advice.state in ("near enough", "done")):
        yield "nothing wrong leads beside a state that looks on, or does not where all is well"
    if lead == _ALL_CLEAR and not {"capacitors", "wiring", "line_voltage"} <= set(advice.not_judged):
        yield "nothing wrong does not name the electrics, which were not judged"


def _of_poor_instruments(advice: Advice, details: set[str]) -> Iterator[str]:
    is_near = advice.sentence.kind in ("headline.near_enough", "headline.as_near")
    if is_near and details & {"detail.cannot_tell", "detail.better_instrument"}:
        yield "near enough beside instruments that cannot tell"
    if (
        details & {"detail.may_add", "detail.may_recover", "detail.may_recover_liquid"}
        and "check.nothing_wrong" in details
    ):
        yield "an amount that may be moved beside a charge to be left alone"
