"""How far the visit is, and how it waits, is handed over and ends, as cards."""

from collections.abc import Sequence
from dataclasses import replace

from dashboard import words
from dashboard.sentences import say
from dashboard.visit.beginning import left_open, words_open
from dashboard.visit.cards import Card, Field, Form, Key
from ingest.wire.messages import Checklist, Visit

_HANDOVER = "handover"
"""The word of the check with which a visit ends."""


def standing(visit: Visit, tag: str) -> list[Card]:
    """Make the card of a visit that does not go on, or is over: what is left then is another. tag: of the unit."""
    progress = visit.progress
    if progress.state == "open":
        return [_left(progress.left_s, tag)] if progress.left_s else []
    if progress.state == "signed":
        return [_signed(progress.since_s, tag)]
    why = words.WAITS_FOR.get(progress.reason, progress.reason)
    return [
        Card(
            "waiting",
            say("progress.waits_for", what=why),
            (progress.text,) if progress.text else (),
            sign=("wait", "care"),
            time_s=progress.since_s,
            keys=(Key(say("progress.resume"), "resume", main=True),),
        )
    ]


def _signed(since_s: float | None, tag: str) -> Card:
    return Card(
        "signed",
        say("progress.signed"),
        (say("progress.what_is_left"),),
        sign=("check", "good"),
        time_s=since_s,
        keys=(
            Key(say("progress.another_unit"), shows="units", only_for="technician"),
            _new_visit(tag),
        ),
    )


def _left(left_s: float, tag: str) -> Card:
    """Ask whether it is still the same visit: the clock that says how long it was left may have been wrong."""
    return Card(
        "left",
        say("progress.left"),
        (say("progress.left_for", hours=str(round(left_s / 3600.0))),),
        sign=("wait", "care"),
        keys=(Key(say("progress.same_visit"), "resume"), _new_visit(tag)),
    )


def _new_visit(tag: str) -> Key:
    return Key(say("progress.new_visit"), "open", {"fields": {"unit": tag, "grade": "said"}}, main=True)


def closing(checklists: Sequence[Checklist], visit: Visit, name: str) -> list[Card]:
    """Make the card that ends a visit, once what the next person must know is written. name: of who is at work.

    What is left open stands above its key, all of it, so that the rig need not ask about that again: the key names it.
    """
    if visit.progress.state == "signed" or not any(it.check == _HANDOVER for it in visit.findings):
        return []
    hoses = (say("progress.hose_open", port=port) for port in visit.hoses)
    card = sign(name, (*hoses, *left_open(checklists, visit)))
    checks = [f"sign.check_open:{word}" for word in words_open(checklists, visit)]
    asked = ["sign.name", *(f"sign.hose_open:{port}" for port in visit.hoses), *checks]
    yes = {"confirmed": True, "confirms": asked}
    return [replace(card, keys=tuple(replace(key, body=yes) for key in card.keys))]


def form(name: str) -> Form:
    """Make the form by which a visit waits, is handed over, and is signed. name: of who is at work, and signs."""
    wait = Card(
        "wait",
        say("progress.wait"),
        fields=(
            Field("reason", say("progress.for_what"), "choice", options=tuple(words.WAITS_FOR.items()), needed=True),
            Field("text", say("progress.more"), "words"),
        ),
        keys=(Key(say("progress.wait"), "wait", main=True),),
    )
    hand_over = Card(
        "hand-over",
        say("progress.hand_over"),
        fields=(
            Field("to", say("progress.to_whom"), needed=True),
            Field("text", say("progress.must_know"), "words"),
        ),
        keys=(Key(say("progress.hand_over"), "hand_over", main=True),),
    )
    return Form("progress", say("progress.title"), (wait, hand_over, sign(name)))


def sign(name: str, is_open: Sequence[str] = ()) -> Card:
    """Make the card that seals the visit, in the name of who is at work unless another is written."""
    return Card(
        "sign",
        say("progress.sign"),
        (*is_open, say("progress.what_signing_does")),
        fields=(
            Field("name", say("progress.whose_name"), value=name, needed=True),
            Field("strokes", say("progress.drawn"), "signature"),
            Field("company", say("progress.company"), optional=True),
            Field("certificate", say("progress.certificate"), optional=True),
            Field("owner", say("progress.owner"), optional=True),
            Field("owner_strokes", say("progress.owner_drawn"), "signature", optional=True),
        ),
        keys=(Key(say("progress.sign"), "sign", main=True),),
    )
