"""How much refrigerant a two-phase zone holds, by Zivi's void fraction (J. Heat Transfer 86, 1964)."""

import math

from simulators.unit.properties import Saturation


def mean_density(at: Saturation, quality_in: float, quality_out: float) -> float:
    """Find the mean density along a zone in which quality changes evenly from end to end [kg/m³].

    The void fraction is x / (x + c (1 - x)) with c = (vapour density / liquid density)^(2/3). Its mean over x
    has a closed form, the difference of x / (1 - c) - c / (1 - c)² ln(c + (1 - c) x) over that of x.
    """
    slip = math.cbrt(at.vapour_density / at.liquid_density) ** 2
    spread = quality_out - quality_in
    if abs(spread) < 1e-6:
        void = quality_in / (quality_in + slip * (1.0 - quality_in))
    else:
        rest = 1.0 - slip
        logarithm = math.log((slip + rest * quality_out) / (slip + rest * quality_in))
        void = 1.0 / rest - slip / (rest * rest) * logarithm / spread
    return void * at.vapour_density + (1.0 - void) * at.liquid_density
