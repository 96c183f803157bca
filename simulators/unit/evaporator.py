"""The evaporator: a two-phase zone and a superheated one, by effectiveness and number of transfer units.

The air is shared among the zones by their size. In the two-phase zone the refrigerant's temperature hardly
changes: the effectiveness is 1 - exp(-NTU), for sensible and latent heat alike where the coil is wet (contact with
a surface saturated at that temperature). In the superheated zone the vapour is the lesser stream.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from simulators.unit import moist_air
from simulators.unit.properties import Properties, Saturation
from simulators.unit.void_fraction import mean_density

VAPOUR_HEAT_CAPACITY = 1000.0
"""Of suction vapour, for the number of transfer units [J/(kg K)]; heat itself comes from the tables."""

LEAST_QUALITY = 0.02
"""A floor for what enters, which keeps the void fraction defined for liquid colder than the coil."""

LEAST_OUTLET_QUALITY = 0.6
"""The wettest vapour that the model lets the compressor swallow; a coil flooded further only fills up."""


@dataclass(frozen=True, slots=True)
class Evaporator:
    """Sizes of the coil. Conductances are those of the whole coil were it all one zone [W/K].

    suction_volume: of the suction line up to the compressor. metal_heat_capacity: some eight kilograms of copper and
    aluminium (common practice, no source) [J/K].
    """

    two_phase_conductance: float = 680.0
    vapour_conductance: float = 250.0
    volume_m3: float = 3.6e-3
    suction_volume_m3: float = 1.0e-3
    metal_heat_capacity: float = 6.0e3
    air_flow_m3_s: float = 0.66

    def in_air(self, temperature_k: float, humidity_percent: float, barometric_pressure_pa: float) -> "Air":
        """Find what the coil's air side does under these conditions."""
        ratio = moist_air.humidity_ratio(temperature_k, humidity_percent, barometric_pressure_pa)
        flow = self.air_flow_m3_s * moist_air.density(temperature_k, barometric_pressure_pa)
        capacity = flow * (moist_air.DRY_AIR_HEAT_CAPACITY + ratio * moist_air.VAPOUR_HEAT_CAPACITY)
        effectiveness = -math.expm1(-self.two_phase_conductance / capacity)
        return Air(temperature_k, ratio, flow, capacity, effectiveness, barometric_pressure_pa)


class Air(NamedTuple):
    """The air that enters. flow: dry air [kg/s]. capacity: flow times heat capacity [W/K]."""

    temperature_k: float
    humidity_ratio: float
    flow_kg_s: float
    capacity: float
    effectiveness: float
    barometric_pressure_pa: float

    def heat(self, surface_k: float) -> float:
        """Find what a coil all at this temperature takes from it, sensible and latent [W]; none if warmer."""
        sensible = self.capacity * (self.temperature_k - surface_k)
        latent = self.flow_kg_s * self.water_above(surface_k) * moist_air.HEAT_OF_VAPORISATION
        return max(self.effectiveness * (sensible + latent), 0.0)

    def water_above(self, surface_k: float) -> float:
        """Find the water it carries above saturation at this temperature [kg/kg]."""
        saturated = moist_air.humidity_ratio(surface_k, 100.0, self.barometric_pressure_pa)
        return max(self.humidity_ratio - saturated, 0.0)


class EvaporatorState(NamedTuple):
    """The evaporator at one pressure. flow: what leaves towards the compressor."""

    two_phase_fraction: float
    outlet_quality: float
    superheat_dk: float
    flow_kg_s: float
    held_kg: float


def evaporate(
    coil: Evaporator,
    properties: Properties,
    air: Air,
    *,
    at: Saturation,
    inlet_enthalpy: float,
    vapour_flow_kg_s: float,
) -> EvaporatorState:
    """Find where the refrigerant is dry, and how much coil and suction line hold, at this pressure.

    vapour_flow: what the compressor would draw if it were all vapour. Where the coil cannot dry it all, liquid
    goes along, and the same swallowed volume carries more mass.
    """
    quality_in = min(max((inlet_enthalpy - at.liquid_enthalpy) / at.latent_heat, LEAST_QUALITY), 0.99)
    heat = air.heat(at.mean_temperature_k)
    to_dry = vapour_flow_kg_s * (at.vapour_enthalpy - inlet_enthalpy)
    if to_dry <= heat:
        wet = max(to_dry, 0.0) / heat if heat > 0.0 else 0.0
        superheat = _superheat(coil, air, at, vapour_flow_kg_s, 1.0 - wet)
        density = wet * mean_density(at, quality_in, 1.0) + (1.0 - wet) * at.vapour_density
        line = coil.suction_volume_m3 * properties.vapour_density(at, superheat)
        return EvaporatorState(wet, 1.0, superheat, vapour_flow_kg_s, coil.volume_m3 * density + line)
    lifted = vapour_flow_kg_s * (inlet_enthalpy - at.liquid_enthalpy)
    quality = max(lifted / (vapour_flow_kg_s * at.latent_heat - heat), LEAST_OUTLET_QUALITY)
    line = coil.suction_volume_m3 * at.vapour_density / quality
    held = coil.volume_m3 * mean_density(at, quality_in, quality) + line
    return EvaporatorState(1.0, quality, 0.0, vapour_flow_kg_s / quality, held)


def _superheat(coil: Evaporator, air: Air, at: Saturation, flow_kg_s: float, dry_fraction: float) -> float:
    room = max(air.temperature_k - at.dew_point_k, 0.0)
    transfer_units = coil.vapour_conductance * dry_fraction / (flow_kg_s * VAPOUR_HEAT_CAPACITY)
    return -math.expm1(-transfer_units) * room
