"""A unit in cooling: where its refrigerant is, what it does to two air streams, what probes would find.

Three stores hold the refrigerant: the high side (condenser and liquid line), the low side (evaporator and suction
line) and the compressor's sump, where some is dissolved in the oil. Only flows between them change what each holds,
so that no mass is made or lost. What takes time is the moving of refrigerant and the warming of metal:

- the high and the low side fill and empty within seconds to half a minute, and the pressures follow within seconds;
- the lines, the valve's bulb and the air side of the coil follow with lags of their own;
- sump and shell take minutes; liquid let in at the suction port lies in the sump first and boils off;
- at rest the two sides equalise through the metering device, and some refrigerant goes into the oil.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Literal, NamedTuple

from simulators.errors import SimulatorError
from simulators.unit import moist_air
from simulators.unit.air_inside import air_amount, air_pressure
from simulators.unit.air_streams import mixed_air
from simulators.unit.circuit import Circuit, lagged
from simulators.unit.controls import Controls, Hold
from simulators.unit.delay import Delay
from simulators.unit.economizer import damper_after
from simulators.unit.electrics import Electrics
from simulators.unit.frost import HEAT_OF_FUSION, free_part, freezing, melting
from simulators.unit.head_control import HeadControlState
from simulators.unit.leak import leak_flow
from simulators.unit.metering import Inlet
from simulators.unit.moisture import STEAM_J_PER_MOL, WATER_KG_PER_MOL, boiling
from simulators.unit.parameters import UnitParameters
from simulators.unit.ports import ServicePorts
from simulators.unit.resting import within_reach
from simulators.unit.stores import Stores

LONGEST_STEP_S = 0.25
"""The stores move on in steps no longer than this, well below the quickest of their lags."""

RELIEF_LAG_S = 3.0
"""How soon the suction side notices that the relief valve returns gas to it."""

RESTING_STEP_S = 1.0
QUIET_AFTER_S = 60.0
"""A unit that has been off for so long changes slowly, and may go on in longer steps."""

LINE_LAG_S = 5.0
DISCHARGE_LAG_S = 12.0
RUNNING_METAL_LAG_S = 10.0
"""How soon the coils' metal follows the refrigerant in it: its heat capacity over the coil's conductance."""

SUPPLY_AIR_LAG_S = 10.0

RECOVERABLE_FRACTION = 0.8
"""What part of the high side can be taken out at one moment."""

REST_S = 2400.0
"""How long a unit has been off that is found at rest."""

_SETTLING_S = 900.0
_SETTLING_STEP_S = 0.5
_SETTLING_LOOK_S = 30.0
_SETTLING_QUICKENING = 12.0
_STEADY_KG = 1e-6
_STEADY_DK = 1e-3


class HeatFlows(NamedTuple):
    """Where the energy goes, now. At a steady state the first two add up to the other two."""

    evaporator_w: float
    compressor_w: float
    condenser_w: float
    shell_loss_w: float


class Unit:
    """A unit that has run for long, or that has been off for a while. Refrigerant can go in and out meanwhile.

    The same parameters and calls give the same states: there is no chance in it. A unit whose compressor cannot
    start is at rest, whatever was asked for.

    Raises:
        SimulatorError: the refrigerant is not one that can be simulated.

    """

    def __init__(
        self, parameters: UnitParameters | None = None, *, at_rest: bool = False, air_share: float = 1.0
    ) -> None:
        self._parameters = parameters or UnitParameters()
        self._circuit = Circuit(self._parameters)
        self._streams = self._circuit.streams
        self._air_share = air_share
        self._around_evaporator_k = self._parameters.conditions.return_air_k
        self._refrigerant = self._circuit.refrigerant
        self._controls = Controls(
            self._parameters.cut_outs,
            self._refrigerant,
            delay_timer_s=self._parameters.delay_timer_s,
            outdoor_air_cools=self._outdoor_air_cools(),
        )
        self._electrics = Electrics(self._parameters)
        self._head_control = HeadControlState(self._parameters.head_control)
        self._streams.set_fan_speed(self._electrics.fan_speed)
        self._on_its_way_to_the_bulb = Delay(self._parameters.dead_time_as_it_is_s())
        self._resting_s = 0.0
        self._stores = self._first_stores()
        self._stores.damper = self._damper_asked()
        self._set_indoor_air()
        self.ports = ServicePorts(self._circuit, self._stores)
        self._moment = self._circuit.running(self._stores, math.inf)
        self._flows = self._flows_without_stores()
        self._settle()
        if at_rest or not self._electrics.can_start:
            self._rest()
        elif self._outdoor_air_cools():
            self.step(REST_S)

    @property
    def charge_kg(self) -> float:
        """All the refrigerant in the unit."""
        return sum(self.held_kg().values())

    @property
    def is_running(self) -> bool:
        """Whether the compressor turns."""
        return self._electrics.compressor_turns

    @property
    def cut_out(self) -> str:
        """Which pressure cut-out is open: `high`, `low`, or none."""
        return self._controls.cut_out

    @property
    def held_by(self) -> Hold:
        """What holds the contactor open."""
        return self._controls.held_by

    @property
    def supply_air_k(self) -> float:
        """How warm the air is that leaves its evaporator."""
        return self._stores.supply_air_k

    @property
    def frost_kg(self) -> float:
        """The frost on its evaporator."""
        return self._stores.frost_kg

    @property
    def internal_volume_m3(self) -> float:
        """Of coils and lines, refrigerant or not."""
        return self._circuit.high.volume_m3 + self._circuit.low.volume_m3

    @property
    def air_mol(self) -> float:
        """All the air in the circuit."""
        return self._stores.high_air_mol + self._stores.low_air_mol

    @property
    def stored_j(self) -> float:
        """The energy in refrigerant, coils and shell, above a state of no meaning: only its changes count."""
        stores, shell = self._stores, self._parameters.sump.shell_heat_capacity
        in_sump_j = stores.sump_kg * stores.sump_enthalpy + shell * stores.shell_k - stores.frost_kg * HEAT_OF_FUSION
        return sum(self._circuit.stored_j(stores), in_sump_j + stores.steam_mol * STEAM_J_PER_MOL)

    def held_kg(self) -> Mapping[str, float]:
        """Tell where the refrigerant is now."""
        stores = self._stores
        return {"high side": stores.high_side_kg, "low side": stores.low_side_kg, "sump": stores.sump_kg}

    def call(self, *, cooling: bool) -> None:
        """Let the thermostat call for cooling, or no longer."""
        self._controls.calls = cooling

    def share_air(self, share: float, *, around_evaporator_k: float) -> None:
        """Give it this many times its own air and fins, and say how warm it is around its evaporator at rest."""
        self._air_share = share
        self._around_evaporator_k = around_evaporator_k

    def disconnect(self, *, closed: bool) -> None:
        """Throw the disconnect: open, nothing of the unit has power, its controls included."""
        self._controls.is_connected = closed

    def sense_leak(self, *, refrigerant: bool) -> None:
        """Let the unit's leak detector sense refrigerant, or no longer."""
        self._controls.senses_leak = refrigerant

    def reset_cut_outs(self) -> None:
        """Press the reset of both cut-outs."""
        self._controls.reset_cut_outs()

    def step(self, duration_s: float) -> None:
        """Let the unit go on for this long."""
        if not (duration_s >= 0.0 and math.isfinite(duration_s)):
            raise SimulatorError(f"the unit cannot run for {duration_s} s")
        remaining_s = duration_s
        while remaining_s > 0.0:
            longest_s = RESTING_STEP_S if self._resting_s > QUIET_AFTER_S else LONGEST_STEP_S
            step_s = remaining_s / math.ceil(remaining_s / longest_s)
            self._go_on(step_s)
            remaining_s = remaining_s - step_s if remaining_s > step_s * 1.5 else 0.0

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in at the suction port: vapour joins the flow, liquid falls into the sump first.

        Raises:
            SimulatorError: more would be in the unit than it can hold.

        """
        _check_mass(mass_kg)
        most_kg = self._parameters.most_charge_kg
        if self.charge_kg + mass_kg > most_kg:
            raise SimulatorError(f"the unit holds {self.charge_kg:.2f} kg, and {most_kg:g} kg at most")
        before_j = self.stored_j
        if phase == "liquid":
            self._stores.sump_kg += mass_kg
        else:
            self._stores.low_side_kg += mass_kg
        self.ports.moved_j += self.stored_j - before_j

    def recover(self, mass_kg: float) -> None:
        """Take liquid out at the liquid port.

        Raises:
            SimulatorError: it is more than the high side can give at once.

        """
        _check_mass(mass_kg)
        available_kg = RECOVERABLE_FRACTION * self._stores.high_side_kg
        if mass_kg > available_kg:
            raise SimulatorError(
                f"cannot recover {mass_kg:.3f} kg at once: the high side gives at most {available_kg:.3f} kg; "
                "take less, and let the unit run in between"
            )
        before_j = self.stored_j
        self._stores.high_side_kg -= mass_kg
        self.ports.moved_j += self.stored_j - before_j

    def let_air_in(self, amount_mol: float) -> None:
        """Let air in at the suction port, as from a hose that was not purged."""
        if not (amount_mol > 0.0 and math.isfinite(amount_mol)):
            raise SimulatorError(f"{amount_mol} mol of air cannot be let in; give more than nothing")
        self._stores.low_air_mol += amount_mol

    def heat_flows(self) -> HeatFlows:
        """Tell the four flows of energy, with what the coils' own warming and cooling takes and gives."""
        return self._flows

    def lug_temperature_k(self) -> float:
        """Tell how warm the compressor's lug of phase a is."""
        return self._parameters.conditions.outdoor_air_k + self._electrics.lug_rise_dk

    def true_state(self) -> Mapping[str, float]:
        """Tell what perfect instruments would read: channel to value in the house's units."""
        controls = self._controls
        electrics = self._electrics.state(is_connected=controls.is_connected, blower_runs=controls.blower_runs)
        return self._refrigerant_state() | self._air_state() | electrics

    def _refrigerant_state(self) -> dict[str, float]:
        stores = self._stores
        head_pa = self._head_pa()
        return {
            "suction_pressure": self._suction_pa(),
            "liquid_pressure": head_pa,
            "discharge_pressure": head_pa,
            "suction_line_temperature": stores.suction_line_k,
            "liquid_line_temperature": stores.liquid_line_k,
            "discharge_line_temperature": stores.discharge_line_k,
        }

    def _air_state(self) -> dict[str, float]:
        stores, conditions = self._stores, self._parameters.conditions
        pressure_pa = conditions.barometric_pressure_pa
        return_k, return_ratio = mixed_air(conditions, 0.0)
        supply_k, supply_ratio = stores.supply_air_k, stores.supply_humidity_ratio
        return {
            "barometric_pressure": pressure_pa,
            "outdoor_air_temperature": conditions.outdoor_air_k,
            "return_air_temperature": return_k,
            "return_air_humidity": conditions.return_air_humidity,
            "return_air_wet_bulb": moist_air.wet_bulb(return_k, return_ratio, pressure_pa),
            "supply_air_temperature": supply_k,
            "supply_air_humidity": moist_air.relative_humidity(supply_k, supply_ratio, pressure_pa),
        }

    def _suction_pa(self) -> float:
        return self._moment.suction.pressure_pa + self._stores.low_air_pa + self._stores.steam_pa

    def _head_pa(self) -> float:
        return self._moment.condensing.pressure_pa + self._stores.high_air_pa + self._stores.steam_pa

    def _first_stores(self) -> Stores:
        """Make a rough state to start from; running on finds the true one."""
        parameters, conditions = self._parameters, self._parameters.conditions
        charge_kg, size = parameters.charge_kg, parameters.most_charge_kg / 6.0
        low_side_kg, sump_kg = min(0.45 * size, 0.25 * charge_kg), min(0.18 * size, 0.1 * charge_kg)
        condensing_pa = self._refrigerant.bubble_pressure(conditions.outdoor_air_k + 12.0)
        suction_pa = self._refrigerant.bubble_pressure(conditions.return_air_k - 18.0)
        line_k = conditions.return_air_k - 10.0
        liquid_enthalpy = self._refrigerant.saturation(condensing_pa).liquid_enthalpy
        return Stores(
            high_side_kg=charge_kg - low_side_kg - sump_kg,
            low_side_kg=low_side_kg,
            sump_kg=sump_kg,
            shell_k=conditions.outdoor_air_k + 30.0,
            suction_line_k=line_k,
            liquid_line_k=conditions.outdoor_air_k,
            discharge_line_k=conditions.outdoor_air_k + 35.0,
            bulb_k=line_k,
            high_metal_k=conditions.outdoor_air_k + 12.0,
            low_metal_k=line_k,
            supply_air_k=conditions.return_air_k,
            supply_humidity_ratio=self._streams.indoor.humidity_ratio,
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

    def _settle(self) -> None:
        """Run until nothing moves any more, or for as long as one may wait: some states never come to rest."""
        for _ in range(math.ceil(_SETTLING_S / _SETTLING_LOOK_S)):
            before = replace(self._stores)
            for _ in range(math.ceil(_SETTLING_LOOK_S / _SETTLING_STEP_S)):
                self._settle_on(_SETTLING_STEP_S)
            moved_kg = abs(self._stores.high_side_kg - before.high_side_kg)
            warmed_dk = abs(self._stores.shell_k - before.shell_k)
            if moved_kg < _STEADY_KG and warmed_dk < _STEADY_DK:
                break
        self._circuit.air_inside.weigh(self._stores, self._moment)
        self._electrics.has_run(self._moment.compressed.power_w, fan_request=self._head_control.request)

    def _rest(self) -> None:
        """Let it stand for a while, until the thermostat calls."""
        self.call(cooling=False)
        self.step(REST_S)
        self._electrics.has_cooled()

    def _go_on(self, step_s: float) -> None:
        self._leak(step_s)
        self._stores.damper = damper_after(
            self._stores.damper,
            self._damper_asked(),
            step_s,
            stuck_open=self._parameters.faults.damper_stuck_open,
        )
        self._set_indoor_air()
        controls, electrics = self._controls, self._electrics
        closed = controls.go_on(step_s, suction_pa=self._suction_pa(), head_pa=self._head_pa())
        if electrics.compressor_turns:
            self._control_head(step_s)
        electrics.go_on(
            step_s,
            closed=closed,
            compressor_w=self._moment.compressed.power_w,
            fan_request=self._head_control.request,
        )
        self._resting_s = 0.0 if closed else self._resting_s + step_s
        self._streams.set_fan_speed(self._electrics.fan_speed)
        if self._electrics.compressor_turns:
            self._run_on(step_s)
        else:
            self._stand(step_s)

    def _run_on(self, step_s: float) -> None:
        """Run, and count what the air of each coil must have given or taken for the books of heat to balance."""
        now, stores, circuit = self._moment, self._stores, self._circuit
        high_j, low_j = circuit.stored_j(stores)
        self._move_masses(step_s, 1.0)
        self._warm_shell(step_s, 1.0)
        low_j += self._frost(step_s)
        parts = step_s / RUNNING_METAL_LAG_S
        stores.high_metal_k = lagged(stores.high_metal_k, now.condensing.bubble_point_k, parts)
        stores.low_metal_k = lagged(stores.low_metal_k, now.suction.bubble_point_k, parts)
        high_after_j, low_after_j = circuit.stored_j(stores)
        self._flows = self._flows_with_stores((high_after_j - high_j) / step_s, (low_after_j - low_j) / step_s)
        head_pa = self._head_pa()
        swept = self._parameters.compressor.volume_flow(now.suction.pressure_pa, head_pa)
        circuit.air_inside.sweep(stores, now, volume_flow_m3_s=swept, step_s=step_s)
        self._run(step_s)

    def _settle_on(self, step_s: float) -> None:
        """Run with sump and shell quicker than in truth, and coils that have no heat to take up."""
        now, stores = self._moment, self._stores
        self._control_head(step_s)
        self._streams.set_fan_speed(self._electrics.fan_speed * self._head_control.request)
        self._move_masses(step_s, _SETTLING_QUICKENING)
        self._warm_shell(step_s, _SETTLING_QUICKENING)
        stores.high_metal_k, stores.low_metal_k = now.condensing.bubble_point_k, now.suction.bubble_point_k
        self._flows = self._flows_without_stores()
        self._run(step_s)

    def _control_head(self, step_s: float) -> None:
        head = self._circuit.head(self._stores, self._moment.condensing)
        self._head_control = self._head_control.after(step_s, head.bubble_point_k)

    def _run(self, step_s: float) -> None:
        now, stores = self._moment, self._stores
        head = self._circuit.head(stores, now.condensing)
        superheat = self._refrigerant.superheat_of_enthalpy(head, now.compressed.enthalpy)
        self._follow(
            step_s,
            suction_line_k=now.suction.dew_point_k + now.evaporator.superheat_dk,
            liquid_line_k=Inlet(now.condensing, now.condenser.outlet_enthalpy).temperature_k,
            discharge_line_k=head.dew_point_k + superheat,
        )
        self._cool_air(step_s)
        delivered = self._parameters.compressor.delivered_fraction(head.pressure_pa)
        stores.delivered_fraction = lagged(stores.delivered_fraction, delivered, step_s / RELIEF_LAG_S)
        self._moment = self._circuit.running(stores, step_s)

    def _stand(self, step_s: float) -> None:
        """Stand still: the sides equalise, and everything goes to the temperature around it."""
        stores, conditions, circuit = self._stores, self._parameters.conditions, self._circuit
        now = self._moment = within_reach(self._moment, stores, step_s)
        self._flows = HeatFlows(
            evaporator_w=circuit.low.loss_conductance * (self._around_evaporator_k - stores.low_metal_k),
            compressor_w=0.0,
            condenser_w=circuit.high.loss_conductance * (stores.high_metal_k - conditions.outdoor_air_k),
            shell_loss_w=self._shell_loss_w(),
        )
        high_j, low_j = circuit.stored_j(stores)
        passing_w = now.metered_kg_s * now.condenser.outlet_enthalpy
        boiling_w = now.boiling_off_kg_s * now.compressed.suction_enthalpy
        circuit.air_inside.spread(stores, now, step_s)
        low_j += self._frost(step_s) - self._boil_water(step_s)
        self._move_masses(step_s, 1.0)
        self._warm_shell(step_s, 1.0)
        circuit.warm_metal(
            stores,
            high_j - (self._flows.condenser_w + passing_w) * step_s,
            low_j + (self._flows.evaporator_w + passing_w + boiling_w) * step_s,
        )
        self._follow(
            step_s,
            suction_line_k=stores.low_metal_k,
            liquid_line_k=min(stores.high_metal_k, stores.liquid_line_k + 0.05),
            discharge_line_k=stores.shell_k,
        )
        supply_k, supply_ratio = mixed_air(conditions, stores.damper if self._controls.blower_runs else 0.0)
        parts = step_s / SUPPLY_AIR_LAG_S
        stores.supply_air_k = lagged(stores.supply_air_k, supply_k, parts)
        stores.supply_humidity_ratio = lagged(stores.supply_humidity_ratio, supply_ratio, parts)
        stores.delivered_fraction = 1.0
        self._moment = circuit.resting(stores)

    def _flows_with_stores(self, high_w: float, low_w: float) -> HeatFlows:
        """Find the four flows while the sides take up this much, metal and refrigerant."""
        now = self._moment
        metered_w = now.metered_kg_s * now.condenser.outlet_enthalpy
        drawn_kg_s = now.condenser_flow_kg_s - now.boiling_off_kg_s
        return HeatFlows(
            evaporator_w=low_w + drawn_kg_s * now.compressed.suction_enthalpy - metered_w,
            compressor_w=now.compressed.power_w,
            condenser_w=now.condenser_flow_kg_s * now.compressed.enthalpy - metered_w - high_w,
            shell_loss_w=self._shell_loss_w(),
        )

    def _flows_without_stores(self) -> HeatFlows:
        """Find the four flows of a unit that is steady, or nearly."""
        now = self._moment
        drawn_kg_s = now.condenser_flow_kg_s - now.boiling_off_kg_s
        return HeatFlows(
            evaporator_w=drawn_kg_s * (now.compressed.suction_enthalpy - now.condenser.outlet_enthalpy),
            compressor_w=now.compressed.power_w,
            condenser_w=now.condenser_flow_kg_s * (now.compressed.enthalpy - now.condenser.outlet_enthalpy),
            shell_loss_w=self._shell_loss_w(),
        )

    def _leak(self, step_s: float) -> None:
        """Let through the leak what its size and the pressure give: air in, or all that is there out."""
        conditions, inside_pa = self._parameters.conditions, self._suction_pa()
        size = self._parameters.faults.leak_pa_m3_s
        flow = leak_flow(size, inside_pa=inside_pa, outside_pa=conditions.barometric_pressure_pa) * step_s
        if flow > 0.0:
            self.ports.sweep_out("suction", flow / inside_pa)
        elif flow < 0.0:
            self.ports.put_gas("suction", air_amount(-flow, 1.0, conditions.outdoor_air_k))

    def _boil_water(self, step_s: float) -> float:
        """Let water boil or condense in a unit at rest, and tell the heat that it takes from the coil [J]."""
        stores, volume_m3 = self._stores, self.internal_volume_m3
        if stores.water_kg + stores.steam_mol == 0.0:
            return 0.0
        coldest_k = min(stores.high_metal_k, stores.low_metal_k)
        boiled_mol = boiling(
            stores.water_kg, stores.steam_mol, volume_m3=volume_m3, temperature_k=coldest_k, step_s=step_s
        )
        stores.water_kg -= boiled_mol * WATER_KG_PER_MOL
        stores.steam_mol += boiled_mol
        stores.steam_pa = air_pressure(stores.steam_mol, volume_m3, coldest_k)
        return boiled_mol * STEAM_J_PER_MOL

    def _frost(self, step_s: float) -> float:
        """Let water freeze on the coil or frost melt, and tell the heat that it gives to the coil [J]."""
        stores, now = self._stores, self._moment
        condensed_kg_s = 0.0
        if self._electrics.compressor_turns:
            air = self._streams.indoor
            contact = air.effectiveness * now.evaporator.two_phase_fraction * air.flow_kg_s
            condensed_kg_s = contact * air.water_above(now.suction.mean_temperature_k)
        frozen_kg = step_s * freezing(condensed_kg_s, now.suction.mean_temperature_k)
        air_flow_m3_s = self._parameters.evaporator.air_flow_m3_s
        frozen_kg -= melting(stores.frost_kg, stores.low_metal_k, air_flow_m3_s=air_flow_m3_s, step_s=step_s)
        stores.frost_kg += frozen_kg
        return frozen_kg * HEAT_OF_FUSION

    def _outdoor_air_cools(self) -> bool:
        economizer = self._parameters.economizer
        return economizer is not None and economizer.cools_alone(self._parameters.conditions.outdoor_air_k)

    def _damper_asked(self) -> float:
        economizer, stuck_open = self._parameters.economizer, self._parameters.faults.damper_stuck_open
        if economizer is None or not self._controls.calls:
            return stuck_open
        return max(economizer.position(self._parameters.conditions.outdoor_air_k), stuck_open)

    def _set_indoor_air(self) -> None:
        free = free_part(self._stores.frost_kg, self._parameters.evaporator.air_flow_m3_s)
        self._streams.set_indoor(share=self._air_share, damper=self._stores.damper, free=free)

    def _shell_loss_w(self) -> float:
        parameters = self._parameters
        return parameters.sump.loss_conductance * (self._stores.shell_k - parameters.conditions.outdoor_air_k)

    def _move_masses(self, step_s: float, quickening: float) -> None:
        now, stores = self._moment, self._stores
        boiled_kg = now.boiling_off_kg_s * step_s * quickening
        compressed_kg = now.condenser_flow_kg_s * step_s
        metered_kg = now.metered_kg_s * step_s
        stores.high_side_kg += compressed_kg - metered_kg
        stores.low_side_kg += metered_kg + boiled_kg - compressed_kg
        stores.sump_kg -= boiled_kg

    def _warm_shell(self, step_s: float, quickening: float) -> None:
        """Heat the shell by the hot gas, less what it loses to the air and what boils the liquid in its sump."""
        now, stores = self._moment, self._stores
        boiling_w = now.boiling_off_kg_s * (now.compressed.suction_enthalpy - stores.sump_enthalpy)
        kept_w = now.compressed.gas_to_shell_w - self._shell_loss_w() - boiling_w
        stores.shell_k += kept_w / self._parameters.sump.shell_heat_capacity * step_s * quickening

    def _follow(self, step_s: float, *, suction_line_k: float, liquid_line_k: float, discharge_line_k: float) -> None:
        stores, parameters = self._stores, self._parameters
        contact = parameters.faults.bulb_contact
        felt_k = contact * stores.suction_line_k + (1.0 - contact) * parameters.conditions.outdoor_air_k
        arriving_k = self._on_its_way_to_the_bulb(felt_k, step_s)
        stores.bulb_k = lagged(stores.bulb_k, arriving_k, step_s / parameters.bulb_lag_s)
        stores.suction_line_k = lagged(stores.suction_line_k, suction_line_k, step_s / parameters.suction_line_lag_s)
        stores.liquid_line_k = lagged(stores.liquid_line_k, liquid_line_k, step_s / LINE_LAG_S)
        stores.discharge_line_k = lagged(stores.discharge_line_k, discharge_line_k, step_s / DISCHARGE_LAG_S)

    def _cool_air(self, step_s: float) -> None:
        air, evaporator, stores = self._streams.indoor, self._moment.evaporator, self._stores
        contact = air.effectiveness * evaporator.two_phase_fraction
        condensed = contact * air.water_above(self._moment.suction.mean_temperature_k)
        latent_w = air.flow_kg_s * condensed * moist_air.HEAT_OF_VAPORISATION
        supply_k = air.temperature_k - max(self._flows.evaporator_w - latent_w, 0.0) / air.capacity
        parts = step_s / SUPPLY_AIR_LAG_S
        stores.supply_air_k = lagged(stores.supply_air_k, supply_k, parts)
        stores.supply_humidity_ratio = lagged(stores.supply_humidity_ratio, air.humidity_ratio - condensed, parts)


def _check_mass(mass_kg: float) -> None:
    if not (mass_kg > 0.0 and math.isfinite(mass_kg)):
        raise SimulatorError(f"a mass of {mass_kg} kg cannot be moved; give more than nothing")
