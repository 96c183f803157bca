"""What people ask of the rig: checked here, decided and recorded by the daemon alone."""

import uuid
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from typing import Any, Literal, get_args

import msgspec
from msgspec.structs import replace

from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from calc.units import parse, parse_accuracy
from dashboard.entered import Written, entered
from dashboard.errors import AskError, AskQuestionError, AskWaitsError
from dashboard.hub import Hub
from dashboard.looked import looked
from dashboard.roles import Visitor, may_not
from ingest.wire.events import Confirmable, word_of
from ingest.wire.messages import (
    AcknowledgeAsk,
    AddedAsk,
    Ask,
    CheckAsk,
    CheckKind,
    ChooseAsk,
    CorrectAsk,
    CorrectionAsk,
    CylinderAsk,
    DescribeAsk,
    DismissAsk,
    FindingAsk,
    HandOverAsk,
    HoldAsk,
    HoseAsk,
    KeepAsk,
    LeaveChargeAsk,
    Mark,
    MessageError,
    MoveAsk,
    NoteAsk,
    OpenAsk,
    PatternAsk,
    PhotographAsk,
    PlaceAsk,
    QuestionAsk,
    ReadingAsk,
    RecoveredAsk,
    ReleaseAsk,
    ReloadAsk,
    ReplyAsk,
    ResumeAsk,
    SeenAsk,
    Sheet,
    SignAsk,
    StopAsk,
    WaitAsk,
    WantAsk,
    WithdrawBaselineAsk,
    encode_ask,
    topic,
)
from ingest.wire.roles import asking_as

ANSWER_WITHIN_S = 3.0
LONGEST_TEXT = 500


class AskBody(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a page or a script sends.

    id: makes a repetition harmless; made up where absent. visit: the id of the one that the person saw: the rig refuses
    it where another is at work by now. mass: with its unit, such as "6 oz" or "170 g". check,
    channel, other: for a check; against a better instrument also what that says and its ± limit, with units, such as
    "104 degF" and "0.2 degF". checks: what to correct by. of: the note, the amount or the proposal that is meant; a
    correction without a mass withdraws it. sheet: of a unit to describe. confirmed: the person was asked, and it is so;
    confirms: by the names of what they were asked.
    fields: of an ask of the visit, as docs/asyncapi.yaml has them, but for its id, kind, by, confirmed and confirms; of
    an amount or a correction those beside its mass and phase.
    written: values among them as a person wrote them, by their paths, each with its kind of quantity.
    """

    id: str = ""
    visit: str = ""
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
    sheet: Sheet | None = None
    confirmed: bool = False
    confirms: tuple[str, ...] = ()
    fields: Mapping[str, Any] = {}
    written: Written = {}


def new_id() -> str:
    """Make up the id of a request."""
    return uuid.uuid4().hex


def seen(hub: Hub) -> str:
    """Name the visit that a page shows now, whose touches the page's own server makes asks of."""
    return hub.about.visit if hub.about else ""


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
        AskWaitsError: it is shown, and not recorded yet; ask again under its id.
        AskError: this visitor may not ask that, it is not whole, or the rig refused or did not answer.

    """
    if who.asks_as is None or not who.may(kind):
        raise AskError(403, may_not(who.role))
    if hub.rig is None:
        raise AskError(503, "No rig has been heard yet.")
    known_pa = hub.about.barometric_pressure_pa if hub.about else None
    whole = entered(body.fields, body.written, barometric_pressure_pa=known_pa)
    made = MADE_FROM[kind]((body.id or new_id(), who.name), replace(body, fields=whole, written={}))
    ask = replace(made, visit=body.visit) if body.visit else made
    asking = asking_as(hub.broker_user, who.asks_as)
    try:
        payload = encode_ask(ask)
    except MessageError as error:
        raise AskError(400, f"The rig could not read that: {error}.") from error
    answer = await hub.ask(topic(hub.rig, f"ask/{asking}/{kind}"), payload, ask.id, ANSWER_WITHIN_S)
    if answer.question:
        today = datetime.now().astimezone().date()
        circuit = str(body.fields.get("circuit", ""))
        raise AskQuestionError(
            answer.question, answer.asks, looked(answer.question, hub.checklists, circuit, today, hub.visit, hub.marks)
        )
    if answer.waits:
        raise AskWaitsError(409, f"The rig has not recorded it yet: {answer.reason}")
    if not answer.ok:
        raise AskError(409, f"The rig did not record it: {answer.reason}", answer.refusal)
    return answer.mark


Head = tuple[str, str]
"""What every ask begins with: id, by."""


def _move(make: type[MoveAsk], head: Head, body: AskBody) -> Ask:
    if not body.phase:
        raise AskError(400, "Say whether it was liquid or vapour.")
    known = {"mass_kg": mass_kg(body.mass), "phase": body.phase}
    return _as_sent(make, head, replace(body, fields={**body.fields, **known}))


def _correction(head: Head, body: AskBody) -> Ask:
    known = {"of": body.of, "mass_kg": mass_kg(body.mass) if body.mass else None}
    return _as_sent(CorrectionAsk, head, replace(body, fields={**body.fields, **known}))


def _note(head: Head, body: AskBody) -> Ask:
    text = body.text.strip()
    if len(body.text) > LONGEST_TEXT:
        raise AskError(400, f"A note may have {LONGEST_TEXT} characters; this has {len(body.text)}.")
    if not text:
        raise AskError(400, "The note is empty.")
    return _as_sent(NoteAsk, head, replace(body, fields={**body.fields, "text": text}))


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
        **_yes(body),
    )


def _describe(head: Head, body: AskBody) -> Ask:
    if body.sheet is None:
        return _as_sent(DescribeAsk, head, body)
    return DescribeAsk(*head, sheet=body.sheet, **_yes(body))


def _yes(body: AskBody) -> dict[str, Any]:
    return {"confirmed": True, "confirms": body.confirms} if body.confirmed else {}


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


def _as_sent(kind: type[Ask], head: Head, body: AskBody) -> Ask:
    """Make an ask of fields that stand as they travel: the rig looks at what they say."""
    ask_id, by = head
    yes = _yes(body) if issubclass(kind, Confirmable) else {}
    said = {**body.fields, **yes, "kind": word_of(kind), "id": ask_id, "by": by}
    try:
        return msgspec.convert(said, kind)
    except msgspec.ValidationError as error:
        raise AskError(400, f"That cannot be asked: {error}.") from error


def _keep(head: Head, body: AskBody) -> Ask:
    was_kg = mass_kg(body.mass) if body.mass else None
    per = body.fields.get("per", ())
    named = tuple(map(str, per if isinstance(per, list | tuple) else [per]))
    chosen = body.fields.get("choices", {})
    choices = {str(name): str(option) for name, option in chosen.items()} if isinstance(chosen, dict) else {}
    return KeepAsk(*head, of=body.of, mass_kg=was_kg, phase=body.phase, per=named, choices=choices, **_yes(body))


MADE_FROM: Mapping[str, Callable[[Head, AskBody], Ask]] = {
    "added": partial(_move, AddedAsk),
    "recovered": partial(_move, RecoveredAsk),
    "correction": _correction,
    "reading": partial(_as_sent, ReadingAsk),
    "acknowledge": lambda head, body: AcknowledgeAsk(*head, of=body.of),
    "reload": lambda head, _: ReloadAsk(*head),
    "check": _check,
    "correct": lambda head, body: CorrectAsk(*head, checks=body.checks),
    "keep": _keep,
    "dismiss": lambda head, body: DismissAsk(*head, of=body.of, text=body.text.strip(), **_yes(body)),
    "finding": partial(_as_sent, FindingAsk),
    "describe": _describe,
    "note": _note,
    "open": partial(_as_sent, OpenAsk),
    "place": partial(_as_sent, PlaceAsk),
    "hose": partial(_as_sent, HoseAsk),
    "wait": partial(_as_sent, WaitAsk),
    "resume": partial(_as_sent, ResumeAsk),
    "hand_over": partial(_as_sent, HandOverAsk),
    "sign": partial(_as_sent, SignAsk),
    "cylinder": partial(_as_sent, CylinderAsk),
    "question": partial(_as_sent, QuestionAsk),
    "reply": partial(_as_sent, ReplyAsk),
    "want": partial(_as_sent, WantAsk),
    "hold": partial(_as_sent, HoldAsk),
    "release": partial(_as_sent, ReleaseAsk),
    "stop": partial(_as_sent, StopAsk),
    "seen": partial(_as_sent, SeenAsk),
    "photograph": partial(_as_sent, PhotographAsk),
    "pattern": partial(_as_sent, PatternAsk),
    "choose": partial(_as_sent, ChooseAsk),
    "leave_charge": partial(_as_sent, LeaveChargeAsk),
    "withdraw_baseline": partial(_as_sent, WithdrawBaselineAsk),
}
"""How each ask is made from what a page sends; by its word."""
