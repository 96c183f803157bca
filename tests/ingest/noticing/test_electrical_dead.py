"""Power off, live-dead-live, discharge and capacitance, as instruments show them."""

import math

import pytest
from msgspec.structs import replace

from ingest.wire.messages import Reading
from ingest.wire.sheet import Capacitor, Sheet
from tests.ingest.noticing.courses import KNOWN, T0_S, Course, kinds, known, pack

RUNS = {"compressor_current": 9.0, "condenser_fan_current": 1.6, "line_voltage_ab": 238.0}
OFF = {"compressor_current": 0.02, "condenser_fan_current": 0.0, "line_voltage_ab": 0.1}
AT_REST = {**OFF, "line_voltage_ab": 239.0}


def test_power_that_goes_off_is_told_once_with_when_it_was() -> None:
    course = Course()
    course.go(60.0, **RUNS)
    off_s = course.time_s + 0.25
    course.go(120.0, **OFF)
    (seen,) = course.proposed
    assert (seen.says.kind, seen.what.check) == ("noticed.power_off", "isolate")
    assert seen.from_s == pytest.approx(off_s)
    assert seen.time_s - seen.from_s < 11.0
    assert seen.what.values == {"amps.compressor": 0.02, "amps.condenser_fan": 0.0}
    assert "proves nothing dead" in seen.says.us


def test_a_thermostat_that_is_satisfied_is_no_power_off() -> None:
    course = Course(tick_s=1.0)
    for _ in range(5):
        course.go(600.0, **RUNS)
        course.go(600.0, **AT_REST)
    assert "noticed.power_off" not in kinds(course.proposed)


def test_without_volts_power_is_off_only_where_the_blower_stops_with_the_rest() -> None:
    """A blower runs on after a call (common practice, no source), and stops with the others where power goes."""
    runs = {"compressor_current": 9.0, "condenser_fan_current": 1.6, "blower_current": 4.0}
    stops = dict.fromkeys(runs, 0.0)
    course = Course()
    course.go(60.0, **runs)
    course.go(45.0, **stops | {"blower_current": 4.0})
    course.go(60.0, **stops)
    assert course.proposed == []
    course.go(60.0, **runs)
    course.go(60.0, **stops)
    off = [it for it in course.proposed if it.what.check == "isolate"]
    assert kinds(off) == ["noticed.power_off_by_amps"]
    assert "Zero amps is no proof of anything dead" in off[0].says.us


def test_without_volts_and_blower_nothing_tells_power_from_a_call() -> None:
    course = Course()
    course.go(60.0, compressor_current=9.0, condenser_fan_current=1.6)
    course.go(60.0, compressor_current=0.0, condenser_fan_current=0.0)
    assert course.proposed == []


def test_power_that_comes_back_is_told_with_the_rest_before_the_start() -> None:
    course = Course()
    course.go(60.0, **RUNS)
    course.go(300.0, **OFF)
    back_s = course.time_s + 0.25
    course.go(20.0, **AT_REST)
    course.go(20.0, **RUNS)
    back = next(it for it in course.proposed if it.what.check == "power_back")
    assert (back.says.kind, back.from_s) == ("noticed.power_back", pytest.approx(back_s))
    assert back.what.values["since_stop"] == pytest.approx(320.25, abs=0.1)
    assert back.what.choices == {"call": "present", "contactor": "in"}


def test_power_that_comes_back_while_a_lock_stands_asks_for_hands_out_of_the_panel() -> None:
    """29 CFR 1910.147(e), from memory."""
    course = Course(of=known(is_locked=True))
    course.go(60.0, **RUNS)
    course.go(300.0, **OFF)
    course.go(20.0, **RUNS)
    back = next(it for it in course.proposed if it.what.check == "power_back")
    assert back.says.kind == "noticed.power_back_locked"
    assert "nobody has said that the lock is off: hands out of the panel. The compressor draws" in back.says.us


def test_a_start_too_soon_after_power_is_back_says_so() -> None:
    """Makers ask for 5 min between starts."""
    course = Course()
    course.go(60.0, **RUNS)
    course.go(60.0, **OFF)
    course.go(30.0, **RUNS)
    assert "noticed.power_back_early" in kinds(course.proposed)


METER = {"compressor_current": 0.0, "line_voltage_ab": 0.0}


def test_live_dead_live_of_one_meter_counts_places_and_asks_for_their_names() -> None:
    course = Course(spreads={"multimeter_ac_voltage": 0.5})
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    for dead_v in (0.4, 0.2, 0.1):
        course.go(4.0, multimeter_ac_voltage=dead_v)
        course.go(4.0, multimeter_ac_voltage=239.0)
    course.go(40.0)
    (seen,) = course.proposed
    assert (seen.says.kind, seen.what.check) == ("noticed.dead_unnamed", "prove_dead")
    assert "then below 3 V (a meter moved from one dead pair to the next looks like one place)" in seen.says.us
    assert seen.what.places == 3
    assert seen.what.values == {"source_before": 238.0, "source_after": 239.0, "volts.?": 0.4}
    assert list(seen.what.per) == ["a_b", "a_earth", "b_earth", "control", "load_side"]
    assert seen.time_s - seen.to_s < 33.0


@pytest.mark.parametrize(("phases", "pairs"), [(1, 5), (3, 8)])
def test_the_pairs_to_name_are_those_of_the_unit_s_phases(phases: int, pairs: int) -> None:
    """L1 to L2, each to ground, the control circuit, the load side; of three phases two pairs and one leg more."""
    course = Course(of=known(sheet=Sheet(tag="x", circuits=[], phases=phases)))  # type: ignore[arg-type]
    for volts in (238.0, 0.1, 238.0):
        course.go(20.0, **METER, multimeter_ac_voltage=volts)
    course.go(20.0)
    (seen,) = course.proposed
    assert len(seen.what.per) == pairs


@pytest.mark.parametrize(
    ("stands", "places", "pairs"),
    [
        ({"line_voltage_ab": 0.0}, 1, 5),  # no clamp: the voltmeter alone is witness enough
        ({"line_voltage_ab": 0.0, "line_voltage_bc": 0.0}, 1, 8),  # a second pair tells of three phases
        ({"compressor_current": 9.0, "line_voltage_ab": 0.0}, 0, 0),
    ],
)
def test_it_is_proved_at_any_hour_of_a_visit_by_whatever_bears_witness(
    stands: dict[str, float], places: int, pairs: int
) -> None:
    course = Course(of=known(sheet=None))
    course.ticks = 4 * 7200
    for volts in (238.0, 0.1, 238.0):
        course.go(10.0, **stands, multimeter_ac_voltage=volts)
    course.go(30.0)
    seen = [it for it in course.proposed if it.what.check == "prove_dead"]
    assert [(it.what.places, len(it.what.per)) for it in seen] == ([(places, pairs)] if places else [])


def test_a_place_counts_from_when_nothing_else_finds_it_live() -> None:
    course = Course()
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    course.go(10.0, compressor_current=9.0, multimeter_ac_voltage=0.1)
    course.go(10.0, compressor_current=0.0)
    course.go(45.0, multimeter_ac_voltage=238.0)
    (seen,) = (it for it in course.proposed if it.what.check == "prove_dead")
    assert seen.what.places == 1


VOLTMETERS = ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca")


@pytest.mark.parametrize("meter", [{}, {"multimeter_ac_voltage": 239.0}], ids=["none", "clipped on, too"])
@pytest.mark.parametrize("voltmeters", [(), VOLTMETERS[:1], VOLTMETERS])
def test_power_that_goes_and_comes_back_proves_nothing_dead(
    meter: dict[str, float], voltmeters: tuple[str, ...]
) -> None:
    """Leads that stay where they are show live, dead and live, too."""
    live = {"compressor_current": 0.0, **dict.fromkeys(voltmeters, 238.0), **meter}
    course = Course()
    for _ in range(2):
        course.go(60.0, **live)
        course.go(60.0, **dict.fromkeys(live, 0.1))
    course.go(120.0, **live)
    assert "prove_dead" not in [it.what.check for it in course.proposed]


def followed(course: Course, seconds: float, every_s: float, meter_v: float, line_v: float) -> None:
    """A voltmeter of the supply that is read more rarely than the meter; from the first of these it shows line_v."""
    for tick in range(round(4 * seconds)):
        course.ticks += 1
        rarely_s = T0_S + math.floor(0.25 * course.ticks / every_s) * every_s
        readings = {
            "multimeter_ac_voltage": Reading(meter_v, course.time_s),
            "compressor_current": Reading(0.0, course.time_s),
            "line_voltage_ab": Reading(line_v, rarely_s - (every_s if tick < 4 else 0.0)),
        }
        course.follow(pack(course.ticks, readings))


@pytest.mark.parametrize(("comes_back", "told"), [(True, 0), (False, 1)])
def test_a_voltmeter_that_is_read_rarely_is_waited_for(comes_back: bool, told: int) -> None:
    """For some seconds it still shows what it showed before."""
    course = Course()
    followed(course, 20.0, 5.0, 238.0, 238.0)
    followed(course, 20.0, 5.0, 0.1, 0.1)
    followed(course, 1.5, 60.0, 238.0, 0.1)
    followed(course, 40.0, 5.0, 238.0, 238.0 if comes_back else 0.1)
    assert kinds(course.proposed).count("noticed.dead_unnamed") == told


@pytest.mark.parametrize("silent", ["dead", "live"])
@pytest.mark.parametrize("heard", ["anew", "late", "once"])
def test_what_the_meter_showed_before_its_link_fell_silent_is_not_taken(silent: str, heard: str) -> None:
    """One sample that stands in every pack until it is stale is one sample; so is one that comes long after it was."""
    course = Course()
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    for volts, seconds in ((0.1, 10.0), (238.0, 10.0)):
        if (silent == "dead") != (volts == 0.1):
            course.go(seconds, multimeter_ac_voltage=volts)
            continue
        sampled_s = course.time_s + (1.5 if heard == "once" else 0.0)  # as the first of the packs that have it
        for tick in range(round(4 * seconds)):
            course.ticks += 1
            late_s = sampled_s + 0.1 * tick if heard == "late" else sampled_s  # ever more than 1 s behind
            still = {name: Reading(value, course.time_s) for name, value in METER.items()}
            course.follow(pack(course.ticks, {**still, "multimeter_ac_voltage": Reading(volts, late_s - 1.25)}))
    course.go(3.0, multimeter_ac_voltage=30.0)
    course.go(40.0)
    assert "prove_dead" not in [it.what.check for it in course.proposed]


def test_a_voltmeter_that_is_read_no_more_bears_no_witness() -> None:
    course = Course()
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    course.go(10.0, multimeter_ac_voltage=0.1)
    for _ in range(4 * 60):
        course.ticks += 1
        readings = {
            "multimeter_ac_voltage": Reading(238.0, course.time_s),
            "line_voltage_ab": Reading(0.0, T0_S + 20.0),
        }
        course.follow(pack(course.ticks, readings))
    assert course.proposed == []


@pytest.mark.parametrize("power", [{"line_voltage_ab": 238.0}, {"compressor_current": 9.0}])
@pytest.mark.parametrize("proved", [False, True])
def test_what_was_dead_before_there_was_power_is_not_told_and_is_no_pair_of_those_after_it(
    power: dict[str, float], proved: bool
) -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it, each time anew."""
    course = Course()
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    course.go(10.0, multimeter_ac_voltage=0.1)
    course.go(10.0, multimeter_ac_voltage=238.0 if proved else 20.0)
    course.go(2.0, **power)
    course.go(40.0, **METER)
    assert "prove_dead" not in [it.what.check for it in course.proposed]
    for volts in (238.0, 0.1, 238.0):
        course.go(10.0, multimeter_ac_voltage=volts)
    course.go(40.0)
    (anew,) = (it for it in course.proposed if it.what.check == "prove_dead")
    assert anew.what.places == 1


def test_what_was_proved_is_told_once_no_other_pair_follows() -> None:
    course = Course()
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    course.go(10.0, multimeter_ac_voltage=0.1)
    course.go(10.0, multimeter_ac_voltage=238.0)
    course.go(40.0)
    (seen,) = (it for it in course.proposed if it.what.check == "prove_dead")
    assert seen.to_s - T0_S == pytest.approx(21.25, abs=0.5)
    assert "the supply was still dead then" in seen.says.us


@pytest.mark.parametrize(
    "beside",
    [
        {"compressor_current": 9.0, "line_voltage_ab": 238.0},  # it runs
        {"compressor_current": 0.0, "line_voltage_ab": 238.0},  # at rest, and live
        {},  # nothing tells
        {"compressor_current": 0.0},  # nor does this: at rest it draws nothing either
    ],
    ids=["a motor draws", "another voltmeter finds it live", "nothing else is linked", "no voltmeter is"],
)
def test_leads_in_the_air_prove_nothing(beside: dict[str, float]) -> None:
    course = Course()
    course.go(10.0, **beside, multimeter_ac_voltage=238.0)
    course.go(10.0, multimeter_ac_voltage=0.0)
    course.go(60.0, multimeter_ac_voltage=238.0)
    assert [it for it in course.proposed if it.what.check == "prove_dead"] == []


@pytest.mark.parametrize(("dead_v", "after_v"), [(0.1, 0.1), (3.5, 238.0), (49.0, 238.0), (0.1, 30.0)])
def test_a_source_that_is_not_seen_again_or_a_pair_that_is_not_dead_is_not_told(dead_v: float, after_v: float) -> None:
    course = Course()
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    course.go(10.0, multimeter_ac_voltage=dead_v)
    course.go(60.0, multimeter_ac_voltage=after_v)
    assert course.proposed == []


def test_a_source_of_long_ago_proves_no_tester() -> None:
    course = Course(tick_s=1.0)
    course.go(10.0, **METER, multimeter_ac_voltage=238.0)
    course.go(1200.0, multimeter_ac_voltage=0.0)
    course.go(60.0, multimeter_ac_voltage=238.0)
    assert course.proposed == []


def test_a_capacitor_that_empties_through_a_resistor_is_told_with_what_is_left() -> None:
    """V = V0 exp(-t / RC): 20 kohm, 45 uF, 523 V reach 5 V after 4.2 s."""
    course = Course()
    course.go(5.0, multimeter_dc_voltage=523.0)
    from_s = course.time_s
    course.go(12.0, multimeter_dc_voltage=lambda t_s: 523.0 * math.exp(-t_s / 0.9))
    (seen,) = course.proposed
    assert (seen.says.kind, seen.what.check) == ("noticed.discharge", "discharge")
    assert seen.from_s == pytest.approx(from_s, abs=0.5)
    (left_v,) = seen.what.values.values()
    assert left_v < 5.0
    assert set(seen.what.values) == {"volts.?"}
    assert set(seen.what.per) == {"herm_common", "fan_common", "herm_fan"}
    assert "within 4 s" in seen.says.us


@pytest.mark.parametrize("then_v", [0.0, 20.0], ids=["lifted off", "left charged"])
def test_leads_that_are_lifted_off_discharge_nothing(then_v: float) -> None:
    course = Course()
    course.go(5.0, multimeter_dc_voltage=330.0)
    course.go(60.0, multimeter_dc_voltage=then_v)
    assert course.proposed == []


def test_a_capacitor_that_takes_minutes_was_not_discharged_by_a_resistor() -> None:
    course = Course()
    course.go(5.0, multimeter_dc_voltage=330.0)
    course.go(900.0, multimeter_dc_voltage=lambda t_s: 330.0 * math.exp(-t_s / 120.0))
    assert course.proposed == []


@pytest.mark.parametrize(
    ("microfarad", "spread", "kind"),
    [
        (44.6, 0.2, "noticed.capacitor_sound"),
        (38.0, 0.2, "noticed.capacitor_failed"),
        (42.4, 0.2, "noticed.capacitor_undecided"),  # 45 uF - 6 % is 42.3
    ],
)
def test_the_first_steady_reading_of_a_section_is_held_against_its_label(
    microfarad: float, spread: float, kind: str
) -> None:
    course = Course(spreads={"capacitance_herm": spread * 1e-6})
    course.go(10.0, capacitance_herm=0.0)
    course.go(1.0, capacitance_herm=lambda t_s: microfarad * 1e-6 * (0.5 + 0.5 * t_s))
    course.go(60.0, capacitance_herm=microfarad * 1e-6)
    (seen,) = course.proposed
    assert (seen.says.kind, seen.what.check, seen.what.part) == (kind, "capacitor_measured", "run capacitor")
    assert seen.what.values == {
        "measured.herm": pytest.approx(microfarad * 1e-6), "label.herm": 45e-6, "tolerance": 0.06
    }  # fmt: skip
    assert ("cannot tell" in seen.says.us) == (kind == "noticed.capacitor_undecided")
    assert seen.time_s - seen.from_s < 3.0


CAN = "run capacitor"
"""Of 45 and 5 µF, the one of the sheet."""


def test_a_multimeter_does_not_know_on_which_section_it_is() -> None:
    course = Course(of=known(sheet=None))
    course.go(5.0, multimeter_capacitance=0.0)
    course.go(10.0, multimeter_capacitance=9e-6)
    course.go(10.0, multimeter_capacitance=45e-6)  # the new one, without a break
    course.go(10.0, multimeter_capacitance=None)
    course.go(10.0, multimeter_capacitance=45e-6)  # and again
    assert kinds(course.proposed) == ["noticed.capacitor_unnamed"] * 3
    assert [it.what.values for it in course.proposed] == [
        {"measured.?": 9e-6}, {"measured.?": 45e-6}, {"measured.?": 45e-6}
    ]  # fmt: skip
    assert set(course.proposed[0].what.per) == {"herm", "fan"}


def measured_in_turn(*microfarads: float, pause_s: float = 5.0, sheet: Sheet | None = KNOWN.sheet) -> list[str]:
    """Put a multimeter on one section after the other; give of each reading the figure by which it is proposed."""
    course = Course(of=known(sheet=sheet), spreads={"multimeter_capacitance": 2.5e-8})
    for microfarad in microfarads:
        course.go(pause_s, multimeter_capacitance=None)
        course.go(10.0, multimeter_capacitance=microfarad * 1e-6)
    return [next(iter(it.what.values)).removeprefix("measured.") for it in course.proposed]


@pytest.mark.parametrize(
    ("microfarads", "sections"),
    [
        ((43.6, 5.0), ["herm", "fan"]),
        ((38.0, 4.72), ["herm", "fan"]),  # a section that has failed, beside one that is just within its 6 %
        ((9.0,), ["?"]),  # the one at a fifth of its label, or another can's other
        ((9.0, 45.0, 5.0), ["?", "herm", "fan"]),  # renewed in between
        ((5.0, 43.6), ["?", "herm"]),  # before the larger was read, 5 µF may be what is left of it
        ((43.6, 4.5), ["herm", "?"]),  # 45 and 5 µF in a row read 4.5: from terminal to terminal, past common
        ((22.4,), ["?"]),
        ((22.6,), ["herm"]),  # half of its label
    ],
)
def test_a_reading_is_of_the_section_that_alone_can_read_so(
    microfarads: tuple[float, ...], sections: list[str]
) -> None:
    """Capacitors in a row: the product of both by their sum (series connection, any textbook): 225/50 is 4.5 µF."""
    assert measured_in_turn(*microfarads) == sections


def test_what_was_read_long_before_tells_nothing_of_what_is_read_now() -> None:
    assert measured_in_turn(43.6, 5.0, pause_s=700.0) == ["herm", "?"]


def test_of_two_cans_or_one_section_a_person_says_which_it_was() -> None:
    sheet = KNOWN.sheet
    assert sheet is not None
    two = replace(sheet, parts=[*sheet.parts, Capacitor("second", herm_f=40e-6, fan_f=5e-6)])
    single = replace(sheet, parts=[Capacitor("run", herm_f=45e-6)])
    assert measured_in_turn(43.6, 5.0, sheet=two) == ["?", "?"]
    assert measured_in_turn(43.6, sheet=replace(single, parts=[])) == ["?"]
    assert measured_in_turn(43.6, sheet=single) == ["?"]


def test_of_a_can_of_the_sheet_it_is_known_how_many_sections_it_has_before_one_is_named() -> None:
    course = Course()
    course.go(10.0, multimeter_capacitance=9e-6)
    (seen,) = course.proposed
    assert (seen.what.choices, seen.what.part, set(seen.what.per)) == ({"sections": "dual"}, CAN, {"herm", "fan"})


def test_a_section_that_is_told_by_its_label_says_so_and_is_held_against_it() -> None:
    course = Course(spreads={"multimeter_capacitance": 2.5e-8})
    course.go(10.0, multimeter_capacitance=38e-6)
    course.go(10.0, multimeter_capacitance=5e-6)
    herm, fan = course.proposed
    assert kinds([herm, fan]) == ["noticed.capacitor_only_failed", "noticed.capacitor_other_sound"]
    assert "no section of this can but herm to common reads so much" in herm.says.us
    assert "below 42.30 to 47.70 µF" in herm.says.us
    assert herm.what.values == {"measured.herm": 38e-6, "label.herm": 45e-6, "tolerance": 0.06}
    assert (herm.what.choices, herm.what.per, herm.what.part) == ({"sections": "dual"}, {}, CAN)
    assert "beside the section that was read before: fan to common" in fan.says.us


def test_a_reading_that_swings_is_not_taken() -> None:
    course = Course()
    course.go(60.0, capacitance_fan=lambda t_s: 5e-6 + 0.5e-6 * math.sin(t_s))
    assert course.proposed == []


def test_without_a_label_a_section_is_told_without_a_verdict() -> None:
    course = Course(of=known(sheet=None))
    course.go(10.0, capacitance_fan=5e-6)
    assert kinds(course.proposed) == ["noticed.capacitor"]
    assert KNOWN.sheet is not None
