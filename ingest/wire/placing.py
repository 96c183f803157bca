"""Where the channels are: on which circuit or part of the unit, and whether a hose shares a port with a probe.

From hose-on to hose-off the pressure at a shared port is not of the circuit: figures from it are unknown, and the
alarms that would rest on it are silent, and said to be.
"""

from collections.abc import Mapping, Sequence

import msgspec

from ingest.wire.events import Confirmable, MarkBase
from ingest.wire.sheet import Port


class PlaceAsk(Confirmable, frozen=True, omit_defaults=True, tag="place", kw_only=True):
    """Channels are on a circuit or a part from now on. on: its name in the sheet; empty where they are on nothing.

    channels: none named: all that a circuit is read by. turns: how often the lead passes through a clamp's jaw.
    confirmed: the person was asked, and it is so.
    """

    on: str
    channels: Sequence[str] = ()
    turns: int = 1


class Placed(MarkBase, frozen=True, omit_defaults=True, tag="place", kw_only=True):
    """Channels are on a circuit or a part, each named. proposal: what the instruments had proposed, if they had.

    instruments: of channels with turns, the clamp that the lead was wound through: the turns are of that one.
    """

    on: str
    channels: Sequence[str]
    turns: int = 1
    proposal: str = ""
    instruments: Mapping[str, str] = {}


class HoseAsk(Confirmable, frozen=True, omit_defaults=True, tag="hose", kw_only=True):
    """A hose to a cylinder, a pump or a gauge is opened at the port of a probe, or shut again.

    confirmed: the person was asked, and it is so.
    """

    port: Port
    on: bool


class HoseSet(MarkBase, frozen=True, omit_defaults=True, tag="hose", kw_only=True):
    """A hose shares the port of a probe, or no longer."""

    port: Port
    on: bool


class ChannelPlace(msgspec.Struct, frozen=True, omit_defaults=True):
    """Where a channel is, if it was put anywhere. instrument: that the turns are of; empty where nobody knows."""

    on: str
    turns: int = 1
    instrument: str = ""


class LeftAt(msgspec.Struct, frozen=True, omit_defaults=True):
    """The unit at which a channel was read last, and what of it that was on there, where somebody had said so."""

    unit: str
    on: str = ""


class CarriedOver(msgspec.Struct, frozen=True, omit_defaults=True):
    """Where the instruments of a rig are as a visit is opened. left: channels of which nobody has said that they moved.

    off: those that are on nothing, beside what reads a circuit. places, hoses: as at the visit. locks: whose stand
    there, where the visit before was at the same unit; empty: of somebody not known.
    """

    left: Mapping[str, LeftAt] = {}
    off: Sequence[str] = ()
    places: Mapping[str, ChannelPlace] = {}
    hoses: Sequence[Port] = ()
    locks: Sequence[str] = ()
