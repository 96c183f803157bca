"""How much faster than life simulated units run when they are asked for their state four times a second.

By the time of one core: what else the machine does meanwhile is not theirs.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import replace

from simulators.unit.head_control import FanCycling, FanSpeed
from simulators.unit.line_set import LineSet
from simulators.unit.metering import FixedOrifice
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from simulators.unit.sizing import Build, size
from simulators.unit.two_circuits import TwoCircuitUnit
from simulators.unit.usual_heat_pump import USUAL_HEAT_PUMP
from tests.figures import Figure

SIMULATED_S = 300.0
TICK_S = 0.25


def measure() -> Iterator[Figure]:
    """Run units that settle after an addition: with each metering device, sized, and one that cycles all the time."""
    units = {
        "TXV": UnitParameters(),
        "fixed orifice": UnitParameters(metering=FixedOrifice()),
        "split, R-454B": size(Build(10_550.0, 2.7, "R-454B", phases=1, line_set=LineSet(15.0))),
        "cycling on a cut-out": UnitParameters(faults=Faults(fan_capacitor=0.0), delay_timer_s=0.0),
    }
    for name, parameters in units.items():
        unit = Unit(parameters)
        unit.add(0.17, "liquid")
        yield _figure(name, unit.step, unit.true_state)
    frosting = replace(USUAL_HEAT_PUMP, conditions=Conditions(outdoor_air_k=274.8, outdoor_air_humidity=82.0))
    heats = Unit(frosting, heating=True)
    yield _figure("heat pump in heating, frosting", heats.step, heats.true_state)
    chatters = Unit(at_rest=True)
    for lug in ("disconnect_a", "disconnect_b"):
        chatters.electric.set_joint(lug, 4.0)
    chatters.electric.block("compressor", blocked=True)
    chatters.call(cooling=True)
    yield _figure("contactor that chatters", chatters.step, chatters.true_state, 20.0, ">= 100x")
    cool = Conditions(outdoor_air_k=283.15, return_air_k=295.15)
    first = UnitParameters(conditions=cool, head_control=FanSpeed(), faults=Faults(non_condensables_pa=5e4))
    both = TwoCircuitUnit([first, UnitParameters(conditions=cool, metering=FixedOrifice(), head_control=FanCycling())])
    yield _figure("two circuits, fan control, air inside", both.step, lambda: (both.true_state(0), both.true_state(1)))


def _figure(
    name: str,
    step: Callable[[float], None],
    look: Callable[[], object],
    simulated_s: float = SIMULATED_S,
    wanted: str = ">= 200x, and two of them >= 100x",
) -> Figure:
    began = time.process_time()
    for _ in range(round(simulated_s / TICK_S)):
        step(TICK_S)
        look()
    speed = simulated_s / (time.process_time() - began)
    return Figure(f"simulated unit at 4 Hz, {name}", f"{speed:.0f}x life", wanted)
