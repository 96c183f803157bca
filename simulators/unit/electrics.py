"""The unit's electrical side over time: contactor, motors with their protectors, and what an ammeter finds."""

from dataclasses import dataclass

from simulators.unit.lag import lagged
from simulators.unit.motors import Phases, Protector
from simulators.unit.parameters import UnitParameters
from simulators.unit.supply import Supply, single_phase, three_phase

LUG_RISE_K_PER_W = 3.0
"""How much warmer a lug gets for each watt of heat in it (common practice, no source)."""

NO_CURRENT = Phases(0.0, 0.0, 0.0)
COMPRESSOR_PROTECTOR = Protector()
FAN_PROTECTOR = Protector(carries=1.3, warming_s=60.0)


@dataclass(slots=True)
class _Compressor:
    """turning: whether it came up, or is coming up. since: how long it has had power [s]. heat: of its protector."""

    turning: bool = False
    since_s: float = 0.0
    heat: float = 0.0
    is_open: bool = False
    current: Phases = NO_CURRENT


@dataclass(slots=True)
class _Fan:
    speed: float = 0.0
    heat: float = 0.0
    is_open: bool = False
    current_a: float = 0.0


class Electrics:
    """Motors and their protectors. At first both motors are as after a long run, as far as they can run."""

    def __init__(self, parameters: UnitParameters) -> None:
        self._parameters = parameters
        self._motor, self._fan_motor = parameters.compressor_motor, parameters.condenser_fan
        self._line_v = parameters.conditions.line_voltage_v * (1.0 - parameters.faults.voltage_sag)
        self._fan_run = self._fan_motor.run(self._line_v, parameters.faults.fan_capacitor)
        self._fan = _Fan(self._fan_run.speed)
        self._compressor = _Compressor()
        self._supply = self._supply_at(0.0)

    @property
    def fan_speed(self) -> float:
        """Of the condenser's fan, over its rated one [1]."""
        return self._fan.speed

    @property
    def compressor_turns(self) -> bool:
        """Whether the compressor turns."""
        return self._compressor.turning

    @property
    def can_start(self) -> bool:
        """Whether the compressor has the torque to start."""
        return self._motor.can_start(self._supply.average, self._parameters.faults.herm_capacitor)

    @property
    def lug_rise_dk(self) -> float:
        """How much warmer than the air the lug of phase a is [K]."""
        loss_w = self._compressor.current.a**2 * self._parameters.faults.lug_resistance_ohm
        return LUG_RISE_K_PER_W * loss_w

    def has_run(self, compressor_w: float, *, fan_request: float = 1.0) -> None:
        """Take the compressor for one that has run for long."""
        self._compressor = _Compressor(turning=self.can_start, since_s=3600.0)
        self._fan = _Fan(self._fan_run.speed * fan_request)
        for _ in range(3):  # the drop at a loose lug depends on the current, and the current on it
            self._draw(compressor_w)
        self._compressor.heat = (
            self._compressor.current.mean / self._motor.rated_load_a / COMPRESSOR_PROTECTOR.carries
        ) ** 2
        self._fan.current_a = self._fan_run.current_a * fan_request**2

    def has_cooled(self) -> None:
        """Take both motors for cold."""
        self._compressor.heat = self._fan.heat = 0.0
        self._compressor.is_open = self._fan.is_open = False

    def go_on(self, step_s: float, *, closed: bool, compressor_w: float, fan_request: float = 1.0) -> None:
        """Let the motors go on for this long.

        closed: the contactor. compressor: the power it takes at speed. fan_request: what head control asks of the
        condenser's fan, over its rated speed.
        """
        self._turn_fan(step_s, fan_request if closed else 0.0)
        compressor = self._compressor
        if closed and not compressor.is_open:
            compressor.turning = compressor.turning or self.can_start
            self._draw(compressor_w)
            compressor.since_s += step_s
        else:
            compressor.turning, compressor.since_s, compressor.current = False, 0.0, NO_CURRENT
            self._supply = self._supply_at(0.0)
        load_ratio = max(compressor.current) / self._motor.rated_load_a
        compressor.heat = COMPRESSOR_PROTECTOR.heat_after(compressor.heat, load_ratio, step_s)
        compressor.is_open = compressor.heat > (COMPRESSOR_PROTECTOR.closes_at if compressor.is_open else 1.0)

    def state(self, *, is_connected: bool = True, blower_runs: bool = True) -> dict[str, float]:
        """Tell what perfect instruments would read. is_connected: the disconnect."""
        parameters, current, supply = self._parameters, self._compressor.current, self._supply
        faults, live = parameters.faults, 1.0 if is_connected else 0.0
        blower_a = parameters.blower_current_a if blower_runs else 0.0
        return {
            "compressor_current": current.mean,
            "compressor_current_a": current.a,
            "compressor_current_b": current.b,
            "compressor_current_c": current.c,
            "line_voltage_ab": live * supply.ab,
            "line_voltage_bc": live * supply.bc,
            "line_voltage_ca": live * supply.ca,
            "condenser_fan_current": self._fan.current_a,
            "blower_current": blower_a * (0.5 + 0.5 * faults.evaporator_airflow),
            "capacitance_herm": self._motor.capacitance_f * faults.herm_capacitor,
            "capacitance_fan": self._fan_motor.capacitance_f * faults.fan_capacitor,
        }

    def _draw(self, compressor_w: float) -> None:
        """Find voltage and current together: each call brings them nearer where a loose lug ties them."""
        compressor, faults, motor = self._compressor, self._parameters.faults, self._motor
        self._supply = self._supply_at(compressor.current.a)
        voltage = self._supply.average
        if compressor.turning:
            running = motor.running_current(compressor_w, voltage, faults.herm_capacitor)
            torque = motor.starting_torque(voltage, faults.herm_capacitor)
            current = motor.starting_current(running, voltage, torque, compressor.since_s)
        else:
            current = motor.locked_current(voltage)
        compressor.current = motor.by_phase(current, self._supply)

    def _supply_at(self, current_a: float) -> Supply:
        faults = self._parameters.faults
        drop_v = current_a * faults.lug_resistance_ohm
        if self._motor.phases == 1:
            return single_phase(self._line_v, drop_v=min(drop_v, 0.5 * self._line_v))
        return three_phase(self._line_v, unbalance=faults.voltage_unbalance, drop_a_v=min(drop_v, 0.2 * self._line_v))

    def _turn_fan(self, step_s: float, request: float) -> None:
        fan, motor, faults = self._fan, self._fan_motor, self._parameters.faults
        powered = request > 0.0 and not fan.is_open
        target = self._fan_run.speed * request if powered else 0.0
        fan.speed = lagged(fan.speed, target, step_s / motor.spin_up_s(self._line_v, faults.fan_capacitor))
        fan.current_a = self._fan_current(target, request) if powered else 0.0
        fan.heat = FAN_PROTECTOR.heat_after(fan.heat, fan.current_a / motor.running_current_a, step_s)
        fan.is_open = fan.heat > (FAN_PROTECTOR.closes_at if fan.is_open else 1.0)

    def _fan_current(self, target: float, request: float) -> float:
        """Find what it draws: slowed, with the square of its speed, as its torque goes; standing, its locked one."""
        if target == 0.0:
            return self._fan_run.current_a
        locked = self._fan_motor.locked_rotor_ratio * self._fan_motor.running_current_a
        behind = max(1.0 - self._fan.speed / target, 0.0)
        running_a = self._fan_run.current_a * request**2
        return running_a + (locked - running_a) * behind
