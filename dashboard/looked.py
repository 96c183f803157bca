"""What answers a question of the rig where it is put: that somebody looked for leaks, kept by the check of it."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from dashboard.sentences import say
from ingest.wire.checklist import Check, Checklist, Choice
from ingest.wire.messages import Finding, Mark, Visit, Wording

Json = dict[str, Any]

_LEAKS, _BY = "leaks", "by"
_BY_MORE_THAN_EYES = ("detector", "bubbles")
_NOTHING_FOUND: Mapping[str, tuple[str, ...]] = {
    "oil": ("none",),
    "caps_and_cores": ("tight", "as_they_come_off"),
    "joints": ("tight",),
    "coil_ends": ("tight",),
}
"""The places of the check, and the answers to each by which nothing was found there."""
_ASKS = frozenset({"guard.leaks_first", "guard.added_before"})
"""Kinds of sentences that ask for it before refrigerant goes in."""


def looked(
    question: Wording,
    checklists: Iterable[Checklist],
    circuit: str,
    today: date,
    visit: Visit | None = None,
    marks: Mapping[str, Mark] | None = None,
) -> list[Json]:
    """Lay out a key for each way of having looked and found nothing, where each place was answered for itself before.

    Each says all that is kept by it: how it was looked for, and when again. No key vouches for a place: as long as one
    is not answered, words alone send to the check. circuit: of which the amount is, empty for the one in view. visit,
    marks: how it stands, and by id what it is made of. Nothing where the question asks for something else.
    """
    check = next((it for group in checklists for it in group.checks if it.word == _LEAKS), None)
    if check is None or _ASKS.isdisjoint(_kinds(question)):
        return []
    by = next(it for it in check.choices if it.name == _BY)
    in_view = visit.circuit if visit else ""
    stands = [it for it in visit.findings if it.check == _LEAKS and it.outcome != "skipped"] if visit else []
    ids = [it.id for it in stands if it.circuit == (circuit or in_view)]
    earlier = (marks or {}).get(ids[-1]) if ids else None
    if ids and not isinstance(earlier, Finding):
        return []  # somebody said something, and nothing is offered over it unread
    places = ", ".join(it.label for it in check.choices if it.name in _NOTHING_FOUND)
    first = {"says": say("leaks.each_place", check=f"{check.place} · {check.title}", places=places)}
    if not isinstance(earlier, Finding) or not earlier.choices:
        return [first]
    said = {"says": say("leaks.stands", what=" · ".join(_told(check, earlier.choices)))}
    if any(place not in earlier.choices for place in _NOTHING_FOUND):
        return [said, first]
    ways = [way for way in _BY_MORE_THAN_EYES if earlier.choices.get(_BY, way) == way]
    is_whole = all(earlier.choices[place] in answers for place, answers in _NOTHING_FOUND.items())
    return [said, *([_key(check, by, way, circuit, today, earlier) for way in ways] if is_whole else [])]


def _kinds(question: Wording) -> set[str]:
    return {question.kind, *(kind for part in question.parts if part.what == "sentences" for kind in part.terms)}


def _told(check: Check, choices: Mapping[str, str]) -> list[str]:
    """Say what was answered, as the check asks for it."""
    chosen = [f"{it.label}: {it.options[choices[it.name]]}" for it in check.choices if it.name in choices]
    return [*chosen, *(f"{it.label}: {choices[it.name]}" for it in check.texts if choices.get(it.name))]


def _key(check: Check, by: Choice, way: str, circuit: str, today: date, earlier: Finding) -> Json:
    said = earlier.choices
    dates = {it.name: (it.label, it.days[0]) for it in check.texts if it.usual and it.days and it.name not in said}
    again = [say("leaks.in_days", label=label, days=days) for label, days in dates.values()]
    choices = {
        **({} if by.name in said else {by.name: way}),
        **{name: (today + timedelta(days=days)).isoformat() for name, (_, days) in dates.items()},
    }
    of = {"circuit": circuit} if circuit else {}
    fields = {"check": check.word, "grade": "said", "choices": choices, **of, "builds_on": earlier.id}
    return {
        "says": say("leaks.looked", what=" · ".join([*_told(check, {**said, by.name: way}), *again])),
        "body": {"fields": fields},
    }
