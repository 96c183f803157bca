"""The condenser: desuperheating, two-phase and subcooled zones with moving boundaries.

Each zone gets the area that its duty takes, by effectiveness and number of transfer units. What is left at the
end is full of liquid; where nothing is left, some vapour leaves uncondensed.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from simulators.unit import moist_air
from simulators.unit.properties import Properties, Saturation
from simulators.unit.void_fraction import mean_density


@dataclass(frozen=True, slots=True)
class Condenser:
    """Sizes of the coil. Conductances are those of the whole coil were it all one zone [W/K].

    line_volume: of the liquid line up to the metering device, drier included. gas_line_volume: of a line before the
    coil that is full of vapour. metal_heat_capacity: some ten
    kilograms of copper and aluminium (common practice, no source) [J/K].
    """

    vapour_conductance: float = 900.0
    two_phase_conductance: float = 2350.0
    liquid_conductance: float = 800.0
    volume_m3: float = 6.27e-3
    line_volume_m3: float = 0.30e-3
    metal_heat_capacity: float = 7.5e3
    air_flow_m3_s: float = 2.0
    gas_line_volume_m3: float = 0.0

    def in_air(self, temperature_k: float, barometric_pressure_pa: float) -> "OutdoorAir":
        """Find what the coil's air side does under these conditions."""
        density = moist_air.density(temperature_k, barometric_pressure_pa)
        capacity = self.air_flow_m3_s * density * moist_air.DRY_AIR_HEAT_CAPACITY
        effectiveness = -math.expm1(-self.two_phase_conductance / capacity)
        return OutdoorAir(temperature_k, capacity, effectiveness)


class OutdoorAir(NamedTuple):
    """The air that enters the coil. capacity: flow times heat capacity [W/K]."""

    temperature_k: float
    capacity: float
    effectiveness: float


class CondenserState(NamedTuple):
    """The condenser at one pressure: what leaves it, and what coil and liquid line hold. Enthalpy [J/kg]."""

    liquid_fraction: float
    outlet_enthalpy: float
    held_kg: float


def condense(
    coil: Condenser,
    properties: Properties,
    air: OutdoorAir,
    *,
    at: Saturation,
    inlet_enthalpy: float,
    flow_kg_s: float,
) -> CondenserState:
    """Find how far the refrigerant gets at this pressure, and how much coil and liquid line hold."""
    over_air_dk = at.mean_temperature_k - air.temperature_k
    vapour_part = _desuperheating_fraction(coil, properties, air, at, inlet_enthalpy, flow_kg_s)
    quality_in = min(max((inlet_enthalpy - at.liquid_enthalpy) / at.latent_heat, 0.0), 1.0)
    to_condense = flow_kg_s * quality_in * at.latent_heat
    full_heat = air.effectiveness * air.capacity * max(over_air_dk, 0.0)
    vapour_kg = at.vapour_density * (vapour_part * coil.volume_m3 + coil.gas_line_volume_m3)
    room = 1.0 - vapour_part
    if to_condense > full_heat * room:
        quality = quality_in * (1.0 - full_heat * room / to_condense)
        mixture = room * mean_density(at, quality, quality_in) * coil.volume_m3
        line = coil.line_volume_m3 * mean_density(at, quality, quality)
        return CondenserState(0.0, at.liquid_enthalpy + quality * at.latent_heat, vapour_kg + mixture + line)
    two_phase = to_condense / full_heat if full_heat > 0.0 else room
    liquid = room - two_phase
    subcooling = _subcooling(coil, air, at, flow_kg_s, liquid)
    held = (
        vapour_kg
        + two_phase * mean_density(at, 0.0, quality_in) * coil.volume_m3
        + (liquid * coil.volume_m3 + coil.line_volume_m3) * at.liquid_density
    )
    return CondenserState(liquid, at.liquid_enthalpy - at.liquid_heat_capacity * subcooling, held)


def _desuperheating_fraction(
    coil: Condenser,
    properties: Properties,
    air: OutdoorAir,
    at: Saturation,
    inlet_enthalpy: float,
    flow_kg_s: float,
) -> float:
    superheat = properties.superheat_of_enthalpy(at, inlet_enthalpy)
    if superheat <= 0.0:
        return 0.0
    over_air_dk = at.dew_point_k - air.temperature_k
    if over_air_dk <= 0.0:
        return 1.0
    transfer_units = math.log1p(superheat / over_air_dk)
    capacity = flow_kg_s * (inlet_enthalpy - at.vapour_enthalpy) / superheat
    return min(transfer_units * capacity / coil.vapour_conductance, 1.0)


def _subcooling(coil: Condenser, air: OutdoorAir, at: Saturation, flow_kg_s: float, liquid: float) -> float:
    """Cross flow, the liquid mixed and the air not (Kays and London): air past the pipe has but so much to take."""
    over_air_dk = max(at.bubble_point_k - air.temperature_k, 0.0)
    if flow_kg_s <= 0.0:
        return over_air_dk
    taken_up = -math.expm1(-coil.liquid_conductance / air.capacity) * air.capacity
    return -math.expm1(-taken_up * liquid / (flow_kg_s * at.liquid_heat_capacity)) * over_air_dk
