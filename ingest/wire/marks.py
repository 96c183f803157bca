"""Marks: the events on a visit's time line, one struct a kind. They are recorded, and then told; none is ever changed.

A kind is the tag `kind` of its JSON. A correction is a mark of its own: what it corrects stays.
"""

from collections.abc import Mapping, Sequence
from typing import ClassVar, Literal

import msgspec

from ingest.wire.checks import Calibration, CheckFound
from ingest.wire.encoding import MessageError, check_size

Phase = Literal["liquid", "vapour", ""]


class MarkBase(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind"):
    """What every mark has. by, role: who made it; empty where the rig itself did. text: in words, if there are any."""

    id: str
    time_s: float
    by: str = ""
    role: str = ""
    text: str = ""

    @property
    def kind(self) -> str:
        """The tag of its JSON."""
        return str(self.__struct_config__.tag)


class Added(MarkBase, frozen=True, omit_defaults=True, tag="added", kw_only=True):
    """Refrigerant put in."""

    mass_kg: float
    phase: Phase = ""
    sign: ClassVar[int] = 1


class Recovered(MarkBase, frozen=True, omit_defaults=True, tag="recovered", kw_only=True):
    """Refrigerant taken out."""

    mass_kg: float
    phase: Phase = ""
    sign: ClassVar[int] = -1


class Correction(MarkBase, frozen=True, omit_defaults=True, tag="correction", kw_only=True):
    """What an earlier amount really was. of: the id of the move. mass_kg: None where nothing was moved at all."""

    of: str
    mass_kg: float | None = None


class ReadingTaken(MarkBase, frozen=True, omit_defaults=True, tag="reading", kw_only=True):
    """All values at one moment, in the house's units, with their standard uncertainties as far as known.

    in_doubt: the channels that were in doubt then, and the figures that come from them. unsettled: superheat and
    subcooling, as far as they had not settled; a record from before this field has none.
    """

    figures: Mapping[str, float | None] = {}
    standard_uncertainties: Mapping[str, float] = {}
    in_doubt: Sequence[str] = ()
    unsettled: Sequence[str] = ()


class Note(MarkBase, frozen=True, omit_defaults=True, tag="note"):
    """Words to keep; a lead's wait until a technician has read them."""


class Acknowledged(MarkBase, frozen=True, omit_defaults=True, tag="acknowledge", kw_only=True):
    """A technician has read a note. of: its id."""

    of: str


class Reloaded(MarkBase, frozen=True, omit_defaults=True, tag="reload"):
    """The configuration was read again; the text says what changed."""


class Checked(MarkBase, frozen=True, omit_defaults=True, tag="check", kw_only=True):
    """A channel was compared with what is true."""

    check: CheckFound


class Corrected(MarkBase, frozen=True, omit_defaults=True, tag="correct", kw_only=True):
    """A channel is read differently from now on."""

    calibration: Calibration


class VisitOpened(MarkBase, frozen=True, omit_defaults=True, tag="visit"):
    """A visit began."""


class SessionBegan(MarkBase, frozen=True, omit_defaults=True, tag="session"):
    """The daemon began to record."""


class LinkChanged(MarkBase, frozen=True, omit_defaults=True, tag="link"):
    """An instrument was lost, or is back."""


class ClockStepped(MarkBase, frozen=True, omit_defaults=True, tag="clock_step"):
    """Wall time jumped."""


class AlarmChanged(MarkBase, frozen=True, omit_defaults=True, tag="alarm"):
    """A reason to stop came, or went."""


class RecordChanged(MarkBase, frozen=True, omit_defaults=True, tag="record"):
    """The record was refused, or is written again."""


OwnMark = VisitOpened | SessionBegan | LinkChanged | ClockStepped | AlarmChanged | RecordChanged
"""What the rig tells by itself."""

Moved = Added | Recovered
Mark = Added | Recovered | Correction | ReadingTaken | Note | Acknowledged | Reloaded | Checked | Corrected | OwnMark

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
