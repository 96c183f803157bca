"""The voltage that a circuit's conductors lose on the way."""

import math
from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.wiring.conductor import Metal, find

_NO_OHM = 1e-9
BRANCH_CIRCUIT_LIMIT_RATIO = 0.03
"""Advice, no rule: 3 % to the farthest outlet, 5 % with the feeder (informational notes to NEC 210.19; from memory)."""


@dataclass(frozen=True, slots=True)
class VoltageDrop:
    """What is lost, in volts and as a share of the circuit's voltage."""

    drop_v: float
    ratio: float


@takes_arrays
def voltage_drop(
    gauge: str | int,
    length_m: float,
    *,
    current_a: float,
    circuit_v: float,
    phases: int,
    metal: Metal = Metal.COPPER,
) -> VoltageDrop:
    """Compute the voltage lost in stranded conductors: 2 R I on one phase, sqrt(3) R I on three.

    R is of direct current at 75 °C (NEC chapter 9, table 8), the load is taken as of power factor 1, and reactance is
    left out: good to a few percent up to about 1/0 AWG. Starting current loses several times as much.

    Args:
        gauge: "18" of copper or "12" of aluminium, to "4/0".
        length_m: one way, 0 to 10,000 [m].
        current_a: 0 to 1e4 [A].
        circuit_v: at its beginning, 1 to 1e5 [V].
        phases: 1 or 3.
        metal: of the conductors.

    Raises:
        UnknownNameError: no such gauge.
        ArgumentError: neither one phase nor three.
        CalcRangeError: beyond these limits, or more than the circuit's voltage would be lost.

    >>> lost = voltage_drop("12", 30.48, current_a=16.0, circuit_v=240.0, phases=1)  # by the formula: 100 ft
    >>> round(lost.drop_v, 2), round(100 * lost.ratio, 2)
    (6.34, 2.64)

    """
    if phases not in (1, 3):
        raise ArgumentError(f"a circuit has one phase or three, not {phases}")
    within("length_m", length_m, 0.0, 1e4, "m")
    within("current_a", current_a, 0.0, 1e4, "A")
    within("circuit_v", circuit_v, 1.0, 1e5, "V")
    way = 2.0 if phases == 1 else math.sqrt(3)
    resistance_ohm = way * find(gauge, metal).resistance_ohm_per_m * length_m
    because = "these conductors alone would let no more through: check their length and gauge"
    within("current_a", current_a, 0.0, circuit_v / max(resistance_ohm, _NO_OHM), "A", because)
    drop_v = resistance_ohm * current_a
    return VoltageDrop(drop_v, drop_v / circuit_v)
