"""`family = "correlated"`: the same scenario with a unit of the second family, drawn to its nameplate.

Sizes of faults are read as for the other family, and mean what that family's do; air is told by the pressure that it
adds while the unit runs, and a restriction by the pressure that it takes over what is between the coils.
"""

import random

from simulators.errors import SimulatorError
from simulators.second_family.fahrenheit import DDEGF
from simulators.second_family.gas import share_while_running
from simulators.second_family.makers import draw_of_plate
from simulators.second_family.parameters import Conditions, Faults, Parameters
from simulators.unit import parameters as physical
from simulators.unit.metering import FixedOrifice

_CONDENSING_K = 318.0
"""At which the pressure of air is told: 113 °F."""


def correlated(
    unit: physical.UnitParameters, *, right_kg: float, capacity_w: float, subcooling_dk: float | None, seed: int
) -> Parameters:
    """Make the unit that stands behind this one's panel. seed: of what its maker made otherwise than others.

    Raises:
        SimulatorError: something of it is not simulated in this family.

    """
    faults, conditions = unit.faults, unit.conditions
    if faults.valve_oversize != 1.0 or faults.water_kg or unit.heat_pump or unit.suction_line:
        raise SimulatorError(
            'family = "correlated": no oversized valve, water, heat pump or line set is simulated there; '
            'leave it out, or take family = "physical"'
        )
    build = draw_of_plate(
        random.Random(seed),  # noqa: S311  no secret
        "orifice" if isinstance(unit.metering, FixedOrifice) else "valve",
        refrigerant=unit.refrigerant,
        capacity_w=capacity_w,
        right_kg=right_kg,
        subcooling_f=None if subcooling_dk is None else subcooling_dk / DDEGF,
    )
    return Parameters(
        build,
        Conditions(
            conditions.outdoor_air_k,
            conditions.return_air_k,
            conditions.return_air_humidity,
            conditions.barometric_pressure_pa,
        ),
        Faults(
            evaporator_air=1.0 - faults.evaporator_airflow,
            condenser_air=1.0 - faults.condenser_airflow,
            restriction=faults.liquid_line_restriction,
            valve_leakage=faults.compressor_leakage,
            non_condensables=share_while_running(faults.non_condensables_pa, build, _CONDENSING_K),
            overfeeding=1.0 - faults.bulb_contact,
        ),
        unit.charge_kg,
    )
