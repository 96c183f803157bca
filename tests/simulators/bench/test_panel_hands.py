"""What a technician finds with meter and clamp at the bench's panel, and what hands change there.

The arithmetic beside the checks is Ohm's, the capacitor's and the trade's; what a meter shows in its frames is read by
our decoder from the bytes of the simulated one, which are made by hand from the chip's table.
"""

import math
from dataclasses import replace

import pytest

from ingest.decode.fs9721 import decode_fs9721
from ingest.frames import Frame, Stamp, Unreadable
from ingest.wire.bench_acts import (
    Act,
    BlockMotor,
    CloseJaw,
    Discharge,
    FitCapacitor,
    Panel,
    PlaceLeads,
    PressHold,
    SetLug,
    SetSupply,
    SetThermostat,
    SwapLeads,
    ThrowDisconnect,
    TurnDial,
)
from simulators.bench.hands import Hands, without_arranged
from simulators.bench.scenario import ScenarioError, load_scenario, parse_scenario
from simulators.device.meter import FUNCTIONS, frame, ranged
from simulators.errors import SimulatorError
from simulators.unit.faults import Faults
from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters
from tests.simulators.unit.settled import rested, settled


def long_lines() -> UnitParameters:
    """Of one phase, with every section in its place."""
    return load_scenario("long_lines").parameters


def hums_and_trips() -> UnitParameters:
    return load_scenario("hums_and_trips").parameters


def at(unit: Unit) -> Hands:
    """Stand there with the panel off."""
    hands = Hands(unit, refrigerant="R-454B", outdoor_air_k=303.15)
    hands.panel.is_on = False
    return hands


def dead(parameters: UnitParameters) -> Unit:
    """One that ran, switched off a while ago."""
    unit = settled(parameters)
    unit.disconnect(closed=False)
    unit.step(1.0)
    return unit


def shown(hands: Hands, function: str, red: str, black: str) -> float:
    hands.do(TurnDial(function=function))  # type: ignore[arg-type]
    hands.do(PlaceLeads(red=red, black=black))
    return hands.readings()[f"multimeter_{function}"]


def do(hands: Hands, unit: Unit, *acts: Act, seconds: float = 0.25) -> None:
    for act in acts:
        hands.do(act)
    unit.step(seconds)


def test_hold_stops_the_display_until_it_is_pressed_again_or_the_dial_turned() -> None:
    """As handheld meters do: common practice, no source."""
    hands = at(settled(long_lines()))
    for act, held in ((PressHold(), True), (PressHold(), False), (PressHold(), True)):
        hands.do(act)
        assert hands.state.held is held
    hands.do(TurnDial(function="dc_voltage"))
    assert hands.state.held is False


def test_a_unit_that_hums_is_made_dead_repaired_and_started() -> None:
    unit = rested(hums_and_trips())
    hands = at(unit)
    do(hands, unit, SetThermostat(calls=True), seconds=3.0)
    assert hands.state.sound == "hums"
    assert hands.readings().get("compressor_current") is None  # nothing is in the jaw by hand
    unit.step(30.0)
    assert unit.true_state()["compressor_current"] == 0.0  # its protector has opened
    assert shown(hands, "ac_voltage", "contactor_load_a", "contactor_load_b") == pytest.approx(238.0, rel=0.01)
    do(hands, unit, ThrowDisconnect(closed=False))
    for red, black in (("a", "b"), ("a", "earth"), ("b", "earth")):
        ends = [point if point == "earth" else f"contactor_line_{point}" for point in (red, black)]
        assert shown(hands, "ac_voltage", *ends) < 3.0  # common practice: dead
    assert shown(hands, "ac_voltage", "line_a", "line_b") == pytest.approx(238.0, rel=0.01)  # the meter lives
    do(hands, unit, SetLug(lug="capacitor_herm", off=True), SetLug(lug="capacitor_fan", off=True))
    herm_f = shown(hands, "capacitance", "capacitor_herm", "capacitor_common")
    assert herm_f == pytest.approx(0.2 * 45e-6, rel=0.01)  # the scenario's 20 % of the label
    do(hands, unit, FitCapacitor(can="outdoor", sections_f={"herm": 45e-6, "fan": 5e-6}))
    assert shown(hands, "capacitance", "capacitor_herm", "capacitor_common") == pytest.approx(45e-6, rel=0.01)
    do(hands, unit, SetLug(lug="capacitor_herm"), SetLug(lug="capacitor_fan"), SetLug(lug="compressor_common"))
    do(hands, unit, ThrowDisconnect(closed=True), seconds=420.0)
    assert hands.state.sound == "runs"


def test_millivolts_over_a_lug_are_its_resistance_by_its_current() -> None:
    unit = settled(long_lines())
    hands = at(unit)
    do(hands, unit, SetLug(lug="compressor_common", resistance_ohm=0.05), seconds=60.0)
    do(hands, unit, CloseJaw(lead="compressor_common"))
    amps = hands.readings()["compressor_current"]
    over_v = shown(hands, "ac_voltage", "compressor_common_wire", "compressor_common")
    assert over_v == pytest.approx(0.05 * amps, rel=0.02)
    unit.electric.set_joint("compressor_common")
    unit.step(60.0)
    assert shown(hands, "ac_voltage", "compressor_common_wire", "compressor_common") < 0.01


def test_ten_turns_through_the_jaw_are_ten_times_the_current() -> None:
    unit = settled(long_lines())
    hands = at(unit)
    fan_a = unit.true_state()["condenser_fan_current"]
    do(hands, unit, CloseJaw(lead="fan_common", turns=10))
    assert hands.readings()["compressor_current"] == pytest.approx(10 * fan_a, rel=0.02)
    assert hands.state.turns == 10
    do(hands, unit, CloseJaw())
    assert "compressor_current" not in hands.readings()


def test_a_resistor_takes_a_capacitor_down_with_its_time_constant() -> None:
    """R C ln(V / v): 20 kohm and 45 uF take 0.9 s to the e-th part."""
    unit = settled(long_lines())
    hands = at(unit)
    for lug in ("capacitor_herm", "capacitor_fan", "capacitor_common"):  # no winding empties it
        unit.electric.set_joint(lug, math.inf)
    do(hands, unit, ThrowDisconnect(closed=False))
    before_v = abs(shown(hands, "dc_voltage", "capacitor_herm", "capacitor_common"))
    assert before_v > 50.0  # it was not switched off near a zero of its voltage
    do(hands, unit, Discharge(section="herm", resistance_ohm=20e3, duration_s=0.9), seconds=0.0)
    after_v = abs(shown(hands, "dc_voltage", "capacitor_herm", "capacitor_common"))
    assert after_v == pytest.approx(before_v / math.e, rel=0.03)


def test_megohms_come_in_the_place_of_ohms_and_a_live_part_shows_its_volts_and_a_warning() -> None:
    """A tester of insulation that finds volts shows them and does not test: common practice, no source."""
    unit = rested(long_lines())
    hands = at(unit)
    hands.do(TurnDial(function="insulation"))
    assert math.isinf(hands.readings()["multimeter_resistance"])  # its leads hang in the air
    hands.do(PlaceLeads(red="line_a", black="earth"))
    readings = hands.readings()
    assert readings["multimeter_ac_voltage"] == pytest.approx(long_lines().conditions.line_voltage_v / 2, rel=0.01)
    assert math.isnan(readings["multimeter_resistance"])
    assert "does not test" in hands.state.refused
    do(hands, unit, ThrowDisconnect(closed=False), PlaceLeads(red="compressor_run", black="earth"))
    readings = hands.readings()
    assert 1e6 < readings["multimeter_resistance"] < 2e9
    assert math.isnan(readings["multimeter_ac_voltage"])
    assert hands.state.refused == ""


def test_the_meter_shows_nothing_where_there_is_nothing_to_show() -> None:
    unit = settled(long_lines())
    hands = at(unit)
    readings = hands.readings()
    assert readings["multimeter_ac_voltage"] == 0.0  # its leads hang in the air
    assert math.isnan(readings["multimeter_resistance"])  # its dial is elsewhere
    assert math.isinf(shown(hands, "resistance", "contactor_load_a", "contactor_load_b"))  # ohms on a live circuit
    assert "no ohms can be read with 2" in hands.state.refused
    assert hands.state.refused_act == "dial"
    do(hands, unit, ThrowDisconnect(closed=False))
    assert math.isinf(shown(hands, "capacitance", "compressor_common", "compressor_common"))  # lead on lead
    assert shown(hands, "resistance", "compressor_common", "compressor_common") == 0.0
    hands.do(PlaceLeads())
    assert math.isinf(hands.readings()["multimeter_resistance"])
    hands.do(TurnDial(function="capacitance"))
    assert hands.readings()["multimeter_capacitance"] == 0.0


def test_supply_leads_and_motors_are_changed_as_asked() -> None:
    unit = settled(UnitParameters())
    hands = at(unit)
    do(hands, unit, SetSupply(sag_ratio=0.1), seconds=1.0)
    assert unit.true_state()["line_voltage_ab"] == pytest.approx(0.9 * 230.0, rel=0.02)
    do(hands, unit, SetSupply(), seconds=30.0)
    sound_a = unit.true_state()["compressor_current_a"]
    do(hands, unit, SetSupply(lost=("c",)), seconds=1.0)  # a running motor keeps the volts up: its amps tell
    assert unit.true_state()["compressor_current_c"] < 0.7 * sound_a  # what it feeds the fans with
    assert unit.true_state()["compressor_current_a"] > 1.4 * sound_a  # towards sqrt 3, as textbooks have it
    exchange = (ThrowDisconnect(closed=False), SwapLeads(one="a", other="b"), ThrowDisconnect(closed=True))
    do(hands, unit, SetSupply(), *exchange, seconds=330.0)
    assert hands.state.sound == "rattles"  # a scroll that turns backwards
    do(hands, unit, *exchange, BlockMotor(motor="fan", blocked=True), seconds=330.0)
    assert unit.electric.fan_speed < 0.05


def test_swapped_at_the_source_a_scroll_turns_backwards_until_it_is_put_right() -> None:
    unit = settled(UnitParameters())
    hands = at(unit)
    do(hands, unit, SetThermostat(calls=False), SetSupply(swapped=True), SetSupply(swapped=True), seconds=330.0)
    do(hands, unit, SetThermostat(calls=True), seconds=10.0)
    assert hands.state.sound == "rattles"
    assert hands.state.supply == SetSupply(swapped=True)
    do(hands, unit, SetSupply(), SetThermostat(calls=False), seconds=330.0)
    do(hands, unit, SetThermostat(calls=True), seconds=10.0)
    assert hands.state.sound == "runs"


def test_the_state_names_what_can_be_touched_and_each_of_it_is_there() -> None:
    for parameters, legs, names in (
        (long_lines(), "ab", ["herm", "fan", "blower"]),
        (UnitParameters(), "abc", ["fan", "blower"]),
    ):
        hands = at(dead(parameters))
        state = hands.state
        assert "".join(state.legs) == legs
        assert {section.name for section in state.sections} == set(names)
        for lug in state.lugs:
            hands.do(CloseJaw(lead=lug))
        for section in state.sections:
            hands.do(Discharge(section=section.name, resistance_ohm=2e4, duration_s=1.0))
            hands.do(PlaceLeads(red=section.lug, black=section.common))
            assert section.lug in state.lugs
        for motor in state.motors:
            hands.do(BlockMotor(motor=motor, blocked=False))


def test_the_state_keeps_what_hands_did_and_nothing_of_what_is_wrong() -> None:
    sound = at(settled(long_lines())).state
    faults = Faults(herm_capacitor=0.9, fan_capacitor=0.8, lug_resistance_ohm=0.05, voltage_sag=0.03)
    assert at(settled(replace(long_lines(), faults=faults))).state == sound
    hands = at(dead(long_lines()))
    done: list[Act] = [
        SetLug(lug="capacitor_fan", off=True), SetSupply(sag_ratio=0.1), BlockMotor(motor="fan", blocked=True),
        SetLug(lug="fan_run", resistance_ohm=0.2),
    ]  # fmt: skip
    for act in done:
        hands.do(act)
    with pytest.raises(SimulatorError):
        hands.do(CloseJaw(turns=0))
    assert hands.state.last == tuple(reversed(done))
    assert (hands.state.lugs_off, hands.state.refused_act) == (("capacitor_fan",), "clamp")
    hidden = without_arranged(hands.state)
    assert (hidden.last, hidden.supply, hidden.blocked) == ((done[0],), SetSupply(), ())
    hands.do(SetLug(lug="capacitor_fan"))
    assert hands.state.lugs_off == ()


@pytest.mark.parametrize(
    ("act", "why"),
    [
        (PlaceLeads(red="nowhere", black="earth"), "no point 'nowhere'; there are"),
        (CloseJaw(lead="nowhere"), "nowhere"),
        (CloseJaw(lead="fan_common", turns=0), "1 to 20 times"),
        (SetLug(lug="nowhere"), "nowhere"),
        (SetLug(lug="fan_common", resistance_ohm=0.0), "less than a sound lug has"),
        (FitCapacitor(can="outdoor", sections_f={"herm": 40e-6}), "no capacitor"),
        (Discharge(section="nowhere", resistance_ohm=2e4, duration_s=1.0), "nowhere"),
        (SetSupply(lost=("d",)), "no leg 'd'"),
        (SetSupply(sag_ratio=1e308), "from 0 to 1 of the line voltage"),
        (SetSupply(sag_ratio=math.nan), "from 0 to 1 of the line voltage"),
        (Discharge(section="herm", resistance_ohm=0.0, duration_s=1.0), "short circuit: it flashes"),
        (Discharge(section="herm", resistance_ohm=-2e4, duration_s=1.0), "short circuit"),
        (Discharge(section="herm", resistance_ohm=math.nan, duration_s=1.0), "nan ohm is no resistor"),
        (Discharge(section="herm", resistance_ohm=2e4, duration_s=-1.0), "held for -1 s"),
        (FitCapacitor(can="outdoor", sections_f={"herm": 40.0, "fan": 5e-6}), "herm: 4e.07 uF is no capacitor"),
        (FitCapacitor(can="outdoor", sections_f={"herm": 40e-6, "fan": -5e-6}), "fan: -5 uF is no capacitor"),
        (SetSupply(swapped=True), "only legs of three"),
        (BlockMotor(motor="pump", blocked=True), "pump"),
    ],
)
def test_what_is_not_there_is_refused_by_name(act: Act, why: str) -> None:
    hands = at(dead(long_lines()))
    with pytest.raises(SimulatorError, match=why):
        hands.do(act)


@pytest.mark.parametrize(
    "act",
    [
        PlaceLeads(red="contactor_load_a", black="line_b"),
        CloseJaw(lead="fan_common"),
        SetLug(lug="capacitor_herm"),
        SwapLeads(one="a", other="b"),
        FitCapacitor(can="outdoor", sections_f={"herm": 45e-6, "fan": 5e-6}),
        Discharge(section="herm", resistance_ohm=2e4, duration_s=1.0),
    ],
)
def test_nothing_behind_a_panel_is_reached_while_it_is_on(act: Act) -> None:
    hands = at(dead(long_lines()))
    hands.do(Panel(on=True))
    with pytest.raises(SimulatorError, match="the panel is on: take it off first"):
        hands.do(act)
    hands.do(Panel(on=False))
    hands.do(act)


def test_leads_go_on_through_a_panel_and_the_disconnect_has_a_box_of_its_own() -> None:
    hands = at(dead(long_lines()))
    inside = PlaceLeads(red="compressor_common_wire", black="compressor_common")
    for act in (inside, CloseJaw(lead="fan_common"), Panel(on=True)):
        hands.do(act)
    hands.do(CloseJaw(lead="fan_common", turns=5))
    hands.do(PlaceLeads(red="compressor_common_wire", black="earth"))
    hands.do(PlaceLeads(red="line_a", black="disconnect_b"))
    hands.do(SetLug(lug="disconnect_a"))
    for off in (PlaceLeads(), CloseJaw()):
        hands.do(off)
    with pytest.raises(SimulatorError, match="the panel is on"):
        hands.do(inside)


@pytest.mark.parametrize(
    ("act", "lug"),
    [
        (SetLug(lug="compressor_common"), "compressor_common"),
        (SetLug(lug="disconnect_a", off=True), "disconnect_a"),
        (
            SwapLeads(one="a", other="b"),
            "contactor_line_a",
        ),  # no call: its own lugs are dead, those beside them are not
        (FitCapacitor(can="outdoor", sections_f={"herm": 45e-6, "fan": 5e-6}), "capacitor_common"),
        (Discharge(section="blower", resistance_ohm=2e4, duration_s=1.0), "capacitor_blower"),
    ],
)
def test_no_bare_hand_goes_into_a_live_panel(act: Act, lug: str) -> None:
    """Work from 50 V on is done dead: 29 CFR 1910.333(a)(1), from memory."""
    unit = settled(long_lines())
    hands = at(unit)
    if isinstance(act, SwapLeads):
        do(hands, unit, SetThermostat(calls=False), seconds=1.0)
    with pytest.raises(SimulatorError, match=rf"{lug} is live, \d\d\d V to earth: open and lock the disconnect"):
        hands.do(act)
    do(hands, unit, ThrowDisconnect(closed=False), seconds=1.0)
    hands.do(act)


def test_a_charged_capacitor_is_discharged_before_it_is_touched_and_no_meter_tells_its_farads() -> None:
    unit = settled(long_lines())
    hands = at(unit)
    for lug in ("capacitor_herm", "capacitor_fan", "capacitor_common"):
        unit.electric.set_joint(lug, math.inf)
    do(hands, unit, ThrowDisconnect(closed=False))
    charge_v = abs(shown(hands, "dc_voltage", "capacitor_herm", "capacitor_common"))
    assert math.isinf(shown(hands, "capacitance", "capacitor_herm", "capacitor_common"))
    assert f"no farads can be read with {charge_v:.0f} V on the leads" in hands.state.refused
    fit = FitCapacitor(can="outdoor", sections_f={"herm": 45e-6, "fan": 5e-6})
    for act in (fit, SetLug(lug="capacitor_herm")):
        with pytest.raises(SimulatorError, match=r"\d\d V are left in the (herm|fan) section: discharge it first"):
            hands.do(act)
    for section in ("herm", "fan"):
        hands.do(Discharge(section=section, resistance_ohm=20e3, duration_s=8.0))
    assert hands.readings()["multimeter_capacitance"] == pytest.approx(45e-6, rel=0.01)
    assert hands.state.refused == ""
    hands.do(fit)


@pytest.mark.parametrize(
    ("function", "value", "read"),
    [
        ("capacitance", 45.23e-6, 45.23e-6),
        ("capacitance", 5.02e-6, 5.02e-6),
        ("resistance", 1.24, 1.24),
        ("resistance", 15.2e3, 15.2e3),
        ("resistance", 2.4e6, 2.4e6),
        ("insulation", 0.35e6, 0.35e6),
        ("insulation", 512e6, 512e6),
        ("ac_voltage", 0.0521, 0.0521),
        ("ac_voltage", 238.4, 238.4),
        ("dc_voltage", -3.2, -3.2),
    ],
)
def test_what_a_meter_shows_is_what_its_frames_say(function: str, value: float, read: float) -> None:
    number, prefix = ranged(value, function)
    sent = frame(number, {"AUTO", "RS232", *FUNCTIONS[function], *prefix})
    field = "resistance" if function == "insulation" else function
    assert decode_fs9721(Frame(sent, Stamp(0, 0)))[field] == pytest.approx(read, rel=2e-3)


@pytest.mark.parametrize("function", ["capacitance", "resistance", "dc_voltage"])
def test_beyond_every_range_it_shows_an_overload(function: str) -> None:
    number, prefix = ranged(math.inf, function)
    sent = frame(number, {"AUTO", "RS232", *FUNCTIONS[function], *prefix})
    assert decode_fs9721(Frame(sent, Stamp(0, 0)))[function] is Unreadable.OVERLOAD


def test_a_scenario_asks_for_further_instruments_by_name() -> None:
    names = [instrument.name for instrument in load_scenario("hums_and_trips").instruments]
    assert names[4:] == ["multimeter", "scale", "vacuum gauge", "leak detector", "air meter"]
    text = b'title = "t"\nstory = "s"\ncharge = "5 lb"\nalso = ["oscilloscope"]\n[unit]\ntag = "A"\nplace = "p"\n'
    with pytest.raises(ScenarioError, match=r"oscilloscope.*multimeter, scale"):
        parse_scenario(text + b'refrigerant = "R-410A"\nmetering_device = "txv"\n', "a scenario")
