"""What one pack shows that may be believed, and what a recogniser makes of it."""

from collections.abc import Collection, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import ClassVar, Protocol

from msgspec.structs import replace

from calc.estimate import Estimate
from calc.sentences import Sentence
from ingest.visit.plates import read_now
from ingest.wire.messages import Pack, Reading, UnitAbout, WhatProposed
from ingest.wire.sheet import Sheet

_BELIEVED = ("ok", "uncalibrated")


@dataclass(frozen=True, slots=True)
class Known:
    """What is known beside the readings.

    unit: the circuit in view, as its nameplate says. sheet: of the unit, where the register has one. in_doubt: channels
    and figures that are not believed. settled: the figure that shows the charge, where the judge says it has settled.
    moved_s: when refrigerant of the circuit in view was last moved in this visit [s since 1970]; None before the first
    time. least_wait_s: how long to wait after that at least, by the maker or a protocol [s]. circuit: the one in view,
    by its name; empty where none was named. cylinder: the one that was described at this visit; empty where there is
    none, or another one. is_blind: an exercise whose verdict is still to come, so that nothing is told of what the
    figures mean. pattern_s: when the fan is switched by the newest pattern [s since 1970]. places: by channel, the
    circuit or the part that it was put on, where somebody has said so. unsaid: those that were read at another unit
    before, and nobody has said where they are now. is_locked: a lock of this visit stands, as far as was said. speed:
    how much faster than life the unit runs. views: since when which circuit has been in view [s since 1970].
    stops: from when to when a lead's stop stood [s since 1970], and whose. was: what the readings before have of the
    circuit in view, by the names there [SI].
    """

    unit: UnitAbout
    barometric_pressure_pa: float
    sheet: Sheet | None = None
    in_doubt: AbstractSet[str] = frozenset()
    settled: str = ""
    moved_s: float | None = None
    least_wait_s: float = 0.0
    circuit: str = ""
    cylinder: str = ""
    is_blind: bool = False
    pattern_s: Sequence[float] = ()
    places: Mapping[str, str] = field(default_factory=dict)
    unsaid: AbstractSet[str] = frozenset()
    is_locked: bool = False
    speed: float = 1.0
    views: Sequence[tuple[float, str]] = ()
    stops: Sequence[tuple[float, float, str]] = ()
    was: Mapping[str, float] = field(default_factory=dict)

    def stopped_by(self, time_s: float) -> str:
        """Name the lead whose stop stood at a moment [s since 1970]; empty where none did."""
        return next((by for from_s, to_s, by in self.stops if from_s <= time_s < to_s), "")

    def circuit_at(self, time_s: float) -> str:
        """Name the circuit that was in view at a moment [s since 1970]; as `circuit` where none was named by then."""
        named = [circuit for since_s, circuit in self.views if since_s <= time_s]
        if named:
            return named[-1]
        known = self.sheet.circuits if self.sheet else ()
        return read_now(self.unit, known, "") if self.views else self.circuit


class Sight:
    """One pack, as far as it is believed. unit_s: in the unit's own time. time_s: wall time."""

    __slots__ = ("_pack", "_readings", "known", "time_s", "unit_s")

    def __init__(self, pack: Pack, unit_s: float, known: Known) -> None:
        self._pack, self._readings = pack, pack.readings
        self.time_s = pack.time_s
        self.unit_s = unit_s
        self.known = known

    def reading(self, name: str) -> Reading | None:
        """Give a reading that has a value and is neither stale, at fault nor in doubt; else None."""
        reading = self._readings.get(name)
        if reading is None or reading.value is None or reading.quality not in _BELIEVED:
            return None
        return None if name in self.known.in_doubt else reading

    def is_held(self, name: str) -> bool:
        """Tell whether the display that shows it is held."""
        reading = self._readings.get(name)
        return reading is not None and reading.quality == "held"

    def wherever(self, names: Collection[str]) -> "Sight":
        """Give the same sight, with these believed though nobody has said yet where they are: it shows in them."""
        unsaid = {name: self._readings.get(name) for name in names if name in self.known.unsaid}
        believed = {
            name: replace(it, quality="uncalibrated", reason="")
            for name, it in unsaid.items()
            if it is not None and it.quality == "elsewhere"
        }
        if not believed:
            return self
        return Sight(replace(self._pack, readings={**self._readings, **believed}), self.unit_s, self.known)

    def value(self, name: str) -> float | None:
        """Give the value of such a reading."""
        reading = self.reading(name)
        return None if reading is None else reading.value

    def spread(self, name: str) -> float:
        """Give its standard uncertainty; 0 where the instrument has none stated."""
        reading = self.reading(name)
        return 0.0 if reading is None else reading.standard_uncertainty or 0.0

    def spreads(self, **names: str) -> dict[str, float]:
        """Give the standard uncertainties of channels, as far as known, by the names that they go by."""
        found = {name.replace("__", "."): self.spread(channel) for name, channel in names.items()}
        return {name: spread for name, spread in found.items() if spread}

    def estimate(self, name: str) -> Estimate | None:
        """Give such a reading as an estimate."""
        value = self.value(name)
        return None if value is None else Estimate(value, self.spread(name))

    def gauge_pa(self, name: str) -> float | None:
        """Give a pressure against the air [Pa]."""
        value = self.value(name)
        return None if value is None else value - self.known.barometric_pressure_pa


@dataclass(frozen=True, slots=True)
class Seen:
    """One event. from_s, to_s: by the wall clock [s since 1970]. says: in words, as a question to keep it."""

    what: WhatProposed
    from_s: float
    to_s: float
    says: Sentence


class Recogniser(Protocol):
    """Waits for one kind of event. latency_s: within which it tells it, in the unit's own time [s]."""

    latency_s: ClassVar[float]

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight; give what has been seen with it."""
        ...
