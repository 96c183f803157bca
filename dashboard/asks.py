"""What people ask of the rig: checked here, decided and recorded by the daemon alone."""

import uuid
from collections.abc import Callable
from typing import Literal

import msgspec

from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from calc.units import parse, parse_accuracy
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import MAY_ASK, Visitor
from ingest.wire.messages import Answer, Ask, AskKind, CheckKind, Mark, encode, topic

ANSWER_WITHIN_S = 3.0
LONGEST_TEXT = 500


class AskBody(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a page or a script sends.

    id: makes a repetition harmless; made up where absent. mass: with its unit, such as "6 oz" or "170 g". check,
    channel, other: for a check; against a better instrument also what that says and its ± limit, with units, such as
    "104 degF" and "0.2 degF". checks: what to correct by.
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


def new_id() -> str:
    """Make up the id of a request."""
    return uuid.uuid4().hex


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


async def submit(hub: Hub, who: Visitor, kind: AskKind, body: AskBody) -> Mark | None:
    """Ask the rig to record something; returns the mark that it made.

    Raises:
        AskError: this visitor may not ask that, it is not whole, or the rig refused or did not answer.

    """
    if who.role not in MAY_ASK[kind]:
        raise AskError(403, f"A {who.role} watches; only the technician at the unit does that.")
    if hub.rig is None:
        raise AskError(503, "No rig has been heard yet.")
    ask = _ask(who, kind, body)
    answer: Answer = await hub.ask(topic(hub.rig, f"ask/{kind}"), encode(ask), ask.id, ANSWER_WITHIN_S)
    if not answer.ok:
        raise AskError(409, f"The rig did not record it: {answer.reason}")
    return answer.mark


def _ask(who: Visitor, kind: AskKind, body: AskBody) -> Ask:
    if len(body.text) > LONGEST_TEXT:
        raise AskError(400, f"A note may have {LONGEST_TEXT} characters; this has {len(body.text)}.")
    if kind == "note" and not body.text.strip():
        raise AskError(400, "The note is empty.")
    moves_refrigerant = kind in ("added", "recovered")
    if moves_refrigerant and not body.phase:
        raise AskError(400, "Say whether it was liquid or vapour.")
    return Ask(
        id=body.id or new_id(),
        by=who.name,
        role=who.role,
        text=body.text.strip(),
        mass_kg=mass_kg(body.mass) if moves_refrigerant else None,
        phase=body.phase if moves_refrigerant else "",
        of=body.of,
        check=body.check,
        channel=body.channel,
        other=body.other,
        value=_read(body, body.value, parse),
        value_accuracy=_read(body, body.value_accuracy, parse_accuracy),
        checks=body.checks,
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
