"""A hermetic scroll compressor with a three-phase motor.

Efficiencies against the pressure ratio follow the usual shape for a scroll: a nearly straight volumetric
efficiency, and an overall isentropic efficiency with a flat top near the built-in ratio (common practice, no source).
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from simulators.properties import Properties, Saturation

SQRT_3 = math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Compressor:
    """Sizes of the compressor.

    displacement: swept volume per time [m³/s]. relief: the discharge pressure [Pa] at which the internal relief
    valve begins to open and the rise [Pa] over which it takes all the flow. magnetising: reactive power at the
    nominal voltage [var].
    """

    displacement_m3_s: float = 0.00225
    volumetric_efficiency_at_ratio_1: float = 1.0
    volumetric_efficiency_slope: float = 0.025
    best_isentropic_efficiency: float = 0.73
    best_pressure_ratio: float = 2.7
    isentropic_efficiency_droop: float = 0.035
    relief_pressure_pa: float = 4.05e6
    relief_band_pa: float = 0.3e6
    nominal_voltage_v: float = 230.0
    magnetising_var: float = 1500.0

    def volume_flow(self, suction_pressure_pa: float, discharge_pressure_pa: float) -> float:
        """What the scroll swallows, less what leaks back inside [m³/s at suction]; never quite nothing."""
        ratio = discharge_pressure_pa / suction_pressure_pa
        efficiency = self.volumetric_efficiency_at_ratio_1 - self.volumetric_efficiency_slope * (ratio - 1.0)
        return self.displacement_m3_s * min(max(efficiency, 0.05), 1.0)

    def delivered_fraction(self, discharge_pressure_pa: float) -> float:
        """What is left of the flow when the internal relief valve returns some of it to suction [1]."""
        over = (discharge_pressure_pa - self.relief_pressure_pa) / self.relief_band_pa
        return 1.0 - min(max(over, 0.0), 0.98)

    def isentropic_efficiency(self, pressure_ratio: float) -> float:
        """Of the whole machine, motor included: isentropic work over electrical input [1]."""
        off_design = pressure_ratio - self.best_pressure_ratio
        droop = self.isentropic_efficiency_droop * (off_design if off_design > 0.0 else 2.0 * off_design**2)
        return max(self.best_isentropic_efficiency - droop, 0.25)

    def current(self, power_w: float, voltage_v: float) -> float:
        """In each phase at this electrical power [A]."""
        reactive_var = self.magnetising_var * (voltage_v / self.nominal_voltage_v) ** 2
        return math.hypot(power_w, reactive_var) / (SQRT_3 * voltage_v)


class Compression(NamedTuple):
    """Isentropic compression of one kilogram of vapour: enthalpy before [J/kg] and the work it takes [J/kg]."""

    suction_enthalpy: float
    isentropic_work: float


def compress(
    properties: Properties, suction: Saturation, superheat_dk: float, discharge: Saturation
) -> Compression:
    """From superheated suction vapour to the discharge pressure at constant entropy."""
    enthalpy = properties.vapour_enthalpy(suction, superheat_dk)
    entropy = properties.vapour_entropy(suction, superheat_dk)
    end_superheat_dk = properties.superheat_of_entropy(discharge, entropy)
    work = properties.vapour_enthalpy(discharge, end_superheat_dk) - enthalpy
    return Compression(enthalpy, max(work, 0.0))
