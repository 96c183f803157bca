"""What answers a question of the rig where it is put: that somebody looked for leaks, kept by the check of it."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from dashboard.sentences import say
from ingest.wire.checklist import Check, Checklist, Choice
from ingest.wire.messages import Wording

Json = dict[str, Any]

_LEAKS, _BY = "leaks", "by"
_BY_MORE_THAN_EYES = ("detector", "bubbles")
_ASKS = frozenset({"guard.leaks_first", "guard.added_before"})
"""Kinds of sentences that ask for it before refrigerant goes in."""


def looked(question: Wording, checklists: Iterable[Checklist], circuit: str, today: date) -> list[Json]:
    """Lay out a key for each way of having looked and found nothing; none where the question asks for something else.

    Each says all that is kept by it. circuit: of which the amount is, empty for the one in view.
    """
    check = next((it for group in checklists for it in group.checks if it.word == _LEAKS), None)
    if check is None or _ASKS.isdisjoint(_kinds(question)):
        return []
    by = next(it for it in check.choices if it.name == _BY)
    return [_key(check, by, way, circuit, today) for way in _BY_MORE_THAN_EYES]


def _kinds(question: Wording) -> set[str]:
    return {question.kind, *(kind for part in question.parts if part.what == "sentences" for kind in part.terms)}


def _key(check: Check, by: Choice, way: str, circuit: str, today: date) -> Json:
    found = [(it, it.usual) for it in check.choices if it.usual]
    dates = {it.name: (it.label, it.days[0]) for it in check.texts if it.usual and it.days}
    told = [f"{it.label}: {it.options[option]}" for it, option in [*found, (by, way)]]
    again = [say("leaks.in_days", label=label, days=days) for label, days in dates.values()]
    choices: Mapping[str, str] = {
        **{it.name: option for it, option in found},
        by.name: way,
        **{name: (today + timedelta(days=days)).isoformat() for name, (_, days) in dates.items()},
    }
    of = {"circuit": circuit} if circuit else {}
    return {
        "says": say("leaks.looked", what=" · ".join([*told, *again])),
        "body": {"fields": {"check": check.word, "grade": "said", "choices": choices, **of}},
    }
