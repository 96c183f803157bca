"""Leaving the charge as it is, against what the judge asks for: the key, its reasons, and what was decided."""

from collections.abc import Sequence

from calc.units import System
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Key
from ingest.wire.messages import Checklist, Visit

_LIVE, _CIRCUIT = "D", "E"
"""The groups of what is made with the power on, and of the refrigerant circuit, which ends with the charge."""
_POWER_BACK = "power_back"
"""Whose lock is off is never left open: it is said before anything is."""
_FEW = 3


def leaving(visit: Visit, checklists: Sequence[Checklist], system: System) -> list[Card]:
    """Make the card: who left it and why, or the key while the judge asks.

    No key while a lead's stop stands, nor before all that comes before the charge was answered: what that is, is said
    once only a little of it is left. What is made live may stay open, and is named beside the key.
    """
    if visit.progress.state == "signed":
        return []
    if left := visit.charge_left:
        says = (words.left_for(left.reason, left.text), say("leaving.against", advice=getattr(left.advised, system)))
        return [Card("charge-left", say("leaving.left"), says, time_s=left.time_s, by=left.by)]
    if "charge_asked" not in visit.facts or visit.is_stopped:
        return []
    groups = {check.word: group.group for group in checklists for check in group.checks}
    titles = {check.word: f"{check.place} {check.title}" for group in checklists for check in group.checks}
    open_ones = [word for word in visit.next if groups.get(word) != _CIRCUIT]
    if len(open_ones) > _FEW:
        return []
    first = [word for word in open_ones if groups.get(word) != _LIVE or word == _POWER_BACK]
    named = ", ".join(titles.get(word, word) for word in first or open_ones)
    if first:
        return [Card("leave-charge", say("leaving.instead"), (say("leaving.first", checks=named),))]
    stays_open = (say("leaving.stays_open", checks=named),) if named else ()
    key = Key(say("leaving.leave"), opens=_reasons(visit.circuit))
    return [Card("leave-charge", say("leaving.instead"), (say("leaving.what"), *stays_open), keys=(key,))]


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
