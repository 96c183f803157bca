"""How much faster than life the simulated unit runs when it is asked for its state four times a second."""

import time
from collections.abc import Iterator

from simulators.unit.line_set import LineSet
from simulators.unit.metering import FixedOrifice
from simulators.unit.model import Unit
from simulators.unit.parameters import Faults, UnitParameters
from simulators.unit.sizing import Build, size
from tests.figures import Figure

SIMULATED_S = 300.0
TICK_S = 0.25


def measure() -> Iterator[Figure]:
    """Run units that settle after an addition: with each metering device, sized, and one that cycles all the time."""
    units = {
        "TXV": UnitParameters(),
        "fixed orifice": UnitParameters(metering=FixedOrifice()),
        "split, R-454B": size(Build(10_550.0, 2.7, "R-454B", phases=1, line_set=LineSet(15.0))),
        "cycling on a cut-out": UnitParameters(faults=Faults(fan_capacitor=0.0)),
    }
    for name, parameters in units.items():
        yield Figure(f"simulated unit at 4 Hz, {name}", f"{_speed(parameters):.0f}x life", ">= 200x")


def _speed(parameters: UnitParameters) -> float:
    unit = Unit(parameters)
    unit.add(0.17, "liquid")
    began = time.perf_counter()
    for _ in range(round(SIMULATED_S / TICK_S)):
        unit.step(TICK_S)
        unit.true_state()
    return SIMULATED_S / (time.perf_counter() - began)
