"""The evaporator: a two-phase zone and a superheated one, each by effectiveness and number of transfer units.

The air is shared among the zones by their size. In the two-phase zone refrigerant temperature hardly changes, so that
the effectiveness is 1 - exp(-NTU) and applies to sensible and latent heat alike where the coil is wet (contact
with a surface saturated at refrigerant temperature). In the superheated zone the vapour is the lesser stream.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from simulators import moist_air
from simulators.properties import Properties, Saturation
from simulators.void_fraction import mean_density


@dataclass(frozen=True, slots=True)
class Evaporator:
    """Sizes of the coil: conductances of the whole coil were it all one zone [W/K], volumes [m³], air [m³/s].

    suction_volume: of the suction line up to the compressor.
    """

    two_phase_conductance: float = 680.0
    vapour_conductance: float = 250.0
    volume_m3: float = 3.6e-3
    suction_volume_m3: float = 1.0e-3
    air_flow_m3_s: float = 0.66

    def in_air(
        self, temperature_k: float, relative_humidity_percent: float, barometric_pressure_pa: float
    ) -> "Air":
        """The coil's air side under these conditions."""
        flow = self.air_flow_m3_s * moist_air.density(temperature_k, barometric_pressure_pa)
        ratio = moist_air.humidity_ratio(temperature_k, relative_humidity_percent, barometric_pressure_pa)
        capacity = flow * (moist_air.DRY_AIR_HEAT_CAPACITY + ratio * moist_air.VAPOUR_HEAT_CAPACITY)
        return Air(
            temperature_k=temperature_k,
            humidity_ratio=ratio,
            flow_kg_s=flow,
            capacity=capacity,
            effectiveness=-math.expm1(-self.two_phase_conductance / capacity),
            barometric_pressure_pa=barometric_pressure_pa,
        )


class Air(NamedTuple):
    """The air that enters the coil. flow: dry air [kg/s]. capacity: flow times heat capacity [W/K]."""

    temperature_k: float
    humidity_ratio: float
    flow_kg_s: float
    capacity: float
    effectiveness: float
    barometric_pressure_pa: float

    def heat(self, surface_k: float) -> float:
        """What the whole coil takes from the air when all of it is at this temperature, sensible and latent [W]."""
        sensible = self.capacity * (self.temperature_k - surface_k)
        saturated = moist_air.humidity_ratio(surface_k, 100.0, self.barometric_pressure_pa)
        water = self.flow_kg_s * max(self.humidity_ratio - saturated, 0.0)
        return self.effectiveness * (sensible + water * moist_air.HEAT_OF_VAPORISATION)


class EvaporatorState(NamedTuple):
    """The evaporator at one pressure. Enthalpy [J/kg]. flow: what leaves towards the compressor [kg/s]."""

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
    """Where the refrigerant is dry, and how much the coil and suction line hold, at this pressure.

    vapour_flow: what the compressor would draw if it were all vapour. Where the coil cannot dry it all, liquid goes
    along and the same swallowed volume carries more mass.
    """
    quality_in = min(max((inlet_enthalpy - at.liquid_enthalpy) / at.latent_heat, LEAST_QUALITY), 0.99)
    full_heat = max(air.heat(at.mean_temperature_k), 0.0)
    to_dry = vapour_flow_kg_s * (at.vapour_enthalpy - inlet_enthalpy)
    if to_dry <= full_heat:
        fraction = to_dry / full_heat
        superheat = _superheat(coil, air, at, vapour_flow_kg_s, fraction)
        dry = coil.volume_m3 * (1.0 - fraction) * at.vapour_density
        line = coil.suction_volume_m3 * properties.vapour_density(at, superheat)
        held = coil.volume_m3 * fraction * mean_density(at, quality_in, 1.0) + dry + line
        return EvaporatorState(fraction, 1.0, superheat, vapour_flow_kg_s, held)
    lifted = vapour_flow_kg_s * (inlet_enthalpy - at.liquid_enthalpy)
    quality = max(lifted / (vapour_flow_kg_s * at.latent_heat - full_heat), LEAST_OUTLET_QUALITY)
    line = coil.suction_volume_m3 * at.vapour_density / quality
    held = coil.volume_m3 * mean_density(at, quality_in, quality) + line
    return EvaporatorState(1.0, quality, 0.0, vapour_flow_kg_s / quality, held)


def _superheat(
    coil: Evaporator, air: Air, at: Saturation, flow_kg_s: float, two_phase_fraction: float
) -> float:
    """The vapour warms from the dew point towards the air."""
    room = max(air.temperature_k - at.dew_point_k, 0.0)
    transfer_units = coil.vapour_conductance * (1.0 - two_phase_fraction) / (flow_kg_s * VAPOUR_HEAT_CAPACITY)
    return -math.expm1(-transfer_units) * room


LEAST_QUALITY = 0.02
"""A floor for what enters, to keep the void fraction defined for liquid colder than the coil."""

LEAST_OUTLET_QUALITY = 0.4
"""The wettest vapour that the model lets the compressor swallow; a coil flooded further only fills up."""

VAPOUR_HEAT_CAPACITY = 1000.0
"""Of suction vapour, for the number of transfer units only [J/(kg K)]; the heat itself comes from the tables."""
