"""A heat pump in heating: its figures against published ones, its reversing valve, and the books through a reversal.

Test points are those of AHRI 210/240, from memory: H1 47 °F dry and 43 °F wet bulb outdoors, H3 17 and 15 °F, indoors
70 °F. Published: heating fits over many catalogues (Cutler and others, NREL/TP-5500-56354, coefficients as carried by
an open repository); one maker's performance table and two of a maker's heating charging tables (R-410A, 70 °F indoors).
"""

import math
from dataclasses import replace
from functools import cache

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from simulators.errors import SimulatorError
from simulators.unit.defrost import TimedDefrost
from simulators.unit.heat_pump import HeatPump
from simulators.unit.metering import FixedOrifice
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from simulators.unit.reversing_valve import Mode, ReversingValve
from simulators.unit.service_tools import RecoveryMachine
from simulators.unit.usual_heat_pump import USUAL_HEAT_PUMP
from tests.fahrenheit import kelvin

PSI, ATMOSPHERE_PA = 6894.757, 101_325.0
OUTDOOR_FAN_W, BLOWER_W = 250.0, 400.0
"""Common practice, no source, for three tons."""


def outdoors(dry_f: float, wet_f: float) -> Conditions:
    psychrolib.SetUnitSystem(psychrolib.IP)
    humidity = 100.0 * psychrolib.GetRelHumFromTWetBulb(dry_f, wet_f, 14.696)
    return Conditions(kelvin(dry_f), kelvin(70.0), outdoor_air_humidity=humidity)


H1, H2, H3 = outdoors(47.0, 43.0), outdoors(35.0, 33.0), outdoors(17.0, 15.0)
MILD = Conditions(outdoor_air_k=kelvin(82.0), return_air_k=kelvin(75.0))


@cache
def heating(conditions: Conditions) -> Unit:
    """Settled in heating, with a clean coil. Only to be looked at."""
    return Unit(replace(USUAL_HEAT_PUMP, conditions=conditions), heating=True)


def gauge_psi(unit: Unit, channel: str) -> float:
    return (unit.true_state()[channel] - ATMOSPHERE_PA) / PSI


def heating_cop(unit: Unit, *, blower_w: float = 0.0) -> float:
    """What is delivered over what outdoor unit and blower take."""
    flows = unit.heat_flows()
    return (flows.condenser_w + blower_w) / (flows.compressor_w + OUTDOOR_FAN_W + blower_w)


def supply_rise_f(unit: Unit) -> float:
    state = unit.true_state()
    return 1.8 * (state["supply_air_temperature"] - state["return_air_temperature"])


def subcooling_f(unit: Unit) -> float:
    state = unit.true_state()
    return 1.8 * float(PropsSI("T", "P", state["liquid_pressure"], "Q", 0, "R410A") - state["liquid_line_temperature"])


# --- size


def test_from_47_to_17_degrees_capacity_and_cop_fall_as_in_catalogues() -> None:
    """The fits at 70 °F indoors: capacity 0.9958 and 0.6303, energy input ratio 0.9938 and 1.3473 of rated."""
    warm, cold = heating(H1), heating(H3)
    capacities = [unit.heat_flows().condenser_w for unit in (warm, cold)]
    assert capacities[1] / capacities[0] == pytest.approx(0.6303 / 0.9958, rel=0.1)
    assert heating_cop(cold) / heating_cop(warm) == pytest.approx(0.9938 / 1.3473, rel=0.1)


def test_cop_and_rise_at_the_rating_points_are_of_the_published_size() -> None:
    """One maker's table, blower included: COP 3.78 at 47 °F and 2.55 at 17 °F, rise 25.6 and 16.0 °F."""
    assert heating_cop(heating(H1), blower_w=BLOWER_W) == pytest.approx(3.78, rel=0.2)
    assert heating_cop(heating(H3), blower_w=BLOWER_W) == pytest.approx(2.55, rel=0.2)
    assert supply_rise_f(heating(H1)) == pytest.approx(25.6, rel=0.25)
    assert supply_rise_f(heating(H3)) == pytest.approx(16.0, rel=0.25)


@pytest.mark.parametrize(
    ("outdoor_f", "suction_psig", "liquid_psig"),
    [(50.0, (107.0, 116.0), (302.0, 389.0)), (20.0, (64.0, 70.0), (249.0, 284.0))],
)
def test_pressures_are_those_of_a_makers_heating_tables(
    outdoor_f: float, suction_psig: tuple[float, float], liquid_psig: tuple[float, float]
) -> None:
    """A maker's tables for 2 and 2.5 tons, between their lowest and highest at this outdoor air, and 10 % beyond."""
    unit = heating(outdoors(outdoor_f, outdoor_f - 3.0))
    assert 0.9 * suction_psig[0] <= gauge_psi(unit, "suction_pressure") <= 1.1 * suction_psig[1]
    assert 0.9 * liquid_psig[0] <= gauge_psi(unit, "liquid_pressure") <= 1.1 * liquid_psig[1]


@pytest.mark.parametrize("conditions", [H1, H2, H3], ids=["47", "35", "17"])
def test_energy_balances_when_steady(conditions: Conditions) -> None:
    flows = heating(conditions).heat_flows()
    assert flows.evaporator_w + flows.compressor_w == pytest.approx(flows.condenser_w + flows.shell_loss_w, rel=1e-4)


def test_in_cooling_it_runs_as_a_unit_that_only_cools() -> None:
    """Leakage of a sound valve and coils a little more alike are all that differs."""
    plain = Unit(UnitParameters(conditions=MILD))
    cooling = Unit(replace(USUAL_HEAT_PUMP, conditions=MILD))
    assert cooling.mode == "cooling"
    assert cooling.heat_flows().evaporator_w == pytest.approx(plain.heat_flows().evaporator_w, rel=0.04)
    assert subcooling_f(cooling) == pytest.approx(subcooling_f(plain), abs=3.0)
    assert cooling.held_kg()["compensator"] == pytest.approx(0.0, abs=1e-3)


def test_the_compensator_takes_up_what_the_smaller_indoor_coil_has_no_room_for() -> None:
    without = replace(USUAL_HEAT_PUMP, conditions=H1, heat_pump=HeatPump(compensator=None))
    with_one, full = heating(H1), Unit(without, heating=True)
    assert with_one.held_kg()["compensator"] > 0.6
    assert subcooling_f(full) > subcooling_f(with_one) + 5.0
    assert full.true_state()["liquid_pressure"] > with_one.true_state()["liquid_pressure"]


def test_an_electric_heater_warms_the_supply_air_by_its_heat() -> None:
    """Q = m cp dT."""
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H1), heating=True)
    unit.step(60.0)
    before_f = supply_rise_f(unit)
    unit.call(heating=True, auxiliary=True)
    unit.step(90.0)
    density = PropsSI("D", "T", kelvin(70.0), "P", ATMOSPHERE_PA, "Air")
    warmed_dk = unit.auxiliary_heat_w / (USUAL_HEAT_PUMP.evaporator.air_flow_m3_s * density * 1006.0)
    assert supply_rise_f(unit) - before_f == pytest.approx(1.8 * warmed_dk, rel=0.03)


def test_the_leak_detector_stops_the_heater_too_and_runs_the_blower() -> None:
    """In alarm it stops compressor and heat and runs the blower (servicing clauses after IEC 60335-2-40)."""
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H1), heating=True)
    unit.call(heating=True, auxiliary=True)
    unit.step(10.0)
    assert unit.auxiliary_heat_w > 0.0
    unit.sense_leak(refrigerant=True)
    unit.step(10.0)
    assert (unit.is_running, unit.held_by, unit.auxiliary_heat_w) == (False, "leak detector", 0.0)
    assert unit.true_state()["blower_current"] > 1.0


@pytest.mark.hours
def test_a_sheet_over_the_outdoor_coil_and_dust_before_the_indoor_one_count_in_heating_too() -> None:
    clean, covered, dusty = (Unit(replace(USUAL_HEAT_PUMP, conditions=H1), heating=True) for _ in range(3))
    covered.let_air_pass(condenser=0.5)
    dusty.let_air_pass(evaporator=0.5)
    for unit in (clean, covered, dusty):
        unit.step(300.0)
    assert gauge_psi(covered, "suction_pressure") < gauge_psi(clean, "suction_pressure") - 5.0
    assert gauge_psi(dusty, "liquid_pressure") > gauge_psi(clean, "liquid_pressure") + 40.0
    dusty.call(cooling=True)
    dusty.step(600.0)
    clean.call(cooling=True)
    clean.step(600.0)
    assert gauge_psi(dusty, "suction_pressure") < gauge_psi(clean, "suction_pressure") - 3.0


# --- the valve


def test_books_balance_through_reversals_while_it_runs_and_a_rest() -> None:
    """What came in less what went out is what refrigerant, coils, tanks, frost and shell hold more than before."""
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H2))
    stored_j, charge_kg = unit.stored_j, unit.charge_kg
    net_j = moved_j = 0.0
    modes: list[Mode] = []
    for call, seconds in (("heating", 300), ("cooling", 200), ("", 400), ("heating", 300)):
        unit.call(cooling=call == "cooling", heating=call == "heating")
        for _ in range(4 * seconds):
            unit.step(0.25)
            flows = unit.heat_flows()
            net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
            moved_j += 0.25 * (abs(flows.evaporator_w) + flows.compressor_w)
        modes.append(unit.mode)
        assert unit.charge_kg == pytest.approx(charge_kg, abs=1e-10)
    assert modes == ["heating", "cooling", "cooling", "heating"]
    assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)


@pytest.mark.hours
def test_after_a_reversal_it_comes_to_where_it_has_heated_for_long() -> None:
    dry = replace(H1, outdoor_air_humidity=20.0)
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=dry))
    unit.call(heating=True)
    unit.step(3600.0)
    long = heating(dry)
    for channel in ("suction_pressure", "liquid_pressure", "supply_air_temperature"):
        assert unit.true_state()[channel] == pytest.approx(long.true_state()[channel], rel=0.01), channel


def test_a_shift_exchanges_the_sides_and_only_the_liquid_line_goes_over() -> None:
    """What is in a coil stays in it; the line of a third of a litre is full of liquid (density: CoolProp)."""
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H1), heating=True)
    unit.step(1.0)
    before, liquid_k = unit.held_kg(), unit.true_state()["liquid_line_temperature"]
    unit.call(cooling=True)
    unit.step(0.25)
    assert unit.mode == "cooling"
    in_line_kg = USUAL_HEAT_PUMP.condenser.line_volume_m3 * PropsSI("D", "T", liquid_k, "Q", 0, "R410A")
    assert unit.held_kg()["high side"] == pytest.approx(before["low side"] + in_line_kg, abs=0.08)
    assert unit.held_kg()["low side"] == pytest.approx(before["high side"] - in_line_kg, abs=0.08)


def test_the_pressures_meet_within_half_a_minute_of_a_shift_and_part_again() -> None:
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H1), heating=True)
    unit.call(cooling=True)
    apart = []
    for _ in range(60):
        unit.step(1.0)
        apart.append(gauge_psi(unit, "liquid_pressure") - gauge_psi(unit, "suction_pressure"))
    assert min(apart) < -100.0, "the coil that was hot still stands under its pressure"
    assert abs(apart[25]) < 150.0
    assert apart[-1] > 60.0


@pytest.mark.hours
def test_a_valve_does_not_shift_before_there_is_a_difference_of_pressures() -> None:
    """That the difference moves the slide, and its coil only a pilot, is how such valves are built."""
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H1), at_rest=True)
    unit.call(heating=True)
    assert unit.mode == "cooling"
    modes = []
    for _ in range(60):
        unit.step(0.25)
        modes.append(unit.mode)
    assert modes[0] == "cooling"
    assert modes[-1] == "heating"
    valve = ReversingValve(least_difference_pa=5e5)
    slow = Unit(replace(USUAL_HEAT_PUMP, conditions=H1, heat_pump=HeatPump(valve=valve)), at_rest=True)
    slow.call(heating=True)
    slow.step(modes.index("heating") * 0.25)
    assert slow.mode == "cooling"


@pytest.mark.parametrize(("energised_in", "dead"), [("cooling", "heating"), ("heating", "cooling")])
def test_a_valve_whose_coil_has_no_power_stays_in_the_other_mode(energised_in: Mode, dead: Mode) -> None:
    stuck = replace(
        USUAL_HEAT_PUMP,
        conditions=MILD,
        heat_pump=HeatPump(valve=ReversingValve(energised_in)),
        faults=Faults(reversing_valve_reach=0.0),
    )
    unit = Unit(stuck, heating=energised_in == "heating")
    assert unit.mode == dead
    unit.step(60.0)
    assert (supply_rise_f(unit) > 5.0) == (dead == "heating")


def test_a_slide_that_hangs_half_way_lets_everything_past() -> None:
    """Pressures near each other, and a compressor that draws less and does nothing: how such a fault is known."""
    hangs = replace(USUAL_HEAT_PUMP, conditions=MILD, faults=Faults(reversing_valve_reach=0.5))
    sound, unit = Unit(replace(USUAL_HEAT_PUMP, conditions=MILD)), Unit(hangs)
    unit.step(600.0)
    apart_psi = gauge_psi(unit, "liquid_pressure") - gauge_psi(unit, "suction_pressure")
    assert unit.is_running
    assert apart_psi < 0.4 * (gauge_psi(sound, "liquid_pressure") - gauge_psi(sound, "suction_pressure"))
    assert unit.heat_flows().evaporator_w < 0.3 * sound.heat_flows().evaporator_w
    assert unit.heat_flows().compressor_w < 0.85 * sound.heat_flows().compressor_w


def test_a_leak_across_looks_like_a_weak_compressor() -> None:
    """Suction up, head and heat down, discharge hotter: the signs of valve leakage."""
    leaks = replace(USUAL_HEAT_PUMP, conditions=MILD, faults=Faults(reversing_valve_leak_m2=6e-7))
    sound, unit = Unit(replace(USUAL_HEAT_PUMP, conditions=MILD)), Unit(leaks)
    before, after = sound.true_state(), unit.true_state()
    assert after["suction_pressure"] > before["suction_pressure"]
    assert after["liquid_pressure"] < before["liquid_pressure"]
    assert after["discharge_line_temperature"] > before["discharge_line_temperature"]
    assert unit.heat_flows().evaporator_w < 0.95 * sound.heat_flows().evaporator_w


# --- the rest


@pytest.mark.hours
def test_a_crankcase_heater_keeps_refrigerant_out_of_the_oil_in_the_cold() -> None:
    cold = Conditions(outdoor_air_k=kelvin(20.0))
    held = {}
    for heater_w in (0.0, 70.0):
        sump = replace(USUAL_HEAT_PUMP.sump, heater_w=heater_w)
        unit = Unit(replace(USUAL_HEAT_PUMP, conditions=cold, sump=sump), at_rest=True)
        unit.step(3 * 3600.0)
        held[heater_w] = unit.held_kg()["sump"]
    assert held[70.0] < 0.7 * held[0.0]


def test_what_cannot_heat_is_refused() -> None:
    with pytest.raises(SimulatorError, match="a unit without a reversing valve cannot heat"):
        Unit(heating=True)
    with pytest.raises(SimulatorError, match="a heat pump heats or cools"):
        Unit(at_rest=True).call(heating=True)
    with pytest.raises(SimulatorError, match="a heat pump heats or cools"):
        Unit(USUAL_HEAT_PUMP, at_rest=True).call(heating=True, cooling=True)
    with pytest.raises(SimulatorError, match="least_difference_pa is 1e"):
        ReversingValve(least_difference_pa=1e7)


@pytest.mark.hours
def test_the_accumulator_catches_what_floods_back_after_a_shift_and_gives_it_back() -> None:
    """The coil that condensed is full of liquid, and becomes the evaporator."""
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=replace(H1, outdoor_air_humidity=20.0)))
    assert unit.held_kg()["accumulator"] == pytest.approx(0.0, abs=1e-3)
    unit.call(heating=True)
    held = []
    for _ in range(120):
        unit.step(60.0)
        held.append(unit.held_kg()["accumulator"])
    assert max(held[:10]) > 0.05
    assert held[-1] < 0.1 * max(held)


def test_a_device_that_feeds_too_much_fills_the_accumulator_and_the_compressor_still_draws_vapour() -> None:
    wide = HeatPump(metering=FixedOrifice(2.6e-6), compensator=None)
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=H1, heat_pump=wide), heating=True)
    assert unit.held_kg()["accumulator"] > 0.2
    state = unit.true_state()
    hot_f = 1.8 * (state["discharge_line_temperature"] - PropsSI("T", "P", state["liquid_pressure"], "Q", 1, "R410A"))
    assert hot_f > 15.0


@pytest.mark.hours
def test_its_tanks_keep_nothing_back_from_a_recovery_machine() -> None:
    unit = Unit(replace(USUAL_HEAT_PUMP, conditions=MILD), heating=True)
    charge_kg, machine = unit.charge_kg, RecoveryMachine()
    assert unit.held_kg()["compensator"] > 0.5
    unit.call()
    for _ in range(7200):
        machine.work(unit.ports, 1.0)
        unit.step(1.0)
    assert unit.charge_kg + machine.recovered_kg == pytest.approx(charge_kg, abs=1e-9)
    held = unit.held_kg()
    assert held["accumulator"] + held["compensator"] < 1e-3


CALLS = {"cool": (True, False), "heat": (False, True), "off": (False, False)}


@pytest.mark.hours
@settings(max_examples=8, deadline=None)
@given(
    outdoor_f=st.floats(0.0, 100.0),
    return_f=st.floats(62.0, 80.0),
    humidity=st.floats(10.0, 100.0),
    charge=st.floats(0.6, 1.4),
    energised_in=st.sampled_from(["cooling", "heating"]),
    faults=st.one_of(
        st.just(Faults()),
        st.builds(
            Faults,
            evaporator_airflow=st.floats(0.2, 1.2),
            condenser_airflow=st.floats(0.2, 1.2),
            reversing_valve_leak_m2=st.sampled_from([0.0, 1e-6, 1e-5]),
            reversing_valve_reach=st.sampled_from([0.0, 0.3, 0.5, 0.9, 1.0]),
            non_condensables_pa=st.sampled_from([0.0, 2e5]),
            fan_capacitor=st.sampled_from([0.0, 1.0]),
        ),
    ),
    calls=st.lists(st.tuples(st.sampled_from(sorted(CALLS)), st.floats(5.0, 40.0)), max_size=4),
)
def test_nothing_drives_it_to_nonsense(
    outdoor_f: float,
    return_f: float,
    humidity: float,
    charge: float,
    energised_in: Mode,
    faults: Faults,
    calls: list[tuple[str, float]],
) -> None:
    parameters = replace(
        USUAL_HEAT_PUMP,
        charge_kg=charge * USUAL_HEAT_PUMP.charge_kg,
        conditions=Conditions(kelvin(outdoor_f), kelvin(return_f), outdoor_air_humidity=humidity),
        faults=faults,
        delay_timer_s=0.0,
        heat_pump=HeatPump(valve=ReversingValve(energised_in), defrost=TimedDefrost(600.0)),
    )
    unit = Unit(parameters, heating=outdoor_f < 60.0)
    for name, duration_s in calls:
        cools, heats = CALLS[name]
        unit.call(cooling=cools, heating=heats)
        stored_j, net_j, moved_j = unit.stored_j, 0.0, 1e4
        for _ in range(round(4 * duration_s)):
            unit.step(0.25)
            flows = unit.heat_flows()
            net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
            moved_j += 0.25 * (abs(flows.evaporator_w) + flows.compressor_w)
        state = unit.true_state()
        assert all(math.isfinite(value) for value in state.values())
        assert all(mass_kg >= 0.0 for mass_kg in unit.held_kg().values())
        assert 20e3 <= state["suction_pressure"] <= 4.6e6
        assert 20e3 <= state["liquid_pressure"] <= 4.6e6
        assert 200.0 <= state["supply_air_temperature"] <= 390.0
        assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)
        assert unit.charge_kg == pytest.approx(parameters.charge_kg, abs=1e-9)
