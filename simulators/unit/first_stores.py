"""A rough state for a unit to start from; running on finds the true one."""

import math

from simulators.unit.air_streams import mixed_air
from simulators.unit.circuit import Circuit
from simulators.unit.parameters import UnitParameters
from simulators.unit.stores import Stores


def first_stores(parameters: UnitParameters, circuit: Circuit) -> Stores:
    """Guess where refrigerant and heat are in a unit that runs."""
    conditions, refrigerant = parameters.conditions, circuit.refrigerant
    warming_k, cooling_k = conditions.outdoor_air_k, conditions.return_air_k
    if circuit.mode == "heating":
        warming_k, cooling_k = cooling_k, warming_k
    charge_kg, size = parameters.charge_kg, parameters.most_charge_kg / 6.0
    low_side_kg, sump_kg = min(0.45 * size, 0.25 * charge_kg), min(0.18 * size, 0.1 * charge_kg)
    condensing_pa = refrigerant.bubble_pressure(warming_k + 12.0)
    suction_pa = refrigerant.bubble_pressure(cooling_k - 18.0)
    line_k = cooling_k - 10.0
    liquid_enthalpy = refrigerant.saturation(condensing_pa).liquid_enthalpy
    return Stores(
        high_side_kg=charge_kg - low_side_kg - sump_kg,
        low_side_kg=low_side_kg,
        sump_kg=sump_kg,
        shell_k=conditions.outdoor_air_k + 30.0,
        suction_line_k=line_k,
        liquid_line_k=warming_k,
        discharge_line_k=warming_k + 35.0,
        bulb_k=line_k,
        evaporator_outlet_k=line_k,
        high_metal_k=warming_k + 12.0,
        low_metal_k=line_k,
        supply_air_k=conditions.return_air_k,
        supply_humidity_ratio=mixed_air(conditions, 0.0)[1],
        liquid_enthalpy=liquid_enthalpy,
        sump_enthalpy=liquid_enthalpy,
        delivered_fraction=1.0,
        log_suction_pressure=math.log(suction_pa),
        log_condensing_pressure=math.log(condensing_pa),
        sought_log_suction=math.log(suction_pa),
        sought_log_condensing=math.log(condensing_pa),
        high_air_pa=parameters.faults.non_condensables_pa,
        water_kg=parameters.faults.water_kg,
    )
