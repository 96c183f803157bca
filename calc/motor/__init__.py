"""Motors and their capacitors: the names by which they are known here. One file an idea; gathered here."""

from calc.elementwise import takes_arrays, within
from calc.motor.branch_circuit import CircuitRating, mca, mocp
from calc.motor.capacitor import (
    CapacitorVerdict,
    Condition,
    capacitance_under_load,
    capacitor_verdict,
    discharge_time_s,
    dual_capacitor_condition,
    stored_energy_j,
)
from calc.motor.current_trace import (
    CycleLimits,
    Cycling,
    NoStart,
    Run,
    Stalled,
    Started,
    motor_start,
    runs,
    short_cycling,
)
from calc.motor.insulation import (
    Insulation,
    InsulationVerdict,
    Winding,
    insulation_at_40_degc,
    insulation_verdict,
)
from calc.motor.single_phase import SinglePhasePower, single_phase_power, single_phase_power_factor
from calc.motor.start import Start, StartDiagnosis, diagnose_start
from calc.motor.supply import (
    Derating,
    ThreePhasePower,
    derating,
    power_factor,
    supply_limits,
    three_phase_power,
    unbalance,
)
from calc.motor.windings import WindingState, WindingVerdict, winding_check

__all__ = [
    "CapacitorVerdict",
    "CircuitRating",
    "Condition",
    "CycleLimits",
    "Cycling",
    "Derating",
    "Insulation",
    "InsulationVerdict",
    "NoStart",
    "Run",
    "SinglePhasePower",
    "Stalled",
    "Start",
    "StartDiagnosis",
    "Started",
    "ThreePhasePower",
    "Winding",
    "WindingState",
    "WindingVerdict",
    "capacitance_under_load",
    "capacitor_verdict",
    "derating",
    "diagnose_start",
    "discharge_time_s",
    "dual_capacitor_condition",
    "insulation_at_40_degc",
    "insulation_verdict",
    "load_ratio",
    "mca",
    "mocp",
    "motor_start",
    "power_factor",
    "runs",
    "short_cycling",
    "single_phase_power",
    "single_phase_power_factor",
    "stored_energy_j",
    "supply_limits",
    "three_phase_power",
    "unbalance",
    "winding_check",
]


GREATEST_LOAD_RATIO = 20.0
"""A locked rotor draws some 4 to 8 times the rated current: common practice, no source."""


@takes_arrays
def load_ratio(current_a: float, rated_current_a: float) -> float:
    """Compute a motor's current over that of its nameplate: RLA of a compressor, FLA of a fan.

    A fan at its full rated current is not yet a fault, and a compressor far below its RLA may be lightly loaded or
    short of refrigerant (common practice, no source).

    Args:
        current_a: measured, the mean of three phases where there are three, 0 to 20 times the rated one [A].
        rated_current_a: of the nameplate, 0.01 to 1e4 [A].

    Returns:
        The ratio, 1 at the rated current.

    Raises:
        CalcRangeError: beyond these limits.

    >>> load_ratio(9.0, 12.0)  # by definition
    0.75

    """
    within("rated_current_a", rated_current_a, 0.01, 1e4, "A")
    because = "more than any motor draws, even locked: check the nameplate's figure"
    return within("current_a", current_a, 0.0, GREATEST_LOAD_RATIO * rated_current_a, "A", because) / rated_current_a
