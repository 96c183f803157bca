"""Channels put on circuits and parts, and hoses on ports of probes: what is of the circuit in view, and what is not."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from typing import TYPE_CHECKING

from msgspec.structs import replace

from calc.quantities import CHANNELS, Quantity
from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.wire.messages import (
    CarriedOver,
    ChannelPlace,
    Finding,
    HoseAsk,
    HoseSet,
    LeftAt,
    Mark,
    PlaceAsk,
    Placed,
    VisitOpened,
)
from ingest.wire.sheet import Port
from ingest.wire.texts import shown

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

OF_A_CIRCUIT = (
    "suction_pressure",
    "liquid_pressure",
    "discharge_pressure",
    "suction_line_temperature",
    "liquid_line_temperature",
    "discharge_line_temperature",
    "vacuum_pressure",
)
"""What a circuit is read by."""
_AT_NO_UNIT = frozenset(
    {
        "barometric_pressure",
        "capacitance_herm",
        "capacitance_fan",
        "cylinder_mass",
        "multimeter_ac_voltage",
        "multimeter_dc_voltage",
        "multimeter_resistance",
        "multimeter_capacitance",
        "refrigerant_in_air",
    }
)
"""What is in a hand, or stands beside the person: it goes along."""
OF_A_UNIT = frozenset(CHANNELS) - _AT_NO_UNIT
"""What is read where an instrument was put: nobody knows where that is once the rig is at another unit."""
MOST_TURNS = 50
"""More do not go through a jaw: common practice, no source."""
_PRESSURE_AT = {"suction": "suction_pressure", "liquid": "liquid_pressure", "discharge": "discharge_pressure"}


class Placing:
    """Where the channels of a visit are. circuit: the one in view, by its name; empty before one was named.

    views: since when which circuit has been in view [s since 1970]. instruments: by channel, which one reads it now, as
    the rig is configured; none of them known before that was told.
    left: where the channels were read last that were read at another unit, as long as nobody has said where they are
    now. off: those that somebody has said are on nothing, beside what reads a circuit.
    """

    def __init__(self) -> None:
        self.circuit = ""
        self.views: list[tuple[float, str]] = []
        self.left: dict[str, LeftAt] = {}
        self.off: set[str] = set()
        self.places: dict[str, ChannelPlace] = {}
        self.instruments: Mapping[str, str] = {}
        self.hoses: set[Port] = set()

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        before = self.circuit
        self._take(mark)
        if self.circuit != before:
            self.views.append((mark.time_s, self.circuit))

    def _take(self, mark: Mark) -> None:
        match mark:
            case VisitOpened():
                self.circuit = mark.circuit or self.circuit
                self._begin(mark.carried_over or self._as_of_old(mark))
            case Placed():
                self._say(mark)
                self.places |= {name: self._place_of(name, mark) for name in mark.channels}
                if {"suction_pressure", "liquid_pressure"} & {*mark.channels} and mark.on:
                    self.circuit = mark.on
            case Finding(check="probes_on") if mark.outcome != "skipped":
                found = probes_of(mark)
                self._found(found)
                self.places = {name: it for name, it in self.places.items() if it.on or name not in found}
            case HoseSet(on=True):
                self.hoses.add(mark.port)
            case HoseSet():
                self.hoses.discard(mark.port)

    def _begin(self, over: CarriedOver) -> None:
        """Be as the rig comes here: where all was at an earlier part of this visit, it need not be any more."""
        self.left, self.places = dict(over.left), dict(over.places)
        self.off, self.hoses = set(over.off), set(over.hoses)

    def _as_of_old(self, mark: VisitOpened) -> CarriedOver:
        """Read what an older record tells of where the instruments are."""
        left = self.left | dict.fromkeys(mark.carried, LeftAt(mark.came_from))
        places = {name: it for name, it in self.places.items() if name not in mark.carried}
        return CarriedOver(left, [*self.off.difference(mark.carried)], places, [*self.hoses])

    def _place_of(self, channel: str, mark: Placed) -> ChannelPlace:
        """Tell where a channel is: put on with all the rest, nobody wound a lead through a clamp otherwise."""
        if all(CHANNELS.get(name) is Quantity.CURRENT for name in mark.channels):
            return ChannelPlace(mark.on, mark.turns, mark.instruments.get(channel, ""))
        before = self.places.get(channel, ChannelPlace(""))
        return replace(before, on=mark.on)

    def _found(self, channels: AbstractSet[str]) -> None:
        self.left = {name: at for name, at in self.left.items() if name not in channels}

    @property
    def unsaid(self) -> frozenset[str]:
        """The channels that were read at another unit, of which nobody has said where they are."""
        return frozenset(name for name in self.left if self._is_read(name))

    def _is_read(self, channel: str) -> bool:
        """Tell whether a channel is configured now; one that is not may be again, and is where it was left."""
        return not self.instruments or channel in self.instruments

    @property
    def came_from(self) -> str:
        """The units at which these were read."""
        return ", ".join(sorted({self.left[name].unit for name in self.unsaid}))

    def nothing(self) -> set[str]:
        """Name the channels that are on nothing."""
        return self.off | {name for name, it in self.places.items() if name in OF_A_CIRCUIT and not it.on}

    def _say(self, mark: Placed) -> None:
        """Take where channels are, or that they are on nothing. Turns in a jaw, without a place, say nothing of that.

        Nor does one turn after several, at a clamp of which nobody has said where it is.
        """
        if mark.on:
            self.off.difference_update(mark.channels)
        elif mark.turns == 1:
            wound = {name for name, it in self.places.items() if it.turns != 1 and not it.on}
            self.off |= OF_A_UNIT.intersection(mark.channels).difference(OF_A_CIRCUIT, wound)
        self._found({it for it in mark.channels if mark.on or mark.turns == 1 or it in OF_A_CIRCUIT})

    @property
    def are_probes_away(self) -> bool:
        """Whether a probe of pressure is on nothing, on a circuit out of view, or was left at another unit."""
        on = [self.places[name].on for name in _PRESSURE_AT.values() if name in self.places]
        return any(not it or it != self.circuit for it in on) or not self.unsaid.isdisjoint(_PRESSURE_AT.values())

    def elsewhere(self) -> dict[str, str]:
        """Name the channels that do not read the circuit in view, and why."""
        away = {
            name: f"it is on circuit {self.places[name].on}"
            for name in OF_A_CIRCUIT
            if name in self.places and self.places[name].on not in ("", self.circuit)
        }
        away |= dict.fromkeys(sorted(self.nothing()), "it is on nothing")
        unsaid = {
            name: f"it was on {self.left[name].unit}, and nobody has said that it moved" for name in sorted(self.unsaid)
        }
        return away | unsaid | {_PRESSURE_AT[port]: f"a hose is on the {port} port" for port in sorted(self.hoses)}

    def turns(self) -> dict[str, int]:
        """Tell how often a lead passes through the jaw of each clamp where that is not once."""
        return {name: place.turns for name, place in self.now().items() if place.turns != 1}

    def now(self) -> dict[str, ChannelPlace]:
        """Tell where channels are, with the turns of the clamps that read them now: through another one goes one."""
        return {name: it if self._has_turns(name) else ChannelPlace(it.on) for name, it in self.places.items()}

    def _has_turns(self, channel: str) -> bool:
        of = self.places[channel].instrument
        return not of or self.instruments.get(channel, of) == of


def probes_of(found: Finding) -> set[str]:
    """Name the pressures whose probes were found on their ports."""
    return {_PRESSURE_AT[place] for name in found.values if (place := name.removeprefix("pressure.")) in _PRESSURE_AT}


def place(ask: PlaceAsk, head: Head, standing: "Standing", facts: Facts) -> Placed:
    """Put channels on a circuit or a part of the unit; without names, all that a circuit is read by.

    Of a unit that the rig has just come to that is all that came along, too.
    """
    there = [name for name in facts.readings if name in CHANNELS]
    came_along = standing.placing.unsaid.difference(OF_A_CIRCUIT) if ask.on else ()
    channels = tuple(dict.fromkeys(ask.channels)) or tuple(
        name for name in (*OF_A_CIRCUIT, *sorted(came_along)) if name in there
    )
    unknown = [name for name in channels if name not in there]
    if unknown:
        raise RefusedError(f"there is no channel {', '.join(map(shown, unknown))} to put anywhere")
    if not channels:
        raise RefusedError("no channel reads a circuit: name those to put there")
    _check_place(ask.on, channels, facts)
    if not 1 <= ask.turns <= MOST_TURNS:
        raise RefusedError(f"turns is {ask.turns}; 1 to {MOST_TURNS} pass through a jaw")
    if ask.turns != 1 and any(CHANNELS[name] is not Quantity.CURRENT for name in channels):
        raise RefusedError("turns are of a clamp around a lead: name channels of current alone")
    wound = {name: facts.instruments[name] for name in channels if ask.turns != 1 and name in facts.instruments}
    return Placed(*head, on=ask.on, channels=channels, turns=ask.turns, instruments=wound)


def _check_place(on: str, channels: Sequence[str], facts: Facts) -> None:
    circuits, parts = facts.circuits, facts.parts
    if on and on not in (*circuits, *parts):
        raise RefusedError(
            f"this unit has no circuit or part {shown(on)!r}; it has {', '.join((*circuits, *parts)) or 'none'}"
        )
    if on in parts and (of_circuit := [name for name in channels if name in OF_A_CIRCUIT]):
        raise RefusedError(f"{', '.join(of_circuit)} reads a circuit, and {on} is a part")


def hose(ask: HoseAsk, head: Head, _standing: "Standing", _: Facts) -> HoseSet:
    """Open a hose at a port, or shut it. Said again, it is simply so: two people may say it, or one touch twice."""
    return HoseSet(*head, port=ask.port, on=ask.on)
