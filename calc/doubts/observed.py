"""What is measured at one moment, as the rules of plausibility see it, and what a rule finds."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.saturation import bubble_point, dew_point

COMMON_PRACTICE = "common practice, no source"
CYCLE = "ASHRAE Handbook of Fundamentals, ch. 2: the vapour-compression cycle"
SECOND_LAW = "second law of thermodynamics: heat flows from warm to cold by itself"

SURE, LIKELY, POSSIBLE = 0.95, 0.8, 0.5
"""How sure a rule is that it has found the cause: judgement, no source."""

COVERAGE = 2.0
"""A contradiction counts where it exceeds the combined standard uncertainty so many times (about 95 %)."""

Reference = Literal["gauge", "absolute"]


@dataclass(frozen=True, slots=True)
class Repetition:
    """An instrument that goes on sending the very same number.

    Attributes:
        times: how often in a row, to the last digit.
        usually: the longest such run of late.
        seconds: how long it has lasted [s].

    """

    times: int
    usually: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reason to doubt what some channels say.

    Attributes:
        channels: those concerned.
        reason: the contradiction, in words.
        fix: what to look at or do, in words.
        confidence: that this is the cause, 0 to 1.
        source: of the rule.

    """

    channels: tuple[str, ...]
    reason: str
    fix: str
    confidence: float
    source: str = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class Observed:
    """What is measured at one moment.

    Attributes:
        refrigerant: its designation.
        readings: by channel; pressures absolute [Pa], temperatures [K].
        barometric_pressure_pa: [Pa].
        running: whether the compressor runs; None where nothing tells.
        references: of each pressure channel, what it is configured to count from.
        repetitions: by channel, where enough was heard to say what is usual.

    """

    refrigerant: str
    readings: Mapping[str, Estimate]
    barometric_pressure_pa: float
    running: bool | None = None
    references: Mapping[str, Reference] = field(default_factory=dict)
    repetitions: Mapping[str, Repetition] = field(default_factory=dict)

    def without(self, channels: Collection[str]) -> "Observed":
        """Give the same without some channels."""
        kept = {name: reading for name, reading in self.readings.items() if name not in channels}
        repeating = {name: run for name, run in self.repetitions.items() if name not in channels}
        return replace(self, readings=kept, repetitions=repeating)

    def value(self, channel: str) -> float | None:
        """Give the value of a channel; None where it is not measured."""
        reading = self.readings.get(channel)
        return None if reading is None else reading.value

    def difference(self, first: str, second: str) -> Estimate | None:
        """Give how much one channel is above another; None where one is not measured."""
        one, another = self.readings.get(first), self.readings.get(second)
        if one is None or another is None:
            return None
        uncertainty = (one.standard_uncertainty**2 + another.standard_uncertainty**2) ** 0.5
        return Estimate(one.value - another.value, uncertainty)

    def shift_pa(self, pressure_channel: str) -> float:
        """Give what a pressure would change by, were its reference the other one [Pa]."""
        is_gauge = self.references[pressure_channel] == "gauge"
        return -self.barometric_pressure_pa if is_gauge else self.barometric_pressure_pa

    def superheat_dk(self, *, shift_pa: float = 0.0, line_k: float | None = None) -> float | None:
        """Give the superheat [K], were the pressure shifted or the line at this temperature; None where unknown."""
        return self._from_saturation(dew_point, "suction", shift_pa, line_k)

    def subcooling_dk(self, *, shift_pa: float = 0.0, line_k: float | None = None) -> float | None:
        """Give the subcooling [K], likewise."""
        above_dk = self._from_saturation(bubble_point, "liquid", shift_pa, line_k)
        return None if above_dk is None else -above_dk

    def _from_saturation(
        self, point: Callable[[str, float], float], side: str, shift_pa: float, line_k: float | None
    ) -> float | None:
        """Give how far a line is above its saturation [K]."""
        pressure_pa = self.value(f"{side}_pressure")
        line_k = self.value(f"{side}_line_temperature") if line_k is None else line_k
        if pressure_pa is None or line_k is None:
            return None
        try:
            return line_k - point(self.refrigerant, pressure_pa + shift_pa)
        except CalcRangeError:
            return None


def clearly_above(difference: Estimate | None, limit: float) -> bool:
    """Tell whether a difference exceeds a limit by more than the instruments can explain; not where it is unknown."""
    return difference is not None and difference.value > limit + COVERAGE * difference.standard_uncertainty


def lies_within(value: float | None, limits: tuple[float, float]) -> bool:
    """Tell whether a value lies within limits; not where it is unknown."""
    return value is not None and limits[0] <= value <= limits[1]
