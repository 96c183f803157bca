"""How much refrigerant a two-phase zone holds: Zivi's void fraction (J. Heat Transfer 86, 1964), in closed form."""

import math

from simulators.properties import Saturation


def mean_density(at: Saturation, quality_in: float, quality_out: float) -> float:
    """The mean density along a zone in which quality changes evenly from one end to the other [kg/m³].

    The void fraction is x / (x + c (1 - x)) with c = (vapour density / liquid density)^(2/3); its mean over x is
    the difference of x / (1 - c) - c / (1 - c)² ln(c + (1 - c) x).
    """
    slip = (at.vapour_density / at.liquid_density) ** (2.0 / 3.0)
    spread = quality_out - quality_in
    if abs(spread) < 1e-6:
        void = quality_in / (quality_in + slip * (1.0 - quality_in))
    else:
        rest = 1.0 - slip
        logarithm = math.log((slip + rest * quality_out) / (slip + rest * quality_in))
        void = 1.0 / rest - slip / (rest * rest) * logarithm / spread
    return void * at.vapour_density + (1.0 - void) * at.liquid_density
