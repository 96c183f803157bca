"""What flows into and out of the two tanks of a heat pump, with the energy that it carries."""

from simulators.unit.circuit import Circuit
from simulators.unit.heat_pump import HeatPump
from simulators.unit.stores import Moment, Stores

DRAINING_LAG_S = 600.0
"""How soon liquid leaves an accumulator at rest (a guess, no source)."""

MOST_PART = 0.2
"""What part of a side may flow into a tank in one step."""


def fill_tanks(heat_pump: HeatPump, circuit: Circuit, stores: Stores, now: Moment, step_s: float) -> None:
    """Let the accumulator catch and return liquid, and the compensator fill in heating and empty in cooling."""
    caught_kg = _within(now.accumulating_kg_s * step_s, stores.accumulator_kg, stores.low_side_kg)
    caught_j = caught_kg * _enthalpy(caught_kg, now.suction.liquid_enthalpy, stores.accumulator_kg, stores.accumulator_j)
    stores.accumulator_kg += caught_kg
    stores.accumulator_j += caught_j
    stores.low_side_kg -= caught_kg
    if heat_pump.compensator is None or now.condenser_flow_kg_s == 0.0:
        return
    gains_kg_s = heat_pump.compensator.gains_kg_s(
        stores.compensator_kg, now.condensing.liquid_density, heats=circuit.mode == "heating"
    )
    filled_kg = _within(gains_kg_s * step_s, stores.compensator_kg, stores.high_side_kg)
    outlet = now.condenser.outlet_enthalpy
    stores.compensator_j += filled_kg * _enthalpy(filled_kg, outlet, stores.compensator_kg, stores.compensator_j)
    stores.compensator_kg += filled_kg
    stores.high_side_kg -= filled_kg


def drain(stores: Stores, step_s: float) -> None:
    """Let the accumulator of a unit at rest drain into its low side."""
    part = min(step_s / DRAINING_LAG_S, 1.0)
    stores.low_side_kg += part * stores.accumulator_kg
    stores.accumulator_kg *= 1.0 - part
    stores.accumulator_j *= 1.0 - part


def _within(mass_kg: float, in_tank_kg: float, in_side_kg: float) -> float:
    return min(max(mass_kg, -in_tank_kg), MOST_PART * in_side_kg)


def _enthalpy(mass_kg: float, coming: float, in_tank_kg: float, in_tank_j: float) -> float:
    """Find the enthalpy of what comes, or of what leaves, which is as the tank is [J/kg]."""
    return coming if mass_kg >= 0.0 else in_tank_j / in_tank_kg
