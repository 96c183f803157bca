"""Marks: the events on a visit's time line, one struct a kind. They are recorded, and then told; none is ever changed.

A kind is the tag `kind` of its JSON. A correction is a mark of its own: what it corrects stays.
"""

from collections.abc import Mapping, Sequence
from typing import ClassVar, Literal

import msgspec

from ingest.wire.baselines import BaselineWithdrawn
from ingest.wire.checks import Calibration, CheckFound
from ingest.wire.cylinders import CylinderDescribed
from ingest.wire.encoding import MessageError, check_size
from ingest.wire.events import MarkBase
from ingest.wire.findings import Finding, Grade
from ingest.wire.leaving import ChargeLeft
from ingest.wire.moves import HowKnown, Phase, Purpose, Warned
from ingest.wire.pattern import Chosen, PatternBegun
from ingest.wire.photographs import Photograph, PhotographLost
from ingest.wire.placing import CarriedOver, HoseSet, Placed
from ingest.wire.progress import HandedOver, Resumed, Signed, Waiting
from ingest.wire.proposals import Dismissed, Proposed
from ingest.wire.sheet import Described, Port
from ingest.wire.talk import Hold, Question, Released, Reply, Seen, Stop, StopStands, Want


class MovedBase(MarkBase, frozen=True, omit_defaults=True, kw_only=True):
    """Refrigerant that moved. Fields as in the ask; of an earlier record all but the first two are empty.

    proposal: what the instruments had proposed, if they had.
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
    sign: ClassVar[int]


class Added(MovedBase, frozen=True, omit_defaults=True, tag="added", kw_only=True):
    """Refrigerant put in."""

    sign: ClassVar[int] = 1


class Recovered(MovedBase, frozen=True, omit_defaults=True, tag="recovered", kw_only=True):
    """Refrigerant taken out."""

    sign: ClassVar[int] = -1


class Correction(MarkBase, frozen=True, omit_defaults=True, tag="correction", kw_only=True):
    """What an earlier amount really was. of: the id of the move. mass_kg: None where nothing was moved at all.

    circuit, cylinder: where it really was; empty where that was right.
    """

    of: str
    mass_kg: float | None = None
    circuit: str = ""
    cylinder: str = ""


class ReadingTaken(MarkBase, frozen=True, omit_defaults=True, tag="reading", kw_only=True):
    """All values at one moment, in the house's units, with their standard uncertainties as far as known.

    in_doubt: the channels that were in doubt then, and the figures that come from them. unsettled: superheat and
    subcooling, as far as they had not settled; a record from before this field has none. left_out: what
    had a value that was not of this moment and place, and why: its figure is null. want: that a lead wanted it.
    """

    figures: Mapping[str, float | None] = {}
    standard_uncertainties: Mapping[str, float] = {}
    in_doubt: Sequence[str] = ()
    unsettled: Sequence[str] = ()
    left_out: Mapping[str, str] = {}
    want: str = ""


class Note(MarkBase, frozen=True, omit_defaults=True, tag="note"):
    """Words to keep; a lead's wait until a technician has read them. at_s: the moment of the trace they are about."""

    at_s: float | None = None


class Acknowledged(MarkBase, frozen=True, omit_defaults=True, tag="acknowledge", kw_only=True):
    """Somebody has read a note, a stop, or the newest reply in a thread. of: its id, or that of the thread."""

    of: str


class Reloaded(MarkBase, frozen=True, omit_defaults=True, tag="reload"):
    """The configuration was read again; the text says what changed."""


class Checked(MarkBase, frozen=True, omit_defaults=True, tag="check", kw_only=True):
    """A channel was compared with what is true."""

    check: CheckFound


class Corrected(MarkBase, frozen=True, omit_defaults=True, tag="correct", kw_only=True):
    """A channel is read differently from now on."""

    calibration: Calibration


class VisitOpened(MarkBase, frozen=True, omit_defaults=True, tag="visit", kw_only=True):
    """A visit began, or goes on. unit, circuit: at which, and which circuit is in view; empty in an older record.

    grade: how somebody knew that it is this unit; empty where it is the one of the configuration. carried_over: where
    the instruments are, as far as was said before. stops: for which no lead had said go on where the rig was before:
    they stand here. came_from, carried: of an older record, which said of that the unit
    that the rig was at before, and the channels that were read there.
    """

    unit: str = ""
    circuit: str = ""
    grade: Grade | Literal[""] = ""
    came_from: str = ""
    carried: Sequence[str] = ()
    carried_over: CarriedOver | None = None
    stops: Sequence[StopStands] = ()


class SessionBegan(MarkBase, frozen=True, omit_defaults=True, tag="session"):
    """The daemon began to record."""


class LeftAlone(MarkBase, frozen=True, omit_defaults=True, tag="left_alone"):
    """No technician had recorded anything at the visit for so long, by the clock of the rig [s]."""

    idle_s: float = 0.0


class PowerRead(MarkBase, frozen=True, omit_defaults=True, tag="power_read", kw_only=True):
    """The rig read power where something stood as made dead, and nobody had recorded that power is back.

    channel: what read it. value: in its unit of the SI.
    """

    channel: str = ""
    value: float = 0.0


class FoundSound(MarkBase, frozen=True, omit_defaults=True, tag="found_sound", kw_only=True):
    """All was right with a circuit for a while, and nothing looked wrong: what it shows when it is sound.

    refrigerant, metering_device: of the circuit then; as another one it is another unit. departures: by the name of a
    figure, how far it lies from the middle of all units, and the standard uncertainty of that [K, or 1 of a load].
    after: the id of the newest mark that it knows of; empty in an older record.
    """

    circuit: str = ""
    refrigerant: str = ""
    metering_device: str = ""
    departures: Mapping[str, tuple[float, float]] = {}
    after: str = ""


class LinkChanged(MarkBase, frozen=True, omit_defaults=True, tag="link"):
    """An instrument was lost, or is back."""


class ClockStepped(MarkBase, frozen=True, omit_defaults=True, tag="clock_step"):
    """Wall time jumped."""


class AlarmChanged(MarkBase, frozen=True, omit_defaults=True, tag="alarm"):
    """A reason to stop came, or went."""


class RecordChanged(MarkBase, frozen=True, omit_defaults=True, tag="record"):
    """The record was refused, or is written again."""


OwnMark = (
    VisitOpened
    | SessionBegan
    | LinkChanged
    | ClockStepped
    | AlarmChanged
    | RecordChanged
    | PhotographLost
    | LeftAlone
    | PowerRead
    | FoundSound
)
"""What the rig tells by itself."""

Moved = Added | Recovered
Told = ReadingTaken | Note | Acknowledged | Reloaded | Checked | Corrected
OfTheVisit = Placed | HoseSet | Waiting | Resumed | HandedOver | Signed | Described | PatternBegun
Kept = Moved | Finding | Placed | Chosen
"""What a proposal may become: each names it."""
OfBaselines = BaselineWithdrawn
OfProposals = Finding | Proposed | Dismissed | Chosen
OfMoves = CylinderDescribed | Warned | ChargeLeft
Talked = Question | Reply | Want | Hold | Released | Stop | Seen
Mark = Moved | Correction | OfMoves | OfProposals | OfBaselines | Told | OfTheVisit | Talked | Photograph | OwnMark

_decoder = msgspec.json.Decoder(Mark)


def decode_mark(payload: bytes) -> Mark:
    """Decode a mark.

    Raises:
        MessageError: too large, not JSON, or no mark that there is.

    """
    check_size(payload)
    try:
        mark: Mark = _decoder.decode(payload)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise MessageError(str(error)) from error
    return mark
