"""How a coil works, from the air and the refrigerant on either side of it: its sensible heat ratio and its approach."""

from calc.air import MoistAir, humidity_ratio, split
from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.saturation import dew_point
from calc.superheat import superheat
from calc.uncertainty import propagate

_LEAST_FALL_J_PER_KG = 1e3
"""A coil that takes less out of a kilogram of air, some 1 K, is not at work: common practice, no source."""
_FARTHEST_DK = 60.0
_NO_COIL = "no coil is so far off its air: see which sensor sits where"


def sensible_heat_ratio(entering: MoistAir, leaving: MoistAir) -> float:
    """Give the part of the heat taken out of an air stream that lowers its temperature; the rest dries it.

    Args:
        entering: the air before the coil.
        leaving: the air after it.

    Returns:
        1 for a dry coil; more says that the leaving air was read too humid, or that water blows off the coil [1].

    Raises:
        ArgumentError: the coil takes less than 1 kJ/kg out of the air.
        CalcRangeError: no air of this trade.

    >>> entering, leaving = MoistAir(299.817, 0.011169), MoistAir(285.928, 0.008729)  # 80 °F, 51 % and 55 °F, 95 %
    >>> round(sensible_heat_ratio(entering, leaving), 2)  # 1.08 x 25 °F over 4.5 x 8.77 Btu/lb: 0.68 by the trade's
    0.7

    """
    fall_j_per_kg = entering.enthalpy_j_per_kg - leaving.enthalpy_j_per_kg
    if fall_j_per_kg < _LEAST_FALL_J_PER_KG:
        raise ArgumentError(
            f"the air gives up {fall_j_per_kg:.3g} J/kg: the coil is hardly at work, or the two ends are exchanged"
        )
    cooled = MoistAir(leaving.dry_bulb_k, entering.humidity_ratio_kg_per_kg)
    return (entering.enthalpy_j_per_kg - cooled.enthalpy_j_per_kg) / fall_j_per_kg


@takes_arrays
def measured_sensible_heat_ratio(
    return_air: Estimate,
    return_humidity: Estimate,
    *,
    supply_air: Estimate,
    supply_humidity: Estimate,
    barometric_pressure_pa: float,
) -> Estimate:
    """Compute the sensible heat ratio from dry bulbs [K] and relative humidities [%RH], with what all four leave open.

    Args:
        return_air: dry bulb of the air before the coil [K].
        return_humidity: of it [%RH].
        supply_air: dry bulb of the air after it [K].
        supply_humidity: of it [%RH].
        barometric_pressure_pa: of the site [Pa].

    Raises:
        ArgumentError: the coil takes less than 1 kJ/kg out of the air.
        CalcRangeError: no air of this trade.

    """

    def ratio(*, return_k: float, return_percent: float, supply_k: float, supply_percent: float) -> float:
        ends = (
            MoistAir(dry_bulb_k, humidity_ratio(dry_bulb_k, percent, pressure_pa=barometric_pressure_pa))
            for dry_bulb_k, percent in ((return_k, return_percent), (supply_k, supply_percent))
        )
        return sensible_heat_ratio(*ends)

    measured = {"return_k": return_air, "return_percent": return_humidity, "supply_k": supply_air}
    return propagate(ratio, {**measured, "supply_percent": supply_humidity}).estimate


def coil_approach(
    refrigerant: str,
    suction_pressure_pa: float,
    *,
    supply_air_k: float,
    pressure_standard_uncertainty_pa: float,
    temperature_standard_uncertainty_k: float,
) -> Estimate:
    """Give how far the air that leaves an evaporator is above the dew point inside it [K].

    Small says that the air has time enough on the coil; it grows with airflow, and as a coil starves.

    Args:
        refrigerant: one of `saturation.names()`.
        suction_pressure_pa: absolute, at the coil; the line's loss is left in [Pa].
        supply_air_k: dry bulb, before the blower heats it if that can be read [K].
        pressure_standard_uncertainty_pa: half of an instrument's ± limit [Pa].
        temperature_standard_uncertainty_k: likewise [K].

    Raises:
        CalcRangeError: no saturation is known at this pressure, or it is more than 60 K off.
        UnknownNameError: an unknown refrigerant.

    >>> exact = {"pressure_standard_uncertainty_pa": 0.0, "temperature_standard_uncertainty_k": 0.0}
    >>> found = coil_approach("R-410A", 962.14e3, supply_air_k=287.15, **exact)  # dew point 6 °C: US DOE's tables
    >>> round(found.value, 1)
    8.0

    """
    dew_k = dew_point(refrigerant, suction_pressure_pa)
    within("supply_air_k", supply_air_k, dew_k - _FARTHEST_DK, dew_k + _FARTHEST_DK, "K", _NO_COIL)
    return superheat(  # the same difference: to the air in place of the line
        refrigerant,
        suction_pressure_pa,
        suction_line_temperature_k=supply_air_k,
        pressure_standard_uncertainty_pa=pressure_standard_uncertainty_pa,
        temperature_standard_uncertainty_k=temperature_standard_uncertainty_k,
    )


@takes_arrays
def liquid_approach(liquid_line: Estimate, outdoor_air: Estimate) -> Estimate:
    """Give how far the liquid that leaves a condenser is above the air that cools it [K].

    Args:
        liquid_line: at the outdoor unit [K].
        outdoor_air: that enters the condenser, in its shade [K].

    Raises:
        CalcRangeError: it is more than 60 K off.

    >>> round(liquid_approach(Estimate(311.48, 0.25), Estimate(308.15, 0.25)).value, 1)
    3.3

    """
    outdoor_k = outdoor_air.value
    within("liquid_line", liquid_line.value, outdoor_k - _FARTHEST_DK, outdoor_k + _FARTHEST_DK, "K", _NO_COIL)
    return split(liquid_line, outdoor_air)
