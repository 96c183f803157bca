"""What hands do at the bench: each act does to the unit what it does in life, or is refused with its reason."""

from copy import deepcopy
from functools import cache

import pytest
from CoolProp.CoolProp import PropsSI

from dashboard.sentences import ENGLISH, say
from ingest.wire.bench_acts import (
    Act,
    BlockCondenser,
    ChangeFilter,
    CloseJaw,
    Evacuate,
    Hose,
    MoveProbes,
    Nitrogen,
    OpenCylinder,
    Panel,
    PlaceLeads,
    Recover,
    ResetCutOuts,
    SenseLeak,
    SetLug,
    SetThermostat,
    ThrowDisconnect,
)
from simulators.bench.hands import Hands
from simulators.bench.port_tools import CONTENTS_KG, TARE_KG
from simulators.errors import SimulatorError
from simulators.unit.metering import FixedOrifice
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, UnitParameters
from simulators.unit.usual_heat_pump import USUAL_HEAT_PUMP
from tests.simulators.unit.settled import rested, settled

OUTDOOR_K, ATMOSPHERE_PA, MICRON = 298.15, 101_325.0, 0.133322
OUNCE_KG = 0.028349523125
SAME = UnitParameters(metering=FixedOrifice(), conditions=Conditions(outdoor_air_k=OUTDOOR_K, return_air_k=OUTDOOR_K))
ON, OFF = Hose(port="suction", on=True), Hose(port="suction", on=False)
OPEN, NITROGEN = OpenCylinder(open_ratio=0.5), Nitrogen(pressure_pa=1e6)


def at(unit: Unit) -> Hands:
    return Hands(unit, refrigerant="R-410A", outdoor_air_k=OUTDOOR_K)


def go_on(hands: Hands, unit: Unit, seconds: int) -> None:
    for _ in range(seconds):
        hands.tools.work(1.0)
        unit.step(1.0)


@cache
def _recovered() -> tuple[Unit, Hands]:
    unit = rested(SAME)
    hands = at(unit)
    for act in (ON, Hose(port="liquid", on=True), Recover(runs=True)):
        hands.do(act)
    go_on(hands, unit, 2400)
    hands.do(Recover(runs=False))
    return unit, hands


def recovered() -> tuple[Unit, Hands]:
    return deepcopy(_recovered())


def test_what_leaves_the_scale_is_in_the_unit() -> None:
    """An ounce takes ten seconds with the valve open (common practice, no source); nothing is made or lost."""
    unit = settled()
    hands, before_kg = at(unit), unit.charge_kg
    hands.do(ON)
    hands.do(OpenCylinder(open_ratio=0.5))
    go_on(hands, unit, 80)
    hands.do(OpenCylinder(open_ratio=0.0))
    go_on(hands, unit, 5)
    assert unit.charge_kg - before_kg == pytest.approx(4 * OUNCE_KG)
    assert hands.readings()["cylinder_mass"] == pytest.approx(TARE_KG + CONTENTS_KG - 4 * OUNCE_KG)
    assert hands.pour


def test_what_the_probes_are_at_takes_the_charge_and_the_other_circuit_none() -> None:
    first, second = settled(), settled()
    before_kg = first.charge_kg
    hands = Hands(first, refrigerant="R-410A", outdoor_air_k=OUTDOOR_K, beside=second)
    with pytest.raises(SimulatorError, match="no circuit '3'; the unit has 1, 2"):
        hands.do(MoveProbes(circuit="3"))
    hands.do(MoveProbes(circuit="2"))
    assert (hands.state.circuits, hands.state.probes_at) == (("1", "2"), "2")
    hands.do(ON)
    hands.do(OpenCylinder(open_ratio=1.0))
    go_on(hands, second, 20)
    assert (first.charge_kg, second.charge_kg) == pytest.approx((before_kg, before_kg + 2 * OUNCE_KG))
    hands.do(ThrowDisconnect(closed=False))
    for circuit in (first, second):
        circuit.step(1.0)
    assert [circuit.is_running for circuit in (first, second)] == [False, False]  # one disconnect for both


def test_a_cylinder_is_shut_when_the_unit_can_take_no_more() -> None:
    unit = settled()
    hands = at(unit)
    hands.do(ON)
    hands.do(OpenCylinder(open_ratio=1.0))
    unit.add(UnitParameters().most_charge_kg - unit.charge_kg - 1e-3, "vapour")
    assert hands.work(10.0)  # it says that something stopped
    assert "the cylinder was shut: the unit holds 6.00 kg" in hands.state.refused
    assert hands.state.cylinder_open_ratio == 0.0
    assert not hands.work(10.0)


def test_nothing_flows_from_a_cylinder_into_the_higher_pressure_of_a_running_condenser() -> None:
    unit = settled()
    hands, before_kg = at(unit), unit.charge_kg
    hands.do(Hose(port="liquid", on=True))
    hands.do(OpenCylinder(open_ratio=1.0))
    go_on(hands, unit, 10)
    assert unit.charge_kg == pytest.approx(before_kg, abs=1e-12)


@pytest.mark.hours
def test_a_circuit_is_recovered_evacuated_and_weighed_in() -> None:
    unit, hands = recovered()
    assert unit.charge_kg < 0.25
    hands.do(Evacuate(runs=True))
    go_on(hands, unit, 3600)
    assert hands.readings()["vacuum_pressure"] < 250 * MICRON
    hands.do(Evacuate(runs=False))
    left_kg = unit.charge_kg
    hands.do(OpenCylinder(open_ratio=1.0))
    while hands.tools.poured_kg < 2.5:
        go_on(hands, unit, 1)
    hands.do(OpenCylinder(open_ratio=0.0))
    assert unit.charge_kg - left_kg == pytest.approx(hands.tools.poured_kg)
    assert hands.readings()["cylinder_mass"] == pytest.approx(TARE_KG + CONTENTS_KG - hands.tools.poured_kg)


def test_nitrogen_stands_at_the_regulators_pressure_and_goes_to_the_open_air() -> None:
    unit, hands = recovered()
    hands.do(Nitrogen(pressure_pa=1.1e6))
    unit.step(1.0)
    assert unit.ports.pressure_pa("suction") == pytest.approx(1.1e6, rel=1e-3)
    hands.do(Nitrogen(pressure_pa=None))
    unit.step(1.0)
    assert unit.ports.pressure_pa("suction") == pytest.approx(ATMOSPHERE_PA, rel=0.02)
    assert unit.ports.pressure_pa("liquid") == pytest.approx(ATMOSPHERE_PA, rel=0.02)


def test_a_hose_that_was_not_purged_brings_its_air_and_one_that_comes_off_takes_vapour_along() -> None:
    """p V = n R T for 30 ml at one atmosphere; the vapour's density is CoolProp's."""
    unit = rested(SAME)
    hands, before_mol, before_kg = at(unit), unit.air_mol, unit.charge_kg
    hands.do(Hose(port="suction", on=True, purged=False))
    assert unit.air_mol - before_mol == pytest.approx(ATMOSPHERE_PA * 30e-6 / (8.314462618 * OUTDOOR_K), rel=1e-3)
    vapour_kg_m3 = PropsSI("D", "T", OUTDOOR_K, "Q", 1, "R410A")
    hands.do(Hose(port="suction", on=False))
    assert before_kg - unit.charge_kg == pytest.approx(30e-6 * vapour_kg_m3, rel=0.05)


def test_what_stands_at_the_unit_stops_and_starts_it() -> None:
    unit = settled()
    hands = at(unit)
    for act, stops in ((ThrowDisconnect(closed=False), "disconnect"), (SetThermostat(calls=False), "thermostat")):
        hands.do(act)
        unit.step(1.0)
        assert unit.held_by == stops
        hands.do(ThrowDisconnect(closed=True))
        hands.do(SetThermostat(calls=True))
        unit.step(301.0)
        assert unit.is_running
    hands.do(SenseLeak(senses=True))
    unit.step(1.0)
    assert unit.held_by == "leak detector"
    hands.do(Panel(on=False))
    hands.do(ResetCutOuts())
    assert not hands.state.panel_on
    assert hands.state.done == 9


@pytest.mark.hours
def test_less_air_over_a_coil_moves_the_pressure_of_its_side() -> None:
    """Fault signs: less condenser air raises the head, less indoor air lowers the suction."""
    unit = settled()
    hands, before = at(unit), unit.true_state()
    assert (hands.state.condenser_air_ratio, hands.state.evaporator_air_ratio) == (1.0, 1.0)
    hands.do(BlockCondenser(air_ratio=0.6))
    unit.step(300.0)
    blocked = unit.true_state()
    assert blocked["liquid_pressure"] > before["liquid_pressure"] * 1.05
    hands.do(BlockCondenser(air_ratio=1.0))
    hands.do(ChangeFilter(air_ratio=0.6))
    assert (hands.state.condenser_air_ratio, hands.state.evaporator_air_ratio) == (1.0, 0.6)
    unit.step(300.0)
    assert unit.true_state()["suction_pressure"] < before["suction_pressure"] * 0.97
    hands.do(ChangeFilter(air_ratio=1.0))
    unit.step(900.0)
    assert unit.true_state()["suction_pressure"] == pytest.approx(before["suction_pressure"], rel=0.01)
    assert unit.true_state()["liquid_pressure"] == pytest.approx(before["liquid_pressure"], rel=0.01)


RUNNING: list[tuple[list[Act], Act, str]] = [
    ([], OpenCylinder(open_ratio=0.5), "no hose leads from the cylinder"),
    ([ON], OpenCylinder(open_ratio=1.5), "a valve opens from 0 to 1, not 1.5"),
    ([ON, OpenCylinder(open_ratio=0.5)], Hose(port="suction", on=False), "shut the cylinder"),
    ([ON], Recover(runs=True), "stop the unit first: a recovery machine is for a unit at rest"),
    ([ON], Evacuate(runs=True), "stop the unit first: a vacuum pump"),
    ([ON], Nitrogen(pressure_pa=1e6), "stop the unit first: nitrogen"),
    ([], BlockCondenser(air_ratio=0.1), "a coil is simulated with 0.2 to 1.5"),
]
STANDING: list[tuple[list[Act], Act, str]] = [
    ([], Recover(runs=True), "no hose leads to a port for a recovery machine"),
    ([ON], Evacuate(runs=True), "recover, or let nitrogen out, first; a pump would vent it"),
    ([ON], Nitrogen(pressure_pa=1e6), "recover it first"),
    ([ON], Nitrogen(pressure_pa=None), "recover it first"),
    ([ON], Nitrogen(pressure_pa=5e6), "710 psig"),
    ([ON, OpenCylinder(open_ratio=0.1)], Recover(runs=True), "shut the cylinder first"),
    ([ON, Recover(runs=True)], OpenCylinder(open_ratio=0.1), "stop the recovery machine"),
    ([ON, Recover(runs=True)], Evacuate(runs=True), "stop the recovery machine"),
    ([ON, Recover(runs=True)], Nitrogen(pressure_pa=1e6), "stop the recovery machine"),
    ([ON], Nitrogen(pressure_pa=0.0), "a regulator only adds to it"),
]


@pytest.mark.parametrize(
    ("runs", "before", "act", "why"), [(True, *case) for case in RUNNING] + [(False, *case) for case in STANDING]
)
def test_what_cannot_or_must_not_be_done_is_refused_with_its_reason(
    *, runs: bool, before: list[Act], act: Act, why: str
) -> None:
    unit = settled(SAME) if runs else rested(SAME)
    hands = at(unit)
    for earlier in before:
        hands.do(earlier)
    with pytest.raises(SimulatorError, match=why):
        hands.do(act)
    assert why in hands.state.refused
    assert hands.state.done == len(before)
    hands.do(Panel(on=False))
    assert hands.state.refused == ""


def test_where_refrigerant_burns_none_flows_beside_live_parts_that_lie_open() -> None:
    """No live part exposed while charging, recovering or purging: servicing clauses after IEC 60335-2-40."""
    unit = rested(SAME)
    burns = Hands(unit, refrigerant="R-454B", outdoor_air_k=OUTDOOR_K)
    burns.do(ON)
    burns.do(Panel(on=False))
    starts = (Hose(port="liquid", on=True), Recover(runs=True), OpenCylinder(open_ratio=0.5))
    for act in starts:
        with pytest.raises(SimulatorError, match="live parts lie open: put the panel on first"):
            burns.do(act)
    for act in (OpenCylinder(open_ratio=0.0), Recover(runs=False), ThrowDisconnect(closed=False), *starts[:2]):
        burns.do(act)
    does_not = at(rested(SAME))
    for act in (Panel(on=False), ON, Recover(runs=True)):
        does_not.do(act)


def test_a_hose_that_is_put_on_or_taken_off_twice_is_simply_so() -> None:
    """Both times once: the air of a hose that was not purged gets in with the first touch alone."""
    held = []
    for touches in (1, 2):
        unit = rested(SAME)
        hands = at(unit)
        for act in [Hose(port="suction", on=True, purged=False)] * touches + [OFF] * touches:
            hands.do(act)
            assert (hands.state.refused, hands.state.hoses) == ("", ("suction",) if act.on else ())
        held.append(unit.held_kg())
    assert held[0] == held[1]


def test_a_machine_on_a_unit_that_starts_is_stopped() -> None:
    unit = rested(SAME)
    hands = at(unit)
    for act in (ON, Recover(runs=True), SetThermostat(calls=True)):
        hands.do(act)
    changed = []
    for _ in range(5):
        changed.append(hands.work(1.0))
        unit.step(1.0)
    assert unit.is_running
    assert not hands.state.recovery_runs
    assert changed.count(True) == 1
    assert hands.state.refused == "the recovery machine was stopped: the unit has started"
    assert hands.state.refused_act == "recovery"


def test_neither_nitrogen_nor_another_machine_is_let_to_a_circuit_that_a_pump_works_on() -> None:
    _, hands = recovered()
    hands.do(Evacuate(runs=True))
    for act in (Nitrogen(pressure_pa=1e6), Nitrogen(pressure_pa=None), Recover(runs=True)):
        with pytest.raises(SimulatorError, match="the vacuum pump first"):
            hands.do(act)
    hands.do(Evacuate(runs=True))  # touched twice
    hands.do(Evacuate(runs=False))
    hands.do(Nitrogen(pressure_pa=1e6))


@pytest.mark.parametrize(("heats", "asks"), [(True, "heating"), (False, "cooling")])
def test_a_thermostat_calls_for_what_its_scenario_is_about(heats: bool, asks: str) -> None:
    unit = Unit(USUAL_HEAT_PUMP)
    hands = Hands(unit, refrigerant="R-410A", outdoor_air_k=303.15, heats=heats)
    hands.do(SetThermostat(calls=False))
    hands.do(SetThermostat(calls=True))
    assert unit._heat_pump is not None
    assert unit._heat_pump.asks == asks


POWERED_OFF: list[Act] = [ThrowDisconnect(closed=False), Panel(on=False)]
LUG = SetLug(lug="capacitor_fan", off=True)
SAID: dict[str, dict[str, tuple[bool, list[Act], Act, str]]] = {
    "bare_hands": {
        "while the panel is on": (False, POWERED_OFF[:1], LUG, "the panel is on"),
        "at what is live": (True, [Panel(on=False)], LUG, "is live"),
        "or charged": (True, POWERED_OFF, LUG, "V are left in the"),
    },
    "leads": {
        "behind a panel that is on": (True, [], PlaceLeads(red="capacitor_fan", black="earth"), "the panel is on"),
    },
    "clamp": {"behind a panel that is on": (True, [], CloseJaw(lead="capacitor_fan", turns=1), "the panel is on")},
    "probes": {"while a hose is on": (True, [ON], MoveProbes(circuit="1"), "take the hose off the suction port first")},
    "hose": {
        "the last one off while the cylinder is open": (True, [ON, OPEN], OFF, "shut the cylinder"),
        "or a machine runs": (False, [ON, Recover(runs=True)], OFF, "stop the machines"),
    },
    "cylinder": {
        "without a hose on a port": (True, [], OPEN, "no hose leads"),
        "while a machine runs": (False, [ON, Recover(runs=True)], OPEN, "stop the recovery machine"),
    },
    "recovery": {
        "while the unit runs": (True, [ON], Recover(runs=True), "stop the unit first"),
        "without a hose": (False, [], Recover(runs=True), "no hose leads"),
        "with the cylinder open": (False, [ON, OPEN], Recover(runs=True), "shut the cylinder first"),
    },
    "vacuum_pump": {
        "while the unit runs": (True, [ON], Evacuate(runs=True), "stop the unit first"),
        "without a hose": (False, [], Evacuate(runs=True), "no hose leads"),
        "with the cylinder open": (False, [ON, OPEN], Evacuate(runs=True), "shut the cylinder first"),
        "with pressure in the circuit": (False, [ON], Evacuate(runs=True), "pressure is in the circuit"),
    },
    "nitrogen": {
        "while the unit runs": (True, [ON], NITROGEN, "stop the unit first"),
        "without a hose": (False, [], NITROGEN, "no hose leads"),
        "with the cylinder open": (False, [ON, OPEN], NITROGEN, "shut the cylinder first"),
        "with refrigerant in the circuit": (False, [ON], NITROGEN, "refrigerant in the circuit"),
    },
}


@pytest.mark.parametrize("place", SAID)
def test_what_the_page_says_is_refused_is_refused(place: str) -> None:
    """Its sentences stand beside the keys, whatever was done; each of their clauses is met here."""
    sentence = say(f"hands.refuses.{place}")
    for clause, (runs, before, act, why) in SAID[place].items():
        assert clause in sentence
        hands = at(settled(SAME) if runs else rested(SAME))
        for earlier in before:
            hands.do(earlier)
        with pytest.raises(SimulatorError, match=why):
            hands.do(act)


def test_the_page_says_of_nothing_else_that_it_is_refused() -> None:
    assert {kind.removeprefix("hands.refuses.") for kind in ENGLISH if kind.startswith("hands.refuses.")} == set(SAID)
