"""Starts, supply, amps, joints and capacitors under load, as instruments show them."""

import math
import re

import pytest
from msgspec.structs import replace

from ingest.visit.deciding import Facts
from ingest.visit.decisions import DECISIONS
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding, KeepAsk, Proposed
from ingest.wire.sheet import Circuit, Sheet
from tests.ingest.noticing.courses import SHEET, UNIT, Course, kinds, known

REST = {"compressor_current": 0.0, "condenser_fan_current": 0.0, "line_voltage_ab": 240.0}
RUNS = {"compressor_current": 9.0, "condenser_fan_current": 1.6, "line_voltage_ab": 236.0}


def start(course: Course, peak_a: float = 60.0) -> None:
    """An inrush that three samples of a quick clamp show, then what it runs on."""
    course.go(1.0, **RUNS | {"compressor_current": peak_a})
    course.go(20.0, **RUNS)


def test_a_start_is_told_once_with_its_peak_and_time() -> None:
    course = Course()
    course.go(400.0, **REST)
    began_s = course.time_s + 0.25
    start(course)
    seen = next(it for it in course.proposed if it.what.check == "start")
    assert (seen.says.kind, seen.from_s) == ("noticed.started", pytest.approx(began_s))
    assert seen.time_s - seen.from_s < 16.0
    assert seen.what.values == {
        "to_speed": pytest.approx(0.75, abs=0.5), "restarts": 0.0, "rest": 240.0, "sag": 4.0
    }  # fmt: skip
    assert seen.what.choices == {"motor": "compressor", "course": "ran", "caught": "record"}
    assert "60 A at most" in seen.says.us


def test_a_record_that_sees_no_inrush_says_so() -> None:
    """4 samples a second do not see an inrush of 0.2 s."""
    course = Course()
    course.go(400.0, **REST)
    course.go(30.0, **RUNS)
    seen = next(it for it in course.proposed if it.what.check == "start")
    assert seen.says.kind == "noticed.start_cannot_tell"
    assert seen.what.choices["caught"] == "not_seen"
    assert "too slow" in seen.says.us


@pytest.mark.parametrize(("sheet", "kind"), [(SHEET, "noticed.first_seconds_stalled"), (None, "noticed.start_stalled")])
def test_a_compressor_that_hums_and_trips_over_and_over_is_told_once(sheet: Sheet | None, kind: str) -> None:
    course = Course(of=known(sheet=sheet))
    for _ in range(6):
        course.go(60.0, **REST)
        course.go(6.0, **RUNS | {"compressor_current": 68.0})
    course.go(60.0, **REST)
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert (seen.says.kind, seen.what.choices["course"]) == (kind, "stalled")
    assert seen.says.us.startswith("Switch it off: it ")  # before all else
    assert len(re.findall(r"\d A\b", seen.says.us)) == 1  # what it drew is said once
    assert "switch it off" in seen.says.us.lower()


@pytest.mark.parametrize(
    ("amps", "parts", "kind", "went"),
    [
        (8.0, True, "noticed.first_seconds_started", "ran"),
        (4.0, False, "noticed.first_seconds_backwards", "backwards"),
    ],
)
def test_amps_and_pressures_say_what_a_start_of_three_phases_means(
    amps: float, parts: bool, kind: str, went: str
) -> None:
    """A scroll that turns backwards draws far less, and the pressures do not part (makers' manuals)."""
    volts = dict.fromkeys(("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"), 240.0)
    legs = {f"compressor_current_{leg}": 0.0 for leg in "abc"}
    course = Course(of=known(sheet=replace(SHEET, phases=3)))
    rest_pa = 1.4e6
    course.go(400.0, **volts, **legs, suction_pressure=rest_pa, liquid_pressure=rest_pa, condenser_fan_current=0.0)
    course.go(0.5, **dict.fromkeys(legs, 60.0 if parts else amps), condenser_fan_current=1.6)
    course.go(
        30.0,
        **dict.fromkeys(legs, amps),
        suction_pressure=lambda t_s: rest_pa - (4e5 * min(t_s / 10.0, 1.0) if parts else 0.0),
        liquid_pressure=lambda t_s: rest_pa + (8e5 * min(t_s / 10.0, 1.0) if parts else 0.0),
    )
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert (seen.says.kind, seen.what.choices["course"]) == (kind, went)
    assert seen.says.us.endswith("Keep it as the start?")


def test_a_start_on_less_than_its_phases_is_none_that_ran() -> None:
    """It may turn on two legs, and burns out (common practice, no source)."""
    volts = dict.fromkeys(("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"), 240.0)
    legs = {"compressor_current_a": 21.0, "compressor_current_b": 0.1, "compressor_current_c": 21.0}
    course = Course(of=known(sheet=replace(SHEET, phases=3)))
    course.go(400.0, **volts, **dict.fromkeys(legs, 0.0), condenser_fan_current=0.0)
    course.go(0.5, **legs | {"compressor_current_a": 60.0, "compressor_current_c": 60.0})
    course.go(30.0, **legs, condenser_fan_current=1.6)
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert (seen.says.kind, seen.what.choices["course"]) == ("noticed.first_seconds_lost_phase", "lost_phase")
    assert seen.says.us.startswith("Phase L2 is missing. Switch it off at the disconnect")


def test_a_compressor_that_stalls_again_after_a_rest_is_told_again_as_a_start_of_that_time() -> None:
    course = Course()
    began_s = []
    for _ in range(2):
        course.go(400.0, **REST)
        began_s.append(course.time_s + 0.25)
        course.go(6.0, **RUNS | {"compressor_current": 68.0})
    course.go(60.0, **REST)
    seen = [it for it in course.proposed if it.what.check == "start"]
    assert [(it.what.choices["course"], it.from_s) for it in seen] == [
        ("stalled", pytest.approx(began_s[0])),
        ("stalled", pytest.approx(began_s[1])),
    ]
    assert len({it.id for it in seen}) == 2


def test_starts_that_go_alike_are_told_once_until_the_power_was_off() -> None:
    course = Course()
    for _ in range(4):
        course.go(400.0, **REST)
        start(course)
    assert kinds(course.proposed).count("noticed.started") == 1
    course.go(400.0, **REST | {"line_voltage_ab": 0.0})
    course.go(400.0, **REST)
    start(course)
    assert kinds(course.proposed).count("noticed.started") == 2


def test_starts_within_five_minutes_are_counted() -> None:
    course = Course()
    course.go(400.0, **REST)
    start(course)
    course.go(30.0, **REST)
    course.go(6.0, **RUNS | {"compressor_current": 68.0})
    course.go(30.0, **REST)
    seen = next(it for it in course.proposed if it.says.kind == "noticed.first_seconds_stalled")
    assert seen.what.values["restarts"] == 1.0


STARTS_AT_PA = 1.4e6


def parts(course: Course, inrush: dict[str, float], inrush_s: float, runs: dict[str, float]) -> None:
    """From equal pressures, that part within ten seconds."""
    still = {"suction_pressure": STARTS_AT_PA, "liquid_pressure": STARTS_AT_PA}
    course.go(400.0, **REST, **still)
    course.go(inrush_s, **inrush)
    course.go(
        30.0,
        **runs,
        suction_pressure=lambda t_s: STARTS_AT_PA - 4e5 * min(t_s / 10.0, 1.0),
        liquid_pressure=lambda t_s: STARTS_AT_PA + 8e5 * min(t_s / 10.0, 1.0),
    )


@pytest.mark.parametrize(
    ("inrush_s", "light_a", "kind"),
    [
        (0.75, 5.0, "noticed.first_seconds_started"),
        (0.75, 8.0, "noticed.first_seconds_weak_capacitor"),  # it draws too much before it has much to do
        (2.0, 5.0, "noticed.first_seconds_weak_capacitor"),
        (4.5, 5.0, "noticed.first_seconds_weak_capacitor"),
    ],
)
def test_a_start_behind_a_weak_capacitor_is_none_that_is_met(inrush_s: float, light_a: float, kind: str) -> None:
    course = Course()
    parts(course, RUNS | {"compressor_current": 60.0}, inrush_s, RUNS | {"compressor_current": light_a})
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert seen.says.kind == kind
    went = "ran" if kind == "noticed.first_seconds_started" else "laboured"
    assert (seen.what.choices["course"], kept(seen)) == (went, "met" if went == "ran" else "not_met")


def kept(seen: Proposed) -> str:
    """Keep it, and give the outcome."""
    facts = Facts(UNIT, {}, frozenset(), frozenset())
    ask = KeepAsk("k1", "Sam", of=seen.id)
    finding = DECISIONS[KeepAsk](ask, ("k1", seen.time_s, "Sam", "technician"), Standing("v1", [seen]), facts)
    assert isinstance(finding, Finding)
    return finding.outcome


def test_a_start_that_took_long_of_a_unit_of_which_nothing_is_known_is_none_that_is_met() -> None:
    course = Course(of=known(sheet=None))
    course.go(400.0, **REST)
    course.go(4.5, **RUNS | {"compressor_current": 60.0})
    course.go(20.0, **RUNS)
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert (seen.says.kind, seen.what.choices["course"], kept(seen)) == ("noticed.start_slow", "laboured", "not_met")


def test_a_start_that_is_tried_twice_within_its_record_is_none_that_is_met() -> None:
    course = Course(of=known(sheet=None))
    course.go(400.0, **REST)
    for _ in range(2):
        course.go(0.75, **RUNS | {"compressor_current": 60.0})
        course.go(2.0, **RUNS)
        course.go(2.0, **REST)
    course.go(20.0, **REST)
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert seen.what.values["restarts"] == 1.0
    assert kept(seen) == "not_met"


@pytest.mark.parametrize(("low_v", "outcome"), [(228.0, "met"), (190.0, "not_met")])
def test_a_start_that_sags_the_volts_is_none_that_is_met(low_v: float, outcome: str) -> None:
    """By 20 % here; 15 % at most, as makers have it (from memory)."""
    course = Course()
    course.go(400.0, **REST)
    course.go(0.75, **RUNS | {"compressor_current": 60.0, "line_voltage_ab": low_v})
    course.go(20.0, **RUNS)
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert (seen.what.values["rest"], seen.what.values["sag"]) == (240.0, 240.0 - low_v)
    assert kept(seen) == outcome


@pytest.mark.parametrize("legs", [("",), ("_a", "_b", "_c")], ids=["one clamp", "three clamps"])
def test_a_scroll_that_turns_backwards_is_told_though_nobody_has_said_of_how_many_phases_it_is(
    legs: tuple[str, ...],
) -> None:
    """It draws far less than its plate, and the pressures stay together (makers' manuals)."""
    channels = [f"compressor_current{leg}" for leg in legs]
    still = {"suction_pressure": STARTS_AT_PA, "liquid_pressure": STARTS_AT_PA}
    course = Course(of=known(sheet=None))
    course.go(400.0, **dict.fromkeys(channels, 0.0), **still)
    course.go(30.0, **dict.fromkeys(channels, 4.0))
    (seen,) = (it for it in course.proposed if it.what.check == "start")
    assert (seen.says.kind, seen.what.choices["course"]) == ("noticed.first_seconds_backwards", "backwards")
    assert ("see how many leads feed it" in seen.says.us) is (len(legs) == 1)
    assert kept(seen) == "not_met"


def test_the_supply_is_told_at_rest_and_running() -> None:
    course = Course(spreads={"line_voltage_ab": 1.0})
    course.go(60.0, **REST)
    course.go(60.0, **RUNS)
    seen = next(it for it in course.proposed if it.what.check == "supply")
    assert seen.says.kind == "noticed.supply"
    assert seen.what.values == {"rest.a_b": 240.0, "running.a_b": 236.0, "nameplate.low": 240.0}
    assert "1.7 % less" in seen.says.us  # 4 of 240 V
    assert seen.to_s - course.packs[240].time_s < 36.0


def test_of_three_pairs_the_unbalance_is_told() -> None:
    """452, 464, 455 V: 1.53 % as an air conditioner's manual prints it."""
    course = Course()
    lines = dict(zip(("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"), (452.0, 464.0, 455.0), strict=True))
    course.go(60.0, compressor_current=0.0, **lines)
    course.go(60.0, compressor_current=9.0)
    seen = next(it for it in course.proposed if it.what.check == "supply")
    assert (seen.says.kind, len(seen.what.values)) == ("noticed.supply_of_three", 7)
    assert "unbalance of the three 1.5 %" in seen.says.us


def test_a_supply_that_is_not_steady_is_not_told() -> None:
    course = Course()
    course.go(60.0, **REST)
    course.go(300.0, **RUNS | {"line_voltage_ab": 0.0}, blower_current=0.0)
    course.go(300.0, line_voltage_ab=lambda t_s: 230.0 + 8.0 * math.sin(t_s))
    assert [it for it in course.proposed if it.what.check == "supply"] == []


def test_the_amps_of_each_motor_are_told_beside_its_plate() -> None:
    course = Course(spreads={"compressor_current": 0.1, "condenser_fan_current": 0.1})
    course.go(10.0, **REST)
    course.go(400.0, **RUNS, outdoor_air_temperature=308.0, liquid_pressure=2.4e6)
    compressor, fan = (it for it in course.proposed if it.what.check == "motor_amps")
    assert (compressor.says.kind, fan.says.kind) == ("noticed.compressor_amps", "noticed.amps_within")
    assert compressor.what.values == {
        "amps.a": 9.0, "rated": 12.0, "outdoor": 308.0, "volts": 236.0, "head": 2.4e6
    }  # fmt: skip
    assert (fan.what.part, fan.what.choices) == ("fan", {"motor": "condenser_fan"})
    assert compressor.time_s - course.packs[40].time_s < 302.0


@pytest.mark.parametrize(
    ("fan_a", "kind"), [(2.3, "noticed.amps_above"), (2.05, "noticed.amps_cannot_tell"), (1.5, "noticed.amps_within")]
)
def test_a_fan_s_full_load_amps_are_its_limit(fan_a: float, kind: str) -> None:
    course = Course(spreads={"condenser_fan_current": 0.1})
    course.go(10.0, **REST)
    course.go(400.0, condenser_fan_current=fan_a)
    assert kinds(course.proposed) == [kind]


@pytest.mark.parametrize(
    ("amps", "kind"),
    [
        (8.4, "noticed.compressor_amps_as"),  # 0.70 of RLA at rated conditions, ± 0.16 of it
        (11.5, "noticed.compressor_amps_more"),
        (6.2, "noticed.compressor_amps_less"),
    ],
)
def test_a_compressor_is_held_against_what_the_conditions_let_expect(amps: float, kind: str) -> None:
    """At 67 °F entering wet bulb and 95 °F outdoors, as the fits of `calc.expected_current` are rated."""
    course = Course()
    weather = {"return_air_wet_bulb": 292.594, "outdoor_air_temperature": 308.15, "line_voltage_ab": 240.0}
    course.go(10.0, **REST)
    course.go(400.0, compressor_current=amps, **weather)
    assert kinds([it for it in course.proposed if it.what.check == "motor_amps"]) == [kind]


@pytest.mark.parametrize(
    ("amps", "pressures_pa", "kind"),
    [
        (3.5, (1.50e6, 1.55e6), "noticed.compressor_amps_half"),
        (3.5, (None, None), "noticed.compressor_amps_half"),
        (3.5, (0.9e6, 2.4e6), "noticed.compressor_amps"),  # it pumps: such as its low stage
        (6.1, (1.50e6, 1.55e6), "noticed.compressor_amps"),
    ],
)
def test_a_compressor_that_draws_little_and_pumps_nothing_is_not_kept_without_a_word(
    amps: float, pressures_pa: tuple[float | None, float | None], kind: str
) -> None:
    """A scroll that turns backwards draws far less than its plate, and its pressures stay one: makers' manuals."""
    course = Course()
    course.go(10.0, **REST)
    course.go(400.0, compressor_current=amps, suction_pressure=pressures_pa[0], liquid_pressure=pressures_pa[1])
    (seen,) = (it for it in course.proposed if it.what.check == "motor_amps")
    assert seen.says.kind == kind
    assert ("less than half" in seen.says.us) == ("switch it off first. Keep it?" in seen.says.us)
    assert ("less than half" in seen.says.us) == kind.endswith("half")


def test_a_motor_whose_plate_is_silent_is_not_told() -> None:
    course = Course(of=known(unit=replace(UNIT, blower_fla_a=None)))
    course.go(400.0, blower_current=4.0)
    assert course.proposed == []


def test_amps_that_do_not_settle_are_not_told() -> None:
    course = Course()
    course.go(900.0, compressor_current=lambda t_s: 9.0 + math.sin(t_s / 20.0))
    assert course.proposed == []


def test_volts_across_a_joint_that_rise_with_the_start_are_told_with_ohms_and_heat() -> None:
    """0.24 V at 12 A are 20 milliohm and 2.9 W."""
    course = Course()
    course.go(20.0, **REST, multimeter_ac_voltage=0.0)
    course.go(60.0, **RUNS | {"compressor_current": 12.0}, multimeter_ac_voltage=0.24)
    seen = next(it for it in course.proposed if it.what.check == "joint_drop")
    assert seen.what.values == {"drop.a": 0.24, "amps": 12.0}
    assert "240 mV across the joint at 12.0 A: 20.0 mΩ, 2.9 W" in seen.says.us


def test_a_joint_that_drops_tens_of_volts_while_the_motor_starts_is_told_once_it_runs() -> None:
    """0.6 ohm: 36 V at an inrush of 60 A, 4.2 V at 7 A, and 29 W."""
    course = Course()
    course.go(20.0, **REST, multimeter_ac_voltage=0.0)
    course.go(1.0, **RUNS | {"compressor_current": 60.0}, multimeter_ac_voltage=36.0)
    course.go(60.0, **RUNS | {"compressor_current": 7.0}, multimeter_ac_voltage=4.2)
    seen = next(it for it in course.proposed if it.what.check == "joint_drop")
    assert "4200 mV across the joint at 7.0 A: 600.0 mΩ, 29.4 W" in seen.says.us


@pytest.mark.parametrize("volts", [24.0, 230.0], ids=["the control circuit", "the line"])
def test_what_has_volts_only_while_it_runs_is_no_joint(volts: float) -> None:
    course = Course()
    course.go(20.0, **REST, multimeter_ac_voltage=0.0)
    course.go(60.0, **RUNS, multimeter_ac_voltage=volts)
    course.go(60.0, multimeter_ac_voltage=0.2)  # and the leads on a joint then, which nobody saw at rest
    assert [it for it in course.proposed if it.what.check == "joint_drop"] == []


@pytest.mark.parametrize("rest_v", [0.05, 238.0, None], ids=["stray in the air", "on the line", "not there"])
def test_volts_that_do_not_rise_with_the_start_are_of_no_joint(rest_v: float | None) -> None:
    course = Course()
    course.go(20.0, **REST, multimeter_ac_voltage=rest_v)
    course.go(60.0, **RUNS, multimeter_ac_voltage=0.05)
    assert [it for it in course.proposed if it.what.check == "joint_drop"] == []


def test_a_capacitor_under_load_is_told_by_volts_and_amps() -> None:
    """C = 2652.6 A / V at 60 Hz: 6.3 A at 370 V are 45.2 uF."""
    course = Course(spreads={"compressor_current": 0.05, "multimeter_ac_voltage": 1.0})
    course.go(400.0, **RUNS)
    course.go(20.0, multimeter_ac_voltage=370.0)
    assert [
        it for it in course.proposed if it.what.check == "capacitor_under_load"
    ] == []  # the jaw is elsewhere: 64 uF
    course.go(20.0, compressor_current=6.3)
    (seen,) = (it for it in course.proposed if it.what.check == "capacitor_under_load")
    assert seen.what.values == {
        "amps": 6.3, "volts": 370.0, "hertz": 60.0, "label": 45e-6, "tolerance": 0.06
    }  # fmt: skip
    assert (seen.what.choices, seen.what.part) == ({"section": "herm"}, "run capacitor")
    assert "it reads 45.17 µF" in seen.says.us


def test_a_capacitor_that_gives_up_as_it_warms_is_told_again() -> None:
    """2652.6 A / V again: 6.3 A at 370 V are 45 uF, 5.3 A are 38 uF, less than 45 uF less 6 %."""
    course = Course(spreads={"compressor_current": 0.05, "multimeter_ac_voltage": 1.0})
    course.go(60.0, **RUNS | {"compressor_current": 6.3}, multimeter_ac_voltage=370.0)
    course.go(600.0, compressor_current=lambda t_s: 6.3 - t_s / 600.0)
    course.go(60.0, compressor_current=5.3)
    told = [it.says.us for it in course.proposed if it.what.check == "capacitor_under_load"]
    assert "within" in told[0]
    assert "below" in told[-1]
    assert len(told) <= 3  # once well, once too near to tell, once weak


@pytest.mark.parametrize(
    "sheet", [None, Sheet("x", [Circuit("1", "R-410A", "txv")], hertz=60.0), Sheet("x", [], parts=SHEET.parts)]
)
def test_without_label_or_hertz_nothing_is_said_of_a_capacitor_under_load(sheet: Sheet | None) -> None:
    course = Course(of=known(sheet=sheet))
    course.go(400.0, **RUNS)
    course.go(20.0, multimeter_ac_voltage=370.0, compressor_current=6.3)
    assert [it for it in course.proposed if it.what.check == "capacitor_under_load"] == []
