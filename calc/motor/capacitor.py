"""Run capacitors: their capacitance while the motor runs, a verdict for each section, and their charge made safe."""

import math
from dataclasses import dataclass
from enum import StrEnum

from calc.comparing import Met, NotMet, compare
from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate

UNDER_LOAD_CAUTION = (
    "This is measured on live parts of several hundred volts: only with the training, gloves and eye protection for "
    "live work, and with the leads put on while the power is locked out."
)
DISCHARGE_CAUTION = (
    "Lock out and tag. Prove the tester on a known live source, test dead, prove the tester again. Discharge through a "
    "resistor made for it, never across a screwdriver, then measure that it is gone: a built-in bleeder may be open."
)
RESIDUAL_LIMIT_V = 50.0
RESIDUAL_LIMIT_S = 60.0
"""Below 50 V, within a minute: common practice, no source. The code's article on capacitors leaves out those that are
part of other apparatus (NEC 460.1), as a run capacitor is: many have no bleeder at all."""
USUAL_TOLERANCE_RATIO = 0.06
"""Taken where the label is silent: common practice, no source."""
GREATEST_PEAK_A = 1.0
"""Through what discharges it, at first: beyond it is a short with a number. Common practice, no source; a maker's
manual asks for 20 kohm and 2 W, which takes 26 mA at 523 V."""
_GREATEST_F = 0.1
_GREATEST_UNDER_LOAD_F = 0.01
_GREATEST_V = 2000.0
_SHORT = (
    "with less, more than 1 A flows at first (common practice, no source), as through a screwdriver: it sparks, and "
    "hurts. Take the resistor that the maker asks for, such as 20 kohm, 2 W"
)


class Condition(StrEnum):
    """What is to be said of a capacitor, best first."""

    SOUND = "sound"
    UNDECIDED = "undecided"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class CapacitorVerdict:
    """One section's condition, why, and how probable it is that it lies within its label's limits."""

    condition: Condition
    reason: str
    probability_within: float


@takes_arrays
def capacitance_under_load(
    current_a: float,
    voltage_v: float,
    *,
    frequency_hz: float,
    current_standard_uncertainty_a: float,
    voltage_standard_uncertainty_v: float,
) -> Estimate:
    """Compute the capacitance of a run capacitor from the current into it and the voltage across it.

    C = I / (2 pi f V), with RMS values of a nearly sinusoidal supply; behind a drive it does not hold. Both
    instruments' uncertainties add in quadrature (JCGM 100, 5.1.2), that of the mains frequency is left out.

    Args:
        current_a: in the lead between this section and its winding, 0 to 1000 [A].
        voltage_v: between this section's terminal and the common terminal, 1 to 2000 [V].
        frequency_hz: 45 to 65 [Hz].
        current_standard_uncertainty_a: half of the instrument's ± limit [A].
        voltage_standard_uncertainty_v: likewise [V].

    Returns:
        The capacitance [F].

    Raises:
        CalcRangeError: beyond these limits.

    >>> measured = capacitance_under_load(  # a contractor's worked example: 7.61 µF with the constant rounded to 2652
    ...     1.1, 383.0, frequency_hz=60.0, current_standard_uncertainty_a=0.0, voltage_standard_uncertainty_v=0.0
    ... )
    >>> round(measured.value * 1e6, 2)
    7.62

    """
    within("current_a", current_a, 0.0, 1000.0, "A")
    within("voltage_v", voltage_v, 1.0, _GREATEST_V, "V", "there is no running winding behind so little")
    within("frequency_hz", frequency_hz, 45.0, 65.0, "Hz")
    within("current_standard_uncertainty_a", current_standard_uncertainty_a, 0.0, 1000.0, "A")
    within("voltage_standard_uncertainty_v", voltage_standard_uncertainty_v, 0.0, _GREATEST_V, "V")
    per_amp = 1 / (2 * math.pi * frequency_hz * voltage_v)
    because = "no capacitor of a motor takes so much at this voltage"
    within("current_a", current_a, 0.0, _GREATEST_UNDER_LOAD_F / per_amp, "A", because)
    capacitance_f = per_amp * current_a
    return Estimate(
        capacitance_f,
        math.hypot(
            per_amp * current_standard_uncertainty_a, capacitance_f / voltage_v * voltage_standard_uncertainty_v
        ),
    )


@takes_arrays
def capacitor_verdict(
    measured: Estimate,
    label_f: float,
    *,
    tolerance_ratio: float = USUAL_TOLERANCE_RATIO,
    bulged_or_leaking: bool = False,
) -> CapacitorVerdict:
    """Judge one section of a capacitor against its label.

    Sound or failed is said when the instruments can tell (see calc.comparing). A can that bulges or leaks has
    failed whatever it reads (common practice, no source). The label's limits win over ±6 %.

    Args:
        measured: of this section [F].
        label_f: its capacitance on the label, up to 0.1 [F].
        tolerance_ratio: ± that the label allows, above 0 to 0.5; 0.05 or 0.06 on most.
        bulged_or_leaking: what eyes say of the can.

    Raises:
        CalcRangeError: beyond these limits.

    >>> measured = Estimate(7.02e-6, 0.0)
    >>> capacitor_verdict(measured, 7.5e-6).reason  # 7.05 to 7.95 µF: worked in print in a repair forum
    'it reads 7.02 µF, below 7.05 to 7.95 µF'

    """
    within("label_f", label_f, 1e-9, _GREATEST_F, "F")
    within("tolerance_ratio", tolerance_ratio, 1e-3, 0.5, "")
    low_f, high_f = label_f * (1 - tolerance_ratio), label_f * (1 + tolerance_ratio)
    verdict = compare(measured, low_f, high_f)
    probability = measured.probability_within(low_f, high_f)
    if bulged_or_leaking:
        return CapacitorVerdict(Condition.FAILED, "the can bulges or leaks, whatever it reads", probability)
    limits = f"{low_f * 1e6:.2f} to {high_f * 1e6:.2f} µF"
    reads = f"it reads {measured.value * 1e6:.2f} µF"
    if isinstance(verdict, Met):
        return CapacitorVerdict(Condition.SOUND, f"{reads}, within {limits}", probability)
    if isinstance(verdict, NotMet):
        side = "below" if verdict.side == "low" else "above"
        return CapacitorVerdict(Condition.FAILED, f"{reads}, {side} {limits}", probability)
    reason = f"{reads} ± {measured.expanded() * 1e6:.2f}: too near an end of {limits} to tell"
    return CapacitorVerdict(Condition.UNDECIDED, reason, probability)


def dual_capacitor_condition(*sections: CapacitorVerdict) -> Condition:
    """Give the condition of a can: that of its worst section, for its sections are replaced together.

    >>> sound = CapacitorVerdict(Condition.SOUND, "", 1.0)
    >>> failed = CapacitorVerdict(Condition.FAILED, "", 0.0)
    >>> dual_capacitor_condition(sound, failed)
    <Condition.FAILED: 'failed'>
    """
    return max((section.condition for section in sections), key=list(Condition).index)


@takes_arrays
def stored_energy_j(capacitance_f: float, voltage_v: float) -> float:
    """Compute the energy in a charged capacitor, ½CV².

    Args:
        capacitance_f: up to 0.1 [F].
        voltage_v: across it at that moment. What a meter shows of a running capacitor is RMS; it may be left with the
            peak, sqrt(2) times that [V].

    Returns:
        The energy [J].

    Raises:
        CalcRangeError: beyond 0.1 F or 2000 V.

    >>> round(stored_energy_j(45e-6, 370 * 2**0.5), 2)  # by the formula
    6.16

    """
    within("capacitance_f", capacitance_f, 0.0, _GREATEST_F, "F")
    within("voltage_v", voltage_v, 0.0, _GREATEST_V, "V")
    return capacitance_f * voltage_v**2 / 2


@takes_arrays
def discharge_time_s(
    capacitance_f: float, resistance_ohm: float, *, from_v: float, to_v: float = RESIDUAL_LIMIT_V
) -> float:
    """Compute how long a resistor takes to discharge a capacitor: R C ln(from / to).

    50 V is where it is commonly taken as safe to touch (no source). Measure before touching. A resistance so small
    that more than 1 A flows at first is refused.

    Args:
        capacitance_f: up to 0.1 [F].
        resistance_ohm: as many ohms as there are volts at first, and at least 1, to 1e9 [ohm].
        from_v: the voltage at first: of a running capacitor the peak, sqrt(2) times the RMS value [V].
        to_v: at last, at least 1 [V].

    Returns:
        The time, 0 if it is already there [s].

    Raises:
        CalcRangeError: beyond these limits.

    >>> round(discharge_time_s(45e-6, 20e3, from_v=523.3), 2)  # by the formula
    2.11

    """
    within("capacitance_f", capacitance_f, 0.0, _GREATEST_F, "F")
    within("from_v", from_v, 0.0, _GREATEST_V, "V")
    within("to_v", to_v, 1.0, _GREATEST_V, "V")
    within("resistance_ohm", resistance_ohm, max(1.0, from_v / GREATEST_PEAK_A), 1e9, "ohm", _SHORT)
    return resistance_ohm * capacitance_f * math.log(max(from_v / to_v, 1.0))
