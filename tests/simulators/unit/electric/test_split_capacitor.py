"""The permanent-split-capacitor motor against the textbook's equations, solved here by numpy, and its limits."""

import math

import numpy as np
import pytest

from simulators.errors import SimulatorError
from simulators.unit.electric.induction import Rotor
from simulators.unit.electric.nameplates import CompressorMotor, FanMotor
from simulators.unit.electric.sized import compressor_motor, fan_motor
from simulators.unit.electric.split_capacitor import SplitCapacitorMachine

MACHINE = SplitCapacitorMachine(0.55 + 1j, 1.4 + 1.7j, 1.3, Rotor(0.57, 1.0, 26.0))
OMEGA = 2.0 * math.pi * 60.0


@pytest.mark.parametrize("speed", [-0.5, 0.0, 0.5, 0.97])
def test_its_currents_are_those_of_the_two_mesh_equations(speed: float) -> None:
    """Double revolving field theory with a capacitor in the auxiliary winding (textbook of small motors)."""
    half = [0.5 / (slip / (0.57 + 1j * slip * 1.0) + 1.0 / 26j) for slip in (1.0 - speed, 1.0 + speed)]
    forward, backward = half
    main = 0.55 + 1j + forward + backward
    auxiliary = 1.4 + 1.7j + 1.69 * (forward + backward) - 1j / (OMEGA * 45e-6)
    coupling = 1.3j * (forward - backward)
    expected = np.linalg.solve(np.array([[main, -coupling], [coupling, auxiliary]]), np.array([230.0, 230.0]))
    found = MACHINE.with_capacitor(speed, 230.0, 45e-6)
    assert found == pytest.approx(tuple(expected), rel=1e-9)
    torque = abs(expected[0] - 1.3j * expected[1]) ** 2 * forward.real
    torque -= abs(expected[0] + 1.3j * expected[1]) ** 2 * backward.real
    assert MACHINE.air_gap(speed, *found) == pytest.approx(torque, rel=1e-9)


def test_what_is_drawn_is_lost_in_windings_and_cage_or_becomes_work() -> None:
    """Energy: forward and backward gap power, less the cage's part s and 2 - s of each, is torque times speed."""
    speed = 0.9
    main_a, auxiliary_a = MACHINE.with_capacitor(speed, 230.0, 45e-6)
    copper_w = abs(main_a) ** 2 * 0.55 + abs(auxiliary_a) ** 2 * 1.4
    turned = 1.3j * auxiliary_a
    gaps = [
        abs(main_a - turned) ** 2 * 0.5 * MACHINE.rotor.impedance(1.0 - speed).real,
        abs(main_a + turned) ** 2 * 0.5 * MACHINE.rotor.impedance(1.0 + speed).real,
    ]
    cage_w = (1.0 - speed) * gaps[0] + (1.0 + speed) * gaps[1]
    work_w = MACHINE.air_gap(speed, main_a, auxiliary_a) * speed
    taken_w = 230.0 * (main_a + auxiliary_a).real
    assert taken_w == pytest.approx(copper_w + cage_w + work_w, rel=1e-9)


def test_without_its_capacitor_it_has_no_torque_at_rest_and_some_when_it_turns_either_way() -> None:
    """One winding's field pulsates: two fields that turn against each other (textbook)."""
    for speed, sign in ((0.0, 0), (0.5, 1), (-0.5, -1)):
        torque_w = MACHINE.air_gap(speed, *MACHINE.with_capacitor(speed, 230.0, 0.0))
        assert torque_w == pytest.approx(0.0, abs=1e-6) if sign == 0 else torque_w * sign > 100.0


def test_two_like_windings_a_quarter_apart_are_a_balanced_machine() -> None:
    """With a = 1 and the second winding's voltage ahead by a quarter, no field turns backwards."""
    machine = SplitCapacitorMachine(0.5 + 1j, 0.5 + 1j, 1.0, Rotor(0.5, 1.0, 25.0))
    main_a, auxiliary_a = machine.currents(0.9, 230.0 + 0j, 230j)
    assert abs(main_a + 1j * auxiliary_a) == pytest.approx(0.0, abs=1e-9)
    phase = 230.0 / (0.5 + 1j + machine.rotor.impedance(0.1))
    assert abs(main_a) == pytest.approx(abs(phase), rel=1e-9)


@pytest.mark.parametrize(
    "plate", [FanMotor(), FanMotor(0.8, 4e-6), FanMotor(3.1, 15e-6), FanMotor(1.0, 2.5e-6, nominal_voltage_v=460.0)]
)
def test_a_fan_draws_what_its_nameplate_says(plate: FanMotor) -> None:
    motor = fan_motor(plate)
    assert motor.running(1.0 - plate.rated_slip).current_a == pytest.approx(plate.running_current_a, rel=1e-3)
    locked_a = plate.locked_rotor_ratio * plate.running_current_a
    assert motor.running(0.0).current_a == pytest.approx(locked_a, rel=1e-3)


def test_nameplates_that_cannot_be_are_refused() -> None:
    with pytest.raises(SimulatorError, match="a single-phase compressor needs its run capacitor; it has 0 F"):
        compressor_motor(CompressorMotor(phases=1))
    with pytest.raises(SimulatorError, match=r"0\.2 A at 230 V does not go with a capacitor of 7\.5 µF; some 0\.9375"):
        fan_motor(FanMotor(0.2))
