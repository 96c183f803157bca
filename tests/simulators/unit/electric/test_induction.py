"""The three-phase motor against the closed formulas of textbooks on electrical machines."""

import math
from dataclasses import replace

import numpy as np
import pytest

from simulators.unit.electric.induction import Rotor, ThreePhaseMachine, winding_currents
from simulators.unit.electric.nameplates import CompressorMotor
from simulators.unit.electric.sized import compressor_motor
from simulators.unit.electric.supply import TURN, Supply

BALANCED = (132.79 + 0j, 132.79 * TURN.conjugate(), 132.79 * TURN)
MACHINE = ThreePhaseMachine(0.44, 0.82, Rotor(0.44, 0.82, 42.0))


def drawn(machine: ThreePhaseMachine, speed: float, volts: tuple[complex, ...]) -> list[complex]:
    rows = machine.block(("a", "b", "c"), speed).admittances
    return [sum(admittance * volt for admittance, volt in zip(row, volts, strict=True)) for row in rows]


def test_without_stator_resistance_torque_follows_kloss() -> None:
    """Kloss: T / T_pull-out = 2 / (s / s_k + s_k / s), exact where the stator has no resistance."""
    machine = ThreePhaseMachine(1e-12, 0.8, Rotor(0.4, 0.8, 40.0))
    pulls_out_at, most_w = machine.breakdown(230.0)
    for slip in (0.01, 0.05, 0.2, 0.5, 1.0, 1.5):
        expected = most_w * 2.0 / (slip / pulls_out_at + pulls_out_at / slip)
        assert machine.torque(1.0 - slip, BALANCED) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("speed", [0.0, 0.5, 0.96, -0.3])
def test_what_is_drawn_is_lost_in_the_windings_or_passes_the_gap(speed: float) -> None:
    """Energy: the power taken is I² R1 and what crosses the air gap, of which the rotor turns (1 - s) into work."""
    volts = (140.0 + 3j, -70.0 - 100j, -60.0 + 110j)
    amps = drawn(MACHINE, speed, volts)
    taken_w = sum((volt * amp.conjugate()).real for volt, amp in zip(volts, amps, strict=True))
    copper_w = sum(abs(amp) ** 2 for amp in amps) * MACHINE.stator_resistance_ohm
    work_w = MACHINE.torque(speed, volts) * speed
    # the rotor's own loss, from the currents of each sequence beside the magnetising reactance
    turns = np.array([[1, TURN, TURN**2], [1, TURN**2, TURN]]) / 3.0
    rotor_w = 0.0
    for part, slip in zip(turns @ np.array(amps), (1.0 - speed, 1.0 + speed), strict=True):
        cage = part * MACHINE.rotor.impedance(slip) * MACHINE.rotor.admittance(slip)
        rotor_w += 3.0 * abs(cage) ** 2 * MACHINE.rotor.resistance_ohm
    assert taken_w == pytest.approx(copper_w + rotor_w + work_w, rel=1e-9)


def test_a_standing_motor_on_two_legs_has_no_torque_and_draws_half_root_three_of_its_locked_current() -> None:
    """Textbook of single-phasing: I = V_line / (2 Z), against V_line / (sqrt 3 Z), in both leads that are left."""
    line_v, locked = abs(BALANCED[0] - BALANCED[1]), MACHINE.admittance(1.0)
    legs = (0.5 * line_v + 0j, -0.5 * line_v + 0j, 0j)
    assert MACHINE.torque(0.0, legs) == pytest.approx(0.0, abs=1e-6)
    assert [abs(amp) for amp in drawn(MACHINE, 0.0, legs)[:2]] == pytest.approx([line_v / 2.0 * abs(locked)] * 2)
    ratio = abs(drawn(MACHINE, 0.0, legs)[0]) / abs(drawn(MACHINE, 0.0, BALANCED)[0])
    assert ratio == pytest.approx(math.sqrt(3.0) / 2.0)


def test_running_on_two_legs_it_draws_root_three_of_its_current_for_the_same_work() -> None:
    """Common figure for a loaded motor, exact for one with neither magnetising current nor leakage to speak of."""
    machine = ThreePhaseMachine(0.001, 0.01, Rotor(0.05, 0.01, 1e4))
    line_v = abs(BALANCED[0] - BALANCED[1])
    legs = (0.5 * line_v + 0j, -0.5 * line_v + 0j, 0j)

    def speed_for(work_w: float, amps_of) -> float:  # type: ignore[no-untyped-def]
        low, high = 0.9, 1.0
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if amps_of(middle) > work_w else (low, middle)
        return low

    def open_leg(speed: float) -> tuple[complex, complex, complex]:
        (own, _, _), _, (c_a, c_b, c_c) = machine.block(("a", "b", "c"), speed).admittances
        assert own
        return legs[0], legs[1], -(c_a * legs[0] + c_b * legs[1]) / c_c  # where the third lead carries nothing

    three = speed_for(1e4, lambda speed: machine.torque(speed, BALANCED))
    two = speed_for(1e4, lambda speed: machine.torque(speed, open_leg(speed)))
    ratio = abs(drawn(machine, two, open_leg(two))[0]) / abs(drawn(machine, three, BALANCED)[0])
    assert ratio == pytest.approx(math.sqrt(3.0), rel=0.05)


@pytest.mark.parametrize("unbalance", [0.01, 0.02])
def test_current_unbalance_near_the_rated_load_is_six_to_ten_times_that_of_the_voltages(unbalance: float) -> None:
    """NEMA MG 1, 14.36, as quoted; a compressor's motor is loaded at some three quarters of RLA."""
    motor = compressor_motor(CompressorMotor())
    assert isinstance(motor.machine, ThreePhaseMachine)
    volts = tuple(Supply(unbalance=unbalance).leg_voltages().values())
    amps = [abs(amp) for amp in drawn(motor.machine, motor.speed_at(0.75 * 4440.0, 0.97), volts)]
    mean = sum(amps) / 3.0
    assert 6.0 <= max(abs(amp - mean) for amp in amps) / mean / unbalance <= 10.0


def test_windings_in_star_and_in_delta() -> None:
    """In a balanced delta a winding carries 1 / sqrt 3 of the line; with one lead off, 2 / 3 and twice 1 / 3."""
    balanced = (10.0 + 0j, 10.0 * TURN.conjugate(), 10.0 * TURN)
    assert winding_currents(balanced, "star") == balanced
    assert [abs(amp) for amp in winding_currents(balanced, "delta")] == pytest.approx([10.0 / math.sqrt(3.0)] * 3)
    single = winding_currents((9.0 + 0j, -9.0 + 0j, 0j), "delta")
    assert [abs(amp) for amp in single] == pytest.approx([6.0, 3.0, 3.0])


@pytest.mark.parametrize(
    "plate",
    [
        CompressorMotor(),
        CompressorMotor(rated_load_a=25.0, nominal_voltage_v=460.0, magnetising_var=6000.0, locked_rotor_ratio=5.5),
        CompressorMotor(phases=1, rated_load_a=16.0, capacitance_f=45e-6),
        replace(CompressorMotor(), phases=1, rated_load_a=19.0, magnetising_var=1800.0, capacitance_f=45e-6),
    ],
)
def test_a_circuit_from_a_nameplate_draws_what_it_says(plate: CompressorMotor) -> None:
    """RLA at the rated load, LRA locked, and reactive power at three quarters of the rated current."""
    motor = compressor_motor(plate)
    assert motor.running(motor.rated_speed).current_a == pytest.approx(plate.rated_load_a, rel=1e-4)
    assert motor.running(0.0).current_a == pytest.approx(plate.locked_rotor_ratio * plate.rated_load_a, rel=1e-4)
    volts = plate.nominal_voltage_v * (math.sqrt(3.0) if plate.phases == 3 else 1.0)
    usual_va = 0.75 * volts * plate.rated_load_a
    work_w = math.sqrt(usual_va**2 - plate.magnetising_var**2)
    at = motor.running(motor.speed_at(work_w, 0.97))
    assert at.power_w == pytest.approx(work_w, rel=1e-6)
    assert at.current_a == pytest.approx(0.75 * plate.rated_load_a, rel=2e-3)
