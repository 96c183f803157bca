"""What the coils of a unit exchange heat with while its compressor stands: still air, or what a fan still moves.

A compressor that tripped stands while the call lasts, and with it the fans go on: its protector opens the motor alone.
"""

from simulators.unit.air_streams import NATURAL_DRAUGHT
from simulators.unit.circuit import Circuit
from simulators.unit.resting import Around


def around_condenser(circuit: Circuit, still_k: float) -> Around:
    """Tell what is around the condenser: still air this warm, or what its fan moves."""
    streams = circuit.streams
    if streams.fan_speed <= NATURAL_DRAUGHT:
        return Around(still_k, circuit.high.loss_conductance)
    air = streams.condenser_air
    return Around(air.temperature_k, air.effectiveness * air.capacity)


def around_evaporator(circuit: Circuit, *, still_k: float, blower_runs: bool) -> Around:
    """Tell what is around the evaporator: still air this warm, or what the blower moves."""
    if not blower_runs:
        return Around(still_k, circuit.low.loss_conductance)
    air = circuit.streams.evaporator_air
    return Around(air.temperature_k, air.effectiveness * air.capacity)
