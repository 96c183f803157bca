"""What people ask of the rig, one struct a kind, and what it answers.

The kind is the last part of the topic and the tag of the JSON, which must agree. The id makes a repeated ask harmless.
A new ask is a struct here, with its line in `ASKS`.
"""

import re
from collections.abc import Mapping, Sequence
from functools import reduce
from operator import or_
from typing import Literal

import msgspec

from ingest.wire.baselines import WithdrawBaselineAsk
from ingest.wire.checks import CheckKind
from ingest.wire.cylinders import CylinderAsk
from ingest.wire.encoding import MessageError, check_names, check_size, encode
from ingest.wire.events import Ask, Confirmable, word_of
from ingest.wire.findings import FindingAsk
from ingest.wire.leaving import LeaveChargeAsk
from ingest.wire.marks import Mark
from ingest.wire.moves import HowKnown, Phase, Purpose
from ingest.wire.pattern import ChooseAsk, PatternAsk
from ingest.wire.photographs import PhotographAsk
from ingest.wire.placing import HoseAsk, PlaceAsk
from ingest.wire.progress import HandOverAsk, OpenAsk, ResumeAsk, SignAsk, WaitAsk
from ingest.wire.proposals import DismissAsk, KeepAsk
from ingest.wire.roles import EVERYONE, LEAD, TECHNICIAN, Role
from ingest.wire.sheet import DescribeAsk, Port
from ingest.wire.talk import HoldAsk, QuestionAsk, ReleaseAsk, ReplyAsk, SeenAsk, StopAsk, WantAsk
from ingest.wire.wording import Wording


class MoveAsk(Confirmable, frozen=True, omit_defaults=True, kw_only=True):
    """Refrigerant that was moved, off the scale. confirmed: the person has been asked, and it is so.

    circuit: of the unit's sheet; empty: the one in view. cylinder: by its name. how: the mass is known; within_share:
    of a guess, by which share of it it may be off. port: it went through. purpose: what it was for. proposal: that it
    was kept from.
    """

    mass_kg: float
    phase: Phase = ""
    circuit: str = ""
    cylinder: str = ""
    how: HowKnown = ""
    within_share: float | None = None
    port: Port | Literal[""] = ""
    purpose: Purpose = ""
    proposal: str = ""


class AddedAsk(MoveAsk, frozen=True, omit_defaults=True, tag="added"):
    """Refrigerant was added; the phase is how it left the cylinder."""


class RecoveredAsk(MoveAsk, frozen=True, omit_defaults=True, tag="recovered"):
    """Refrigerant was recovered."""


class CorrectionAsk(Confirmable, frozen=True, omit_defaults=True, tag="correction", kw_only=True):
    """An earlier amount was not so. of: the id of its mark. mass_kg: what it was; 0 or None where nothing was moved.

    circuit, cylinder: where it really was, with its mass_kg; empty where that was right.
    """

    of: str
    mass_kg: float | None = None
    circuit: str = ""
    cylinder: str = ""


class ReadingAsk(Ask, frozen=True, omit_defaults=True, tag="reading", kw_only=True):
    """Keep all values of this moment. want: that a lead wanted it."""

    want: str = ""


class NoteAsk(Ask, frozen=True, omit_defaults=True, tag="note", kw_only=True):
    """Keep these words. at_s: the moment of the trace that they are about [s since 1970]; None for none."""

    text: str
    at_s: float | None = None


class AcknowledgeAsk(Ask, frozen=True, omit_defaults=True, tag="acknowledge", kw_only=True):
    """A note, a stop or the newest reply in a thread was read. of: its id, or that of the thread."""

    of: str


class ReloadAsk(Ask, frozen=True, omit_defaults=True, tag="reload"):
    """Read the configuration again."""


class CheckAsk(Confirmable, frozen=True, omit_defaults=True, tag="check", kw_only=True):
    """Compare a channel with what is true.

    other: for one_pipe, the channel to compare with. value, value_accuracy: for reference, what a better instrument
    says and its ± limit, in the house's unit. confirmed: the probe is where the check needs it, whatever it reads.
    """

    check: CheckKind
    channel: str
    other: str = ""
    value: float | None = None
    value_accuracy: float | None = None


class CorrectAsk(Ask, frozen=True, omit_defaults=True, tag="correct", kw_only=True):
    """Take off what checks found. checks: the ids of one, or of two at different values."""

    checks: Sequence[str]


ASKS: Mapping[type[Ask], frozenset[Role]] = {
    AddedAsk: TECHNICIAN,
    RecoveredAsk: TECHNICIAN,
    CorrectionAsk: TECHNICIAN,
    ReadingAsk: TECHNICIAN,
    AcknowledgeAsk: EVERYONE,
    ReloadAsk: TECHNICIAN,
    CheckAsk: TECHNICIAN,
    CorrectAsk: TECHNICIAN,
    KeepAsk: TECHNICIAN,
    DismissAsk: TECHNICIAN,
    FindingAsk: TECHNICIAN,
    DescribeAsk: TECHNICIAN,
    NoteAsk: EVERYONE,
    CylinderAsk: TECHNICIAN,
    OpenAsk: TECHNICIAN,
    PlaceAsk: TECHNICIAN,
    HoseAsk: TECHNICIAN,
    WaitAsk: TECHNICIAN,
    ResumeAsk: TECHNICIAN,
    HandOverAsk: TECHNICIAN,
    SignAsk: TECHNICIAN,
    QuestionAsk: TECHNICIAN,
    ReplyAsk: EVERYONE,
    WantAsk: LEAD,
    HoldAsk: LEAD,
    ReleaseAsk: LEAD,
    StopAsk: LEAD,
    SeenAsk: TECHNICIAN,
    PhotographAsk: TECHNICIAN,
    PatternAsk: TECHNICIAN,
    ChooseAsk: TECHNICIAN,
    WithdrawBaselineAsk: EVERYONE,
    LeaveChargeAsk: TECHNICIAN,
}
"""Every ask that there is, and who may. What can be decoded, `MAY_ASK`, and what needs a handler follow from it."""

MAY_ASK: Mapping[str, frozenset[Role]] = {word_of(ask): roles for ask, roles in ASKS.items()}
"""By the word. The daemon refuses by it, the broker's access list is written from it, and the page shows by it."""

APPENDED = frozenset[type[Ask]](
    {
        CorrectionAsk, NoteAsk, AcknowledgeAsk, ReplyAsk, SeenAsk,  # appended, and shown as later
        StopAsk,  # never too late
        ReleaseAsk,  # a stop outlasts a signature
        OpenAsk, DescribeAsk, ReloadAsk, WithdrawBaselineAsk,  # of the rig and the register
    }
)  # fmt: skip
"""What may still be asked of a visit that is signed. The rig refuses the rest, and a page shows no key for it."""

ANY_ASK = reduce(or_, ASKS)
"""All of them as one type, for msgspec."""


class Answer(msgspec.Struct, frozen=True, omit_defaults=True):
    """What became of an ask: the mark that was recorded; why not; or a question, to be asked again as `confirmed`.

    asks: names all that a yes has to confirm, also what an earlier yes did; the question is about the rest. refusal:
    the reason, where it carries figures; `reason` says the same in one system of units. waits: it is shown,
    and not recorded yet; whoever asked asks again under the same id until it is: a rig that ends before has lost it.
    """

    id: str
    ok: bool
    reason: str = ""
    mark: Mark | None = None
    question: Wording | None = None
    asks: Sequence[str] = ()
    refusal: Wording | None = None
    waits: bool = False


ID = re.compile(r"[A-Za-z0-9_-]{1,64}")
"""What an id may be: it is a part of the answer's topic."""

_decoder = msgspec.json.Decoder(ANY_ASK)


def encode_ask(ask: Ask) -> bytes:
    """Encode an ask.

    Raises:
        MessageError: nobody would read it: it is too large, or its id is none.

    """
    payload = encode(ask)
    check_size(payload)
    _check_id(ask)
    return payload


def decode_ask(payload: bytes) -> Ask:
    """Decode an ask.

    Raises:
        MessageError: too large, not JSON, with a name twice, no ask that there is, or its id is none.

    """
    check_size(payload)
    try:
        ask: Ask = _decoder.decode(payload)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise MessageError(str(error)) from error
    check_names(payload)
    _check_id(ask)
    return ask


def _check_id(ask: Ask) -> None:
    if not ID.fullmatch(ask.id):
        raise MessageError("its id is not 1 to 64 letters, digits, - and _")


class _OnlyId(msgspec.Struct, frozen=True):
    id: str


_id_decoder = msgspec.json.Decoder(_OnlyId)


def read_id(payload: bytes) -> str:
    """Read the id of what is no ask; empty where there is none that could be answered to."""
    try:
        check_size(payload)
        ask_id = _id_decoder.decode(payload).id
    except (MessageError, msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        return ""
    return ask_id if ID.fullmatch(ask_id) else ""
