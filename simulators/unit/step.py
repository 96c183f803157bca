"""One step of one circuit: what moves and what warms while it runs, while it settles, and while it stands still."""

import math

from simulators.unit.around_coils import around_coils
from simulators.unit.changeover import change_over, have_met
from simulators.unit.circuit import Circuit
from simulators.unit.frost import freezes
from simulators.unit.frosted_coils import FrostHeat, frost_coils
from simulators.unit.heat_books import HeatBooks
from simulators.unit.lag import lagged
from simulators.unit.lines import Lines
from simulators.unit.metering import Inlet
from simulators.unit.moisture import boil_water
from simulators.unit.parameters import UnitParameters
from simulators.unit.readings import head_pa
from simulators.unit.resting import stopped, within_reach
from simulators.unit.reversing_valve import Mode
from simulators.unit.stores import Stores
from simulators.unit.supply_air import cool_supply_air, pass_supply_air
from simulators.unit.tanks import drain, fill_tanks

RELIEF_LAG_S = 3.0
"""How soon the suction side notices that the relief valve returns gas to it."""

RUNNING_METAL_LAG_S = 10.0
"""How soon the coils' metal follows the refrigerant in it: its heat capacity over the coil's conductance."""

SETTLING_QUICKENING = 12.0


class Step:
    """It moves the stores of one circuit on. moment, flows: what they bring about now.

    meets: the reversing valve has shifted, and the pressures have not met yet. auxiliary: electric heat in the supply
    air [W].
    """

    def __init__(self, parameters: UnitParameters, circuit: Circuit, stores: Stores, books: HeatBooks) -> None:
        self._parameters, self._circuit, self._stores, self._books = parameters, circuit, stores, books
        self._lines = Lines(parameters, stores)
        self._meeting_m2 = parameters.heat_pump.valve.port_m2 if parameters.heat_pump is not None else 0.0
        self.meets = False
        self.auxiliary_w = 0.0
        self.moment = circuit.running(stores, math.inf)
        self.flows = books.steady(self.moment)

    def run_on(self, step_s: float) -> None:
        """Run, and count what the air of each coil must have given or taken for the books of heat to balance."""
        now, stores, circuit = self.moment, self._stores, self._circuit
        high_j, low_j = circuit.stored_j(stores)
        self._move_masses(step_s, 1.0)
        self._warm_shell(step_s, 1.0)
        frost = self._frost(step_s, condensed_kg_s=self._condensed_kg_s() if freezes(self._refrigerant_k) else 0.0)
        parts = step_s / RUNNING_METAL_LAG_S
        stores.high_metal_k = lagged(stores.high_metal_k, now.condensing.bubble_point_k, parts)
        stores.low_metal_k = lagged(stores.low_metal_k, now.suction.bubble_point_k, parts)
        high_after_j, low_after_j = circuit.stored_j(stores)
        self.flows = self._books.running(
            now, (high_after_j - high_j - frost.high_j) / step_s, (low_after_j - low_j - frost.low_j) / step_s
        )
        swept = self._parameters.compressor.volume_flow(now.suction.pressure_pa, head_pa(stores, now))
        circuit.air_inside.sweep(stores, now, volume_flow_m3_s=swept, step_s=step_s)
        self._run(step_s)

    def settle_on(self, step_s: float) -> None:
        """Run with sump and shell quicker than in truth, and coils that have no heat to take up."""
        now, stores = self.moment, self._stores
        self._move_masses(step_s, SETTLING_QUICKENING)
        self._warm_shell(step_s, SETTLING_QUICKENING)
        stores.high_metal_k, stores.low_metal_k = now.condensing.bubble_point_k, now.suction.bubble_point_k
        self.flows = self._books.steady(now)
        self._run(step_s)

    def shift(self, mode: Mode) -> None:
        """Let the reversing valve lead the other way. The sides then meet before the compressor parts them again."""
        change_over(self._circuit, self._stores, mode)
        self.meets = True
        self.moment = self._circuit.resting(self._stores)

    def stand(self, step_s: float, *, indoors_k: float, blower_runs: bool, heater_w: float = 0.0) -> None:
        """Stand still: the sides equalise, and everything goes to the temperature around it.

        indoors: of the still air at the indoor coil, unless the blower moves it. heater: of the crankcase.
        """
        stores, circuit = self._stores, self._circuit
        now = self.moment = within_reach(stopped(self.moment), stores, step_s)
        outdoors_k = self._parameters.conditions.outdoor_air_k
        around = around_coils(circuit, indoors_k=indoors_k, outdoors_k=outdoors_k, blower_runs=blower_runs)
        self.flows = self._books.resting(around.high, around.low, heater_w=heater_w)
        high_j, low_j = circuit.stored_j(stores)
        passing_w = now.metered_kg_s * now.condenser.outlet_enthalpy
        boiling_w = now.boiling_off_kg_s * now.compressed.suction_enthalpy
        circuit.air_inside.spread(stores, now, step_s)
        frost = self._frost(step_s, condensed_kg_s=0.0)
        high_j += frost.high_j
        low_j += frost.low_j - boil_water(stores, circuit.volume_m3, step_s)
        self._move_masses(step_s, 1.0)
        drain(stores, step_s)
        self._warm_shell(step_s, 1.0, heater_w=heater_w)
        circuit.warm_metal(
            stores,
            high_j - (self.flows.condenser_w + passing_w) * step_s,
            low_j + (self.flows.evaporator_w + passing_w + boiling_w) * step_s,
        )
        self._lines.follow(
            step_s,
            evaporator_outlet_k=stores.low_metal_k,
            suction_line_k=stores.low_metal_k,
            liquid_line_k=min(stores.high_metal_k, stores.liquid_line_k + 0.05),
            discharge_line_k=stores.shell_k,
        )
        self._pass_supply_air(step_s, blower_runs=blower_runs)
        stores.delivered_fraction = 1.0
        self.meets = self.meets and not have_met(circuit, stores)
        self.moment = circuit.resting(stores, beside_m2=circuit.joins_m2 + (self._meeting_m2 if self.meets else 0.0))

    def _run(self, step_s: float) -> None:
        now, stores, circuit = self.moment, self._stores, self._circuit
        head = circuit.head(stores, now.condensing)
        superheat = circuit.refrigerant.superheat_of_enthalpy(head, now.compressed.enthalpy)
        self._lines.follow(
            step_s,
            evaporator_outlet_k=now.suction.dew_point_k + now.evaporator.superheat_dk,
            suction_line_k=now.line_end_k,
            liquid_line_k=Inlet(now.condensing, now.condenser.outlet_enthalpy).temperature_k,
            discharge_line_k=head.dew_point_k + superheat,
        )
        if circuit.mode == "heating":
            self._pass_supply_air(step_s, blower_runs=True)
        else:
            cool_supply_air(
                stores,
                circuit.streams.evaporator_air,
                now,
                evaporator_w=self.flows.evaporator_w,
                auxiliary_w=self.auxiliary_w,
                step_s=step_s,
            )
        delivered = self._parameters.compressor.delivered_fraction(head.pressure_pa)
        stores.delivered_fraction = lagged(stores.delivered_fraction, delivered, step_s / RELIEF_LAG_S)
        self.moment = circuit.running(stores, step_s)

    def _pass_supply_air(self, step_s: float, *, blower_runs: bool) -> None:
        """Warm the supply air by what the indoor coil and a heater give it, or let it stand."""
        coil_w = self.flows.condenser_w if self._circuit.mode == "heating" else -self.flows.evaporator_w
        warmed_dk = (coil_w + self.auxiliary_w) / self._circuit.streams.indoor_capacity
        pass_supply_air(
            self._stores,
            self._parameters.conditions,
            outdoor_part=self._stores.damper if blower_runs else 0.0,
            warmed_dk=warmed_dk if blower_runs else 0.0,
            step_s=step_s,
        )

    def _move_masses(self, step_s: float, quickening: float) -> None:
        now, stores = self.moment, self._stores
        boiled_kg = now.boiling_off_kg_s * step_s * quickening
        compressed_kg = now.condenser_flow_kg_s * step_s
        metered_kg = now.metered_kg_s * step_s
        stores.high_side_kg += compressed_kg - metered_kg
        stores.low_side_kg += metered_kg + boiled_kg - compressed_kg
        stores.sump_kg -= boiled_kg
        if self._parameters.heat_pump is not None:
            fill_tanks(self._parameters.heat_pump, self._circuit, stores, now, step_s * quickening)

    def _warm_shell(self, step_s: float, quickening: float, *, heater_w: float = 0.0) -> None:
        """Heat the shell by hot gas or heater, less what it loses to the air and what boils the liquid in its sump."""
        now, stores = self.moment, self._stores
        boiling_w = now.boiling_off_kg_s * (now.compressed.suction_enthalpy - stores.sump_enthalpy)
        kept_w = now.compressed.gas_to_shell_w + heater_w - self._books.shell_loss_w() - boiling_w
        stores.shell_k += kept_w / self._parameters.sump.shell_heat_capacity * step_s * quickening

    @property
    def _refrigerant_k(self) -> float:
        return self.moment.suction.mean_temperature_k

    def _condensed_kg_s(self) -> float:
        """Find the water that the coil of the low side takes from its air."""
        air = self._circuit.streams.evaporator_air
        contact_kg_s = air.effectiveness * self.moment.evaporator.two_phase_fraction * air.flow_kg_s
        return contact_kg_s * air.water_above(self._refrigerant_k)

    def _frost(self, step_s: float, *, condensed_kg_s: float) -> FrostHeat:
        """Let frost grow on the coil of the low side, and melt on both. condensed: the water, where that freezes."""
        return frost_coils(
            self._parameters,
            self._stores,
            heats=self._circuit.mode == "heating",
            condensed_kg_s=condensed_kg_s,
            refrigerant_k=self._refrigerant_k,
            step_s=step_s,
        )
