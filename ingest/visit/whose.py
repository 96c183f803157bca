"""Whose visit an ask is of: the rig may have gone to another unit since its maker looked.

Several people work with one rig. Whoever still means the unit before would move, find and sign in the wrong visit.
"""

from typing import TYPE_CHECKING

from calc.sentences import Sentence, count, text
from ingest.visit.deciding import Asked, Facts, RefusedError, to_ask
from ingest.wire.messages import (
    AcknowledgeAsk,
    Ask,
    CorrectionAsk,
    CylinderAsk,
    DescribeAsk,
    DismissAsk,
    FindingAsk,
    HandOverAsk,
    HoseAsk,
    KeepAsk,
    MoveAsk,
    PlaceAsk,
    ReleaseAsk,
    ReloadAsk,
    SeenAsk,
    SignAsk,
    StopAsk,
)
from ingest.wire.texts import same_name, shown
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

JUST_OPENED_S = 600.0
"""So long after somebody went to another unit, others may not know of it: common practice, no source."""

_WHEREVER = (StopAsk, SeenAsk, AcknowledgeAsk, ReleaseAsk, ReloadAsk)
"""Of no unit: a stop is never too late, what is read or released is named by its id, the configuration is the rig's."""

_ASKED_ABOUT = (
    MoveAsk, CorrectionAsk, KeepAsk, DismissAsk, CylinderAsk, PlaceAsk, HoseAsk, HandOverAsk, SignAsk, FindingAsk,
    DescribeAsk,
)  # fmt: skip
"""What hurts in the wrong visit. All of them can be confirmed."""


def check_of_this_visit(ask: Ask, standing: "Standing", facts: Facts, there: str) -> None:
    """See that an ask that names a visit names the one at work. there: the unit of the named one, as far as known.

    Raises:
        RefusedError: it names another.

    """
    if not ask.visit or ask.visit == standing.visit or isinstance(ask, _WHEREVER):
        return
    meant = shown(there) if there else f"another unit (visit {shown(ask.visit)})"
    here = facts.unit.tag
    which = f"an earlier visit to {meant}" if there == here else meant
    opened = standing.opened
    who = f", opened by {opened.by}" if opened and opened.by else ""
    raise RefusedError(
        f"this was meant for {which}, and the rig is at {shown(here)} now{who}: nothing was recorded. Agree on who "
        f"works where; then open {meant} again, or ask for it at {shown(here)}"
    )


def doubts(ask: Ask, standing: "Standing", facts: Facts, now_s: float) -> list[Asked]:
    """Ask whether it is meant for here; nothing where that is plain.

    It is not where somebody else has just opened this unit, or exchanged its circuits' names, and where nobody has said
    yet that a visit which was left long ago is still the same.
    """
    if not isinstance(ask, _ASKED_ABOUT):
        return []
    asked = [of(ask, standing, facts, now_s) for of in (_of_another_unit, _of_another_circuit, _of_a_visit_left)]
    return [to_ask(it) for it in asked if it]


def _of_another_circuit(ask: Ask, standing: "Standing", facts: Facts, now_s: float) -> Wording | None:
    exchanged = standing.exchanged
    if exchanged is None or same_name(exchanged.by, ask.by):
        return None
    named = _circuit_of(ask)
    since_s = facts.now_s(now_s) - standing.at_s(exchanged.mark)
    if named not in exchanged.names or since_s > JUST_OPENED_S:
        return None
    told = (text("by", exchanged.by), text("circuit", named), count("minutes", max(round(since_s / 60.0), 1)))
    return worded(Sentence("visit.exchanged_by_another", told))


def _of_a_visit_left(_: Ask, standing: "Standing", facts: Facts, __: float) -> Wording | None:
    left_s = standing.progress.left_s
    if not left_s:
        return None
    return worded(Sentence("visit.left", (text("unit", facts.unit.tag), count("hours", round(left_s / 3600.0)))))


def _circuit_of(ask: Ask) -> str:
    match ask:
        case PlaceAsk():
            return ask.on
        case MoveAsk() | CorrectionAsk() | FindingAsk():
            return ask.circuit
    return ""


def _of_another_unit(ask: Ask, standing: "Standing", facts: Facts, now_s: float) -> Wording | None:
    opened = standing.opened
    if ask.visit or opened is None or not opened.by:
        return None
    since_s = facts.now_s(now_s) - standing.at_s(opened.id)
    if since_s > JUST_OPENED_S or same_name(opened.by, ask.by):
        return None
    minutes = max(round(since_s / 60.0), 1)
    told = (text("by", opened.by), text("unit", facts.unit.tag), count("minutes", minutes))
    return worded(Sentence("visit.opened_by_another", told))
