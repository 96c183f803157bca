"""The lines and the valve's bulb on one of them: how warm they are, each with a lag of its own."""

from simulators.unit.delay import Delay
from simulators.unit.lag import lagged
from simulators.unit.parameters import UnitParameters
from simulators.unit.stores import Stores

LINE_LAG_S = 5.0
DISCHARGE_LAG_S = 12.0


class Lines:
    """The lines of one circuit. It keeps what is on its way to the bulb."""

    def __init__(self, parameters: UnitParameters, stores: Stores) -> None:
        self._parameters, self._stores = parameters, stores
        self._on_its_way_to_the_bulb = Delay(parameters.dead_time_as_it_is_s())

    def follow(
        self,
        step_s: float,
        *,
        evaporator_outlet_k: float,
        suction_line_k: float,
        liquid_line_k: float,
        discharge_line_k: float,
    ) -> None:
        """Let lines and bulb follow for this long what now flows in the lines. suction_line: at its end."""
        stores, parameters = self._stores, self._parameters
        contact = parameters.faults.bulb_contact
        felt_k = contact * stores.evaporator_outlet_k + (1.0 - contact) * parameters.conditions.outdoor_air_k
        arriving_k = self._on_its_way_to_the_bulb(felt_k, step_s)
        stores.bulb_k = lagged(stores.bulb_k, arriving_k, step_s / parameters.bulb_lag_s)
        stores.evaporator_outlet_k = lagged(
            stores.evaporator_outlet_k, evaporator_outlet_k, step_s / parameters.suction_line_lag_s
        )
        stores.suction_line_k = lagged(stores.suction_line_k, suction_line_k, step_s / parameters.suction_line_lag_s)
        stores.liquid_line_k = lagged(stores.liquid_line_k, liquid_line_k, step_s / LINE_LAG_S)
        stores.discharge_line_k = lagged(stores.discharge_line_k, discharge_line_k, step_s / DISCHARGE_LAG_S)
