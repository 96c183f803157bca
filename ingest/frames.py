"""What passes between a link and a decoder: bytes with the moment they arrived.

A link moves bytes and stamps them; it knows no meaning. A decoder is a pure function from a frame to readings; it
does no I/O, reads no clock, and raises only FrameError.
"""

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple, Protocol, Self, runtime_checkable


class Stamp(NamedTuple):
    """When something arrived: monotonic for ages and rates, wall time for the record."""

    monotonic_ns: int
    time_ns: int

    @classmethod
    def now(cls) -> "Stamp":
        """Stamp this moment. Call it where the bytes come in, in the thread that reads them."""
        return cls(time.monotonic_ns(), time.time_ns())


@dataclass(frozen=True, slots=True)
class Frame:
    """One message of an instrument.

    `source` says which of the instrument's outputs it came from where there are several: the query of a SCPI
    answer, the description of a Bluetooth characteristic. It is empty where one stream carries everything.
    """

    payload: bytes
    stamp: Stamp
    source: str = ""


@dataclass(frozen=True, slots=True)
class Notice:
    """What is wrong with a part of an instrument while its link stands; empty once it is right again.

    part: such as a query, or a device on a line that several share.
    """

    part: str
    problem: str


Delivered = Frame | Notice
Deliver = Callable[[Delivered], None]
Connected = Callable[[], None]


class FrameError(ValueError):
    """A frame that cannot be decoded: not ours, damaged, or not plausible. It is counted, never guessed at."""


class Unreadable(Enum):
    """Why an instrument gave no number in a frame that is itself sound."""

    OVERLOAD = "overload"
    SENSOR_FAULT = "sensor_fault"
    UNKNOWN = "unknown"
    NOT_LIVE = "not_live"
    HELD = "held"
    OTHER_FUNCTION = "other_function"
    LOW_BATTERY = "low_battery"
    UNSTEADY = "unsteady"


@dataclass(frozen=True, slots=True)
class Malformed:
    """Why one value of a frame cannot be read, while others beside it can."""

    reason: str


class Earlier(float):
    """A number that was measured some time before its frame arrived: a reading of then, not of its arrival.

    by_s: how long before [s], by the instrument's own account.
    """

    __slots__ = ("by_s",)
    by_s: float

    def __new__(cls, value: float, by_s: float) -> Self:
        """Date a number back."""
        it = super().__new__(cls, value)
        it.by_s = by_s
        return it


class InUnit(float):
    """A number beside which the instrument wrote its unit: that is what it is in, whatever was configured."""

    __slots__ = ("unit",)
    unit: str

    def __new__(cls, value: float, unit: str) -> Self:
        """Say the unit of a number."""
        it = super().__new__(cls, value)
        it.unit = unit
        return it


NoNumber = Unreadable | Malformed
Value = float | NoNumber
"""A decoded value, in the instrument's own unit as the configuration states it."""

Decode = Callable[[Frame], Mapping[str, Value]]
"""A decoder: a frame to values by field name. Raises FrameError."""


@runtime_checkable
class Forgetful(Protocol):
    """A decoder that keeps what a connection told of itself, such as the names of its columns."""

    def forget(self) -> None:
        """Forget it: a new connection begins, maybe with another instrument."""
        ...


def begin_anew(decoder: object) -> None:
    """Have a decoder forget what the last connection told, where it keeps any of it."""
    if isinstance(decoder, Forgetful):
        decoder.forget()


class LinkError(Exception):
    """The instrument cannot be reached, or was lost. The supervisor tries again later."""


class LinkSetupError(Exception):
    """The instrument refuses what it is configured for, or the machine does.

    That may be a mistake, or an instrument that is still starting: it is told plainly, and tried again, slowly.
    """


class Link(Protocol):
    """A way to reach one instrument."""

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """Connect, call `connected` once, then `deliver` each frame and notice, until cancelled or lost.

        Both callbacks are called in the event loop's thread. Releases everything it opened on the way out.

        Raises:
            LinkError: the instrument is out of reach or was lost.
            LinkSetupError: the configuration cannot work on this machine, or with this instrument as it is now.

        """
        ...

    async def seen_again(self) -> None:
        """Wait, while it is not connected, for a sign that it is back: its port appears, or it is heard.

        Only what was away at first and then is there counts. Where there can be no sign, this never returns.
        """
        ...
