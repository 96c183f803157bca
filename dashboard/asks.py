"""What people ask of the rig: checked here, decided and recorded by the daemon alone."""

import uuid
from collections.abc import Callable, Mapping
from functools import partial
from typing import Literal, get_args

import msgspec

from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from calc.units import parse, parse_accuracy
from dashboard.errors import AskError, AskQuestionError
from dashboard.hub import Hub
from dashboard.roles import Visitor
from ingest.wire.asks import MAY_ASK
from ingest.wire.messages import (
    AcknowledgeAsk,
    AddedAsk,
    Ask,
    CheckAsk,
    CheckKind,
    CorrectAsk,
    CorrectionAsk,
    Mark,
    MessageError,
    MoveAsk,
    NoteAsk,
    ReadingAsk,
    RecoveredAsk,
    ReloadAsk,
    encode_ask,
    topic,
)
from ingest.wire.roles import asking_as

ANSWER_WITHIN_S = 3.0
LONGEST_TEXT = 500


class AskBody(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a page or a script sends.

    id: makes a repetition harmless; made up where absent. mass: with its unit, such as "6 oz" or "170 g". check,
    channel, other: for a check; against a better instrument also what that says and its ± limit, with units, such as
    "104 degF" and "0.2 degF". checks: what to correct by. of: the note or
    the amount that is meant; a correction without a mass withdraws it. confirmed: the person was asked, and it is so.
    """

    id: str = ""
    text: str = ""
    mass: str = ""
    phase: Literal["liquid", "vapour", ""] = ""
    of: str = ""
    check: CheckKind | None = None
    channel: str = ""
    other: str = ""
    value: str = ""
    value_accuracy: str = ""
    checks: tuple[str, ...] = ()
    confirmed: bool = False


def new_id() -> str:
    """Make up the id of a request."""
    return uuid.uuid4().hex


def id_of_touch(opening: str, what: str, clicks: int | str) -> str:
    """Name a touch: sent twice, as over a bad line, it is the same, and the rig records it once. opening: of a page."""
    return f"{opening}-{what}-{clicks}"


def mass_kg(text: str) -> float:
    """Read an amount of refrigerant.

    Raises:
        AskError: it is no mass, or not more than nothing.

    """
    try:
        mass = parse(text, Quantity.MASS)
    except CalcError as error:
        raise AskError(400, f"The amount cannot be read: {error}") from error
    if mass <= 0:
        raise AskError(400, "The amount must be more than nothing.")
    return mass


async def submit(hub: Hub, who: Visitor, kind: str, body: AskBody) -> Mark | None:
    """Ask the rig to record something; returns the mark that it made.

    Raises:
        AskQuestionError: the rig asks back first; ask again with `confirmed` once the person says that it is so.
        AskError: this visitor may not ask that, it is not whole, or the rig refused or did not answer.

    """
    if who.role not in MAY_ASK[kind]:
        raise AskError(403, f"A {who.role} watches; only the technician at the unit does that.")
    if hub.rig is None:
        raise AskError(503, "No rig has been heard yet.")
    ask = MADE_FROM[kind]((body.id or new_id(), who.name), body)
    asking = asking_as(hub.broker_user, who.role)
    try:
        payload = encode_ask(ask)
    except MessageError as error:
        raise AskError(400, f"The rig could not read that: {error}.") from error
    answer = await hub.ask(topic(hub.rig, f"ask/{asking}/{kind}"), payload, ask.id, ANSWER_WITHIN_S)
    if answer.question:
        raise AskQuestionError(answer.question)
    if not answer.ok:
        raise AskError(409, f"The rig did not record it: {answer.reason}", answer.refusal)
    return answer.mark


Head = tuple[str, str]
"""What every ask begins with: id, by."""


def _move(make: type[MoveAsk], head: Head, body: AskBody) -> Ask:
    if not body.phase:
        raise AskError(400, "Say whether it was liquid or vapour.")
    return make(*head, mass_kg=mass_kg(body.mass), phase=body.phase, confirmed=body.confirmed)


def _correction(head: Head, body: AskBody) -> Ask:
    was_kg = mass_kg(body.mass) if body.mass else None
    return CorrectionAsk(*head, of=body.of, mass_kg=was_kg, confirmed=body.confirmed)


def _note(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise AskError(400, f"A note may have {LONGEST_TEXT} characters; this has {len(text)}.")
    if not text.strip():
        raise AskError(400, "The note is empty.")
    return text.strip()


def _check(head: Head, body: AskBody) -> Ask:
    if body.check is None:
        raise AskError(400, f"Say which check: one of {', '.join(get_args(CheckKind))}.")
    return CheckAsk(
        *head,
        check=body.check,
        channel=body.channel,
        other=body.other,
        value=_read(body, body.value, parse),
        value_accuracy=_read(body, body.value_accuracy, parse_accuracy),
        confirmed=body.confirmed,
    )


def _read(body: AskBody, text: str, parse_text: Callable[[str, Quantity], float]) -> float | None:
    """Read a value of the channel that is checked; None where there is none."""
    if not text:
        return None
    if body.channel not in CHANNELS:
        raise AskError(400, f"There is no channel {body.channel!r}.")
    try:
        return parse_text(text, CHANNELS[body.channel])
    except CalcError as error:
        raise AskError(400, f"The value cannot be read: {error}") from error


MADE_FROM: Mapping[str, Callable[[Head, AskBody], Ask]] = {
    "added": partial(_move, AddedAsk),
    "recovered": partial(_move, RecoveredAsk),
    "correction": _correction,
    "reading": lambda head, _: ReadingAsk(*head),
    "acknowledge": lambda head, body: AcknowledgeAsk(*head, of=body.of),
    "reload": lambda head, _: ReloadAsk(*head),
    "check": _check,
    "correct": lambda head, body: CorrectAsk(*head, checks=body.checks),
    "note": lambda head, body: NoteAsk(*head, text=_note(body.text)),
}
"""How each ask is made from what a page sends; by its word."""
