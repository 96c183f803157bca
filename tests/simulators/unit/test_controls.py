"""What starts and stops the simulated unit, each by itself and in the order in which one looks for it.

Five minutes between a stop and the next start is what makers print; the rest is common practice, no source.
"""

from dataclasses import replace

import pytest

from simulators.errors import SimulatorError
from simulators.unit.controls import CutOuts
from simulators.unit.model import Unit
from simulators.unit.parameters import Faults, UnitParameters
from tests.simulators.unit.settled import rested, settled

STANDING_FAN = UnitParameters(faults=Faults(fan_capacitor=0.0))


def seconds_until_it_runs(unit: Unit) -> int:
    for second in range(1200):
        if unit.is_running:
            return second
        unit.step(1.0)
    raise AssertionError(f"it does not start: {unit.held_by}")


def test_a_unit_that_was_off_for_long_starts_with_the_call() -> None:
    unit = rested()
    assert unit.held_by == "thermostat"
    unit.call(cooling=True)
    assert unit.held_by == ""
    assert seconds_until_it_runs(unit) <= 1


def test_after_a_stop_the_delay_timer_holds_it_for_five_minutes() -> None:
    unit = settled()
    unit.call(cooling=False)
    unit.step(20.0)
    assert unit.held_by == "thermostat"
    unit.call(cooling=True)
    unit.step(10.0)
    assert (unit.is_running, unit.held_by) == (False, "delay timer")
    assert seconds_until_it_runs(unit) == pytest.approx(300 - 30, abs=2)


def test_the_disconnect_takes_all_power_and_the_timer_begins_when_it_comes_back() -> None:
    unit = settled()
    unit.step(1.0)
    unit.disconnect(closed=False)
    unit.step(600.0)
    state = unit.true_state()
    assert unit.held_by == "disconnect"
    dead = [name for name, value in state.items() if ("voltage" in name or "current" in name) and value != 0.0]
    assert dead == []
    unit.disconnect(closed=True)
    unit.step(1.0)
    assert unit.held_by == "delay timer"
    assert unit.true_state()["line_voltage_ab"] == pytest.approx(230.0, abs=0.5)
    assert unit.true_state()["blower_current"] > 1.0
    assert seconds_until_it_runs(unit) == pytest.approx(299, abs=2)


def test_the_leak_detector_stops_the_compressor_and_runs_the_blower_until_it_is_quiet() -> None:
    """In alarm it stops compressor and heat and runs the blower (servicing clauses after IEC 60335-2-40)."""
    unit = settled()
    unit.call(cooling=True)
    unit.sense_leak(refrigerant=True)
    unit.step(30.0)
    assert (unit.is_running, unit.held_by) == (False, "leak detector")
    unit.call(cooling=False)
    unit.step(30.0)
    assert unit.true_state()["blower_current"] > 1.0
    unit.sense_leak(refrigerant=False)
    unit.step(310.0)
    assert (unit.held_by, unit.true_state()["blower_current"]) == ("thermostat", 0.0)
    unit.call(cooling=True)
    assert seconds_until_it_runs(unit) <= 1


def test_an_open_high_cut_out_closes_when_the_head_has_fallen_and_the_timer_still_holds() -> None:
    unit = settled(STANDING_FAN)
    seen = []
    for _ in range(600):
        unit.step(1.0)
        if unit.held_by not in seen[-1:]:
            seen.append(unit.held_by)
    assert seen[:4] == ["high cut-out", "delay timer", "", "high cut-out"]


def test_a_cut_out_with_a_reset_stays_open_until_it_is_pressed_and_the_head_is_low() -> None:
    unit = settled(replace(STANDING_FAN, cut_outs=CutOuts(high_by_hand=True)))
    unit.step(2.0)
    unit.reset_cut_outs()
    unit.step(900.0)
    assert unit.held_by == "high cut-out"
    unit.reset_cut_outs()
    unit.step(1.0)
    assert unit.cut_out == ""


def test_the_low_cut_out_opens_on_a_starved_coil() -> None:
    unit = settled(UnitParameters(faults=Faults(liquid_line_restriction=0.93)))
    held = set()
    for _ in range(400):
        unit.step(1.0)
        held.add(unit.held_by)
    assert held == {"low cut-out", "delay timer", ""}


def test_it_is_the_same_at_every_run() -> None:
    courses = []
    for _ in range(2):
        unit = settled(STANDING_FAN)
        course = []
        for _ in range(400):
            unit.step(1.0)
            course.append((unit.held_by, unit.true_state()["liquid_pressure"]))
        courses.append(course)
    assert courses[0] == courses[1]


def test_a_delay_that_cannot_be_is_refused() -> None:
    with pytest.raises(SimulatorError, match="delay_timer_s is 3600; the unit is simulated with 0 to 900"):
        UnitParameters(delay_timer_s=3600.0)
