"""Air that is heated without drying: how much of it there is by a known heat, and how much heat by a known airflow.

Both by the density and the heat of moist air at the site (ASHRAE Handbook of Fundamentals, chapter 1), where the
trade's 1.08 x cfm x °F takes standard air. The airflow counts as it enters.
"""

import math
from dataclasses import dataclass

from calc.air import (
    GREATEST_COEFFICIENT,
    STANDARD_AIR_J_PER_KG_K,
    STANDARD_AIR_KG_PER_M3,
    density,
    enthalpy,
    humidity_ratio,
)
from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.uncertainty import propagate

_LEAST_RISE_DK, _GREATEST_RISE_DK = 3.0, 60.0
_LEAST_HEAT_W, _GREATEST_HEAT_W = 100.0, 1e6
HOW_TO_READ_THE_RISE = (
    "Heat pump off, every stage of the electric heat on, steady for some minutes. The supply thermometer out of sight "
    "of the elements, and in more than one place: what they radiate reads too warm, and the airflow too small. The "
    "blower's own watts heat the air too: count them in. Volts and amps are read live: only who is trained for it."
)
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class AirflowByHeat:
    """Airflow as it enters and as standard air [m³/s], and the input to which most of its ± is due."""

    airflow: Estimate
    standard_airflow: Estimate
    leading_input: str | None


@dataclass(frozen=True, slots=True)
class HeatingPerformance:
    """What a unit heats with [W], and that over the power that it takes [1]."""

    capacity: Estimate
    coefficient_of_performance: Estimate


@takes_arrays
def resistance_heat_w(voltage_v: Estimate, current_a: Estimate, *, phases: int) -> Estimate:
    """Compute the heat of electric elements: volts times amps, of three phases √3 times that; their power factor is 1.

    Args:
        voltage_v: at the elements while they heat, of three phases between two of them, 50 to 1000 [V].
        current_a: in the conductors to all of them, 0.1 to 2000 [A].
        phases: 1 or 3.

    Returns:
        The heat [W].

    Raises:
        CalcRangeError: beyond these limits.
        ArgumentError: another number of phases.

    >>> resistance_heat_w(Estimate(240.0, 1.0), Estimate(20.0, 0.2), phases=1).value
    4800.0

    """
    if phases not in (1, 3):
        raise ArgumentError(f"phases is {phases}: electric heat has 1 or 3")
    within("voltage_v", voltage_v.value, 50.0, 1000.0, "V")
    within("current_a", current_a.value, 0.1, 2000.0, "A")
    factor = math.sqrt(phases)
    return propagate(lambda volts, amps: factor * volts * amps, {"volts": voltage_v, "amps": current_a}).estimate


@takes_arrays
def airflow_from_heat_rise(
    heat: Estimate,
    return_air: Estimate,
    *,
    supply_air: Estimate,
    humidity: Estimate,
    barometric_pressure_pa: float,
) -> AirflowByHeat:
    """Compute the airflow that a known heat warms by a known rise: the trade's watts x 3.413 / (1.08 x rise).

    Args:
        heat: of the elements and the blower, 100 W to 1 MW [W].
        return_air: dry bulb [K].
        supply_air: dry bulb, 3 to 60 K warmer, at most 60 °C [K].
        humidity: of the return air; it moves the answer by less than 1 % [%RH].
        barometric_pressure_pa: of the site [Pa].

    Raises:
        CalcRangeError: beyond these limits, or no air of this trade.

    >>> cfm = 0.3048**3 / 60
    >>> found = airflow_from_heat_rise(Estimate(235.0 * 75, 0.0), Estimate(296.483, 0.0),
    ...     supply_air=Estimate(316.483, 0.0), humidity=Estimate(40.0, 0.0), barometric_pressure_pa=101325.0)
    >>> round(found.standard_airflow.value / cfm)  # 235 V, 75 A, 74 to 110 °F: 1548 cfm on a trade page, by 3.414
    1547

    """
    within("heat", heat.value, _LEAST_HEAT_W, _GREATEST_HEAT_W, "W")

    def airflow(*, heat_w: float, return_k: float, supply_k: float, percent: float) -> float:
        per_m3 = _heat_per_m3(return_k, supply_k, percent, barometric_pressure_pa)
        return heat_w / per_m3

    def standard(*, heat_w: float, return_k: float, supply_k: float) -> float:
        return heat_w / (STANDARD_AIR_KG_PER_M3 * STANDARD_AIR_J_PER_KG_K * _rise(return_k, supply_k))

    measured = {"heat_w": heat, "return_k": return_air, "supply_k": supply_air}
    found = propagate(airflow, {**measured, "percent": humidity})
    return AirflowByHeat(found.estimate, propagate(standard, measured).estimate, found.leading_input)


@takes_arrays
def heating_performance(
    airflow_m3_per_s: Estimate,
    return_air: Estimate,
    *,
    supply_air: Estimate,
    power: Estimate,
    humidity: Estimate,
    barometric_pressure_pa: float,
) -> HeatingPerformance:
    """Compute what a unit heats with, and that over the electric power that it takes.

    Args:
        airflow_m3_per_s: as it enters, 1e-3 to 100 [m³/s].
        return_air: dry bulb [K].
        supply_air: dry bulb, 3 to 60 K warmer, at most 60 °C [K].
        power: electric, of all that counts, at least a thirtieth of the heat [W].
        humidity: of the return air [%RH].
        barometric_pressure_pa: of the site [Pa].

    Raises:
        CalcRangeError: beyond these limits, or no air of this trade.

    >>> exact = {"power": Estimate(3000.0, 0.0), "humidity": Estimate(40.0, 0.0), "barometric_pressure_pa": 101325.0}
    >>> found = heating_performance(
    ...     Estimate(0.5663, 0.0), Estimate(294.26, 0.0), supply_air=Estimate(310.93, 0.0), **exact)  # 1200 cfm, 30 °F
    >>> round(found.coefficient_of_performance.value, 1)  # 1.08 x 1200 x 30 Btu/h over 3 kW: 3.8
    3.8

    """
    within("airflow_m3_per_s", airflow_m3_per_s.value, 1e-3, 100.0, "m³/s")
    measured = {"airflow": airflow_m3_per_s, "return_k": return_air, "supply_k": supply_air, "percent": humidity}

    def capacity(*, airflow: float, return_k: float, supply_k: float, percent: float) -> float:
        return airflow * _heat_per_m3(return_k, supply_k, percent, barometric_pressure_pa)

    heated = propagate(capacity, measured).estimate
    least_w = max(1.0, heated.value / GREATEST_COEFFICIENT)
    because = f"no machine heats by more than {GREATEST_COEFFICIENT:g} times what it takes"
    power_w = within("power", power.value, least_w, 1e9, "W", because)
    ratio = heated.value / power_w
    relative = math.hypot(heated.standard_uncertainty / heated.value, power.standard_uncertainty / power_w)
    return HeatingPerformance(heated, Estimate(ratio, ratio * relative))


def _heat_per_m3(return_k: float, supply_k: float, percent: float, pressure_pa: float) -> float:
    _rise(return_k, supply_k)
    moisture = humidity_ratio(return_k, percent, pressure_pa=pressure_pa)
    dry_kg_per_m3 = density(return_k, moisture, pressure_pa=pressure_pa) / (1 + moisture)
    return dry_kg_per_m3 * (enthalpy(supply_k, moisture) - enthalpy(return_k, moisture))


def _rise(return_k: float, supply_k: float) -> float:
    least_k, greatest_k = return_k + _LEAST_RISE_DK, return_k + _GREATEST_RISE_DK
    because = "a smaller rise than 3 K tells nothing, and no heater rises it by more than 60 K"
    return within("supply_air", supply_k, least_k, greatest_k, "K", because) - return_k
