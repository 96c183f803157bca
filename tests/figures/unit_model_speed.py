"""How much faster than life the simulated unit runs when it is asked for its state four times a second."""

import time

from simulators.metering import FixedOrifice, ThermostaticValve
from simulators.unit_model import Unit
from simulators.unit_parameters import UnitParameters
from tests.figures import Figure

SIMULATED_S = 300.0
TICK_S = 0.25


def measure() -> list[Figure]:
    """Run a unit that settles after an addition, with each metering device."""
    return [
        Figure(f"simulated unit at 4 Hz, {name}", f"{_speed(UnitParameters(metering=metering)):.0f}x life", ">= 200x")
        for name, metering in (("TXV", ThermostaticValve()), ("fixed orifice", FixedOrifice()))
    ]


def _speed(parameters: UnitParameters) -> float:
    unit = Unit(parameters)
    unit.add(0.17, "liquid")
    began = time.perf_counter()
    for _ in range(round(SIMULATED_S / TICK_S)):
        unit.step(TICK_S)
        unit.true_state()
    return SIMULATED_S / (time.perf_counter() - began)
