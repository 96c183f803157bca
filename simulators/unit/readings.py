"""What perfect instruments would read off refrigerant and air: channel to value in the house's units."""

from simulators.unit import moist_air
from simulators.unit.air_streams import mixed_air
from simulators.unit.parameters import Conditions
from simulators.unit.stores import Moment, Stores


def suction_pa(stores: Stores, now: Moment) -> float:
    """Tell what a gauge at the end of the suction line finds: refrigerant, gas and water vapour together."""
    return now.suction.pressure_pa - stores.suction_drop_pa + stores.low_air_pa + stores.steam_pa


def head_pa(stores: Stores, now: Moment) -> float:
    """Tell what a gauge on the high side finds."""
    return now.condensing.pressure_pa + stores.high_air_pa + stores.steam_pa


def refrigerant_readings(stores: Stores, now: Moment) -> dict[str, float]:
    """Tell the pressures, and the temperatures of the lines."""
    high_pa = head_pa(stores, now)
    return {
        "suction_pressure": suction_pa(stores, now),
        "liquid_pressure": high_pa,
        "discharge_pressure": high_pa,
        "suction_line_temperature": stores.suction_line_k,
        "liquid_line_temperature": stores.liquid_line_k,
        "discharge_line_temperature": stores.discharge_line_k,
    }


def surrounding_readings(conditions: Conditions) -> dict[str, float]:
    """Tell the weather and the return air: what a unit stands in, which nothing of it changes."""
    pressure_pa = conditions.barometric_pressure_pa
    return_k, return_ratio = mixed_air(conditions, 0.0)
    return {
        "barometric_pressure": pressure_pa,
        "outdoor_air_temperature": conditions.outdoor_air_k,
        "return_air_temperature": return_k,
        "return_air_humidity": conditions.return_air_humidity,
        "return_air_wet_bulb": moist_air.wet_bulb(return_k, return_ratio, pressure_pa),
    }


def supply_air_readings(stores: Stores, pressure_pa: float) -> dict[str, float]:
    """Tell the supply air."""
    supply_k, supply_ratio = stores.supply_air_k, stores.supply_humidity_ratio
    return {
        "supply_air_temperature": supply_k,
        "supply_air_humidity": moist_air.relative_humidity(supply_k, supply_ratio, pressure_pa),
    }
