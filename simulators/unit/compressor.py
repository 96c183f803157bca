"""A hermetic scroll compressor; its motor is in simulators.unit.electric.

Its efficiencies have the usual shape against the pressure ratio: nearly straight for the volumetric one, and a
flat top near the built-in ratio for the overall isentropic one (common practice, no source for the figures).
"""

from dataclasses import dataclass
from typing import NamedTuple

from simulators.unit.properties import Properties, Saturation


@dataclass(frozen=True, slots=True)
class Compressor:
    """Sizes of the compressor.

    displacement: swept volume per time [m³/s]. relief: the head at which the internal relief valve begins to
    open, and the band over which it returns ever more to suction [Pa].
    """

    displacement_m3_s: float = 0.00225
    volumetric_efficiency_at_ratio_1: float = 1.0
    volumetric_efficiency_slope: float = 0.025
    best_isentropic_efficiency: float = 0.742
    best_pressure_ratio: float = 3.2
    isentropic_efficiency_droop: float = 0.03
    relief_pressure_pa: float = 4.05e6
    relief_band_pa: float = 0.3e6

    def volume_flow(self, suction_pressure_pa: float, head_pa: float) -> float:
        """Find what it swallows, less what leaks back within [m³/s at suction]; never quite nothing."""
        ratio = head_pa / suction_pressure_pa
        efficiency = self.volumetric_efficiency_at_ratio_1 - self.volumetric_efficiency_slope * (ratio - 1.0)
        return self.displacement_m3_s * min(max(efficiency, 0.05), 1.0)

    def delivered_fraction(self, head_pa: float) -> float:
        """Find what part of the flow the internal relief valve lets pass to the condenser [1]."""
        over = (head_pa - self.relief_pressure_pa) / self.relief_band_pa
        return 1.0 - min(max(over, 0.0), 0.98)

    def isentropic_efficiency(self, pressure_ratio: float) -> float:
        """Find isentropic work over electrical input, motor included [1]."""
        off_design = pressure_ratio - self.best_pressure_ratio
        weight = off_design if off_design > 0.0 else 2.0 * off_design**2
        return max(self.best_isentropic_efficiency - self.isentropic_efficiency_droop * weight, 0.25)


class Compression(NamedTuple):
    """One kilogram of vapour, compressed at constant entropy: enthalpy before, and the work [J/kg]."""

    suction_enthalpy: float
    isentropic_work: float


def compress(properties: Properties, *, suction: Saturation, superheat_dk: float, head: Saturation) -> Compression:
    """Compress superheated suction vapour up to the head."""
    enthalpy = properties.vapour_enthalpy(suction, superheat_dk)
    entropy = properties.vapour_entropy(suction, superheat_dk)
    end = properties.vapour_enthalpy(head, properties.superheat_of_entropy(head, entropy))
    return Compression(enthalpy, max(end - enthalpy, 0.0))
