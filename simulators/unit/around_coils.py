"""What the coils of a unit exchange heat with while its compressor stands: still air, or what a fan still moves.

A compressor that tripped stands while the call lasts, and with it the fans go on: its protector opens the motor alone.
"""

from typing import NamedTuple

from simulators.unit.air_streams import NATURAL_DRAUGHT
from simulators.unit.circuit import Circuit
from simulators.unit.condenser import OutdoorAir
from simulators.unit.evaporator import Air
from simulators.unit.resting import Around, Side


class AroundCoils(NamedTuple):
    """What is around the coil of each side."""

    high: Around
    low: Around


def around_coils(circuit: Circuit, *, indoors_k: float, outdoors_k: float, blower_runs: bool) -> AroundCoils:
    """Tell what is around the coils, with the still air this warm at the indoor and at the outdoor one."""
    streams, fan_runs = circuit.streams, circuit.streams.fan_speed > NATURAL_DRAUGHT
    if circuit.mode == "heating":
        return AroundCoils(
            high=_around(circuit.high, streams.condenser_air, still_k=indoors_k, moves=blower_runs),
            low=_around(circuit.low, streams.evaporator_air, still_k=outdoors_k, moves=fan_runs),
        )
    return AroundCoils(
        high=_around(circuit.high, streams.condenser_air, still_k=outdoors_k, moves=fan_runs),
        low=_around(circuit.low, streams.evaporator_air, still_k=indoors_k, moves=blower_runs),
    )


def _around(side: Side, air: Air | OutdoorAir, *, still_k: float, moves: bool) -> Around:
    if moves:
        return Around(air.temperature_k, air.effectiveness * air.capacity)
    return Around(still_k, side.loss_conductance)
