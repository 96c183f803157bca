"""The supply of a motor: its voltage against the nameplate, the balance of three phases, and the power it carries."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise

from calc.elementwise import takes_arrays, within

SUPPLY_TOLERANCE_RATIO = 0.10
"""About the nameplate's voltage: common practice, and as printed in general tables (engineeringtoolbox.com)."""
VOLTAGE_UNBALANCE_LIMIT_RATIO = 0.02
CURRENT_UNBALANCE_LIMIT_RATIO = 0.10
"""Both as a training manual of the Refrigeration Service Engineers Society prints them."""
LIVE_V = 50.0
"""From here on a pair is live: 29 CFR 1910.333(a)(1), from memory."""
DEAD_V = 3.0
"""Below it a pair is taken for dead, as far as one reading goes (common practice, no source)."""
GREATEST_UNBALANCE_RATIO = 0.05
"""NEMA advises against running a motor beyond (as quoted)."""
LOST_PHASE_RATIO = 0.1
"""Of the mean of the three, in one of them: what a clamp shows around a wire that carries nothing. Common practice, no
source."""
SINGLE_PHASING = (
    "STOP: a leg carries next to nothing. The motor runs on what is left of three phases and burns out; do not start "
    "it again. Lock out, then see fuses, contactor, lugs and the supply."
)
FIND_THE_CAUSE = "more than 10 %: do not let it run on. Find the cause first: volts, lugs, contacts, then the windings"
CAUTION = (
    "Measured on live parts in an open panel: only with the training, gloves and eye protection for live work. Put "
    "leads and jaws on while it is locked out. The unit may start by itself, and a capacitor keeps its charge."
)
_GREATEST = 1e5


@dataclass(frozen=True, slots=True)
class Derating:
    """What share of its rated load a motor may carry, and where that figure is from."""

    factor: float
    status: str


@dataclass(frozen=True, slots=True)
class ThreePhasePower:
    """The power of a balanced load."""

    real_w: float
    apparent_va: float
    reactive_var: float


@takes_arrays
def unbalance(first: float, second: float, third: float) -> float:
    """Compute the unbalance of three line voltages or currents: the largest deviation from their mean, over it.

    Args:
        first: line to line for voltages; the order does not count; 0 to 1e5 [V or A].
        second: likewise.
        third: likewise.

    Returns:
        The unbalance, 0.02 for 2 %; 2 is one phase alone [1].

    Raises:
        CalcRangeError: beyond these limits, or nothing in any phase.

    >>> round(100 * unbalance(452.0, 464.0, 455.0), 2)  # an air conditioner's manual: 1.53 %
    1.53

    """
    three = [
        within(name, value, 0.0, _GREATEST, "V or A")
        for name, value in zip(("first", "second", "third"), (first, second, third), strict=True)
    ]
    mean = within("mean", sum(three) / 3, 1e-6, _GREATEST, "V or A", "there is nothing to compare")
    return max(abs(value - mean) for value in three) / mean


def is_single_phasing(line_currents_a: Sequence[float]) -> bool:
    """Tell whether one of three line currents is missing: below a tenth of their mean.

    >>> is_single_phasing((0.0, 21.0, 21.0)), is_single_phasing((8.0, 10.0, 10.0))
    (True, False)
    """
    return min(line_currents_a) < LOST_PHASE_RATIO * sum(line_currents_a) / len(line_currents_a)


@takes_arrays
def derating(voltage_unbalance_ratio: float) -> Derating:
    """Give what share of its rated load a three-phase motor may carry under unbalanced voltage.

    Between the rows of the table by a straight line; the status is that of the row above. The unit's maker wins.

    Args:
        voltage_unbalance_ratio: 0 to 0.05; beyond that the motor is not to run.

    Raises:
        CalcRangeError: beyond these limits.

    >>> derating(0.0196)  # 0.95 in print
    Derating(factor=0.952, status='NEMA MG 1, as quoted: 0.95 at 1.96 %')

    """
    because = "do not run a motor on more than 5 % of unbalance: find the cause first"
    ratio = within("voltage_unbalance_ratio", voltage_unbalance_ratio, 0.0, GREATEST_UNBALANCE_RATIO, "", because)
    (low, low_factor, _), (high, high_factor, status) = next(
        (lower, upper) for lower, upper in pairwise(_derating_rows()) if ratio <= upper[0]
    )
    return Derating(round(low_factor + (ratio - low) / (high - low) * (high_factor - low_factor), 4), status)


@takes_arrays
def supply_limits(nameplate_low_v: float, nameplate_high_v: float | None = None) -> tuple[float, float]:
    """Give between which voltages a unit may run: 10 % below the nameplate's to 10 % above it.

    Args:
        nameplate_low_v: the nameplate's voltage, or the lower of two as in 208/230 V, 1 to 1e5 [V].
        nameplate_high_v: the higher of two, not below the lower [V].

    Raises:
        CalcRangeError: beyond these limits.

    >>> tuple(round(end_v, 1) for end_v in supply_limits(208.0, 230.0))  # makers print 187 and 253 V (from memory)
    (187.2, 253.0)

    """
    within("nameplate_low_v", nameplate_low_v, 1.0, _GREATEST, "V")
    high_v = nameplate_low_v if nameplate_high_v is None else nameplate_high_v
    within("nameplate_high_v", high_v, nameplate_low_v, _GREATEST, "V", "the higher of the two")
    return nameplate_low_v * (1 - SUPPLY_TOLERANCE_RATIO), high_v * (1 + SUPPLY_TOLERANCE_RATIO)


@takes_arrays
def three_phase_power(line_voltage_v: float, line_current_a: float, *, power_factor: float) -> ThreePhasePower:
    """Compute the power of a balanced three-phase load: sqrt(3) V I times the power factor.

    Args:
        line_voltage_v: line to line, the mean of three, 0 to 1e5 [V].
        line_current_a: the mean of three, 0 to 1e5 [A].
        power_factor: 0 to 1.

    Raises:
        CalcRangeError: beyond these limits.

    >>> round(three_phase_power(460.0, 18.2, power_factor=0.85).real_w)  # by the formula
    12326

    """
    within("power_factor", power_factor, 0.0, 1.0, "")
    apparent_va = _apparent_va(line_voltage_v, line_current_a)
    reactive_var = apparent_va * math.sqrt(1 - power_factor**2)
    return ThreePhasePower(apparent_va * power_factor, apparent_va, reactive_var)


@takes_arrays
def power_factor(real_w: float, *, line_voltage_v: float, line_current_a: float) -> float:
    """Compute the power factor of a three-phase load from its measured power.

    Args:
        real_w: what the wattmeter says, 0 to the apparent power [W].
        line_voltage_v: line to line, the mean of three, above 0 [V].
        line_current_a: the mean of three, above 0 [A].

    Raises:
        CalcRangeError: more power than voltage and current could carry: the instruments disagree.

    >>> round(power_factor(12325.6, line_voltage_v=460.0, line_current_a=18.2), 3)  # by the formula
    0.85

    """
    within("line_voltage_v", line_voltage_v, 1e-3, _GREATEST, "V")
    within("line_current_a", line_current_a, 1e-3, _GREATEST, "A")
    apparent_va = _apparent_va(line_voltage_v, line_current_a)
    return (
        within("real_w", real_w, 0.0, apparent_va, "W", "the load carries no more than its volt-amperes") / apparent_va
    )


def _apparent_va(line_voltage_v: float, line_current_a: float) -> float:
    within("line_voltage_v", line_voltage_v, 0.0, _GREATEST, "V")
    within("line_current_a", line_current_a, 0.0, _GREATEST, "A")
    return math.sqrt(3) * line_voltage_v * line_current_a


@cache
def _derating_rows() -> tuple[tuple[float, float, str], ...]:
    rows = json.loads(files("calc.data").joinpath("unbalance_derating.json").read_text("utf-8"))
    return tuple((row["unbalance_ratio"], row["factor"], row["status"]) for row in rows)
