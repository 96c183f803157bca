"""What flows into and out of the two tanks of a heat pump, with the energy that it carries."""

from simulators.unit.circuit import Circuit
from simulators.unit.heat_pump import HeatPump
from simulators.unit.stores import Moment, Stores

DRAINING_LAG_S = 600.0
"""How soon liquid leaves a tank at rest (a guess, no source)."""

MOST_PART = 0.2
"""What part of a side may flow into a tank in one step."""


def fill_tanks(heat_pump: HeatPump, circuit: Circuit, stores: Stores, now: Moment, step_s: float) -> None:
    """Let the accumulator catch and return liquid, and the compensator fill in heating and empty in cooling."""
    caught_kg = _within(now.accumulating_kg_s * step_s, stores.accumulator_kg, stores.low_side_kg)
    stores.accumulator_j += _carried_j(
        caught_kg, now.suction.liquid_enthalpy, stores.accumulator_kg, stores.accumulator_j
    )
    stores.accumulator_kg += caught_kg
    stores.low_side_kg -= caught_kg
    if heat_pump.compensator is None or now.condenser_flow_kg_s == 0.0:
        return
    gains_kg_s = heat_pump.compensator.gains_kg_s(
        stores.compensator_kg, now.condensing.liquid_density, heats=circuit.mode == "heating"
    )
    filled_kg = _within(gains_kg_s * step_s, stores.compensator_kg, stores.high_side_kg)
    stores.compensator_j += _carried_j(
        filled_kg, now.condenser.outlet_enthalpy, stores.compensator_kg, stores.compensator_j
    )
    stores.compensator_kg += filled_kg
    stores.high_side_kg -= filled_kg


def drain(stores: Stores, step_s: float) -> None:
    """Let the tanks of a unit at rest drain into their sides."""
    part = min(step_s / DRAINING_LAG_S, 1.0)
    stores.low_side_kg += part * stores.accumulator_kg
    stores.high_side_kg += part * stores.compensator_kg
    stores.accumulator_kg *= 1.0 - part
    stores.accumulator_j *= 1.0 - part
    stores.compensator_kg *= 1.0 - part
    stores.compensator_j *= 1.0 - part


def _within(mass_kg: float, in_tank_kg: float, in_side_kg: float) -> float:
    return min(max(mass_kg, -in_tank_kg), MOST_PART * in_side_kg)


def _carried_j(mass_kg: float, enthalpy: float, in_tank_kg: float, in_tank_j: float) -> float:
    """Find the energy of what comes with this enthalpy [J/kg], or of what leaves, which is as the tank is."""
    return mass_kg * (enthalpy if mass_kg >= 0.0 else in_tank_j / in_tank_kg)
