"""Frost on both coils of a unit: it grows on the one that evaporates, and melts on both where their metal is warm."""

from typing import NamedTuple

from simulators.unit.frost import (
    FREEZING_K,
    FULL_KG_PER_AIR_FLOW,
    MELTING_CONDUCTANCE,
    covered,
    free_part,
    freezes,
    frost_over,
)
from simulators.unit.heating_streams import melting_conductance
from simulators.unit.parameters import UnitParameters
from simulators.unit.stores import Stores


class FrostHeat(NamedTuple):
    """The heat that frost gave to each side while it froze, taken from it where it melted [J]."""

    high_j: float
    low_j: float


NO_FROST = FrostHeat(0.0, 0.0)


def frost_coils(
    parameters: UnitParameters,
    stores: Stores,
    *,
    heats: bool,
    condensed_kg_s: float,
    refrigerant_k: float,
    step_s: float,
) -> FrostHeat:
    """Let frost grow and melt for this long. condensed: water that the coil of the low side takes from its air."""
    if stores.frost_kg == stores.outdoor_frost_kg == 0.0 and not freezes(refrigerant_k):
        return NO_FROST
    indoor = frost_over(
        stores.frost_kg,
        condensed_kg_s=0.0 if heats else condensed_kg_s,
        refrigerant_k=refrigerant_k,
        metal_k=stores.high_metal_k if heats else stores.low_metal_k,
        conductance=MELTING_CONDUCTANCE * parameters.evaporator.air_flow_m3_s,
        step_s=step_s,
    )
    outdoor = frost_over(
        stores.outdoor_frost_kg,
        condensed_kg_s=condensed_kg_s if heats else 0.0,
        refrigerant_k=refrigerant_k,
        metal_k=stores.low_metal_k if heats else stores.high_metal_k,
        conductance=melting_conductance(parameters, stores.outdoor_frost_kg),
        step_s=step_s,
    )
    stores.frost_kg, stores.outdoor_frost_kg = indoor.frost_kg, outdoor.frost_kg
    return FrostHeat(indoor.heat_j, outdoor.heat_j) if heats else FrostHeat(outdoor.heat_j, indoor.heat_j)


def outdoor_sensor_k(parameters: UnitParameters, stores: Stores, *, heats: bool) -> float:
    """Tell how warm the outdoor coil is where it clears last, and its sensor sits [K]."""
    metal_k = stores.low_metal_k if heats else stores.high_metal_k
    if parameters.heat_pump is None or metal_k <= FREEZING_K:
        return metal_k
    under_frost = covered(stores.outdoor_frost_kg, parameters.heat_pump.full_frost_kg)
    return metal_k - under_frost * (metal_k - FREEZING_K)


def indoor_free_part(parameters: UnitParameters, stores: Stores) -> float:
    """Tell what part of its air the frost on the indoor coil leaves [1]."""
    return free_part(stores.frost_kg, FULL_KG_PER_AIR_FLOW * parameters.evaporator.air_flow_m3_s)


def outdoor_free_part(parameters: UnitParameters, stores: Stores) -> float:
    """Tell what part of its air the frost on the outdoor coil leaves [1]."""
    if parameters.heat_pump is None:
        return 1.0
    return free_part(stores.outdoor_frost_kg, parameters.heat_pump.full_frost_kg)
