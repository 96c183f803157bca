"""What a rule of plausibility finds, and the superheat and subcooling that such rules ask for."""

from collections.abc import Callable
from dataclasses import dataclass

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.saturation import bubble_point, dew_point
from calc.sentences import Sentence
from calc.situation import Situation

COMMON_PRACTICE = "common practice, no source"
CYCLE = "ASHRAE Handbook of Fundamentals, ch. 2: the vapour-compression cycle"
SECOND_LAW = "second law of thermodynamics: heat flows from warm to cold by itself"

SURE, LIKELY, POSSIBLE = 0.95, 0.8, 0.5
"""How sure a rule is that it has found the cause: judgement, no source."""

COVERAGE = 2.0
"""A contradiction counts where it exceeds the combined standard uncertainty so many times (about 95 %)."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reason to doubt what some channels say.

    Attributes:
        channels: those concerned.
        reason: the contradiction.
        fix: what to look at or do.
        confidence: that this is the cause, 0 to 1.
        source: of the rule.

    """

    channels: tuple[str, ...]
    reason: Sentence
    fix: Sentence
    confidence: float
    source: str = COMMON_PRACTICE


def shift_pa(now: Situation, pressure_channel: str) -> float:
    """Give what a pressure would change by, were its reference the other one [Pa]."""
    is_gauge = now.references[pressure_channel] == "gauge"
    return -now.site_pressure_pa if is_gauge else now.site_pressure_pa


def over_dew_point_dk(now: Situation, *, by_pa: float = 0.0, line_k: float | None = None) -> float | None:
    """Give the superheat [K], were the pressure shifted or the line at this temperature; None where unknown."""
    return _from_saturation(now, dew_point, "suction", by_pa, line_k)


def under_bubble_point_dk(now: Situation, *, by_pa: float = 0.0, line_k: float | None = None) -> float | None:
    """Give the subcooling [K], likewise."""
    above_dk = _from_saturation(now, bubble_point, "liquid", by_pa, line_k)
    return None if above_dk is None else -above_dk


def _from_saturation(
    now: Situation, point: Callable[[str, float], float], side: str, by_pa: float, line_k: float | None
) -> float | None:
    """Give how far a line is above its saturation [K]."""
    pressure_pa = now.value(f"{side}_pressure")
    line_k = now.value(f"{side}_line_temperature") if line_k is None else line_k
    if pressure_pa is None or line_k is None:
        return None
    try:
        return line_k - point(now.refrigerant, pressure_pa + by_pa)
    except CalcRangeError:
        return None


def clearly_above(difference: Estimate | None, limit: float) -> bool:
    """Tell whether a difference exceeds a limit by more than the instruments can explain; not where it is unknown."""
    return difference is not None and difference.value > limit + COVERAGE * difference.standard_uncertainty


def lies_within(value: float | None, limits: tuple[float, float]) -> bool:
    """Tell whether a value lies within limits; not where it is unknown."""
    return value is not None and limits[0] <= value <= limits[1]
