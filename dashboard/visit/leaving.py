"""Leaving the charge as it is, against what the judge asks for: the key, its reasons, and what was decided."""

from collections.abc import Sequence

from calc.units import System
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Key
from ingest.wire.messages import Checklist, Visit

_CIRCUIT = "E"
"""The group of the refrigerant circuit, which ends with the charge."""
_FEW = 3


def leaving(visit: Visit, checklists: Sequence[Checklist], system: System) -> list[Card]:
    """Make the card: who left it and why, or the key while the judge asks.

    No key while a lead's stop stands, nor before all that comes before the charge was answered: what that is, is said
    once only a little of it is left.
    """
    if visit.progress.state == "signed":
        return []
    if left := visit.charge_left:
        says = (words.left_for(left.reason, left.text), say("leaving.against", advice=getattr(left.advised, system)))
        return [Card("charge-left", say("leaving.left"), says, time_s=left.time_s, by=left.by)]
    at_charge = {check.word for group in checklists if group.group == _CIRCUIT for check in group.checks}
    if "charge_asked" not in visit.facts or visit.is_stopped:
        return []
    titles = {check.word: f"{check.place} {check.title}" for group in checklists for check in group.checks}
    before = [titles.get(word, word) for word in visit.next if word not in at_charge]
    if len(before) > _FEW:
        return []
    if before:
        return [Card("leave-charge", say("leaving.instead"), (say("leaving.first", checks=", ".join(before)),))]
    key = Key(say("leaving.leave"), opens=_reasons(visit.circuit))
    return [Card("leave-charge", say("leaving.instead"), (say("leaving.what"),), keys=(key,))]


def _reasons(circuit: str) -> Card:
    """Ask why, each reason by a touch; another one in words."""
    return Card(
        "why",
        say("leaving.leave"),
        (say("leaving.named"),),
        fields=(Field("text", say("leaving.more"), "words", optional=True),),
        keys=tuple(
            Key(says, "leave_charge", {"fields": {"reason": reason, "circuit": circuit}})
            for reason, says in words.LEFT_FOR.items()
        ),
    )
