"""Compare a figure with its limits: met, not met, or these instruments cannot tell (JCGM 106).

A reading within the limits proves nothing by itself, for the instruments may be wrong by more than it has left. The
rule asks for a stated probability, either way; what reaches it neither way is no verdict, and says so.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist
from typing import Literal

from calc.errors import ArgumentError, CalcRangeError
from calc.estimate import Estimate

CONFIDENCE = 0.90
"""The probability that a verdict must reach: common practice, no source; JCGM 106 leaves it to the one who decides."""


@dataclass(frozen=True, slots=True)
class Met:
    """The true value is within the limits, with this probability."""

    probability: float


@dataclass(frozen=True, slots=True)
class NotMet:
    """The true value is beyond the limit on this side, with this probability."""

    probability: float
    side: Literal["low", "high"]


@dataclass(frozen=True, slots=True)
class CannotTell:
    """These instruments cannot tell.

    Attributes:
        probability_within: of the true value being within the limits.
        best_probability: the most that these instruments could reach, with a reading right between the limits.
        even_on_target: whether that is too little too, so that only better instruments would do.

    """

    probability_within: float
    best_probability: float
    even_on_target: bool


Comparison = Met | NotMet | CannotTell


class Outcome(StrEnum):
    """What a comparison comes to, without its figures."""

    MET = "met"
    NOT_MET = "not met"
    CANNOT_TELL = "cannot tell"


def outcome(comparison: Comparison) -> Outcome:
    """Give what a comparison comes to."""
    match comparison:
        case Met():
            return Outcome.MET
        case NotMet():
            return Outcome.NOT_MET
    return Outcome.CANNOT_TELL


def compare(measured: Estimate, low: float, high: float, *, confidence: float = CONFIDENCE) -> Comparison:
    """Compare a measured value with its limits.

    Args:
        measured: with its standard uncertainty.
        low: the least value that will do; minus infinity for none [unit of measured].
        high: the greatest value that will do; infinity for none [unit of measured].
        confidence: the probability that a verdict must reach, above 0.5 and below 1.

    Raises:
        ArgumentError: the limits are no interval.
        CalcRangeError: no such confidence.

    >>> zener_v = Estimate(-5.47, 0.05)  # JCGM 106, 7.3.2: it must be -5.40 V at most; from memory
    >>> round(compare(zener_v, -math.inf, -5.40).probability, 2)
    0.92

    """
    _check(low, high, confidence)
    within = measured.probability_within(low, high)
    below = measured.probability_within(-math.inf, low)
    above = measured.probability_within(high, math.inf)
    if within >= confidence:
        return Met(within)
    if max(below, above) >= confidence:
        return NotMet(max(below, above), "low" if below > above else "high")
    best = _best_probability(low, high, measured.standard_uncertainty)
    return CannotTell(within, best, best < confidence)


def guard_band(standard_uncertainty: float, *, confidence: float = CONFIDENCE) -> float:
    """Give how far inside a limit a reading must be to count as within it (JCGM 106, 8.3.2).

    With a second limit close by it takes more: see `acceptance_interval`.

    >>> round(guard_band(1.0, confidence=0.95), 2)  # JCGM 106, table 1; from memory
    1.64
    """
    _check(0.0, 0.0, confidence)
    return NormalDist().inv_cdf(confidence) * standard_uncertainty


def acceptance_interval(
    low: float, high: float, standard_uncertainty: float, *, confidence: float = CONFIDENCE
) -> tuple[float, float] | None:
    """Give the readings that count as within the limits, or None: not even one in the middle does.

    Arguments and errors as `compare`.

    >>> acceptance_interval(-5.0, 5.0, 1.0)  # two limits far apart: each guarded by 1.28 u
    (-3.718..., 3.718...)
    """
    _check(low, high, confidence)
    Estimate(0.0, standard_uncertainty)
    if math.isinf(low) or math.isinf(high):
        width = guard_band(standard_uncertainty, confidence=confidence)
        return low + width, high - width
    middle, half = low / 2 + high / 2, high / 2 - low / 2
    if _best_probability(low, high, standard_uncertainty) < confidence:
        return None
    inner, outer = 0.0, half
    for _ in range(_HALVINGS):
        between = (inner + outer) / 2
        enough = Estimate(middle + between, standard_uncertainty).probability_within(low, high) >= confidence
        inner, outer = (between, outer) if enough else (inner, between)
    return middle - inner, middle + inner


_HALVINGS = 60


def _best_probability(low: float, high: float, standard_uncertainty: float) -> float:
    if math.isinf(low) or math.isinf(high):
        return 1.0
    return Estimate(low / 2 + high / 2, standard_uncertainty).probability_within(low, high)


def _check(low: float, high: float, confidence: float) -> None:
    if not low <= high:
        raise ArgumentError(f"the limits {low:g} to {high:g} are no interval: the lower comes first")
    if not 0.5 < confidence < 1:
        raise CalcRangeError("confidence", confidence, 0.5, 1, "", "a verdict must be likelier than not")
