"""Frost on a coil: water that freezes where the coil is below freezing, chokes its air, and melts again."""

from typing import NamedTuple

HEAT_OF_FUSION = 334e3
"""Of ice [J/kg]."""

FIN_OVER_REFRIGERANT_DK = 1.5
"""How much warmer the fins are than what boils in them (common practice, no source)."""

FREEZING_K = 273.15
MELTING_CONDUCTANCE = 120.0
"""From metal to frost, for an indoor coil of one cubic metre of air a second [W/K] (a guess, no source)."""

FULL_COVER = 0.15
"""From what part of its full frost on a coil is covered all over (a guess, no source)."""

LEAST_FREE = 0.15
FULL_KG_PER_AIR_FLOW = 6.0
"""Frost that chokes a coil, for each cubic metre of air a second that it is made for (a guess, no source)."""


def freezes(refrigerant_k: float) -> bool:
    """Tell whether fins are below freezing on a coil in which this boils."""
    return refrigerant_k + FIN_OVER_REFRIGERANT_DK < FREEZING_K


def freezing(condensed_kg_s: float, refrigerant_k: float) -> float:
    """Find what freezes of the water that the coil takes from its air [kg/s]."""
    return condensed_kg_s if freezes(refrigerant_k) else 0.0


def melting(frost_kg: float, metal_k: float, *, conductance: float, step_s: float) -> float:
    """Find what melts in this time on a coil whose metal is this warm [kg]."""
    heat_w = conductance * max(metal_k - FREEZING_K, 0.0)
    return min(heat_w / HEAT_OF_FUSION * step_s, frost_kg)


def covered(frost_kg: float, full_kg: float) -> float:
    """Find what part of a coil its frost still covers [1]."""
    return min(frost_kg / (FULL_COVER * full_kg), 1.0)


def free_part(frost_kg: float, full_kg: float) -> float:
    """Find what part of the air flow the frost leaves [1]. full: what chokes the coil."""
    return max(1.0 - frost_kg / full_kg, LEAST_FREE)


class Frosted(NamedTuple):
    """What is on a coil after a step, and the heat that it gave to the coil [J]."""

    frost_kg: float
    heat_j: float


def frost_over(
    frost_kg: float, *, condensed_kg_s: float, refrigerant_k: float, metal_k: float, conductance: float, step_s: float
) -> Frosted:
    """Let water freeze on a coil or frost melt. conductance: from metal to frost [W/K]."""
    frozen_kg = step_s * freezing(condensed_kg_s, refrigerant_k)
    frozen_kg -= melting(frost_kg, metal_k, conductance=conductance, step_s=step_s)
    return Frosted(frost_kg + frozen_kg, frozen_kg * HEAT_OF_FUSION)
