"""What people ask of the rig, one struct a kind, and what it answers.

The kind is the last part of the topic and the tag of the JSON, which must agree. The id makes a repeated ask harmless.
A new ask is a struct here, with its line in `ASKS`.
"""

import re
from collections.abc import Mapping, Sequence
from functools import reduce
from operator import or_
from typing import cast

import msgspec

from ingest.wire.checks import CheckKind
from ingest.wire.encoding import MessageError, check_names, check_size, encode
from ingest.wire.marks import Mark, Phase
from ingest.wire.roles import EVERYONE, TECHNICIAN, Role
from ingest.wire.wording import Wording


class Ask(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind"):
    """What every ask has. by: the name of the person, for the mark."""

    id: str
    by: str

    @property
    def kind(self) -> str:
        """The tag of its JSON."""
        return word_of(type(self))


def word_of(ask: type[Ask]) -> str:
    """Give the word for a kind of ask: the tag of its JSON, and the last part of its topic."""
    return cast(str, ask.__struct_config__.tag)


class MoveAsk(Ask, frozen=True, omit_defaults=True, kw_only=True):
    """Refrigerant that was moved, off the scale. confirmed: the person has been asked, and it is so."""

    mass_kg: float
    phase: Phase = ""
    confirmed: bool = False


class AddedAsk(MoveAsk, frozen=True, omit_defaults=True, tag="added"):
    """Refrigerant was added; the phase is how it left the cylinder."""


class RecoveredAsk(MoveAsk, frozen=True, omit_defaults=True, tag="recovered"):
    """Refrigerant was recovered."""


class CorrectionAsk(Ask, frozen=True, omit_defaults=True, tag="correction", kw_only=True):
    """An earlier amount was not so. of: the id of its mark. mass_kg: what it was; None where nothing was moved."""

    of: str
    mass_kg: float | None = None
    confirmed: bool = False


class ReadingAsk(Ask, frozen=True, omit_defaults=True, tag="reading"):
    """Keep all values of this moment."""


class NoteAsk(Ask, frozen=True, omit_defaults=True, tag="note", kw_only=True):
    """Keep these words."""

    text: str


class AcknowledgeAsk(Ask, frozen=True, omit_defaults=True, tag="acknowledge", kw_only=True):
    """A note was read. of: its id."""

    of: str


class ReloadAsk(Ask, frozen=True, omit_defaults=True, tag="reload"):
    """Read the configuration again."""


class CheckAsk(Ask, frozen=True, omit_defaults=True, tag="check", kw_only=True):
    """Compare a channel with what is true.

    other: for one_pipe, the channel to compare with. value, value_accuracy: for reference, what a better instrument
    says and its ± limit, in the house's unit. confirmed: the probe is where the check needs it, whatever it reads.
    """

    check: CheckKind
    channel: str
    other: str = ""
    value: float | None = None
    value_accuracy: float | None = None
    confirmed: bool = False


class CorrectAsk(Ask, frozen=True, omit_defaults=True, tag="correct", kw_only=True):
    """Take off what checks found. checks: the ids of one, or of two at different values."""

    checks: Sequence[str]


ASKS: Mapping[type[Ask], frozenset[Role]] = {
    AddedAsk: TECHNICIAN,
    RecoveredAsk: TECHNICIAN,
    CorrectionAsk: TECHNICIAN,
    ReadingAsk: TECHNICIAN,
    AcknowledgeAsk: TECHNICIAN,
    ReloadAsk: TECHNICIAN,
    CheckAsk: TECHNICIAN,
    CorrectAsk: TECHNICIAN,
    NoteAsk: EVERYONE,
}
"""Every ask that there is, and who may. What can be decoded, `MAY_ASK`, and what needs a handler follow from it."""

MAY_ASK: Mapping[str, frozenset[Role]] = {word_of(ask): roles for ask, roles in ASKS.items()}
"""By the word. The daemon refuses by it, the broker's access list is written from it, and the page shows by it."""

ANY_ASK = reduce(or_, ASKS)
"""All of them as one type, for msgspec."""


class Answer(msgspec.Struct, frozen=True, omit_defaults=True):
    """What became of an ask: the mark that was recorded; why not; or a question, to be asked again as `confirmed`.

    refusal: the reason, where it carries figures; `reason` says the same in one system of units.
    """

    id: str
    ok: bool
    reason: str = ""
    mark: Mark | None = None
    question: Wording | None = None
    refusal: Wording | None = None


_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")
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
    if not _ID.fullmatch(ask.id):
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
    return ask_id if _ID.fullmatch(ask_id) else ""
