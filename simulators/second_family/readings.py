"""What perfect instruments would read of a settled unit, running or at rest: channel to value in SI."""

from calc.air import humidity_ratio
from calc.saturation import bubble_point, bubble_pressure, dew_pressure
from simulators.second_family.discharge import discharge_f
from simulators.second_family.fahrenheit import DDEGF, degf, kelvin
from simulators.second_family.gas import resting_pa, running_pa
from simulators.second_family.levels import settled
from simulators.second_family.parameters import FANS, Build, Conditions, Faults
from simulators.second_family.sound import Levels

PSI_PA = 6894.757

IDLE_CURRENT = 0.15
"""The part of a motor's current that no load asks for (common practice, no source)."""

HIGHEST_HEAD_F = 151.0
"""The bubble point at the highest head that is told: a high cut-out has opened long before."""


def running(build: Build, conditions: Conditions, faults: Faults, charge: float) -> dict[str, float]:
    """Give the readings of a running unit. charge: over the right one, as a share."""
    levels, together = settled(build, conditions, faults, charge)
    condensing_k = kelvin(levels.condensing_f)
    gas_pa = running_pa(faults.non_condensables, build, condensing_k)
    highest_pa = bubble_pressure(build.refrigerant, kelvin(HIGHEST_HEAD_F))
    head_pa = min(bubble_pressure(build.refrigerant, condensing_k) + gas_pa, highest_pa)
    head_f = levels.condensing_f if gas_pa == 0.0 else degf(bubble_point(build.refrigerant, head_pa))
    suction_k = kelvin(levels.evaporating_f)
    by_load = compressor_load(levels)
    return {
        "suction_pressure": dew_pressure(build.refrigerant, suction_k),
        "liquid_pressure": head_pa,
        "discharge_pressure": head_pa + build.port_drop_psi * PSI_PA,
        "suction_line_temperature": suction_k + levels.superheat_f * DDEGF,
        "liquid_line_temperature": condensing_k - levels.subcooling_f * DDEGF,
        "discharge_line_temperature": kelvin(discharge_f(build, levels, head_f=head_f) + together.discharge_f),
        "supply_air_temperature": conditions.return_air_k - levels.split_f * DDEGF,
        "compressor_current": build.rated_current_a * (IDLE_CURRENT + (1.0 - IDLE_CURRENT) * by_load),
    }


def compressor_load(levels: Levels) -> float:
    """Give the compressor's power over its rated one."""
    return max((levels.power - FANS) / (1.0 - FANS), 0.0)


def resting(build: Build, conditions: Conditions, faults: Faults, charge: float, coldest_k: float) -> dict[str, float]:
    """Give the readings of a unit at rest, one pressure everywhere. coldest: the place that its liquid goes to [K]."""
    charge_kg = (1.0 + charge) * build.right_kg
    pressure_pa = bubble_pressure(build.refrigerant, coldest_k)
    pressure_pa += resting_pa(faults.non_condensables, build, coldest_k, charge_kg)
    return {
        "suction_pressure": pressure_pa,
        "liquid_pressure": pressure_pa,
        "discharge_pressure": pressure_pa,
        "suction_line_temperature": conditions.outdoor_air_k,
        "liquid_line_temperature": conditions.outdoor_air_k,
        "discharge_line_temperature": conditions.outdoor_air_k,
        "supply_air_temperature": conditions.return_air_k,
        "compressor_current": 0.0,
    }


def surroundings(conditions: Conditions) -> dict[str, float]:
    """Give what the unit changes nothing of."""
    return {
        "barometric_pressure": conditions.barometric_pressure_pa,
        "outdoor_air_temperature": conditions.outdoor_air_k,
        "return_air_temperature": conditions.return_air_k,
        "return_air_humidity": conditions.return_air_humidity,
        "return_air_wet_bulb": conditions.return_wet_bulb_k,
    }


def supply_humidity(conditions: Conditions, supply_air_k: float) -> float:
    """Give the supply air's humidity [%RH]: a wet coil leaves it at 90 %, a dry one takes no water (no source)."""
    pressure_pa = conditions.barometric_pressure_pa
    water = humidity_ratio(conditions.return_air_k, conditions.return_air_humidity, pressure_pa=pressure_pa)
    full = humidity_ratio(supply_air_k, 100.0, pressure_pa=pressure_pa)
    return min(100.0 * water / full, 90.0)
