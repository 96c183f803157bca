"""The simulated unit: it keeps mass and energy, runs as its kind does, and cannot be driven to nonsense."""

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import example, given, settings
from hypothesis import strategies as st

from calc.quantities import CHANNELS
from simulators.errors import SimulatorError
from simulators.unit.metering import FixedOrifice, ThermostaticValve
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.fahrenheit import kelvin
from tests.simulators.unit.settled import settled

PSI = 6894.757
OUNCE = 0.0283495
NAMEPLATE_KG = 3.40
DEVICES = [ThermostaticValve(), FixedOrifice()]


MILD = Conditions(outdoor_air_k=kelvin(86.0), return_air_k=kelvin(75.0))


def superheat_f(state: Mapping[str, float]) -> float:
    dew_point = PropsSI("T", "P", state["suction_pressure"], "Q", 1, "R410A")
    return 1.8 * (state["suction_line_temperature"] - dew_point)


def subcooling_f(state: Mapping[str, float]) -> float:
    bubble_point = PropsSI("T", "P", state["liquid_pressure"], "Q", 0, "R410A")
    return 1.8 * (bubble_point - state["liquid_line_temperature"])


def test_normal_charge_runs_as_such_units_do() -> None:
    """Superheat 8..12, subcooling 10..12 °F: normal in a ground-source manual. Pressures and amps: common
    practice, no source, for 3.5 tons of R-410A at 86 °F outdoors.
    """
    state = settled(UnitParameters(conditions=MILD)).true_state()
    assert 8.0 <= superheat_f(state) <= 12.0
    assert 9.5 <= subcooling_f(state) <= 12.0
    assert (state["suction_pressure"] - 101_325) / PSI == pytest.approx(118.0, abs=3.0)
    assert (state["liquid_pressure"] - 101_325) / PSI == pytest.approx(345.0, abs=5.0)
    assert 7.0 <= state["compressor_current"] <= 8.0
    assert 15.0 <= 1.8 * (state["return_air_temperature"] - state["supply_air_temperature"]) <= 22.0


def test_state_is_told_by_the_names_of_the_house() -> None:
    state = settled().true_state()
    assert state.keys() <= CHANNELS.keys()
    assert all(math.isfinite(value) for value in state.values())


@pytest.mark.parametrize("metering", DEVICES)
@pytest.mark.parametrize("charge_kg", [0.7 * NAMEPLATE_KG, NAMEPLATE_KG, 1.2 * NAMEPLATE_KG])
def test_energy_balances_when_steady(metering: FixedOrifice | ThermostaticValve, charge_kg: float) -> None:
    flows = settled(UnitParameters(metering=metering, charge_kg=charge_kg)).heat_flows()
    taken_in = flows.evaporator_w + flows.compressor_w
    assert taken_in == pytest.approx(flows.condenser_w + flows.shell_loss_w, rel=1e-4)


@pytest.mark.parametrize("metering", [DEVICES[0], pytest.param(DEVICES[1], marks=pytest.mark.hours)])
def test_no_refrigerant_is_made_or_lost(metering: FixedOrifice | ThermostaticValve) -> None:
    unit = settled(UnitParameters(metering=metering, charge_kg=3.0))
    assert unit.charge_kg == pytest.approx(3.0, abs=1e-11)
    unit.add(0.2, "liquid")
    unit.step(600.0)
    unit.recover(0.35)
    unit.step(600.0)
    unit.add(0.1, "vapour")
    unit.step(600.0)
    assert unit.charge_kg == pytest.approx(2.95, abs=1e-10)


@pytest.mark.parametrize(
    ("metering", "faults"),
    [
        pytest.param(ThermostaticValve(), Faults(), marks=pytest.mark.hours, id="valve, sound"),
        pytest.param(
            FixedOrifice(),
            Faults(condenser_airflow=0.6, evaporator_airflow=0.7),
            marks=pytest.mark.hours,
            id="orifice, faulty",
        ),
    ],
)
def test_energy_balances_over_the_hour_after_a_change(
    metering: FixedOrifice | ThermostaticValve, faults: Faults
) -> None:
    """What is not balanced at a moment is stored in the shell and the refrigerant: it evens out."""
    unit = settled(UnitParameters(charge_kg=3.1, metering=metering, faults=faults))
    unit.add(0.15, "liquid")
    taken_in = given_off = 0.0
    for _ in range(3600 // 5):
        flows = unit.heat_flows()
        taken_in += flows.evaporator_w + flows.compressor_w
        given_off += flows.condenser_w + flows.shell_loss_w
        unit.step(5.0)
    assert taken_in == pytest.approx(given_off, rel=1e-3)


@pytest.mark.hours
def test_liquid_added_raises_subcooling_slowly_to_where_a_unit_so_charged_stands() -> None:
    unit = settled(UnitParameters(charge_kg=3.0))
    before = subcooling_f(unit.true_state())
    unit.add(6 * OUNCE, "liquid")
    course = []
    for _ in range(40):
        unit.step(30.0)
        course.append(subcooling_f(unit.true_state()))
    final = subcooling_f(settled(UnitParameters(charge_kg=3.0 + 6 * OUNCE)).true_state())
    assert final > before + 1.5
    assert course[-1] == pytest.approx(final, abs=0.1)
    risen = [(value - before) / (final - before) for value in course]
    time_constant_s = 30.0 * (1 + next(index for index, part in enumerate(risen) if part > 1.0 - math.exp(-1.0)))
    assert 150.0 <= time_constant_s <= 330.0


@pytest.mark.hours
def test_refrigerant_taken_out_and_put_back_leaves_no_trace() -> None:
    unit = settled()
    before = unit.true_state()
    unit.recover(0.2)
    unit.step(300.0)
    assert subcooling_f(unit.true_state()) < subcooling_f(before) - 1.0
    unit.add(0.2, "vapour")
    unit.step(2400.0)
    for channel, value in unit.true_state().items():
        assert value == pytest.approx(before[channel], rel=1e-4), channel


def test_same_calls_give_the_same_states() -> None:
    first, second = Unit(), Unit()
    for unit in (first, second):
        unit.add(0.1, "liquid")
        unit.step(17.3)
    assert first.true_state() == second.true_state()


def test_one_long_step_is_as_good_as_many_short_ones() -> None:
    long, short = settled(UnitParameters(charge_kg=3.2)), settled(UnitParameters(charge_kg=3.2))
    for unit in (long, short):
        unit.add(0.2, "liquid")
    long.step(120.0)
    for _ in range(1200):
        short.step(0.1)
    for channel, value in long.true_state().items():
        assert short.true_state()[channel] == pytest.approx(value, rel=1e-3), channel


FAULTS = st.builds(
    Faults,
    evaporator_airflow=st.floats(0.2, 1.2),
    condenser_airflow=st.floats(0.2, 1.2),
    liquid_line_restriction=st.sampled_from([0.0, 0.0, 0.7, 0.95]),
    compressor_leakage=st.sampled_from([0.0, 0.0, 0.2, 0.6]),
    non_condensables_pa=st.sampled_from([0.0, 0.0, 2e5, 1e6]),
    bulb_contact=st.floats(0.0, 1.0),
    valve_oversize=st.floats(0.5, 4.0),
    fan_capacitor=st.floats(0.0, 1.2),
    lug_resistance_ohm=st.floats(0.0, 1.0),
    voltage_sag=st.floats(0.0, 0.3),
    voltage_unbalance=st.floats(0.0, 0.1),
)
MOVES = ["liquid", "vapour", "out", "call", "stop"]


@settings(max_examples=12, deadline=None)
@given(
    charge=st.floats(0.4, 1.6),
    outdoor_f=st.floats(30.0, 115.0),
    return_f=st.floats(65.0, 85.0),
    humidity=st.floats(20.0, 80.0),
    metering=st.sampled_from(DEVICES),
    faults=st.one_of(st.just(Faults()), FAULTS),
    moves=st.lists(st.tuples(st.sampled_from(MOVES), st.floats(0.001, 0.3)), max_size=5),
)
@example(
    charge=1.304,
    outdoor_f=55.38,
    return_f=65.0,
    humidity=20.0,
    metering=FixedOrifice(),
    faults=Faults(condenser_airflow=0.6, non_condensables_pa=2e5, fan_capacitor=0.26, lug_resistance_ohm=1.0),
    moves=[("liquid", 0.05), ("call", 0.05), ("stop", 0.05), ("liquid", 0.05)],
)  # its condenser stands at 60 °C when the cut-out opens, full of liquid: that makes the cold coil 35 °C warm
def test_nothing_drives_it_to_nonsense(
    charge: float,
    outdoor_f: float,
    return_f: float,
    humidity: float,
    metering: FixedOrifice | ThermostaticValve,
    faults: Faults,
    moves: list[tuple[str, float]],
) -> None:
    conditions = Conditions(kelvin(outdoor_f), kelvin(return_f), humidity)
    unit = Unit(UnitParameters(charge * NAMEPLATE_KG, conditions=conditions, metering=metering, faults=faults))
    held = charge * NAMEPLATE_KG
    hottest_pa = unit.true_state()["liquid_pressure"]
    for how, mass_kg in moves:
        if how in ("call", "stop"):
            unit.call(cooling=how == "call")
        elif how == "out":
            taken_kg = min(mass_kg, 0.5 * unit.held_kg()["high side"])
            unit.recover(taken_kg)
            held -= taken_kg
        elif held + mass_kg <= 6.0:
            unit.add(mass_kg, "liquid" if how == "liquid" else "vapour")
            held += mass_kg
        unit.step(20.0)
        hottest_pa = max(hottest_pa, unit.true_state()["liquid_pressure"])
        _sound(unit, conditions, hottest_pa=hottest_pa)
    assert unit.charge_kg == pytest.approx(held, abs=1e-9)


def _sound(unit: Unit, conditions: Conditions, *, hottest_pa: float) -> None:
    state = unit.true_state()
    outside_k, inside_k = conditions.outdoor_air_k, conditions.return_air_k
    assert all(math.isfinite(value) for value in state.values())
    assert all(mass_kg > 0.0 for mass_kg in unit.held_kg().values())
    assert 60e3 <= state["suction_pressure"] <= 4.41e6
    assert 60e3 <= state["liquid_pressure"] <= 4.41e6
    assert min(outside_k, inside_k) - 12.0 <= state["liquid_line_temperature"] <= 345.0
    warmest_k = max(outside_k, inside_k)
    if not unit.is_running:
        # Liquid from a hot condenser goes through the open device into the other coil, in still air. The hot side has
        # some two thirds of both their heat capacities, but the other coil begins colder than its air: half the way.
        hot_k = PropsSI("T", "P", hottest_pa, "Q", 0, "R410A")
        warmest_k += max(hot_k - warmest_k, 0.0) / 2
    assert 220.0 <= state["suction_line_temperature"] <= warmest_k + 0.5
    assert 0.0 <= state["compressor_current"] <= 75.0
    assert state["compressor_current"] >= 1.0 or not unit.is_running


@pytest.mark.parametrize(
    ("faulty", "message"),
    [
        (lambda: UnitParameters(charge_kg=0.0), r"charge_kg is 0; the unit is simulated with 1 to 6"),
        (lambda: UnitParameters(refrigerant="R-1"), r"refrigerant 'R-1' cannot be simulated"),
        (lambda: UnitParameters(conditions=replace(MILD, outdoor_air_k=86.0)), r"outdoor_air_k is 86; .* 248 to 325"),
        (lambda: UnitParameters(faults=Faults(compressor_leakage=60)), r"compressor_leakage is 60; .* 0 to 0.6"),
    ],
)
def test_parameters_that_cannot_be_are_refused_by_name(faulty, message) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(SimulatorError, match=message):
        Unit(faulty())


def test_moves_that_cannot_be_are_refused() -> None:
    unit = settled()
    with pytest.raises(SimulatorError, match=r"a mass of -0.1 kg cannot be moved"):
        unit.add(-0.1, "liquid")
    with pytest.raises(SimulatorError, match=r"the unit holds 3.40 kg, and 6 kg at most"):
        unit.add(3.0, "liquid")
    with pytest.raises(SimulatorError, match=r"cannot recover 3.000 kg at once"):
        unit.recover(3.0)
    with pytest.raises(SimulatorError, match="cannot run for nan s"):
        unit.step(math.nan)
    assert unit.charge_kg == pytest.approx(NAMEPLATE_KG)
