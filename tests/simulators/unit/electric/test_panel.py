"""A unit's panel as a meter and a hand find it: points, joints, capacitors, legs and leads of a whole unit."""

import cmath
import math
import random
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from functools import cache

import pytest

from simulators.errors import SimulatorError
from simulators.unit.electric.capacitor import Section
from simulators.unit.electric.contactor import Coil, Contactor
from simulators.unit.electric.induction import ThreePhaseMachine
from simulators.unit.electric.panel import TIGHT_OHM
from simulators.unit.electric.supply import Leg, Supply
from simulators.unit.frost import FULL_KG_PER_AIR_FLOW
from simulators.unit.head_control import FanSpeed
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from simulators.unit.sizing import Build, size
from simulators.unit.usual_heat_pump import USUAL_HEAT_PUMP
from tests.simulators.unit.settled import rested, settled

SINGLE = Build(10_550.0, 2.9, compressor_rla_a=16.0, phases=1)
OMEGA = 2.0 * math.pi * 60.0


@cache
def _running(parameters: UnitParameters) -> Unit:
    unit = settled(parameters)
    unit.step(1.0)
    return unit


def three() -> Unit:
    return deepcopy(_running(UnitParameters()))


def single() -> Unit:
    return deepcopy(_running(size(SINGLE)))


def volts(unit: Unit, one: str, other: str) -> float:
    found = unit.electric.between(one, other, "volts ac")
    assert found is not None
    return found


def ohms(unit: Unit, one: str, other: str) -> float:
    found = unit.electric.between(one, other, "ohms")
    assert found is not None
    return found


# --- live


def test_volts_of_a_running_unit_are_those_of_its_supply_less_its_joints() -> None:
    """Wye 230/133 V and split 230/115 V (sqrt 3, and half)."""
    assert volts(three(), "line_a", "line_b") == pytest.approx(230.0, abs=1.0)
    assert volts(three(), "line_c", "earth") == pytest.approx(230.0 / math.sqrt(3.0), abs=0.6)
    assert volts(single(), "line_a", "earth") == pytest.approx(115.0, abs=0.6)
    for unit in (three(), single()):
        assert volts(unit, "line_a", "contactor_load_a") < 0.1
        assert 24.0 < volts(unit, "coil_1", "coil_2") < 28.0


@pytest.mark.parametrize("lug", ["contactor_line_b", "contactor_load_b", "disconnect_b", "compressor_b"])
def test_millivolts_over_a_lug_are_current_times_resistance(lug: str) -> None:
    """Ohm: 10 milliohm at some 8 A are 80 mV; a sound one has under 5."""
    unit = three()
    assert volts(unit, f"{lug}_wire", lug) == pytest.approx(unit.electric.current_in(lug) * TIGHT_OHM, rel=1e-6)
    assert volts(unit, f"{lug}_wire", lug) < 0.005
    unit.electric.set_joint(lug, 0.01)
    unit.step(0.25)
    assert volts(unit, f"{lug}_wire", lug) == pytest.approx(unit.electric.current_in(lug) * 0.01, rel=1e-6)
    assert volts(unit, f"{lug}_wire", lug) > 0.07
    assert unit.electric.joint_rise_dk(lug) == pytest.approx(3.0 * 0.01 * unit.electric.current_in(lug) ** 2)
    unit.electric.set_joint(lug)
    unit.step(0.25)
    assert volts(unit, f"{lug}_wire", lug) < 0.005


def test_a_worn_pole_drops_its_share() -> None:
    unit = three()
    unit.electric.wear_pole("c", 0.02)
    unit.step(0.25)
    through_a = abs(unit.electric._motion.current_in("pole_c"))
    assert volts(unit, "contactor_line_c", "contactor_load_c") == pytest.approx(0.02 * through_a, rel=1e-6)


@pytest.mark.parametrize(("section", "farads"), [("herm", 45e-6), ("fan", 7.5e-6)])
def test_capacitance_under_load_comes_back_from_amps_and_volts(section: str, farads: float) -> None:
    """C = I / (2 pi f V); 0.5 % less than its label, being 20 K warmer than cold."""
    unit = single()
    volts_across = volts(unit, f"capacitor_{section}", "capacitor_common")
    amps = unit.electric.current_in(f"capacitor_{section}")
    assert 200.0 < volts_across < 440.0
    assert amps / (OMEGA * volts_across) == pytest.approx(farads * 0.9938, rel=2e-3)


def test_a_weak_capacitor_fails_under_load_and_reads_within_its_limits_cold() -> None:
    unit = single()
    weak = Section(45e-6, share=0.97, fails_under_load=0.15)
    unit.electric.exchange_capacitor("outdoor", {"herm": weak, "fan": Section(7.5e-6)})
    unit.step(1800.0)
    loaded_f = unit.electric.current_in("capacitor_herm") / (OMEGA * volts(unit, "capacitor_herm", "capacitor_common"))
    assert loaded_f < 0.94 * 45e-6
    assert unit.true_state()["capacitance_herm"] > 0.94 * 45e-6


def test_the_legs_of_one_motor_add_up_to_nothing() -> None:
    """Kirchhoff."""
    unit = three()
    motion = unit.electric._motion
    assert abs(sum(motion.current_in(f"compressor_{leg}") for leg in "abc")) < 1e-4
    unit = single()
    motion = unit.electric._motion
    run, start, common = (motion.current_in(lead) for lead in ("compressor_run", "capacitor_herm", "compressor_common"))
    # leads are counted from the supply on, and that of the common terminal brings the current back
    assert abs(run + start + common) < 1e-4


# --- dead


def dead(unit: Unit) -> Unit:
    unit.disconnect(closed=False)
    unit.step(60.0)
    return unit


def test_behind_an_open_disconnect_nothing_is_left_and_before_it_all() -> None:
    unit = dead(three())
    points = [point for point in unit.electric.points() if not point.startswith("line_")]
    assert max(volts(unit, point, "earth") for point in points) < 0.1
    assert volts(unit, "line_a", "line_b") == pytest.approx(230.0, abs=0.01)


def test_one_blade_left_closed_leaves_its_leg_live() -> None:
    unit = three()
    unit.electric.disconnect(closed=False, legs=("a", "b"))
    unit.step(60.0)
    assert volts(unit, "contactor_line_c", "earth") > 130.0
    assert unit.electric.between("contactor_line_c", "contactor_load_c", "ohms") is None


def test_windings_of_a_single_phase_compressor_add_up() -> None:
    """S-R = S-C + R-C, leads off; an open overload parts common, and both windings stay whole (common practice)."""
    unit = dead(single())
    for lug in ("compressor_run", "compressor_common", "capacitor_herm"):
        unit.electric.set_joint(lug, math.inf)
    run, start, both = (
        ohms(unit, *pair)
        for pair in (
            ("compressor_run", "compressor_windings"),
            ("compressor_start", "compressor_windings"),
            ("compressor_run", "compressor_start"),
        )
    )
    assert both == pytest.approx(run + start, rel=1e-6)
    assert 0.3 < run < start < 5.0


def test_an_open_overload_parts_common_and_leaves_both_windings_whole() -> None:
    """Common practice, no source: an open common with both windings whole is the overload; let it cool for hours."""
    unit = single()
    unit.electric.block("compressor", blocked=True)
    unit.step(20.0)
    unit.disconnect(closed=False)
    unit.step(1.0)
    unit.electric.set_joint("compressor_common", math.inf)
    assert unit.electric.between("compressor_common", "compressor_windings", "ohms") is None
    assert 1.0 < ohms(unit, "compressor_run", "compressor_start") < 5.0
    unit.step(1800.0)
    assert ohms(unit, "compressor_common", "compressor_windings") < 0.01


def test_windings_of_three_phases_are_alike_and_a_lead_off_shows() -> None:
    """A star: two windings in a row, with the far larger ones of the fan beside them."""
    unit = dead(three())
    machine = unit.electric._panel.machines["compressor"]
    assert isinstance(machine, ThreePhaseMachine)
    pairs = [("compressor_a", "compressor_b"), ("compressor_b", "compressor_c"), ("compressor_c", "compressor_a")]
    for pair in pairs:
        assert ohms(unit, *pair) == pytest.approx(2.0 * machine.stator_resistance_ohm, rel=0.05)
    unit.electric.set_joint("compressor_a", math.inf)
    assert unit.electric.between("compressor_a_wire", "compressor_a", "ohms") is None


def test_insulation_falls_with_an_earth_fault() -> None:
    unit = dead(single())
    sound = unit.electric.between("compressor_run", "earth", "insulation")
    assert sound is not None
    assert sound > 20e6
    unit.electric.leak_to_earth("compressor_run", 0.5e6)
    assert unit.electric.between("compressor_run", "earth", "insulation") == pytest.approx(0.5e6, rel=0.02)
    with pytest.raises(SimulatorError, match="'line_a' is no motor's terminal; there are blower_run"):
        unit.electric.leak_to_earth("line_a", 1e6)


def test_a_capacitance_meter_needs_the_leads_off() -> None:
    """Two sections between their own terminals are in series: C1 C2 / (C1 + C2)."""
    unit = dead(single())
    between = unit.electric.between
    assert between("capacitor_herm", "capacitor_common", "farads") is None
    for lug in ("capacitor_herm", "capacitor_fan", "capacitor_common"):
        unit.electric.set_joint(lug, math.inf)
    assert between("capacitor_herm", "capacitor_common", "farads") == pytest.approx(45e-6, rel=1e-3)
    assert between("capacitor_fan", "capacitor_common", "farads") == pytest.approx(7.5e-6, rel=1e-3)
    assert between("capacitor_herm", "capacitor_fan", "farads") == pytest.approx(45e-6 * 7.5 / 52.5, rel=1e-3)
    unit.electric.bulge("outdoor")
    assert between("capacitor_herm", "capacitor_common", "farads") == 0.0


def test_nothing_is_measured_dead_on_a_live_part() -> None:
    unit = single()
    for function in ("ohms", "insulation", "farads"):
        assert unit.electric.between("compressor_run", "compressor_common", function) is None  # type: ignore[arg-type]
    assert unit.electric.between("coil_1", "coil_2", "ohms") is None
    assert unit.electric.between("coil_1", "coil_2", "volts dc") == 0.0
    assert dead(unit).electric.between("coil_1", "coil_2", "ohms") == pytest.approx(11.0)


# --- charge


def test_a_capacitor_across_its_winding_is_empty_at_once_and_one_with_a_lead_off_is_not() -> None:
    """From memory: one still across its winding empties through it; it may be left with the peak, sqrt 2 the RMS."""
    unit = single()
    peak_v = math.sqrt(2.0) * volts(unit, "capacitor_herm", "capacitor_common")
    unit.disconnect(closed=False)
    unit.step(0.25)
    assert unit.electric.between("capacitor_herm", "capacitor_common", "volts dc") == 0.0
    unit = single()
    unit.electric.set_joint("capacitor_herm", math.inf)
    unit.disconnect(closed=False)
    unit.step(60.0)
    left_v = unit.electric.between("capacitor_herm", "capacitor_common", "volts dc")
    assert left_v == pytest.approx(peak_v, rel=0.01)
    unit.electric.discharge("herm", 20e3, 4.2)
    assert unit.electric.between("capacitor_herm", "capacitor_common", "volts dc") == pytest.approx(
        left_v * math.exp(-4.2 / (20e3 * 45e-6)), rel=1e-3
    )


def test_a_bleeder_empties_it_in_a_minute() -> None:
    """R C of 300 kohm and 45 µF is 13.5 s; four and a half of them leave 1 %."""
    unit = single()
    with_bleeder = Section(45e-6, bleeder_ohm=300e3)
    unit.electric.exchange_capacitor("outdoor", {"herm": with_bleeder, "fan": Section(7.5e-6)})
    unit.step(1.0)
    unit.electric.set_joint("capacitor_herm", math.inf)
    before_v = unit.electric.between("capacitor_herm", "capacitor_common", "volts dc")
    assert before_v is not None
    unit.step(60.0)
    after_v = unit.electric.between("capacitor_herm", "capacitor_common", "volts dc")
    assert after_v == pytest.approx(before_v * math.exp(-60.0 / 13.5), rel=0.02)


# --- legs and leads


def test_a_running_motor_that_loses_a_leg_goes_on_and_draws_about_twice() -> None:
    """sqrt 3 for the same work, and its magnetising current twice (textbook of single-phasing: 1.7 to 2.5)."""
    unit = three()
    before = unit.electric.current_in("compressor_b")
    unit.electric.lose_leg("c")
    unit.step(1.0)
    assert unit.is_running
    assert 1.6 < unit.electric.current_in("compressor_b") / before < 2.7
    # the dead leg is fed back by the motor: a meter finds volts on it, and they prove nothing
    assert 50.0 < volts(unit, "line_c", "earth") < 125.0
    unit.step(120.0)
    assert not unit.is_running
    assert unit.true_state()["compressor_current"] == 0.0


def test_a_standing_motor_without_a_leg_hums_and_does_not_start() -> None:
    unit = rested()
    unit.electric.lose_leg("c")
    unit.call(cooling=True)
    unit.step(1.0)
    assert (unit.is_running, unit.electric.sound) == (False, "hums")
    assert unit.electric.current_in("compressor_b") > 4.0 * 12.0
    unit.electric.lose_leg()
    unit.step(1.0)
    assert (unit.is_running, unit.electric.sound) == (True, "runs")


def test_without_the_leg_of_its_transformer_the_contactor_lets_go_or_never_pulls_in() -> None:
    unit = rested()
    unit.electric.lose_leg("b")
    unit.call(cooling=True)
    unit.step(5.0)
    assert (unit.is_running, unit.electric.sound, unit.held_by) == (False, "", "control power")
    assert volts(unit, "coil_1", "coil_2") < 18.0


@pytest.mark.parametrize(("leg", "held"), [("b", "delay timer"), ("c", "")])
def test_a_lost_leg_of_the_controls_starts_the_delay_timer_anew(leg: Leg, held: str) -> None:
    """Makers' timers count from the return of power; the third leg feeds no transformer, and nothing forgets."""
    unit = rested()
    unit.call(cooling=True)
    unit.electric.lose_leg(leg)
    unit.step(0.5)
    unit.electric.lose_leg()
    unit.step(0.5)
    assert unit.held_by == held
    if held:
        unit.step(298.0)
        assert unit.held_by == held
        unit.step(2.0)
        assert unit.held_by == ""


@pytest.mark.parametrize("where", ["supply", "leads"])
def test_a_scroll_that_turns_backwards_pumps_nothing_draws_little_and_rattles(where: str) -> None:
    """Makers' manuals: suction does not fall, liquid does not rise, louder, far less current than expected."""
    unit = rested()
    (unit.electric.swap_supply if where == "supply" else unit.electric.swap_leads)("a", "b")
    unit.call(cooling=True)
    unit.step(60.0)
    state = unit.true_state()
    assert (unit.is_running, unit.electric.sound) == (False, "rattles")
    assert state["liquid_pressure"] - state["suction_pressure"] < 0.2e6
    assert 0.2 * 8.0 < state["compressor_current"] < 0.6 * 8.0
    assert state["condenser_fan_current"] == pytest.approx(1.6, rel=0.02)


def test_welded_contacts_keep_it_running_without_a_call() -> None:
    unit = three()
    unit.electric.weld("a", "b", "c")
    unit.call(cooling=False)
    unit.step(30.0)
    assert (unit.is_running, unit.held_by) == (True, "thermostat")
    assert volts(unit, "coil_1", "coil_2") == 0.0
    unit.electric.weld()
    unit.step(30.0)
    assert not unit.is_running


def test_a_weak_supply_makes_the_contactor_chatter_at_the_start() -> None:
    """The locked rotor drags the line below what holds the coil, which lets go, and the line comes back."""
    unit = rested()
    for lug in ("disconnect_a", "disconnect_b"):
        unit.electric.set_joint(lug, 4.0)
    unit.call(cooling=True)
    unit.step(2.0)
    assert unit.electric.sound == "chatters"
    assert unit.electric._panel.contactor.operations > 10
    assert not unit.is_running


def test_motors_come_up_while_a_contactor_chatters_as_its_closed_half_gives_them_torque() -> None:
    """Inertia: half of the time under power, and next to no pressure to fight, is half of the speed at least."""
    unit = rested()
    unit.electric.fit_contactor(Contactor(coil=Coil(pulls_in_v=18.0, lets_go_v=26.4)))
    unit.call(cooling=True)
    unit.step(0.25)
    assert unit.electric._panel.contactor.operations > 5
    assert unit.electric._motion.turning["compressor"].speed > 0.3


def test_too_little_voltage_never_pulls_the_contactor_in() -> None:
    unit = rested()
    unit.electric.sag(0.35)
    unit.call(cooling=True)
    unit.step(5.0)
    assert not unit.is_running
    assert 12.0 < volts(unit, "coil_1", "coil_2") < 18.0
    unit.electric.sag(0.0)
    unit.step(2.0)
    assert unit.is_running


# --- starting


def test_a_single_phase_compressor_does_not_start_against_its_pressure() -> None:
    """Makers ask for five minutes between starts, which this one's controls do not wait: common practice, no source."""
    unit = deepcopy(_running(replace(size(SINGLE), delay_timer_s=0.0)))
    unit.electric.disconnect(closed=False)
    unit.step(3.0)
    unit.electric.disconnect(closed=True)
    unit.step(2.0)
    assert (unit.is_running, unit.electric.sound) == (False, "hums")
    assert unit.electric.current_in("compressor_common") > 4.0 * 16.0
    unit.call(cooling=False)
    unit.step(600.0)
    unit.call(cooling=True)
    unit.step(5.0)
    assert (unit.is_running, unit.electric.sound) == (True, "runs")


def test_an_open_capacitor_hums_and_a_new_one_starts() -> None:
    unit = rested(UnitParameters(compressor_motor=size(SINGLE).compressor_motor, faults=Faults(herm_capacitor=0.0)))
    unit.call(cooling=True)
    unit.step(2.0)
    assert unit.electric.sound == "hums"
    unit.disconnect(closed=False)
    unit.electric.exchange_capacitor("outdoor", {"herm": Section(45e-6), "fan": Section(7.5e-6)})
    unit.disconnect(closed=True)
    unit.step(302.0)
    assert (unit.is_running, unit.electric.sound) == (True, "runs")
    assert unit.true_state()["capacitance_herm"] == 45e-6


def test_a_blocked_fan_draws_its_locked_current_until_its_overload_opens() -> None:
    unit = three()
    unit.electric.block("fan", blocked=True)
    unit.step(2.0)
    assert unit.electric.fan_speed == 0.0
    assert unit.true_state()["condenser_fan_current"] == pytest.approx(2.2 * 1.6, rel=0.02)
    unit.step(60.0)
    assert unit.true_state()["condenser_fan_current"] == 0.0


def test_a_clamp_at_four_readings_a_second_finds_less_than_the_inrush_unless_it_holds_its_peak() -> None:
    unit = rested()
    unit.call(cooling=True)
    unit.step(0.25)
    seen = unit.electric.over_interval()["compressor_a"]
    assert seen.greatest_a == pytest.approx(72.0, rel=0.03)
    assert 0.7 * seen.greatest_a < seen.rms_a < seen.greatest_a
    unit.step(0.25)
    assert unit.electric.over_interval()["compressor_a"].rms_a < 0.6 * seen.rms_a


def test_voltage_sags_while_it_starts() -> None:
    """Ohm: its locked current through the service's impedance."""
    unit = rested()
    unit.call(cooling=True)
    unit.step(0.05)
    sunk = 230.0 - volts(unit, "line_a", "line_b")
    locked_a = unit.electric.current_in("compressor_a")
    assert sunk == pytest.approx(math.sqrt(3.0) * locked_a * 0.03, rel=0.35)


# --- other parts


def test_a_broken_start_winding_hums_and_leaves_the_charge_in_its_capacitor() -> None:
    """From memory: one behind an open winding does not empty itself."""
    unit = single()
    unit.electric.open_winding("compressor", "start")
    unit.step(0.25)
    assert unit.is_running  # as one that turns already does
    unit = rested(size(SINGLE))
    unit.electric.open_winding("compressor", "start")
    unit.call(cooling=True)
    unit.step(1.0)
    assert unit.electric.sound == "hums"
    assert unit.electric.current_in("capacitor_herm") < 0.01
    assert dead(unit).electric.between("compressor_start", "compressor_windings", "ohms") is None
    with pytest.raises(SimulatorError, match="the compressor has no start winding: it has three phases; take a lead"):
        three().electric.open_winding("compressor", "start")


def test_a_contactor_of_one_pole_leaves_the_other_leg_on_the_compressor() -> None:
    """Common practice, no source: a residential contactor may open one leg alone, and the terminals stay live."""
    unit = single()
    unit.electric.fit_contactor(Contactor(straps=frozenset({"b"})))
    unit.call(cooling=False)
    unit.step(30.0)
    assert not unit.is_running
    assert volts(unit, "compressor_common", "earth") == pytest.approx(115.0, abs=1.0)
    assert volts(unit, "compressor_run", "compressor_common") < 1.0


def test_on_208_volts_it_draws_more() -> None:
    """The same work at less voltage; both legs stand 120 V above earth (208 / sqrt 3)."""
    unit = single()
    before_a = unit.electric.current_in("compressor_common")
    unit.electric.connect_supply(Supply(phases=1, line_v=208.0, two_of_three=True))
    unit.step(30.0)
    assert volts(unit, "line_a", "earth") == pytest.approx(120.0, abs=1.0)
    assert unit.electric.current_in("compressor_common") > 1.03 * before_a
    with pytest.raises(SimulatorError, match="a unit of 1 phases cannot run on 3"):
        unit.electric.connect_supply(Supply())


def test_a_slowed_fan_draws_with_the_square_of_what_it_is_asked() -> None:
    cool = Conditions(outdoor_air_k=285.15, return_air_k=295.15)
    unit = settled(UnitParameters(conditions=cool, head_control=FanSpeed()))
    unit.step(1.0)
    told_a = unit.true_state()["condenser_fan_current"]
    assert told_a == pytest.approx(1.6 * unit.electric.fan_speed**2, rel=0.02)
    assert unit.electric.current_in("fan_common") == pytest.approx(told_a, rel=1e-6)
    assert unit.electric.over_interval()["fan_common"].rms_a == pytest.approx(told_a, rel=0.05)


def acts(unit: Unit, chance: random.Random) -> list[Callable[[], None]]:
    """What a hand can do next, with sizes by chance."""
    electric = unit.electric
    leg = chance.choice(electric._panel.supply.legs)
    lug, loose_ohm = (
        chance.choice(sorted(electric._panel.joints)),
        chance.choice([TIGHT_OHM, 0.01, 0.5, 20.0, math.inf]),
    )
    share, yes = chance.uniform(0.0, 1.2), chance.random() < 0.6
    sections = {name: replace(it, share=share) for name, it in electric.capacitor("outdoor").sections.items()}
    return [
        lambda: electric.set_joint(lug, loose_ohm),
        lambda: electric.lose_leg(*([leg] if yes else [])),
        lambda: electric.swap_leads("a", "b"),
        lambda: electric.exchange_capacitor("outdoor", sections),
        lambda: electric.sag(0.6 * share),
        lambda: electric.block("fan", blocked=yes),
        lambda: unit.disconnect(closed=yes),
        lambda: unit.call(cooling=yes),
        lambda: electric.weld(*([] if yes else [leg])),
        lambda: electric.leak_to_earth("fan_run", 1e6 * share),
    ]


@pytest.mark.parametrize("seed", range(4))
def test_no_hand_brings_it_to_nonsense(seed: int) -> None:
    chance = random.Random(seed)
    unit = single() if seed % 2 else three()
    for _ in range(20):
        chance.choice(acts(unit, chance))()
        unit.step(chance.choice([0.05, 0.25, 3.0]))
        state = unit.true_state()
        assert all(math.isfinite(value) for value in state.values())
        assert all(0.0 <= state[name] <= 130.0 for name in state if "current" in name)
        assert all(0.0 <= state[name] <= 400.0 for name in state if "voltage" in name)
        one, other = chance.sample(unit.electric.points(), 2)
        for function in ("volts ac", "volts dc", "ohms", "farads", "insulation"):
            found = unit.electric.between(one, other, function)  # type: ignore[arg-type]
            assert found is None or math.isfinite(found)


def test_a_blower_that_stands_starves_its_coil() -> None:
    unit = three()
    before = unit.true_state()
    unit.electric.block("blower", blocked=True)
    unit.step(60.0)
    after = unit.true_state()
    assert after["blower_current"] == 0.0  # its overload is open
    assert unit.cut_out == "low" or after["suction_pressure"] < 0.8 * before["suction_pressure"]


def test_a_full_filter_gives_the_blower_less_to_do() -> None:
    """A centrifugal wheel moves less air, and its motor draws less (fan laws; the size is common practice)."""
    unit = three()
    unit.let_air_pass(evaporator=0.5)
    unit.step(5.0)
    assert unit.true_state()["blower_current"] == pytest.approx(0.75 * 3.1, rel=0.05)
    unit.let_air_pass(evaporator=1.0)
    unit.step(5.0)
    assert unit.true_state()["blower_current"] == pytest.approx(3.1, rel=0.01)


def test_a_blocked_condenser_gives_its_fan_more_to_do() -> None:
    """A propeller takes most power at closed discharge (textbooks of building services; size is common practice)."""
    unit = three()
    free_a, free_speed = unit.true_state()["condenser_fan_current"], unit.electric.fan_speed
    unit.let_air_pass(condenser=0.4)
    unit.step(2.0)
    assert 1.05 < unit.true_state()["condenser_fan_current"] / free_a < 1.3
    assert 0.94 < unit.electric.fan_speed / free_speed < 1.0


def test_frost_loads_the_fans_as_much_as_what_else_stops_their_air() -> None:
    """The blower draws less and the propeller more, by the same two rules as before a filter and a sheet."""
    cools = three()
    cools._stores.frost_kg = 0.5 * FULL_KG_PER_AIR_FLOW * cools.usual_air_flow_m3_s
    cools.step(5.0)
    assert cools.supply_air_flow_m3_s == pytest.approx(0.5 * cools.usual_air_flow_m3_s, rel=0.02)
    assert cools.true_state()["blower_current"] == pytest.approx(0.75 * 3.1, rel=0.05)  # as behind a full filter
    heats = Unit(USUAL_HEAT_PUMP, heating=True)
    free_a, free_speed = heats.true_state()["condenser_fan_current"], heats.electric.fan_speed
    assert USUAL_HEAT_PUMP.heat_pump is not None
    heats._stores.outdoor_frost_kg = 0.6 * USUAL_HEAT_PUMP.heat_pump.full_frost_kg
    heats.step(5.0)
    assert 1.05 < heats.true_state()["condenser_fan_current"] / free_a < 1.3
    assert 0.94 < heats.electric.fan_speed / free_speed < 1.0
    heats._stores.outdoor_frost_kg = 0.0
    heats.step(5.0)
    assert heats.true_state()["condenser_fan_current"] == pytest.approx(free_a, rel=0.01)


def test_a_seized_compressor_draws_its_locked_current_and_trips() -> None:
    unit = rested()
    unit.electric.block("compressor", blocked=True)
    unit.call(cooling=True)
    unit.step(1.0)
    assert (unit.is_running, unit.electric.sound) == (False, "hums")
    assert unit.true_state()["compressor_current"] == pytest.approx(72.0, rel=0.05)
    unit.step(20.0)
    assert unit.true_state()["compressor_current"] == 0.0


# --- what cannot be


def test_names_that_are_not_there_are_refused_with_those_that_are() -> None:
    unit = three()
    with pytest.raises(SimulatorError, match="there is no lug 'compressor_run'; there are blower_common, blower_run"):
        unit.electric.set_joint("compressor_run", 1.0)
    with pytest.raises(SimulatorError, match=r"there is no point 'roof'; there are blower_common"):
        unit.electric.between("roof", "earth", "volts ac")
    with pytest.raises(SimulatorError, match=r"coil_1: 0 ohm is less than a sound lug has, 0\.0002 ohm"):
        unit.electric.set_joint("coil_1", 0.0)
    with pytest.raises(SimulatorError, match="there is no leg 'd'; there are a, b, c"):
        unit.electric.lose_leg("d")  # type: ignore[arg-type]
    with pytest.raises(SimulatorError, match="there is no section 'herm'; there are blower, fan"):
        unit.electric.discharge("herm", 20e3, 1.0)
    with pytest.raises(SimulatorError, match=r"no capacitor 'outdoor' with sections herm; there are outdoor: fan;"):
        unit.electric.exchange_capacitor("outdoor", {"herm": Section(45e-6)})


def test_it_is_the_same_at_every_run() -> None:
    def course() -> list[complex]:
        unit = rested()
        unit.call(cooling=True)
        unit.step(1.0)
        unit.electric.lose_leg("b")
        unit.step(1.0)
        return [unit.electric._motion.current_in(f"compressor_{leg}") for leg in "abc"]

    assert course() == course()
    assert all(map(cmath.isfinite, course()))
