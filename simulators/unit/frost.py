"""Frost on the indoor coil: water that freezes where the coil is below freezing, chokes its air, and melts again."""

from simulators.unit.stores import Stores

HEAT_OF_FUSION = 334e3
"""Of ice [J/kg]."""

FIN_OVER_REFRIGERANT_DK = 1.5
"""How much warmer the fins are than what boils in them (common practice, no source)."""

FREEZING_K = 273.15
MELTING_CONDUCTANCE = 120.0
"""From metal to frost, for a coil of one cubic metre of air a second [W/K] (a guess, no source)."""

LEAST_FREE = 0.15
FULL_KG_PER_AIR_FLOW = 6.0
"""Frost that chokes a coil, for each cubic metre of air a second that it is made for (a guess, no source)."""


def freezing(condensed_kg_s: float, refrigerant_k: float) -> float:
    """Find what freezes of the water that the coil takes from its air [kg/s]."""
    return condensed_kg_s if refrigerant_k + FIN_OVER_REFRIGERANT_DK < FREEZING_K else 0.0


def melting(frost_kg: float, metal_k: float, *, air_flow_m3_s: float, step_s: float) -> float:
    """Find what melts in this time on a coil whose metal is this warm [kg]."""
    heat_w = MELTING_CONDUCTANCE * air_flow_m3_s * max(metal_k - FREEZING_K, 0.0)
    return min(heat_w / HEAT_OF_FUSION * step_s, frost_kg)


def free_part(frost_kg: float, air_flow_m3_s: float) -> float:
    """Find what part of the air flow the frost leaves [1]."""
    return max(1.0 - frost_kg / (FULL_KG_PER_AIR_FLOW * air_flow_m3_s), LEAST_FREE)


def frost_over(
    stores: Stores, *, condensed_kg_s: float, refrigerant_k: float, air_flow_m3_s: float, step_s: float
) -> float:
    """Let water freeze on the coil or frost melt, and tell the heat that it gives to the coil [J]."""
    frozen_kg = step_s * freezing(condensed_kg_s, refrigerant_k)
    frozen_kg -= melting(stores.frost_kg, stores.low_metal_k, air_flow_m3_s=air_flow_m3_s, step_s=step_s)
    stores.frost_kg += frozen_kg
    return frozen_kg * HEAT_OF_FUSION
