"""A unit: where its refrigerant is, what it does to two air streams, what probes would find.

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
from typing import Literal

from simulators.errors import SimulatorError
from simulators.unit.air_streams import LEAST_AIR
from simulators.unit.circuit import Circuit
from simulators.unit.controls import Controls, Hold
from simulators.unit.economizer import damper_after
from simulators.unit.electric.at_the_panel import AtThePanel
from simulators.unit.electric.channels import channels
from simulators.unit.electric.electrics import Electrics
from simulators.unit.first_stores import first_stores
from simulators.unit.frosted_coils import indoor_free_part, outdoor_free_part, outdoor_sensor_k
from simulators.unit.head_control import HeadControlState
from simulators.unit.heat_books import HeatBooks, HeatFlows
from simulators.unit.heat_pump_controls import heat_pump_controls
from simulators.unit.leak import leak
from simulators.unit.parameters import UnitParameters
from simulators.unit.ports import ServicePorts
from simulators.unit.readings import (
    head_pa,
    refrigerant_readings,
    suction_pa,
    supply_air_readings,
    surrounding_readings,
)
from simulators.unit.reversing_valve import Mode
from simulators.unit.service import Service
from simulators.unit.step import Step

LONGEST_STEP_S = 0.25
"""The stores move on in steps no longer than this, well below the quickest of their lags."""

RESTING_STEP_S = 1.0
QUIET_AFTER_S = 60.0
"""A unit that has been off for so long changes slowly, and may go on in longer steps."""

REST_S = 2400.0
"""How long a unit has been off that is found at rest."""

CONTROLS_GO_OUT_V = 6.0
"""Of the control transformer's secondary, of 24 V: below it thermostat and timer forget what they did (common practice,
no source); what makes a contactor chatter stays above it."""

_SETTLING_S = 900.0
_SETTLING_STEP_S = 0.5
_SETTLING_LOOK_S = 30.0
_STEADY_KG = 1e-6
_STEADY_DK = 1e-3


class Unit:
    """A unit that has run for long, or that has been off for a while. Refrigerant can go in and out meanwhile.

    The same parameters and calls give the same states: there is no chance in it. A unit whose compressor cannot
    start is at rest, whatever was asked for. heating: it was called for in that mode; only a heat pump can be.

    Raises:
        SimulatorError: the refrigerant is not one that can be simulated, or the unit cannot heat.

    """

    def __init__(
        self,
        parameters: UnitParameters | None = None,
        *,
        at_rest: bool = False,
        heating: bool = False,
        air_share: float = 1.0,
    ) -> None:
        self._parameters = parameters or UnitParameters()
        self._surroundings = surrounding_readings(self._parameters.conditions)
        self._circuit = Circuit(self._parameters)
        self._heat_pump = heat_pump_controls(self._parameters, heating=heating)
        if self._heat_pump is not None:
            self._circuit.lead(self._heat_pump.mode)
            self._circuit.joins_m2 = self._heat_pump.joins_m2
        self._air_share = air_share
        self._around_evaporator_k = self._parameters.conditions.return_air_k
        self._refrigerant = self._circuit.refrigerant
        self._controls = Controls(
            self._parameters.cut_outs,
            self._refrigerant,
            delay_timer_s=self._parameters.delay_timer_s,
            outdoor_air_cools=self._outdoor_air_cools(),
        )
        self._controls.heats = heating
        self._electrics = Electrics(self._parameters)
        self.electric = AtThePanel(self._electrics)
        self._head_control = HeadControlState(self._parameters.head_control)
        self._circuit.streams.set_fan_speed(self._electrics.fan_speed)
        self._resting_s = 0.0
        self._stores = first_stores(self._parameters, self._circuit)
        self._stores.damper = self._damper_asked()
        self._set_indoor_air()
        self.ports = ServicePorts(self._circuit, self._stores)
        self._books = HeatBooks(self._parameters, self._circuit, self._stores)
        self._service = Service(self._stores, self._books, self.ports, most_charge_kg=self._parameters.most_charge_kg)
        self._step = Step(self._parameters, self._circuit, self._stores, self._books)
        self._settle()
        if at_rest or not self._electrics.can_start:
            self._rest()
        elif self._outdoor_air_cools() and not heating:
            self.step(REST_S)
        self._electrics.be_found()

    @property
    def charge_kg(self) -> float:
        """All the refrigerant in the unit."""
        return self._stores.charge_kg

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
    def supply_air_flow_m3_s(self) -> float:
        """The air that its blower moves over the indoor coil."""
        return self._circuit.indoor_air_m3_s if self._controls.blower_runs else 0.0

    @property
    def usual_air_flow_m3_s(self) -> float:
        """The same in a sound unit."""
        return self._parameters.evaporator.air_flow_m3_s

    @property
    def frost_kg(self) -> float:
        """The frost on its indoor coil."""
        return self._stores.frost_kg

    @property
    def outdoor_frost_kg(self) -> float:
        """The frost on its outdoor coil."""
        return self._stores.outdoor_frost_kg

    @property
    def mode(self) -> Mode:
        """Which way its reversing valve leads, whatever was called for; a unit without one cools."""
        return self._circuit.mode

    @property
    def defrosts(self) -> bool:
        """Whether it is in a defrost."""
        return self._heat_pump is not None and self._heat_pump.defrosts

    @property
    def auxiliary_heat_w(self) -> float:
        """The electric heat in its supply air."""
        return self._step.auxiliary_w

    @property
    def internal_volume_m3(self) -> float:
        """Of coils and lines, refrigerant or not."""
        return self._circuit.volume_m3

    @property
    def air_mol(self) -> float:
        """All the air in the circuit."""
        return self._stores.high_air_mol + self._stores.low_air_mol

    @property
    def stored_j(self) -> float:
        """The energy in refrigerant, coils and shell, above a state of no meaning: only its changes count."""
        return self._books.stored_j()

    def held_kg(self) -> Mapping[str, float]:
        """Tell where the refrigerant is now."""
        stores = self._stores
        held = {"high side": stores.high_side_kg, "low side": stores.low_side_kg, "sump": stores.sump_kg}
        if self._heat_pump is None:
            return held
        return held | {"accumulator": stores.accumulator_kg, "compensator": stores.compensator_kg}

    def call(self, *, cooling: bool = False, heating: bool = False, auxiliary: bool = False) -> None:
        """Let the thermostat call for cooling or for heating, or no longer. auxiliary: with electric heat.

        Raises:
            SimulatorError: it cannot heat, or is to do both.

        """
        if heating and (self._heat_pump is None or cooling):
            raise SimulatorError("a heat pump heats or cools, and another unit only cools; call for what it can do")
        self._controls.calls, self._controls.heats = cooling or heating, heating
        if self._heat_pump is not None:
            self._heat_pump.auxiliary_called = heating and auxiliary
            if cooling or heating:
                self._heat_pump.asks = "heating" if heating else "cooling"

    def share_air(self, share: float, *, around_evaporator_k: float) -> None:
        """Give it this many times its own air and fins, and say how warm it is around its evaporator at rest."""
        self._air_share = share
        self._around_evaporator_k = around_evaporator_k

    def let_air_pass(self, *, evaporator: float | None = None, condenser: float | None = None) -> None:
        """Leave a coil this part of its usual air, as with a filter full of dust or a sheet over the condenser.

        Raises:
            SimulatorError: less or more than can be simulated.

        """
        self._circuit.let_air_pass(evaporator=evaporator, condenser=condenser)
        self._electrics.load_fans(outdoor_air=condenser, indoor_air=evaporator)

    def disconnect(self, *, closed: bool) -> None:
        """Throw the disconnect: open, nothing of the unit has power, its controls included."""
        self._controls.is_connected = closed
        self.electric.disconnect(closed=closed)

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
        self._electrics.motion.interval.begin()
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
        self._service.add(mass_kg, phase)

    def recover(self, mass_kg: float) -> None:
        """Take liquid out at the liquid port.

        Raises:
            SimulatorError: it is more than the high side can give at once.

        """
        self._service.recover(mass_kg)

    def let_air_in(self, amount_mol: float) -> None:
        """Let air in at the suction port, as from a hose that was not purged."""
        self._service.let_air_in(amount_mol)

    def heat_flows(self) -> HeatFlows:
        """Tell the four flows of energy, with what the coils' own warming and cooling takes and gives."""
        return self._step.flows

    def lug_temperature_k(self) -> float:
        """Tell how warm the compressor's lug is that a fault can loosen."""
        lug = "compressor_a" if self._parameters.compressor_motor.phases == 3 else "compressor_common"
        return self._parameters.conditions.outdoor_air_k + self.electric.joint_rise_dk(lug)

    def true_state(self) -> Mapping[str, float]:
        """Tell what perfect instruments would read: channel to value in the house's units."""
        stores, pressure_pa = self._stores, self._parameters.conditions.barometric_pressure_pa
        return (
            refrigerant_readings(stores, self._step.moment)
            | self._surroundings
            | supply_air_readings(stores, pressure_pa)
            | channels(self._electrics.motion)
        )

    def _settle(self) -> None:
        """Run until nothing moves any more, or for as long as one may wait: some states never come to rest."""
        for _ in range(math.ceil(_SETTLING_S / _SETTLING_LOOK_S)):
            self._electrics.has_run(self._sound_power_w(), fan_request=self._head_control.request)
            self._circuit.drawing.motor_losses = self._electrics.motor_losses
            before = replace(self._stores)
            for _ in range(math.ceil(_SETTLING_LOOK_S / _SETTLING_STEP_S)):
                self._control_head(_SETTLING_STEP_S)
                self._circuit.streams.set_fan_speed(self._electrics.fan_speed * self._head_control.request)
                self._step.settle_on(_SETTLING_STEP_S)
            moved_kg = abs(self._stores.high_side_kg - before.high_side_kg)
            warmed_dk = abs(self._stores.shell_k - before.shell_k)
            if moved_kg < _STEADY_KG and warmed_dk < _STEADY_DK:
                break
        self._circuit.air_inside.weigh(self._stores, self._step.moment)

    def _rest(self) -> None:
        """Let it stand for a while, until the thermostat calls."""
        self.call(cooling=False)
        self.step(REST_S)
        self._electrics.has_cooled()

    def _go_on(self, step_s: float) -> None:
        if self._parameters.faults.leak_pa_m3_s > 0.0:
            inside_pa = suction_pa(self._stores, self._step.moment)
            leak(self._parameters, self.ports, inside_pa=inside_pa, step_s=step_s)
        if self._parameters.economizer is not None:  # without one it stays where it is
            self._stores.damper = damper_after(
                self._stores.damper,
                self._damper_asked(),
                step_s,
                stuck_open=self._parameters.faults.damper_stuck_open,
            )
        self._set_indoor_air()
        controls, electrics = self._controls, self._electrics
        now, stores = self._step.moment, self._stores
        electrics.panel.windings_k["compressor"] = stores.shell_k
        electrics.panel.water_share = stores.water_kg / self._parameters.sump.oil_kg
        controls.has_power = electrics.motion.secondary_v > CONTROLS_GO_OUT_V
        low_pa, high_pa = suction_pa(stores, now), head_pa(stores, now)
        closed = controls.go_on(step_s, suction_pa=low_pa, head_pa=high_pa)
        if electrics.compressor_turns:
            self._control_head(step_s)
        free = outdoor_free_part(self._parameters, stores)
        electrics.frost_over(outdoor_free=free, indoor_free=indoor_free_part(self._parameters, stores))
        electrics.go_on(
            step_s,
            called=closed,
            compressor_w=self._sound_power_w(),
            difference_pa=high_pa - low_pa,
            fan_request=self._fan_request(),
            blower_runs=controls.blower_runs,
        )
        self._circuit.drawing.motor_losses = electrics.motor_losses
        self._reverse(step_s)
        self._resting_s = 0.0 if closed else self._resting_s + step_s
        self._circuit.streams.set_fan_speed(self._electrics.fan_speed * free)
        if self._electrics.compressor_turns and not self._step.meets:
            self._step.run_on(step_s)
        else:
            heats_crankcase = controls.is_live and not self._electrics.compressor_turns
            self._step.stand(
                step_s,
                indoors_k=self._around_evaporator_k,
                blower_runs=controls.blower_runs,
                heater_w=self._parameters.sump.heater_w if heats_crankcase else 0.0,
            )

    def _sound_power_w(self) -> float:
        """Give what the compressor would take now from a sound supply."""
        return self._step.moment.compressed.power_w / self._circuit.drawing.motor_losses

    def _fan_request(self) -> float:
        """Tell what is asked of the outdoor fan: nothing in a defrost, and no head control in heating."""
        if self.defrosts:
            return 0.0
        return 1.0 if self.mode == "heating" else self._head_control.request

    def _reverse(self, step_s: float) -> None:
        """Let a heat pump's controls look at its coil and pressures, and its valve shift."""
        if self._heat_pump is None:
            return
        stores, now = self._stores, self._step.moment
        self._heat_pump.go_on(
            step_s,
            is_connected=self._controls.is_live,
            is_running=self.is_running,
            difference_pa=head_pa(stores, now) - suction_pa(stores, now),
            coil_k=outdoor_sensor_k(self._parameters, stores, heats=self.mode == "heating"),
            outdoor_k=self._parameters.conditions.outdoor_air_k,
        )
        may_heat = self._controls.blower_runs and not self._controls.is_in_alarm
        self._step.auxiliary_w = self._heat_pump.auxiliary_w if may_heat else 0.0
        self._circuit.joins_m2 = self._heat_pump.joins_m2
        if self._heat_pump.mode != self.mode:
            self._step.shift(self._heat_pump.mode)
            self._set_indoor_air()

    def _control_head(self, step_s: float) -> None:
        head = self._circuit.head(self._stores, self._step.moment.condensing)
        self._head_control = self._head_control.after(step_s, head.bubble_point_k)

    def _outdoor_air_cools(self) -> bool:
        economizer = self._parameters.economizer
        return economizer is not None and economizer.cools_alone(self._parameters.conditions.outdoor_air_k)

    def _damper_asked(self) -> float:
        economizer, controls = self._parameters.economizer, self._controls
        asked = 0.0
        if economizer is not None and controls.calls:
            outdoor_air_k = self._parameters.conditions.outdoor_air_k
            asked = economizer.least if controls.heats else economizer.position(outdoor_air_k)
        return max(asked, self._parameters.faults.damper_stuck_open)

    def _set_indoor_air(self) -> None:
        free = indoor_free_part(self._parameters, self._stores)
        if self._electrics.compressor_turns:
            free *= max(self._electrics.blower_part, LEAST_AIR)
        self._circuit.streams.set_indoor(share=self._air_share, damper=self._stores.damper, free=free)
