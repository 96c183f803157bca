"""Judgement, next step and alarms, against the protocol's own figures.

Tolerances: California Title 24, 2008, pages RA3-14 to RA3-16 (superheat ±5 °F, subcooling ±3 °F for the installer,
expansion valve's superheat 4 to 25 °F). Directions: a nine-scenario table of the trade (undercharge: superheat up,
subcooling down). Cylinder: AHRI Guideline K, 80 % of liquid.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import ArgumentError, CalcRangeError
from calc.estimate import Estimate
from calc.judge.alarms import AlarmKind, alarms
from calc.judge.next_step import next_addition
from calc.judge.verification import ChargeState, judge
from calc.situation import Move, Situation
from calc.targets import Target, target_subcooling
from calc.uncertainty import Budget
from tests.fahrenheit import DDEGF

VALVE = Situation(
    metering_device="txv",
    running_s=1800.0,
    undisturbed_s=1200.0,
    measured={
        "outdoor_air_temperature": Estimate(303.15, 0.2),
        "superheat": Estimate(10 * DDEGF, 0.5),
        "air_split": Estimate(19 * DDEGF, 0.2),
    },
    target_air_split_dk=Estimate(19 * DDEGF, 0.2),
    accuracies={
        "suction_pressure": 7e3,
        "liquid_pressure": 7e3,
        "suction_line_temperature": 0.5,
        "liquid_line_temperature": 0.5,
    },
)
ORIFICE = replace(VALVE, metering_device="fixed_orifice")
TEN = target_subcooling(10 * DDEGF)
TWELVE = Target(Budget(12 * DDEGF, {}), "table")


@pytest.mark.parametrize(
    ("figure_f", "target", "situation", "state"),
    [
        (10.5, TEN, VALVE, ChargeState.RIGHT),
        (5.0, TEN, VALVE, ChargeState.TOO_LITTLE),
        (15.0, TEN, VALVE, ChargeState.TOO_MUCH),
        (13.0, TEN, VALVE, ChargeState.CANNOT_TELL),
        (13.0, TWELVE, ORIFICE, ChargeState.RIGHT),
        (20.0, TWELVE, ORIFICE, ChargeState.TOO_LITTLE),
        (4.0, TWELVE, ORIFICE, ChargeState.TOO_MUCH),
    ],
)
def test_charge_is_judged_by_the_figure_of_its_metering_device(figure_f, target, situation, state):
    judged = judge(Estimate(figure_f * DDEGF, 0.3), target, situation)
    assert judged.state is state
    assert judged.figure == ("subcooling" if situation is VALVE else "superheat")
    assert judged.probability is not None
    assert (judged.probability >= 0.9) == (state is not ChargeState.CANNOT_TELL)
    assert judged.unmet == ()


@pytest.mark.parametrize(
    ("target", "changes", "condition", "reason"),
    [
        (TEN, {"outdoor_air_temperature": Estimate(283.15, 0.2)}, "outdoor_air_temperature", "Too cold outdoors"),
        (TEN, {"superheat": Estimate(30 * DDEGF, 0.5)}, "expansion_valve_superheat", "is starved"),
        (TEN, {"superheat": Estimate(2 * DDEGF, 0.3)}, "expansion_valve_superheat", "fall too low: look first at its"),
        (TEN, {"air_split": Estimate(26 * DDEGF, 0.2)}, "air_split", "so the airflow is low"),
        (target_subcooling(None), {}, "target", "subcooling is not given: read it there"),
    ],
)
def test_nothing_is_judged_before_its_conditions_are_met(target, changes, condition, reason):
    """50 °F outdoors: below 55 °F; superheat above 25 °F; split 7 °F above its target."""
    judged = judge(Estimate(5 * DDEGF, 0.3), target, replace(VALVE, measured={**VALVE.measured, **changes}))
    assert judged.state is ChargeState.MAY_NOT_BE_JUDGED
    assert judged.probability is None
    assert [it.name for it in judged.unmet] == [condition]
    assert reason in str(judged.unmet[0].says)


@pytest.mark.parametrize(
    ("changes", "condition"),
    [
        ({"undisturbed_s": 300.0}, "undisturbed_time"),
        ({"accuracies": {**VALVE.accuracies, "liquid_pressure": 69e3}}, "liquid_pressure_accuracy"),  # 10 psi; 7 may be
    ],
)
def test_nor_too_soon_nor_with_a_poor_instrument(changes, condition):
    judged = judge(Estimate(5 * DDEGF, 0.3), TEN, replace(VALVE, **changes))
    assert judged.state is ChargeState.MAY_NOT_BE_JUDGED
    assert [it.name for it in judged.unmet] == [condition]


def test_the_metering_device_must_be_known():
    with pytest.raises(ArgumentError, match="metering device is not known"):
        judge(Estimate(5.0, 0.3), TEN, replace(VALVE, metering_device=None))


def ahead(figure, measured_f, *, target_f=15.0, moves=()):
    measured_dk, target_dk = Estimate(measured_f * DDEGF, 0.4), Estimate(target_f * DDEGF, 0.0)
    return next_addition(figure, measured_dk, target_dk=target_dk, nameplate_charge_kg=3.4, moves=moves)


@pytest.mark.parametrize(
    ("figure", "deviation_f", "adds"),
    [("subcooling", -6.0, True), ("subcooling", 6.0, False), ("superheat", 12.0, True), ("superheat", -12.0, False)],
)
def test_moves_in_the_published_direction(figure, deviation_f, adds):
    step = ahead(figure, 15.0 + deviation_f)
    assert step is not None
    assert (step.step_kg > 0) == adds
    assert (step.needed_kg.value > 0) == adds
    assert abs(step.step_kg) <= abs(step.needed_kg.value)


def test_leaves_a_charge_alone_that_is_near_enough():
    assert ahead("subcooling", 16.4) is None


def test_no_step_is_larger_than_its_share_of_the_charge():
    step = ahead("subcooling", -5.0)
    assert step.step_kg == pytest.approx(0.12 * 3.4)
    assert step.limited_by == "no step is larger than 12 % of the charge"


def test_first_step_is_careful_and_the_next_knows_this_unit():
    first = ahead("subcooling", 9.0)
    assert first.limited_by == "it must not overshoot"
    strong_dk_per_kg = 2 * first.response_dk_per_kg.value
    moves = [Move(0.15, Estimate(3.0, 0.4), Estimate(3.0 + 0.15 * strong_dk_per_kg, 0.4))] * 2
    second = ahead("subcooling", 9.0, moves=moves)
    assert second.response_dk_per_kg.value == pytest.approx(strong_dk_per_kg, rel=0.2)
    assert second.needed_kg.standard_uncertainty < first.needed_kg.standard_uncertainty / 2
    assert second.needed_kg.value < first.needed_kg.value


@pytest.mark.parametrize("deviation_f", [-6.0, 6.0])
def test_the_interval_holds_what_is_needed_and_never_turns_round(deviation_f):
    step = next_addition(
        "subcooling",
        Estimate((10 + deviation_f) * DDEGF, 0.5),
        target_dk=Estimate(10 * DDEGF, 0.0),
        nameplate_charge_kg=3.4,
    )
    least, most = (abs(mass_kg) for mass_kg in step.needed_interval_kg)
    assert 0 < least < abs(step.needed_kg.value) < most
    assert all(mass_kg * step.step_kg > 0 for mass_kg in step.needed_interval_kg)


def test_a_step_from_the_floor_tells_nothing_of_the_response():
    """Without liquid at the outlet subcooling stays at nought however much is missing."""
    moves = [Move(0.3, Estimate(0.1, 0.4), Estimate(0.2, 0.4))]
    assert ahead("subcooling", 5.0, moves=moves) == ahead("subcooling", 5.0)


def test_a_figure_at_its_floor_shows_the_least_that_is_wrong():
    """Overcharged, a fixed orifice has no superheat left to count down: the step takes all that is seen."""
    step = ahead("superheat", 0.0, target_f=8.0)
    assert step.step_kg == pytest.approx(-0.08 / 0.9 * 3.4, rel=0.15)
    assert step.limited_by is None


@pytest.mark.parametrize("charge_kg", [0.0, -1.0, float("nan"), float("inf")])
def test_no_unit_has_such_a_charge(charge_kg):
    with pytest.raises(CalcRangeError, match="nameplate_charge_kg"):
        next_addition("subcooling", Estimate(5.0, 0.4), target_dk=Estimate(8.0, 0.0), nameplate_charge_kg=charge_kg)


@given(
    deviation_dk=st.floats(-40, 40),
    uncertainty_dk=st.floats(0, 5),
    masses_kg=st.lists(st.floats(-0.5, 0.5).filter(lambda mass: abs(mass) > 0.01), max_size=4),
    figure=st.sampled_from(["superheat", "subcooling"]),
)
def test_any_step_is_finite_and_within_its_cap(deviation_dk, uncertainty_dk, masses_kg, figure):
    rng = np.random.default_rng(0)
    moves = [Move(mass, Estimate(6.0, 0.3), Estimate(6.0 + rng.normal(0, 3), 0.3)) for mass in masses_kg]
    step = next_addition(
        figure,
        Estimate(8.0 + deviation_dk, uncertainty_dk),
        target_dk=Estimate(8.0, 0.0),
        nameplate_charge_kg=2.0,
        moves=moves,
    )
    if step is not None:
        assert abs(step.step_kg) <= 0.12 * 2.0


def seen(**measured):
    return Situation(measured=measured)


@pytest.mark.parametrize(
    ("running", "kind"),
    [
        (seen(superheat=Estimate(0.3, 0.5)), AlarmKind.FLOODBACK),
        (replace(seen(liquid_pressure=Estimate(3.2e6, 7e3)), design_pressure_pa=3.2e6), AlarmKind.HEAD_PRESSURE),
        (seen(condensing_over_ambient=Estimate(50 * DDEGF, 0.5)), AlarmKind.HEAD_PRESSURE),
        (seen(compressor_load_ratio=Estimate(1.5, 0.01)), AlarmKind.COMPRESSOR_CURRENT),
        (
            Situation(cylinder_refrigerant_kg=Estimate(9.6, 0.01), cylinder_safe_fill_kg=9.5),
            AlarmKind.CYLINDER,
        ),
    ],
)
def test_stops_at_once(running, kind):
    (alarm,) = alarms(running)
    assert alarm.kind is kind
    assert alarm.says
    assert alarm.source
    over = alarm.measured.value > alarm.limit
    assert over is (kind is not AlarmKind.FLOODBACK)


@pytest.mark.parametrize(
    "running",
    [
        Situation(),
        Situation(
            measured={
                "superheat": Estimate(5.0, 0.5),
                "liquid_pressure": Estimate(2.4e6, 7e3),
                "condensing_over_ambient": Estimate(20 * DDEGF, 0.5),
                "compressor_load_ratio": Estimate(0.8, 0.01),
            },
            design_pressure_pa=3.2e6,
            cylinder_refrigerant_kg=Estimate(5.0, 0.01),
            cylinder_safe_fill_kg=9.5,
        ),
    ],
)
def test_nothing_to_stop_for(running):
    assert alarms(running) == ()
