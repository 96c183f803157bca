"""The power of a single-phase load, and its power factor, with what the instruments leave open."""

import math
from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.uncertainty import propagate

_GREATEST = 1e5
_LEAST = 1e-3


@dataclass(frozen=True, slots=True)
class SinglePhasePower:
    """Real [W], apparent [VA] and reactive [var] power."""

    real: Estimate
    apparent: Estimate
    reactive: Estimate


@takes_arrays
def single_phase_power(
    voltage_v: float,
    current_a: float,
    *,
    power_factor: float,
    voltage_standard_uncertainty_v: float,
    current_standard_uncertainty_a: float,
    power_factor_standard_uncertainty: float,
) -> SinglePhasePower:
    """Compute the power of a single-phase load: V I times the power factor; each instrument's part by JCGM 100, 5.1.

    Args:
        voltage_v: RMS, 0 to 1e5 [V].
        current_a: RMS, 0 to 1e5 [A].
        power_factor: 0 to 1; a run-capacitor motor's is mostly above 0.9 (common practice, no source).
        voltage_standard_uncertainty_v: half of the instrument's ± limit [V].
        current_standard_uncertainty_a: likewise [A].
        power_factor_standard_uncertainty: likewise, 0 to 1.

    Raises:
        CalcRangeError: beyond these limits.

    >>> found = single_phase_power(
    ...     230.0, 10.0, power_factor=0.8, voltage_standard_uncertainty_v=0.0, current_standard_uncertainty_a=0.0,
    ...     power_factor_standard_uncertainty=0.0)
    >>> round(found.real.value), round(found.apparent.value), round(found.reactive.value)  # by the triangle 3, 4, 5
    (1840, 2300, 1380)

    """
    given = {
        "voltage_v": Estimate(voltage_v, voltage_standard_uncertainty_v),
        "current_a": Estimate(current_a, current_standard_uncertainty_a),
    }
    with_factor = {**given, "power_factor": Estimate(power_factor, power_factor_standard_uncertainty)}
    return SinglePhasePower(
        propagate(_real_w, with_factor).estimate,
        propagate(_apparent_va, given).estimate,
        propagate(_reactive_var, with_factor).estimate,
    )


@takes_arrays
def single_phase_power_factor(
    real_w: float,
    *,
    voltage_v: float,
    current_a: float,
    real_standard_uncertainty_w: float,
    voltage_standard_uncertainty_v: float,
    current_standard_uncertainty_a: float,
) -> Estimate:
    """Compute the power factor of a single-phase load from its measured power.

    Args:
        real_w: what the wattmeter says [W].
        voltage_v: RMS, above 0 [V].
        current_a: RMS, above 0 [A].
        real_standard_uncertainty_w: half of the instrument's ± limit [W].
        voltage_standard_uncertainty_v: likewise [V].
        current_standard_uncertainty_a: likewise [A].

    Returns:
        The power factor; 1 where the reading is above it by no more than its ±.

    Raises:
        CalcRangeError: more power than voltage and current could carry, by more than the ±: the instruments disagree.

    >>> found = single_phase_power_factor(
    ...     1840.0, voltage_v=230.0, current_a=10.0, real_standard_uncertainty_w=0.0,
    ...     voltage_standard_uncertainty_v=0.0, current_standard_uncertainty_a=0.0)
    >>> round(found.value, 3)  # by definition
    0.8

    """
    within("voltage_v", voltage_v, _LEAST, _GREATEST, "V")
    within("current_a", current_a, _LEAST, _GREATEST, "A")
    apparent_va = voltage_v * current_a
    relative = math.hypot(voltage_standard_uncertainty_v / voltage_v, current_standard_uncertainty_a / current_a)
    of_power = real_standard_uncertainty_w / apparent_va
    most_w = apparent_va * (1 + 2 * math.hypot(of_power, relative))
    within("real_w", real_w, 0.0, most_w, "W", "the load carries no more than its volt-amperes")
    ratio = real_w / apparent_va
    return Estimate(min(ratio, 1.0), math.hypot(of_power, ratio * relative))


def _real_w(*, voltage_v: float, current_a: float, power_factor: float) -> float:
    return _apparent_va(voltage_v=voltage_v, current_a=current_a) * power_factor


def _apparent_va(*, voltage_v: float, current_a: float) -> float:
    within("voltage_v", voltage_v, 0.0, _GREATEST, "V")
    return voltage_v * within("current_a", current_a, 0.0, _GREATEST, "A")


def _reactive_var(*, voltage_v: float, current_a: float, power_factor: float) -> float:
    within("power_factor", power_factor, 0.0, 1.0, "")
    return _apparent_va(voltage_v=voltage_v, current_a=current_a) * math.sqrt(1 - power_factor**2)
