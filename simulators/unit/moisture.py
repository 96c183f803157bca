"""Water in the circuit: it boils off in a vacuum, and holds the pressure at that of its vapour until it is gone."""

import math

from simulators.unit import moist_air
from simulators.unit.air_inside import GAS_CONSTANT

WATER_KG_PER_MOL = 0.018015
STEAM_J_PER_MOL = moist_air.HEAT_OF_VAPORISATION * WATER_KG_PER_MOL

BOILING_LAG_S = 60.0
"""How soon water in oil and corners fills what is empty with its vapour (a guess, no source)."""


def boiling(water_kg: float, steam_mol: float, *, volume_m3: float, temperature_k: float, step_s: float) -> float:
    """Find what boils off in this time, or condenses where it is negative [mol]."""
    saturated_mol = moist_air.saturation_pressure(temperature_k) * volume_m3 / (GAS_CONSTANT * temperature_k)
    moved_mol = (saturated_mol - steam_mol) * -math.expm1(-step_s / BOILING_LAG_S)
    return min(moved_mol, water_kg / WATER_KG_PER_MOL)
