"""The simulated unit off, starting and cycling: pressures, currents, cut-outs and protectors."""

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Literal

import pytest
from CoolProp.CoolProp import PropsSI

from calc.motor.current_trace import Stalled, Started, motor_start, short_cycling
from simulators.unit.controls import CutOuts
from simulators.unit.electric.nameplates import CompressorMotor
from simulators.unit.electric.panel import TIGHT_OHM
from simulators.unit.metering import FixedOrifice, ThermostaticValve
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.simulators.unit.settled import rested, settled
from tests.simulators.unit.test_model import subcooling_f

PSI = 6894.757
SAME_INSIDE = Conditions(outdoor_air_k=298.15, return_air_k=298.15)
SINGLE_PHASE = CompressorMotor(phases=1, rated_load_a=19.0, magnetising_var=1800.0, capacitance_f=45e-6)


def trace(unit: Unit, channel: str, *, duration_s: float, every_s: float) -> tuple[list[float], list[float]]:
    times, values = [0.0], [unit.true_state()[channel]]
    for index in range(round(duration_s / every_s)):
        unit.step(every_s)
        times.append(every_s * (index + 1))
        values.append(unit.true_state()[channel])
    return times, values


# --- off


@pytest.mark.parametrize("metering", [ThermostaticValve(), FixedOrifice()], ids=["txv", "orifice"])
def test_pressures_equalise_at_that_of_the_air_around(metering: ThermostaticValve | FixedOrifice) -> None:
    """At rest at one temperature the gauges read saturation there (CoolProp, R-410A)."""
    state = rested(UnitParameters(metering=metering, conditions=SAME_INSIDE)).true_state()
    expected = PropsSI("P", "T", 298.15, "Q", 0, "R410A")
    assert state["suction_pressure"] == pytest.approx(expected, rel=0.01)
    assert state["liquid_pressure"] == pytest.approx(expected, rel=0.01)
    assert state["compressor_current"] == state["condenser_fan_current"] == 0.0


def test_an_orifice_equalises_within_two_minutes_and_a_valve_takes_longer() -> None:
    """Common practice, no source: an orifice equalises in a minute or two, a valve without a bleed is slower."""
    apart = {}
    for metering in (FixedOrifice(), ThermostaticValve()):
        unit = settled(UnitParameters(metering=metering))
        unit.call(cooling=False)
        unit.step(120.0)
        state = unit.true_state()
        apart[metering] = state["liquid_pressure"] - state["suction_pressure"]
    assert abs(apart[FixedOrifice()]) < 2.0 * PSI
    assert apart[ThermostaticValve()] > 40.0 * PSI


def test_mass_is_kept_while_it_cycles() -> None:
    unit = settled()
    before = unit.charge_kg
    for _ in range(2):
        unit.call(cooling=False)
        unit.step(200.0)
        unit.call(cooling=True)
        unit.step(400.0)
    assert unit.charge_kg == pytest.approx(before, abs=1e-10)


@pytest.mark.hours
def test_after_a_rest_it_comes_back_to_where_it_was() -> None:
    unit = settled()
    before = unit.true_state()
    unit.call(cooling=False)
    unit.step(900.0)
    unit.call(cooling=True)
    unit.step(3000.0)
    for channel, value in unit.true_state().items():
        assert value == pytest.approx(before[channel], rel=2e-3), channel


# --- starting


def test_a_start_is_an_inrush_that_decays_to_the_running_current() -> None:
    """As calc's judge of current traces sees it; locked rotor near six times RLA (common practice, no source)."""
    unit = rested()
    unit.call(cooling=True)
    times, amps = trace(unit, "compressor_current", duration_s=5.0, every_s=0.05)
    started = motor_start(times, amps, rated_current_a=12.0)
    assert isinstance(started, Started)
    assert started.peak_a == pytest.approx(72.0, abs=4.0)
    assert 0.15 <= started.start_time_s <= 0.5
    unit.step(1500.0)
    assert unit.true_state()["compressor_current"] == pytest.approx(8.0, abs=0.1)


def test_pressures_part_within_a_minute_of_the_start() -> None:
    unit = rested()
    unit.call(cooling=True)
    apart = []
    for _ in range(12):
        unit.step(5.0)
        state = unit.true_state()
        apart.append((state["liquid_pressure"] - state["suction_pressure"]) / PSI)
    assert apart[0] < 60.0
    assert apart[-1] > 200.0


def test_a_weak_capacitor_starts_slowly_and_draws_more() -> None:
    seen = {}
    for capacitor in (1.0, 0.5):
        parameters = UnitParameters(compressor_motor=SINGLE_PHASE, faults=Faults(herm_capacitor=capacitor))
        unit = rested(parameters)
        unit.call(cooling=True)
        times, amps = trace(unit, "compressor_current", duration_s=4.0, every_s=0.05)
        started = motor_start(times, amps, rated_current_a=19.0)
        assert isinstance(started, Started)
        seen[capacitor] = started
    assert seen[0.5].start_time_s > 1.5 * seen[1.0].start_time_s
    running = [
        settled(UnitParameters(compressor_motor=SINGLE_PHASE, faults=Faults(herm_capacitor=c))) for c in (1.0, 0.5)
    ]
    for unit in running:
        unit.step(1.0)
    good, weak = (unit.true_state() for unit in running)
    assert weak["compressor_current"] > 1.03 * good["compressor_current"]
    assert weak["capacitance_herm"] == pytest.approx(22.5e-6)


def _after_a_second(parameters: UnitParameters) -> Mapping[str, float]:
    unit = settled(parameters)
    unit.step(1.0)
    return unit.true_state()


def test_an_open_capacitor_stalls_the_compressor_until_its_protector_opens() -> None:
    unit = settled(UnitParameters(compressor_motor=SINGLE_PHASE, faults=Faults(herm_capacitor=0.0)))
    assert not unit.is_running
    unit.call(cooling=True)
    times, amps = trace(unit, "compressor_current", duration_s=60.0, every_s=0.1)
    stalled = motor_start(times, amps, rated_current_a=19.0)
    assert isinstance(stalled, Stalled)
    assert 2.0 <= stalled.lasted_s <= 20.0
    assert amps[-1] == 0.0
    assert unit.true_state()["liquid_pressure"] == pytest.approx(unit.true_state()["suction_pressure"], rel=0.02)


# --- the condenser fan


@pytest.mark.parametrize("capacitor", [1.0, 0.5, 0.0])
def test_a_fan_slows_and_draws_more_with_a_weak_capacitor_and_stalls_without(capacitor: float) -> None:
    """Sizes are common practice, no source; without its capacitor the auxiliary winding takes none of the current."""
    unit = settled(UnitParameters(faults=Faults(fan_capacitor=capacitor), cut_outs=CutOuts(high_opens_k=344.0)))
    unit.step(0.25)
    speed, amps = unit.electric.fan_speed, unit.true_state()["condenser_fan_current"]
    if capacitor == 1.0:
        assert (speed, amps) == (pytest.approx(1.0, abs=2e-3), pytest.approx(1.6, rel=0.01))
    elif capacitor == 0.5:
        assert 0.9 < speed < 0.99
        assert amps > 1.1 * 1.6
    else:
        assert (speed, amps) == (0.0, pytest.approx(2.2 * 1.6, rel=0.1))


@pytest.mark.hours
def test_a_fan_that_stands_makes_the_unit_cycle_on_its_high_cut_out() -> None:
    stands = UnitParameters(faults=Faults(fan_capacitor=0.0), delay_timer_s=0.0)
    unit = settled(stands)
    times, amps = trace(unit, "compressor_current", duration_s=1200.0, every_s=1.0)
    assert short_cycling(times, amps, rated_current_a=12.0).is_short_cycling
    tripped = settled(stands)
    tripped.step(10.0)
    assert tripped.cut_out == "high"
    # its protector opens on the locked rotor's current, and the fan draws nothing for a while
    fan = [tripped.true_state()["condenser_fan_current"]]
    for _ in range(600):
        tripped.step(2.0)
        fan.append(tripped.true_state()["condenser_fan_current"])
    assert 0.0 in fan
    assert max(fan) == pytest.approx(2.2 * 1.6, rel=0.1)


@pytest.mark.hours
def test_a_blocked_liquid_line_makes_it_cycle_on_its_low_cut_out() -> None:
    unit = settled(UnitParameters(faults=Faults(liquid_line_restriction=0.93), delay_timer_s=0.0))
    seen = []
    for _ in range(600):
        unit.step(1.0)
        seen.append((unit.is_running, unit.cut_out))
    # for less than a second it comes up, or runs down
    assert {now for before, now in pairwise(seen) if before == now} == {(False, "low"), (True, "")}


# --- the supply


def test_current_unbalance_is_six_to_ten_times_the_voltage_unbalance() -> None:
    """NEMA MG 1, section 14.36: so for a motor under load. Both as greatest deviation over the average."""
    unit = settled(UnitParameters(faults=Faults(voltage_unbalance=0.02)))
    unit.step(1.0)
    state = unit.true_state()

    def unbalance(names: tuple[str, str, str]) -> float:
        values = [state[name] for name in names]
        average = sum(values) / 3
        return max(abs(value - average) for value in values) / average

    voltages = unbalance(("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"))
    assert voltages == pytest.approx(0.02, rel=0.05)  # at the motor, behind its wires
    currents = unbalance(("compressor_current_a", "compressor_current_b", "compressor_current_c"))
    assert 6.0 <= currents / voltages <= 10.0


def test_a_loose_lug_drops_voltage_and_gets_hot() -> None:
    """Ohm: the drop is current times resistance, the heat current squared times resistance."""
    tight, loose = settled(), settled(UnitParameters(faults=Faults(lug_resistance_ohm=0.5)))
    for unit in (tight, loose):
        unit.step(1.0)
    amps = loose.true_state()["compressor_current_a"]
    resistance_ohm = 0.5 + TIGHT_OHM
    drop_v = loose.electric.between("compressor_a_wire", "compressor_a", "volts ac")
    assert drop_v == pytest.approx(amps * resistance_ohm, rel=1e-6)
    lines = ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca")
    sunk = [tight.true_state()[line] - loose.true_state()[line] for line in lines]
    # the drop lies along the current of phase a, which is 30 degrees from ab to one side or the other, less its lag
    assert amps * 0.5 * 0.5 < sunk[0] + sunk[2] < 2.0 * amps * 0.5
    assert abs(sunk[1]) < 0.1 * max(sunk)
    assert loose.lug_temperature_k() == pytest.approx(303.15 + 3.0 * resistance_ohm * amps**2)
    assert tight.lug_temperature_k() == pytest.approx(303.15, abs=0.1)


def test_a_sagging_supply_raises_the_current() -> None:
    amps = []
    for sag in (0.0, 0.12):
        unit = settled(UnitParameters(faults=Faults(voltage_sag=sag)))
        unit.step(1.0)
        amps.append(unit.true_state()["compressor_current"])
    assert amps[1] > 1.05 * amps[0]


# --- the valve


def test_a_loose_bulb_floods() -> None:
    """Its valve feels the warm air and opens: superheat falls, and the subcooled liquid goes to the evaporator."""
    good, loose = settled().true_state(), settled(UnitParameters(faults=Faults(bulb_contact=0.7))).true_state()
    superheats = [
        state["suction_line_temperature"] - PropsSI("T", "P", state["suction_pressure"], "Q", 1, "R410A")
        for state in (good, loose)
    ]
    assert superheats[1] < superheats[0] - 4.0
    assert loose["suction_pressure"] > good["suction_pressure"]
    assert loose["discharge_line_temperature"] < good["discharge_line_temperature"] - 5.0


@pytest.mark.hours
def test_a_valve_much_too_large_hunts_and_the_right_one_does_not() -> None:
    swing = {}
    for oversize in (1.0, 3.0):
        conditions = Conditions(outdoor_air_k=293.15)
        unit = settled(UnitParameters(conditions=conditions, faults=Faults(valve_oversize=oversize)))
        unit.add(0.03, "vapour")
        unit.step(900.0)
        _, pressures = trace(unit, "suction_pressure", duration_s=180.0, every_s=2.0)
        swing[oversize] = (max(pressures) - min(pressures)) / PSI
    assert swing[1.0] < 0.05
    assert swing[3.0] > 1.0


# --- lags


def _course_of_subcooling(phase: Literal["liquid", "vapour"]) -> list[float]:
    """What is still to come of the change after an addition, every 5 s, as a part of all of it."""
    unit = settled(UnitParameters(charge_kg=3.0))
    values = [subcooling_f(unit.true_state())]
    unit.add(0.17, phase)
    for _ in range(480):
        unit.step(5.0)
        values.append(subcooling_f(unit.true_state()))
    return [(values[-1] - value) / (values[-1] - values[0]) for value in values]


@pytest.mark.hours
def test_a_fast_and_a_slow_lag_show_in_a_step_of_the_charge() -> None:
    """Vapour joins at once, and most of the change is over in half a minute; liquid lies in the sump for minutes."""
    vapour, liquid = _course_of_subcooling("vapour"), _course_of_subcooling("liquid")
    assert abs(vapour[30 // 5]) < math.exp(-1.0)
    assert liquid[30 // 5] > 0.75
    slow_s = 240.0 / math.log(liquid[240 // 5] / liquid[480 // 5])
    assert 180.0 <= slow_s <= 300.0
