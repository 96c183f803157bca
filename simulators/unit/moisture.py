"""Water in the circuit: it boils off in a vacuum, and holds the pressure at that of its vapour until it is gone."""

import math

from simulators.unit import moist_air
from simulators.unit.air_inside import air_amount, air_pressure
from simulators.unit.stores import Stores

WATER_KG_PER_MOL = 0.018015
STEAM_J_PER_MOL = moist_air.HEAT_OF_VAPORISATION * WATER_KG_PER_MOL

BOILING_LAG_S = 60.0
"""How soon water in oil and corners fills what is empty with its vapour (a guess, no source)."""


def boiling(water_kg: float, steam_mol: float, *, volume_m3: float, temperature_k: float, step_s: float) -> float:
    """Find what boils off in this time, or condenses where it is negative [mol]."""
    saturated_mol = air_amount(moist_air.saturation_pressure(temperature_k), volume_m3, temperature_k)
    moved_mol = (saturated_mol - steam_mol) * -math.expm1(-step_s / BOILING_LAG_S)
    return min(moved_mol, water_kg / WATER_KG_PER_MOL)


def boil_water(stores: Stores, volume_m3: float, step_s: float) -> float:
    """Let water boil or condense in a unit at rest, and tell the heat that it takes from the coil [J]."""
    if stores.water_kg + stores.steam_mol == 0.0:
        return 0.0
    coldest_k = min(stores.high_metal_k, stores.low_metal_k)
    boiled_mol = boiling(stores.water_kg, stores.steam_mol, volume_m3=volume_m3, temperature_k=coldest_k, step_s=step_s)
    stores.water_kg -= boiled_mol * WATER_KG_PER_MOL
    stores.steam_mol += boiled_mol
    stores.steam_pa = air_pressure(stores.steam_mol, volume_m3, coldest_k)
    return boiled_mol * STEAM_J_PER_MOL
