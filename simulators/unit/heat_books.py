"""The books of heat of one circuit: the energy that it holds, and the four flows that change it."""

from typing import NamedTuple

from simulators.unit.circuit import Circuit
from simulators.unit.frost import HEAT_OF_FUSION
from simulators.unit.moisture import STEAM_J_PER_MOL
from simulators.unit.parameters import UnitParameters
from simulators.unit.resting import Around
from simulators.unit.stores import Moment, Stores


class HeatFlows(NamedTuple):
    """Where the energy goes, now. At a steady state the first two add up to the other two.

    compressor: what its motor takes, or its crankcase heater while it stands. shell_loss: to the outdoor air, less
    what the suction line takes from it.
    """

    evaporator_w: float
    compressor_w: float
    condenser_w: float
    shell_loss_w: float


class HeatBooks:
    """What the stores hold, and what flows in and out of them."""

    def __init__(self, parameters: UnitParameters, circuit: Circuit, stores: Stores) -> None:
        self._parameters, self._circuit, self._stores = parameters, circuit, stores

    def stored_j(self) -> float:
        """Add up the energy in refrigerant, coils and shell, above a state of no meaning: only its changes count."""
        stores, shell = self._stores, self._parameters.sump.shell_heat_capacity
        in_sump_j = stores.sump_kg * stores.sump_enthalpy + shell * stores.shell_k
        in_sump_j -= (stores.frost_kg + stores.outdoor_frost_kg) * HEAT_OF_FUSION
        return sum(self._circuit.stored_j(stores), in_sump_j + stores.steam_mol * STEAM_J_PER_MOL)

    def shell_loss_w(self) -> float:
        """Find what the compressor's shell loses to the outdoor air."""
        parameters = self._parameters
        return parameters.sump.loss_conductance * (self._stores.shell_k - parameters.conditions.outdoor_air_k)

    def running(self, now: Moment, high_w: float, low_w: float) -> HeatFlows:
        """Find the four flows while the sides take up this much, metal and refrigerant."""
        metered_w = now.metered_kg_s * now.condenser.outlet_enthalpy
        drawn_kg_s = now.condenser_flow_kg_s - now.boiling_off_kg_s
        return HeatFlows(
            evaporator_w=low_w + drawn_kg_s * now.compressed.suction_enthalpy - metered_w - now.line_gain_w,
            compressor_w=now.compressed.power_w,
            condenser_w=now.condenser_flow_kg_s * now.compressed.enthalpy - metered_w - high_w,
            shell_loss_w=self.shell_loss_w() - now.line_gain_w,
        )

    def steady(self, now: Moment) -> HeatFlows:
        """Find the four flows of a unit that is steady, or nearly."""
        drawn_kg_s = now.condenser_flow_kg_s - now.boiling_off_kg_s
        return HeatFlows(
            evaporator_w=drawn_kg_s * (now.compressed.suction_enthalpy - now.condenser.outlet_enthalpy)
            - now.line_gain_w,
            compressor_w=now.compressed.power_w,
            condenser_w=now.condenser_flow_kg_s * (now.compressed.enthalpy - now.condenser.outlet_enthalpy),
            shell_loss_w=self.shell_loss_w() - now.line_gain_w,
        )

    def resting(self, high: Around, low: Around, *, heater_w: float) -> HeatFlows:
        """Find the four flows of a unit at rest, with this around the coils of its two sides."""
        stores = self._stores
        return HeatFlows(
            evaporator_w=low.conductance * (low.temperature_k - stores.low_metal_k),
            compressor_w=heater_w,
            condenser_w=high.conductance * (stores.high_metal_k - high.temperature_k),
            shell_loss_w=self.shell_loss_w(),
        )
