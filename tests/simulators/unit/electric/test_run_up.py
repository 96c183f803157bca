"""Motors in time: run-up, stall, what a clamp finds meanwhile, and the overload that parts them."""

import math

import pytest

from simulators.unit.electric.capacitor import Can, Section
from simulators.unit.electric.contactor import Contactor, ControlTransformer
from simulators.unit.electric.induction import Rotor, ThreePhaseMachine
from simulators.unit.electric.interval import Interval
from simulators.unit.electric.loads import CompressorLoad, FanLoad
from simulators.unit.electric.motion import Motion
from simulators.unit.electric.panel import TIGHT_OHM, Panel, joint_names
from simulators.unit.electric.protectors import COMPRESSOR_PROTECTOR, FAN_PROTECTOR, Protector
from simulators.unit.electric.sized import SizedMotor
from simulators.unit.electric.supply import Supply
from simulators.unit.electric.turning import Turning

INERTIA_J = 3000.0
MACHINE = ThreePhaseMachine(1e-9, 0.8, Rotor(0.4, 0.8, 40.0))


def alone(load: CompressorLoad) -> Motion:
    """A motor at rest on a stiff supply, with nothing else beside it."""
    pulls_out_at, most_w = MACHINE.breakdown(230.0)
    motor = SizedMotor(
        machine=MACHINE,
        nominal_v=230.0,
        rated_a=12.0,
        rated_torque_w=0.4 * most_w,
        rated_speed=1.0 - 0.2 * pulls_out_at,
        breakdown_speed=1.0 - pulls_out_at,
        sticks_w=0.0,
        inertia_j=INERTIA_J,
        capacitance_f=0.0,
    )
    supply = Supply(impedance_ohm=1e-6 + 0j)
    absent = {name: Section(1e-6, share=0.0) for name in ("fan", "blower")}
    panel = Panel(
        supply=supply,
        transformer=ControlTransformer(),
        contactor=Contactor(is_in=True, travel=1.0),
        cans={"outdoor": Can(absent), "blower": Can(absent)},
        joints=dict.fromkeys(joint_names(supply), TIGHT_OHM),
        blades=dict.fromkeys(supply.legs, True),
        compressor_leads=supply.legs,
        called=True,
        fan_switch=False,
    )
    motion = Motion(panel, {"compressor": Turning(motor, load)})
    motion.rewire()
    return motion


def test_a_rotor_at_rest_has_what_its_load_leaves_of_the_torque_or_sticks() -> None:
    compressor = alone(CompressorLoad(100.0, 4000.0, 0.0, 2500.0)).turning["compressor"]
    assert [compressor.spare(torque_w, 0.0) for torque_w in (500.0, -500.0, 99.0, -99.0)] == [400.0, -400.0, 0.0, 0.0]
    assert [compressor.spare(0.0, speed) for speed in (0.95, -0.95)] == [-2500.0, 600.0]


@pytest.mark.parametrize(("from_slip", "to_slip"), [(1.0, 0.5), (1.0, 0.15), (0.6, 0.2)])
def test_a_run_up_takes_as_long_as_kloss_says(from_slip: float, to_slip: float) -> None:
    """Kloss's curve integrated without load, T_m being inertia over pull-out torque (textbooks of electrical drives):
    t = T_m / 2 ((s1² - s2²) / (2 s_k) + s_k ln(s1 / s2)).
    """
    pulls_out_at, most_w = MACHINE.breakdown(230.0)
    expected_s = INERTIA_J / most_w / 2.0 * (
        (from_slip**2 - to_slip**2) / (2.0 * pulls_out_at) + pulls_out_at * math.log(from_slip / to_slip)
    )  # fmt: skip
    motion = alone(CompressorLoad(0.0, 0.0, 0.0, 0.0))
    compressor = motion.turning["compressor"]
    compressor.speed = 1.0 - from_slip
    passed_s = 0.0
    while compressor.speed < 1.0 - to_slip:
        motion.go_on(0.002, has_changed=False)
        passed_s += 0.002
    assert passed_s == pytest.approx(expected_s, rel=0.02, abs=0.002)


def test_long_steps_come_to_the_same_speed_as_short_ones() -> None:
    speeds = []
    for step_s in (0.001, 0.25):
        motion = alone(CompressorLoad(100.0, 4000.0, 5e5, 2500.0))
        for _ in range(round(0.25 / step_s)):
            motion.go_on(step_s, has_changed=False)
        speeds.append(motion.turning["compressor"].speed)
    assert speeds[1] == pytest.approx(speeds[0], abs=0.005)


def test_it_settles_where_its_torque_is_that_of_its_load() -> None:
    motion = alone(CompressorLoad(100.0, 4000.0, 0.0, 2500.0))
    motion.go_on(5.0, has_changed=False)
    compressor = motion.turning["compressor"]
    assert compressor.is_settled
    assert compressor.torque(motion.terminals("compressor"), compressor.speed) == pytest.approx(2500.0, rel=1e-3)
    compressor.load = CompressorLoad(100.0, 4000.0, 0.0, 1800.0)
    motion.go_on(0.25, has_changed=True)
    assert compressor.torque(motion.terminals("compressor"), compressor.speed) == pytest.approx(1800.0, rel=1e-3)


def test_more_than_it_can_pull_stalls_it() -> None:
    _, most_w = MACHINE.breakdown(230.0)
    motion = alone(CompressorLoad(100.0, 4000.0, 0.0, 2500.0))
    motion.go_on(2.0, has_changed=False)
    running_a = motion.currents["compressor_a"]
    motion.turning["compressor"].load = CompressorLoad(most_w, 4000.0, 0.0, 1.5 * most_w)
    motion.go_on(20.0, has_changed=True)
    assert motion.turning["compressor"].speed == 0.0
    assert motion.currents["compressor_a"] > 5.0 * running_a


def test_a_scroll_stands_harder_than_it_starts_and_only_rubs_backwards() -> None:
    """Common practice, no source: see simulators.unit.electric.loads."""
    load = CompressorLoad(400.0, 4000.0, 1.7e6, 3000.0)
    assert load.torque(0.0) == pytest.approx(400.0 + 0.12 * 4000.0)
    assert load.torque(0.6) == pytest.approx(400.0 + 0.85 * 4000.0)
    assert load.torque(0.95) == 3000.0
    assert load.torque(-0.95) == pytest.approx(0.15 * 4000.0)


def test_a_fan_needs_torque_with_the_square_of_its_speed_and_none_gets_it_past_a_stick() -> None:
    """Fan laws."""
    load = FanLoad(20.0, 300.0, 0.88)
    assert load.torque(0.88) == pytest.approx(300.0)
    assert load.torque(0.44) == pytest.approx(75.0)
    assert load.torque(0.0) == 20.0
    assert FanLoad(20.0, 300.0, 0.88, is_blocked=True).torque(0.5) == math.inf


def test_a_clamp_without_peak_hold_shows_the_rms_over_its_interval() -> None:
    """RMS of 70 A for 0.05 s and 10 A for 0.2 s: sqrt((70² 0.05 + 10² 0.2) / 0.25) = 32.56 A."""
    interval = Interval()
    assert interval.seen() == {}
    interval.take({"compressor_a": 70.0}, 0.05)
    interval.take({"compressor_a": 10.0}, 0.2)
    seen = interval.seen()["compressor_a"]
    assert (seen.rms_a, seen.greatest_a) == (pytest.approx(32.558, abs=1e-3), 70.0)
    interval.begin()
    interval.take({"compressor_a": 10.0}, 0.25)
    assert interval.seen()["compressor_a"].greatest_a == 10.0


@pytest.mark.parametrize(
    ("protector", "load_ratio", "least_s", "most_s"),
    [
        (COMPRESSOR_PROTECTOR, 6.0, 2.0, 12.0),
        (FAN_PROTECTOR, 2.2, 10.0, 60.0),
        (COMPRESSOR_PROTECTOR, 1.8, 40.0, 300.0),
    ],
)
def test_an_overload_opens_in_time_and_takes_minutes_to_close(
    protector: Protector, load_ratio: float, least_s: float, most_s: float
) -> None:
    """A locked rotor trips in seconds to tens of seconds, and cools for minutes: common practice, no source."""
    heat, opened_s = 0.5, 0.0
    while not protector.is_open_after(heat, was_open=False):
        heat = protector.heat_after(heat, load_ratio, 0.1)
        opened_s += 0.1
    assert least_s <= opened_s <= most_s
    closed_s = 0.0
    while protector.is_open_after(heat, was_open=True):
        heat = protector.heat_after(heat, 0.0, 1.0)
        closed_s += 1.0
    assert 180.0 <= closed_s <= 900.0


def test_what_it_carries_for_ever_never_opens_it() -> None:
    heat = 0.0
    for _ in range(1000):
        heat = COMPRESSOR_PROTECTOR.heat_after(heat, 1.39, 10.0)
    assert not COMPRESSOR_PROTECTOR.is_open_after(heat, was_open=False)
