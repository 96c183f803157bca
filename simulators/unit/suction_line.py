"""The suction line of a split unit: what its friction takes of the pressure, and what warmth it picks up on its way.

The gauge hangs at the outdoor unit, behind the line: it finds less pressure and warmer vapour than leave the coil.
"""

import math
from dataclasses import dataclass

VAPOUR_VISCOSITY = 1.25e-5
"""Of suction vapour of any of the refrigerants, within some 10 % [Pa s] (from memory)."""


@dataclass(frozen=True, slots=True)
class SuctionLine:
    """Length and bore. conductance: through half an inch of insulation, a metre of it [W/(m K)] (computed, k 0.04)."""

    length_m: float
    bore_m: float
    conductance: float = 0.235

    def drop_pa(self, flow_kg_s: float, density: float) -> float:
        """Find what friction takes: Darcy and Weisbach, with McAdams' friction factor of a smooth pipe."""
        if flow_kg_s <= 0.0:
            return 0.0
        area_m2 = math.pi / 4.0 * self.bore_m * self.bore_m
        reynolds = flow_kg_s * self.bore_m / (area_m2 * VAPOUR_VISCOSITY)
        factor = 0.184 * math.exp(-0.2 * math.log(reynolds))
        flux = flow_kg_s / area_m2
        return factor * self.length_m / self.bore_m * flux * flux / (2.0 * density)

    def gain_w(self, vapour_k: float, around_k: float) -> float:
        """Find the heat that it takes from the air around it; gives where that is colder."""
        return self.conductance * self.length_m * (around_k - vapour_k)
