"""From the evaporator through the compressor: what the suction line does, what is drawn, driven on, and leaks back."""

import math
from typing import NamedTuple

from simulators.unit.compressor import compress
from simulators.unit.evaporator import EvaporatorState
from simulators.unit.parameters import UnitParameters
from simulators.unit.properties import Properties, Saturation
from simulators.unit.resting import CHOKED_DROP
from simulators.unit.stores import Compressed, Stores

LEAST_PASSED = 0.03
"""What part of its flow a compressor moves on at least, however much its reversing valve lets back."""


class LineEnd(NamedTuple):
    """The end of the suction line: its drop [Pa], how warm vapour is there [K], and the heat it took up [W]."""

    drop_pa: float
    temperature_k: float
    gain_w: float


class Drawing:
    """The suction side of one compressor.

    motor_losses: the power that its motor takes over what it would take from a sound supply [1].
    """

    def __init__(self, parameters: UnitParameters, refrigerant: Properties) -> None:
        self._parameters, self._refrigerant = parameters, refrigerant
        self.motor_losses = 1.0

    def line_end(self, suction: Saturation, evaporator: EvaporatorState, *, is_long: bool) -> LineEnd:
        """Find what a suction line does with what leaves the evaporator. Wet vapour takes up nothing that shows.

        is_long: the coil that evaporates is the one at the far end of the line.
        """
        line, outlet_k = self._parameters.suction_line, suction.dew_point_k + evaporator.superheat_dk
        if line is None or not is_long:
            return LineEnd(0.0, outlet_k, 0.0)
        density = self._refrigerant.vapour_density(suction, evaporator.superheat_dk)
        most_pa = suction.pressure_pa - self._refrigerant.lowest_pressure_pa
        drop_pa = min(line.drop_pa(evaporator.flow_kg_s, density), most_pa)
        inlet = self._after(drop_pa, suction)
        if evaporator.superheat_dk == 0.0:
            return LineEnd(drop_pa, inlet.dew_point_k, 0.0)
        gain_w = line.gain_w(outlet_k, self._parameters.conditions.outdoor_air_k)
        enthalpy = self._refrigerant.vapour_enthalpy(suction, evaporator.superheat_dk) + gain_w / evaporator.flow_kg_s
        superheat_dk = self._refrigerant.superheat_of_enthalpy(inlet, enthalpy)
        return LineEnd(drop_pa, inlet.dew_point_k + superheat_dk, gain_w)

    def passed_on(self, stores: Stores, suction: Saturation, head_pa: float, *, joins_m2: float) -> float:
        """Find what goes on of what the compressor drives, with no relief [kg/s]: some leaks back.

        joins: what a reversing valve leaves open from discharge to suction.
        """
        driven = self._driven(stores, self._after(stores.suction_drop_pa, suction), head_pa)
        across = self._across(stores, suction, head_pa, joins_m2) if joins_m2 > 0.0 else 0.0
        return max(driven * (1.0 - self._parameters.faults.compressor_leakage) - across, LEAST_PASSED * driven)

    def compress(
        self,
        stores: Stores,
        suction: Saturation,
        evaporator: EvaporatorState,
        head: Saturation,
        *,
        boiling_off_kg_s: float,
        accumulating_kg_s: float,
    ) -> Compressed:
        """Compress what is drawn up to the head, the pressure that a gauge finds there."""
        compressor, sump = self._parameters.compressor, self._parameters.sump
        inlet = self._after(stores.suction_drop_pa, suction)
        compression = compress(self._refrigerant, suction=inlet, superheat_dk=_superheat(stores, inlet), head=head)
        efficiency = compressor.isentropic_efficiency(head.pressure_pa / inlet.pressure_pa)
        driven = self._driven(stores, inlet, head.pressure_pa)
        power = driven * stores.delivered_fraction * compression.isentropic_work / efficiency * self.motor_losses
        flow = evaporator.flow_kg_s + boiling_off_kg_s - accumulating_kg_s
        drawn = compression.suction_enthalpy - _wetness(evaporator, flow, accumulating_kg_s) * suction.latent_heat
        hot = drawn + power / flow
        hot_k = head.dew_point_k + self._refrigerant.superheat_of_enthalpy(head, hot)
        gas_to_shell = sump.shell_conductance * (hot_k - stores.shell_k)
        unrelieved = flow + evaporator.flow_kg_s * (1.0 / stores.delivered_fraction - 1.0)
        return Compressed(unrelieved, power, drawn, hot - gas_to_shell / flow, gas_to_shell)

    def _driven(self, stores: Stores, inlet: Saturation, head_pa: float) -> float:
        """Find what the compressor takes in of vapour as warm as the suction line, at the end of that [kg/s].

        It falls to nothing at the end of the tables, so that the low side is never pumped empty.
        """
        lowest_pa = self._refrigerant.lowest_pressure_pa
        starved = min((inlet.pressure_pa - lowest_pa) / lowest_pa + 1e-6, 1.0)
        density = self._refrigerant.vapour_density(inlet, _superheat(stores, inlet))
        return self._parameters.compressor.volume_flow(inlet.pressure_pa, head_pa) * density * starved

    def _across(self, stores: Stores, suction: Saturation, head_pa: float, joins_m2: float) -> float:
        """Find the hot gas that a reversing valve lets across, choked where the pressures are far apart [kg/s]."""
        head = self._refrigerant.saturation(math.exp(stores.log_condensing_pressure))
        density = self._refrigerant.vapour_density(head, max(stores.discharge_line_k - head.dew_point_k, 0.0))
        drop_pa = min(max(head_pa - suction.pressure_pa, 0.0), CHOKED_DROP * head_pa)
        return joins_m2 * math.sqrt(2.0 * density * drop_pa)

    def _after(self, drop_pa: float, suction: Saturation) -> Saturation:
        """Take saturation at the end of the suction line."""
        if drop_pa == 0.0:
            return suction
        return self._refrigerant.saturation(max(suction.pressure_pa - drop_pa, self._refrigerant.lowest_pressure_pa))


def _superheat(stores: Stores, inlet: Saturation) -> float:
    return max(stores.suction_line_k - inlet.dew_point_k, 0.0)


def _wetness(evaporator: EvaporatorState, flow_kg_s: float, accumulating_kg_s: float) -> float:
    """Find what part of the flow to the compressor is liquid."""
    if accumulating_kg_s == 0.0:
        return 1.0 - evaporator.outlet_quality
    liquid_kg_s = evaporator.flow_kg_s * (1.0 - evaporator.outlet_quality) - accumulating_kg_s
    return max(liquid_kg_s, 0.0) / flow_kg_s
