"""Transmitters: what a current or a voltage says of the quantity behind it, and when it says that it cannot tell."""

from dataclasses import dataclass
from enum import StrEnum

from calc.elementwise import Value, takes_arrays, within

LIVE_ZERO_A, FULL_SCALE_A = 4e-3, 20e-3
FAULT_LOW_A, FAULT_HIGH_A = 3.6e-3, 21e-3
"""NAMUR NE 43, as its summaries in print give it: below 3.6 and above 21 mA the transmitter reports its own fault."""
_ZERO_SHARE, _FULL_SHARE = 0.1, 0.9
_BROKEN_SHARE = 0.05
_HIGHEST_AIR_PA = 109e3
"""More than the highest that a barometer at sea level has shown (from memory)."""


class LoopState(StrEnum):
    """What a loop current means beside its value."""

    FAULT_LOW = "failure signal, low"
    UNDER_RANGE = "under range"
    OK = "ok"
    OVER_RANGE = "over range"
    FAULT_HIGH = "failure signal, high"


@dataclass(frozen=True, slots=True)
class LoopReading:
    """The quantity behind a loop current [unit of the scale], None in a fault."""

    value: float | None
    state: LoopState


@takes_arrays
def current_loop(current_a: float, *, low: float, high: float) -> LoopReading:
    """Read a 4 to 20 mA loop.

    Below 3.6 mA a wire is broken or the transmitter reports a fault, above 21 mA likewise; from there to 4 mA and
    from 20 mA the value is extrapolated and marked as under or over the range (NAMUR NE 43, from its summaries).

    Args:
        current_a: -0.1 to 0.1 [A].
        low: the value at 4 mA [any unit].
        high: the value at 20 mA, which may be below `low` [same unit].

    Raises:
        CalcRangeError: a current that no loop carries, or a scale beyond 1e12.

    >>> current_loop(12e-3, low=0.0, high=500.0)  # the middle of the scale, by definition
    LoopReading(value=250.0, state=<LoopState.OK: 'ok'>)
    >>> current_loop(3.5e-3, low=0.0, high=500.0)
    LoopReading(value=None, state=<LoopState.FAULT_LOW: 'failure signal, low'>)

    """
    within("current_a", current_a, -0.1, 0.1, "A", "no loop carries that")
    within("low", low, -1e12, 1e12, "")
    within("high", high, -1e12, 1e12, "")
    state = _state(current_a)
    if state in (LoopState.FAULT_LOW, LoopState.FAULT_HIGH):
        return LoopReading(None, state)
    share = (current_a - LIVE_ZERO_A) / (FULL_SCALE_A - LIVE_ZERO_A)
    return LoopReading(low + share * (high - low), state)


@takes_arrays
def ratiometric(
    output_v: Value, supply_v: float, *, full_scale_pa: float, barometric_pressure_pa: float = _HIGHEST_AIR_PA
) -> Value:
    """Read a ratiometric pressure transmitter: 10 % of its supply at zero, 90 % at full scale.

    That is 0.5 to 4.5 V of 5 V. The supply must be measured: one that is 1 % low reads 1 % of the span low.
    Below 5 % and above 95 % of the supply a wire is broken or shorted (common practice, no source).

    Args:
        output_v: an array gives an array [V].
        supply_v: measured at the same time, 2 to 30 [V].
        full_scale_pa: the pressure at 90 % [Pa].
        barometric_pressure_pa: how far a gauge pressure can fall; the highest ever if not given [Pa].

    Returns:
        The pressure above the transmitter's zero: above the surrounding air of a gauge transmitter [Pa].

    Raises:
        CalcRangeError: a broken wire, less than a perfect vacuum, or values beyond these limits.

    >>> ratiometric(2.5, 5.0, full_scale_pa=500.0)  # the middle of the scale, by definition
    250.0

    """
    within("supply_v", supply_v, 2.0, 30.0, "V")
    within("full_scale_pa", full_scale_pa, 1.0, 1e9, "Pa")
    low_v, high_v = _BROKEN_SHARE * supply_v, (1 - _BROKEN_SHARE) * supply_v
    within("output_v", output_v, low_v, high_v, "V", "look for a broken or shorted wire")
    within("barometric_pressure_pa", barometric_pressure_pa, 0.0, 180e3, "Pa")
    vacuum_v = (_ZERO_SHARE - (_FULL_SHARE - _ZERO_SHARE) * barometric_pressure_pa / full_scale_pa) * supply_v
    because = "less would be below a perfect vacuum: look at the wires, the supply and the full scale"
    within("output_v", output_v, vacuum_v, high_v, "V", because)
    return (output_v / supply_v - _ZERO_SHARE) / (_FULL_SHARE - _ZERO_SHARE) * full_scale_pa


def _state(current_a: float) -> LoopState:
    bands = (
        (current_a < FAULT_LOW_A, LoopState.FAULT_LOW),
        (current_a < LIVE_ZERO_A, LoopState.UNDER_RANGE),
        (current_a <= FULL_SCALE_A, LoopState.OK),
        (current_a <= FAULT_HIGH_A, LoopState.OVER_RANGE),
    )
    return next((state for holds, state in bands if holds), LoopState.FAULT_HIGH)
