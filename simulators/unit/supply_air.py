"""The air that leaves the indoor side: cooled and dried by the coil, warmed, or as it entered with the unit at rest."""

from simulators.unit import moist_air
from simulators.unit.air_streams import mixed_air
from simulators.unit.evaporator import Air
from simulators.unit.lag import lagged
from simulators.unit.parameters import Conditions
from simulators.unit.stores import Moment, Stores

SUPPLY_AIR_LAG_S = 10.0


def cool_supply_air(
    stores: Stores, air: Air, now: Moment, *, evaporator_w: float, auxiliary_w: float, step_s: float
) -> None:
    """Let the supply air follow the heat and the water that the coil takes from it, and what a heater adds."""
    contact = air.effectiveness * now.evaporator.two_phase_fraction
    condensed = contact * air.water_above(now.suction.mean_temperature_k)
    latent_w = air.flow_kg_s * condensed * moist_air.HEAT_OF_VAPORISATION
    supply_k = air.temperature_k - (max(evaporator_w - latent_w, 0.0) - auxiliary_w) / air.capacity
    _follow(stores, supply_k, air.humidity_ratio - condensed, step_s)


def pass_supply_air(
    stores: Stores, conditions: Conditions, *, outdoor_part: float, warmed_dk: float, step_s: float
) -> None:
    """Let the supply air become what enters, with this part of it from outdoors, warmed by a coil at rest."""
    entering_k, humidity_ratio = mixed_air(conditions, outdoor_part)
    _follow(stores, entering_k + warmed_dk, humidity_ratio, step_s)


def _follow(stores: Stores, supply_k: float, humidity_ratio: float, step_s: float) -> None:
    parts = step_s / SUPPLY_AIR_LAG_S
    stores.supply_air_k = lagged(stores.supply_air_k, supply_k, parts)
    stores.supply_humidity_ratio = lagged(stores.supply_humidity_ratio, humidity_ratio, parts)
