"""What a technician and a lead say to each other: questions, replies, what a lead wants, hold points, a stop.

A lead sees all of a visit and does nothing at it. What they ask for stands in `visit` for everybody, so that a second
lead sees that the first has answered. Nothing of it locks anything: what was done at the unit can always be recorded.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.events import Ask, Confirmable, MarkBase
from ingest.wire.roles import Role
from ingest.wire.wording import Wording

What = Literal["photograph", "reading", "check"]
Before = Literal["first_move", "each_move", "power", "opening"]
"""What a lead may want to be asked before: refrigerant moves, power comes back, the circuit is opened."""


class QuestionAsk(Confirmable, frozen=True, omit_defaults=True, tag="question", kw_only=True):
    """A technician asks a lead. check: the guided check that it is about, if it is about one.

    confirmed: as it is, though a measurement is missing that whoever answers would ask for.
    """

    text: str
    check: str = ""
    photographs: Sequence[str] = ()


class Question(MarkBase, frozen=True, omit_defaults=True, tag="question", kw_only=True):
    """A technician's question, with all values of that moment as `ReadingTaken` has them.

    missing: what the tool had named as missing when it was sent as it is.
    """

    check: str = ""
    photographs: Sequence[str] = ()
    figures: Mapping[str, float | None] = {}
    standard_uncertainties: Mapping[str, float] = {}
    in_doubt: Sequence[str] = ()
    unsettled: Sequence[str] = ()
    left_out: Mapping[str, str] = {}
    missing: Wording | None = None


class ReplyAsk(Ask, frozen=True, omit_defaults=True, tag="reply", kw_only=True):
    """Say something to a question or a note. of: its id."""

    of: str
    text: str


class Reply(MarkBase, frozen=True, omit_defaults=True, tag="reply", kw_only=True):
    """What was said to a question or a note. of: its id."""

    of: str


class WantAsk(Ask, frozen=True, omit_defaults=True, tag="want", kw_only=True):
    """A lead wants a photograph, a reading or a check; the text says of what."""

    what: What
    text: str


class Want(MarkBase, frozen=True, omit_defaults=True, tag="want", kw_only=True):
    """What a lead wants, until a photograph, a reading or a finding names it, or it is dismissed."""

    what: What


class HoldAsk(Ask, frozen=True, omit_defaults=True, tag="hold", kw_only=True):
    """A lead wants to be asked before something is done; the text may say why."""

    before: Before
    text: str = ""


class Hold(MarkBase, frozen=True, omit_defaults=True, tag="hold", kw_only=True):
    """A lead wants to be asked before something is done."""

    before: Before


class ReleaseAsk(Ask, frozen=True, omit_defaults=True, tag="release", kw_only=True):
    """A lead lets it go ahead. of: the id of the hold, or of the stop, which ends by that.

    once: of a hold, only the next time; it holds again after that.
    """

    of: str
    once: bool = False
    text: str = ""


class Released(MarkBase, frozen=True, omit_defaults=True, tag="release", kw_only=True):
    """A lead lets it go ahead."""

    of: str
    once: bool = False


class StopAsk(Ask, frozen=True, omit_defaults=True, tag="stop", kw_only=True):
    """A lead asks the technician to stop at once; the text says why, and what to do."""

    text: str


class Stop(MarkBase, frozen=True, omit_defaults=True, tag="stop", kw_only=True):
    """A lead asks the technician to stop at once. Its time is when the rig had it: it was delivered then.

    asked_at: the id of the visit that was at work then. Where the rig was just going to the next one, it is recorded
    there, and stands in both. Empty in an older record.
    """

    asked_at: str = ""


class SeenAsk(Ask, frozen=True, omit_defaults=True, tag="seen", kw_only=True):
    """A technician's page shows a stop. of: its id."""

    of: str


class Seen(MarkBase, frozen=True, omit_defaults=True, tag="seen", kw_only=True):
    """A technician's page showed a stop; that a person read it is told by their acknowledgement."""

    of: str


class Said(msgspec.Struct, frozen=True):
    """The newest reply in a thread. id: of its mark."""

    id: str
    by: str
    time_s: float
    text: str


class ThreadStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """A question, or a note with replies, that waits for somebody. id: by which to reply, and to acknowledge.

    waits_for: the role whose turn it is. last: the newest of the replies.
    """

    id: str
    by: str
    time_s: float
    text: str
    waits_for: Role
    check: str = ""
    photographs: Sequence[str] = ()
    replies: int = 0
    last: Said | None = None


class WantStands(msgspec.Struct, frozen=True):
    """What a lead wants and has not got. id: by which a photograph, a reading or a finding names it."""

    id: str
    by: str
    time_s: float
    what: What
    text: str


class HoldStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """Before what a lead wants to be asked. id: by which to release it.

    lets_pass: it was released for the next time. passed_s: when it was last done without a release [s since 1970].
    """

    id: str
    by: str
    time_s: float
    before: Before
    text: str = ""
    lets_pass: bool = False
    passed_s: float | None = None


class StopStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """The stop that fills a technician's screen; once all are acknowledged, the last for which no lead has said go on.

    Where they have for all, the last of all. delivered_s, seen_s, acknowledged_s, released_s: when the rig had it, when
    a page first showed it, when a technician said that they have read it, and when a lead said go on [s since 1970];
    None as long as that is not so. saved: whether the disk has all of it.
    """

    id: str
    by: str
    text: str
    delivered_s: float
    seen_s: float | None = None
    seen_by: str = ""
    acknowledged_s: float | None = None
    acknowledged_by: str = ""
    saved: bool = True
    released_s: float | None = None
    released_by: str = ""


class TalkCounts(msgspec.Struct, frozen=True, omit_defaults=True):
    """How many there are of each: those that are open, of which not all may travel, and those that are done with."""

    questions_open: int = 0
    questions_closed: int = 0
    wants_open: int = 0
    wants_closed: int = 0
    holds_open: int = 0
    holds_closed: int = 0
    stops_open: int = 0
    stops_closed: int = 0
