"""A motor's circuit from its nameplate: found such that it draws what the plate says, running and locked.

Ratios without another source are common practice: a winding's resistance is some 4 % of the rated impedance, stator
and rotor leak alike, and a locked rotor stands at a power factor near 0.5.
"""

import math
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from simulators.errors import SimulatorError
from simulators.unit.electric.induction import Rotor, ThreePhaseMachine
from simulators.unit.electric.nameplates import CompressorMotor, FanMotor, run_capacitor_f
from simulators.unit.electric.split_capacitor import SplitCapacitorMachine
from simulators.unit.electric.supply import TURN
from simulators.unit.roots import solve_rising

Machine = ThreePhaseMachine | SplitCapacitorMachine

USUAL_LOAD = 0.75
"""Of the rated current: where a compressor's magnetising power is known."""

LEAST_STARTING_TORQUE = 0.35
"""Of the starting torque with a sound capacitor at the nominal voltage: what the rotor and its load stick with."""

STICKS_WITH = 0.1
"""Of its rated torque: what a three-phase compressor sticks with when it stands without pressure."""

_ROUNDS = 12
_FITS = 0.02
_WINDING = 0.04
_LEAST_SPEED, _SPEEDS = 0.5, 60


@dataclass(frozen=True, slots=True)
class Running:
    """A motor on its nominal supply at one speed: current [A], power taken [W], reactive [var], torque [sync W]."""

    current_a: float
    power_w: float
    reactive_var: float
    torque_w: float


@dataclass(frozen=True, slots=True)
class SizedMotor:
    """A motor with its constants.

    rated: current, and torque and speed at it. breakdown: the speed of the greatest torque. sticks: the torque that it
    takes to move it from rest without pressure. inertia: what it takes to change its speed, moment of inertia times
    the square of the field's speed [J].
    """

    machine: Machine
    nominal_v: float
    rated_a: float
    rated_torque_w: float
    rated_speed: float
    breakdown_speed: float
    sticks_w: float
    inertia_j: float
    capacitance_f: float
    frequency_hz: float = 60.0

    def running(self, speed: float) -> Running:
        """Find how it runs on its nominal supply, with its sound capacitor."""
        return _running(self.machine, speed, self.nominal_v, self.capacitance_f)

    def speed_at(self, power_w: float, guess: float) -> float:
        """Find the speed at which it takes this power; that of its greatest torque if it cannot."""
        return _speed_at(self.machine, self.nominal_v, self.capacitance_f, power_w, guess, self.breakdown_speed)


@cache
def compressor_motor(plate: CompressorMotor) -> SizedMotor:
    """Find the circuit of a compressor's motor.

    Raises:
        SimulatorError: a single-phase one without a capacitor.

    """
    if plate.phases == 1 and plate.capacitance_f <= 0.0:
        raise SimulatorError(f"a single-phase compressor needs its run capacitor; it has {plate.capacitance_f:g} F")
    machine = _compressor(plate)
    volts, capacitance = plate.nominal_voltage_v, plate.capacitance_f
    low = _breakdown_speed(machine, volts, capacitance)
    rated_speed = solve_rising(
        lambda speed: plate.rated_load_a - _running(machine, speed, volts, capacitance).current_a,
        0.96, step=0.01, low=low, high=0.9999, tolerance=1e-7,
    )  # fmt: skip
    rated_w = _running(machine, rated_speed, volts, capacitance).torque_w
    starting_w = _running(machine, 0.0, volts, capacitance).torque_w
    sticks_w = STICKS_WITH * rated_w if plate.phases == 3 else LEAST_STARTING_TORQUE * starting_w
    return SizedMotor(
        machine=machine,
        nominal_v=volts,
        rated_a=plate.rated_load_a,
        rated_torque_w=rated_w,
        rated_speed=rated_speed,
        breakdown_speed=low,
        sticks_w=sticks_w,
        inertia_j=_inertia(machine, volts, capacitance, plate.start_s, lambda _: sticks_w, rated_speed),
        capacitance_f=capacitance,
    )


@cache
def fan_motor(plate: FanMotor) -> SizedMotor:
    """Find the circuit of a fan's motor.

    Raises:
        SimulatorError: its capacitor and its current do not go together.

    """
    machine = _fan(plate)
    volts, capacitance, speed = plate.nominal_voltage_v, plate.capacitance_f, 1.0 - plate.rated_slip
    rated_w = _running(machine, speed, volts, capacitance).torque_w
    sticks_w = LEAST_STARTING_TORQUE * _running(machine, 0.0, volts, capacitance).torque_w
    drawn_a = _running(machine, speed, volts, capacitance).current_a
    if rated_w <= 0.0 or abs(drawn_a / plate.running_current_a - 1.0) > _FITS:
        raise SimulatorError(
            f"a fan's motor of {plate.running_current_a:g} A at {volts:g} V does not go with a capacitor of "
            f"{capacitance * 1e6:g} µF; some {run_capacitor_f(plate.running_current_a, volts) * 1e6:g} µF would"
        )
    return SizedMotor(
        machine=machine,
        nominal_v=volts,
        rated_a=plate.running_current_a,
        rated_torque_w=rated_w,
        rated_speed=speed,
        breakdown_speed=_breakdown_speed(machine, volts, capacitance),
        sticks_w=sticks_w,
        inertia_j=_inertia(
            machine, volts, capacitance, plate.start_s, lambda at: max(rated_w * (at / speed) ** 2, sticks_w), speed
        ),
        capacitance_f=capacitance,
    )


def _power_w(machine: Machine, speed: float, volts: float, capacitance_f: float) -> float:
    """Find the power alone: that is what a speed is sought by, in every step in which the load changes."""
    if isinstance(machine, ThreePhaseMachine):
        phase_v = volts / math.sqrt(3.0)
        return (3.0 * phase_v**2 * machine.admittance(1.0 - speed).conjugate()).real
    main_a, auxiliary_a = machine.with_capacitor(speed, volts, capacitance_f)
    return (volts * (main_a + auxiliary_a).conjugate()).real


def _running(machine: Machine, speed: float, volts: float, capacitance_f: float) -> Running:
    if isinstance(machine, ThreePhaseMachine):
        phase_v = volts / math.sqrt(3.0)
        admittance = machine.admittance(1.0 - speed)
        power = 3.0 * phase_v**2 * admittance.conjugate()
        torque_w = machine.torque(speed, (phase_v + 0j, phase_v * TURN.conjugate(), phase_v * TURN))
        return Running(phase_v * abs(admittance), power.real, power.imag, torque_w)
    main_a, auxiliary_a = machine.with_capacitor(speed, volts, capacitance_f)
    power = volts * (main_a + auxiliary_a).conjugate()
    torque_w = machine.air_gap(speed, main_a, auxiliary_a)
    return Running(abs(main_a + auxiliary_a), power.real, power.imag, torque_w)


def _breakdown_speed(machine: Machine, volts: float, capacitance_f: float) -> float:
    """Find it among some speeds: the torque rises with speed up to there, and falls from there on."""

    def speed(index: int) -> float:
        return _LEAST_SPEED + (1.0 - _LEAST_SPEED) * index / _SPEEDS

    def falls_on(index: int) -> bool:
        here, next_one = (_running(machine, speed(at), volts, capacitance_f).torque_w for at in (index, index + 1))
        return next_one <= here

    return speed(bisect_left(range(_SPEEDS - 1), x=True, key=falls_on))


def _speed_at(machine: Machine, volts: float, capacitance_f: float, power_w: float, guess: float, low: float) -> float:
    return solve_rising(
        lambda speed: power_w - _power_w(machine, speed, volts, capacitance_f),
        guess, step=0.005, low=low, high=0.9999, tolerance=1e-8,
    )  # fmt: skip


def _compressor(plate: CompressorMotor) -> Machine:
    """Find leakage from the locked rotor, and the magnetising reactance from the reactive power at the usual load."""
    volts, capacitance = plate.nominal_voltage_v, plate.capacitance_f
    phases = math.sqrt(3.0) if plate.phases == 3 else 1.0
    usual_va = USUAL_LOAD * phases * volts * plate.rated_load_a
    usual_w = math.sqrt(max(usual_va**2 - plate.magnetising_var**2, (0.3 * usual_va) ** 2))
    unit_ohm = volts / (phases * plate.rated_load_a)
    turns = min(max(usual_w / (4.0 * math.pi * 60.0 * max(capacitance, 1e-9) * volts**2), 1.0), 1.6)

    def machine(leakage: float, magnetising: float) -> Machine:
        rotor = Rotor(_WINDING * unit_ohm, leakage * unit_ohm, magnetising * unit_ohm)
        stator = complex(_WINDING * unit_ohm, leakage * unit_ohm)
        if plate.phases == 3:
            return ThreePhaseMachine(stator.real, stator.imag, rotor)
        return SplitCapacitorMachine(stator, complex(1.5 * stator.real, stator.imag) * turns**2, turns, rotor)

    def spare_var(magnetising: float, leakage: float) -> float:
        made = machine(leakage, magnetising)
        at = _speed_at(made, volts, capacitance, usual_w, 0.97, _breakdown_speed(made, volts, capacitance))
        return plate.magnetising_var - _running(made, at, volts, capacitance).reactive_var

    locked_a = plate.locked_rotor_ratio * plate.rated_load_a
    return machine(
        *_by_turns(
            _Sought(lambda x, y: locked_a - _drawn_a(machine(x, y), 0.0, volts, capacitance), 0.07, 0.01, 0.005, 0.5),
            _Sought(spare_var, 3.0, 0.2, 0.3, 8.0, tolerance=1e-5),
        )
    )


def _fan(plate: FanMotor) -> SplitCapacitorMachine:
    """Find its size from the locked rotor, and the rotor's resistance from the current at the rated slip."""
    volts, capacitance = plate.nominal_voltage_v, plate.capacitance_f
    unit_ohm = volts / plate.running_current_a
    usual_w = 0.95 * volts * plate.running_current_a
    turns = min(max(usual_w / (4.0 * math.pi * 60.0 * capacitance * volts**2), 0.9), 1.6)

    def machine(size: float, cage: float) -> SplitCapacitorMachine:
        ohm = size * unit_ohm
        main = complex(0.12, 0.12) * ohm
        rotor = Rotor(cage * ohm, 0.12 * ohm, 1.5 * ohm)
        return SplitCapacitorMachine(main, complex(1.3 * main.real, main.imag) * turns**2, turns, rotor)

    locked_a, running_a = plate.locked_rotor_ratio * plate.running_current_a, plate.running_current_a
    at = 1.0 - plate.rated_slip
    return machine(
        *_by_turns(
            _Sought(lambda x, y: locked_a - _drawn_a(machine(x, y), 0.0, volts, capacitance), 1.0, 0.05, 0.2, 5.0),
            _Sought(lambda y, x: running_a - _drawn_a(machine(x, y), at, volts, capacitance), 0.14, 0.01, 0.02, 1.0),
        )
    )


class _Sought(NamedTuple):
    """A constant to be found: what rises with it and is nothing where it is right, by it and the other constant."""

    spare: Callable[[float, float], float]
    guess: float
    step: float
    low: float
    high: float
    tolerance: float = 1e-7

    def found(self, guess: float, other: float) -> float:
        """Find it beside the other as it is now."""
        return solve_rising(
            lambda x: self.spare(x, other), guess,
            step=self.step, low=self.low, high=self.high, tolerance=self.tolerance,
        )  # fmt: skip


def _by_turns(first: _Sought, second: _Sought) -> tuple[float, float]:
    """Find two constants, each by what it decides most, beside the other as it was found last."""
    one, two = first.guess, second.guess
    for _ in range(_ROUNDS):
        one = first.found(one, two)
        two = second.found(two, one)
    return one, two


def _drawn_a(machine: Machine, speed: float, volts: float, capacitance_f: float) -> float:
    return _running(machine, speed, volts, capacitance_f).current_a


def _inertia(
    machine: Machine,
    volts: float,
    capacitance_f: float,
    start_s: float,
    load: Callable[[float], float],
    rated_speed: float,
) -> float:
    """Find the inertia that comes up in the given time: the time is inertia times the sum of 1 / spare torque."""
    parts, up_to = 200, 0.97 * rated_speed
    least_w = 1e-3 * abs(_running(machine, 0.9, volts, capacitance_f).torque_w)
    total = 0.0
    for index in range(parts):
        speed = up_to * (index + 0.5) / parts
        spare_w = _running(machine, speed, volts, capacitance_f).torque_w - load(speed)
        total += up_to / parts / max(spare_w, least_w)
    return start_s / total
