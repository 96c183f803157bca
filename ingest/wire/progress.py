"""How far a visit is: opened at a unit, waiting, gone on with, handed over, signed."""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.events import Ask, Confirmable, MarkBase
from ingest.wire.findings import Grade

Strokes = Sequence[Sequence[tuple[float, float]]]
"""A signature as it was drawn: strokes of points (x, y), each as a share of the field, from its upper left corner."""

WaitReason = Literal["parts", "owner", "lead", "weather", "curing", "settling", "other"]


class OpenAsk(Confirmable, frozen=True, omit_defaults=True, tag="open", kw_only=True):
    """Work at another unit of the register from now on. unit: its tag. grade: how it is known to be this one.

    circuit: the one that the probes are on; empty for the first of its sheet. confirmed: with a hose left open; and of
    the unit at work, that its visit ends unsigned and this is another.
    """

    unit: str
    circuit: str = ""
    grade: Grade = "seen"


class WaitAsk(Ask, frozen=True, omit_defaults=True, tag="wait", kw_only=True):
    """Nothing goes on for a reason; the text may say more."""

    reason: WaitReason
    text: str = ""


class Waiting(MarkBase, frozen=True, omit_defaults=True, tag="wait", kw_only=True):
    """The visit waits."""

    reason: WaitReason


class ResumeAsk(Ask, frozen=True, omit_defaults=True, tag="resume"):
    """It goes on."""


class Resumed(MarkBase, frozen=True, omit_defaults=True, tag="resume"):
    """The visit goes on after it waited, or was left alone."""


class HandOverAsk(Confirmable, frozen=True, omit_defaults=True, tag="hand_over", kw_only=True):
    """Another technician takes over. to: their name; the text is what they must know.

    confirmed: the person was asked, and it is so.
    """

    to: str
    text: str = ""


class HandedOver(MarkBase, frozen=True, omit_defaults=True, tag="hand_over", kw_only=True):
    """Another technician has taken over."""

    to: str


class SignAsk(Confirmable, frozen=True, omit_defaults=True, tag="sign", kw_only=True):
    """The visit is over, and this name stands for it. confirmed: with what is still open.

    strokes: the signature, if it was drawn. company, certificate: of who signs, with its number and type. owner: name
    and address of the owner, or of who stood for them, and owner_strokes: their signature, if they gave one.
    """

    name: str
    strokes: Strokes = ()
    company: str = ""
    certificate: str = ""
    owner: str = ""
    owner_strokes: Strokes = ()


class Signed(MarkBase, frozen=True, omit_defaults=True, tag="sign", kw_only=True):
    """The visit is over. digest: of every mark before, in order (`ingest.visit.seal`); the rest as it was asked."""

    name: str
    digest: str
    strokes: Strokes = ()
    company: str = ""
    certificate: str = ""
    owner: str = ""
    owner_strokes: Strokes = ()


class Progress(msgspec.Struct, frozen=True, omit_defaults=True):
    """How far the visit is. technician: who works at it, as far as known. since_s: of this state [s since 1970].

    left_s: it was taken up again after so long, by the clock of the rig, and no technician has gone on with it yet; 0
    else. Whether it is the same visit is for a person to say.
    """

    state: Literal["open", "waiting", "signed"] = "open"
    since_s: float | None = None
    technician: str = ""
    reason: WaitReason | Literal[""] = ""
    text: str = ""
    digest: str = ""
    left_s: float = 0.0
