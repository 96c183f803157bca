"""A value with its uncertainty, in the terms of JCGM 100 (Guide to the Expression of Uncertainty)."""

import math
import sys
from dataclasses import dataclass

from calc.elementwise import takes_arrays, within

_GREATEST = sys.float_info.max


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty, both in the same unit, or an array of each; the error is taken as normal.

    >>> superheat_dk = Estimate(5.0, 0.5)
    >>> superheat_dk.expanded()
    1.0
    >>> round(superheat_dk.probability_within(4.5, 5.5), 4)  # one standard deviation: 68.27 %
    0.6827
    """

    value: float
    standard_uncertainty: float

    def __post_init__(self) -> None:
        value, uncertainty = self.value, self.standard_uncertainty
        if isinstance(value, float) and isinstance(uncertainty, float) and 0.0 <= uncertainty < math.inf - abs(value):
            return  # nearly all, many times in every tick
        within("value", self.value, -_GREATEST, _GREATEST, "", "an estimate is a number")
        within("standard_uncertainty", self.standard_uncertainty, 0.0, _GREATEST, "")

    def expanded(self, k: float = 2) -> float:
        """Give the half width of the interval with coverage factor `k`; 2 covers about 95 %."""
        return k * self.standard_uncertainty

    @takes_arrays
    def probability_within(self, low: float, high: float) -> float:
        """Give the probability that the true value lies from `low` to `high`."""
        if self.standard_uncertainty == 0:
            return float(low <= self.value <= high)
        return max(0.0, self._probability_below(high) - self._probability_below(low))

    def _probability_below(self, limit: float) -> float:
        return (1 + math.erf((limit - self.value) / (self.standard_uncertainty * math.sqrt(2)))) / 2
