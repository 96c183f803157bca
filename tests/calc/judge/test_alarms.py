"""When to stop at once, a hair to either side of each limit. The limits: common practice, no source, as a line says."""

import math

import pytest

from calc.estimate import Estimate
from calc.judge.alarms import AlarmKind, AlarmWatch, alarms, to_stop
from calc.quantities import Quantity
from calc.saturation import bubble_pressure
from calc.situation import Situation
from tests.fahrenheit import kelvin

ONE_PSI_PA = 6894.757  # NIST SP 811, B.8


def kinds(situation: Situation, since_start_s: float | None = None) -> list[AlarmKind]:
    return [alarm.kind for alarm in alarms(situation, since_start_s)]


def seen(name: str, value: float, standard_uncertainty: float = 0.01, **known: object) -> Situation:
    return Situation(measured={name: Estimate(value, standard_uncertainty)}, **known)  # type: ignore[arg-type]


@pytest.mark.parametrize(("superheat_dk", "stops"), [(0.95, True), (1.0, True), (1.05, False)])
def test_liquid_comes_back_below_one_kelvin_of_superheat(superheat_dk: float, stops: bool) -> None:
    """A kelvin is what a clamp and a gauge can tell from none at best."""
    assert kinds(seen("superheat", superheat_dk)) == ([AlarmKind.FLOODBACK] if stops else [])


@pytest.mark.parametrize(("superheat_dk", "says"), [(-0.01, "below_dew_point"), (0.0, "little_superheat")])
def test_below_the_dew_point_is_what_is_colder_than_it(superheat_dk: float, says: str) -> None:
    (alarm,) = alarms(seen("superheat", superheat_dk))
    assert alarm.says.kind == f"alarm.{says}"


@pytest.mark.parametrize(("superheat_dk", "stops"), [(0.7, True), (1.3, False)])
def test_what_is_likelier_than_not_stops_though_the_instruments_are_poor(superheat_dk: float, stops: bool) -> None:
    """A third of a standard deviation off the limit is 62 or 38 % by the normal table."""
    assert kinds(seen("superheat", superheat_dk, 1.0)) == ([AlarmKind.FLOODBACK] if stops else [])


@pytest.mark.parametrize(("load_ratio", "stops"), [(1.02, False), (1.2, False), (1.37, False), (1.43, True)])
def test_rla_is_no_limit_but_what_it_is_made_from_is(load_ratio: float, stops: bool) -> None:
    """RLA is the maximum continuous current divided by 1.56, or 1.44 with some makers (trade press): stop near 1.4."""
    assert kinds(seen("compressor_load_ratio", load_ratio)) == ([AlarmKind.COMPRESSOR_CURRENT] if stops else [])


@pytest.mark.parametrize(("over_outdoor_f", "stops"), [(44.0, False), (46.0, True)])
def test_a_condenser_stays_within_45_degf_of_the_outdoor_air(over_outdoor_f: float, stops: bool) -> None:
    assert kinds(seen("condensing_over_ambient", over_outdoor_f / 1.8)) == ([AlarmKind.HEAD_PRESSURE] if stops else [])


@pytest.mark.parametrize(("discharge_f", "stops"), [(215.0, False), (224.9, False), (225.1, True), (260.0, True)])
def test_a_discharge_line_stays_below_225_degf(discharge_f: float, stops: bool) -> None:
    """Common practice, no source: the maker's figure wins."""
    hot = seen("discharge_line_temperature", kelvin(discharge_f), 0.01)
    assert kinds(hot) == kinds(hot, 60.0) == ([AlarmKind.DISCHARGE_LINE] if stops else [])
    assert kinds(hot, 0.0) == kinds(hot, 59.9) == []  # at rest, and just after, it is hot still
    if stops:
        (alarm,) = alarms(hot)
        assert str(to_stop([alarm.kind])) == "Stop the unit: discharge line too hot."
        assert f"The discharge line reads {discharge_f:.1f}" in str(alarm.says)


@pytest.mark.parametrize(
    ("refrigerant", "ppm", "stops"),
    [
        ("R-290", 5_000.0, False),  # its limit is 2.1 %: ASHRAE 34, from memory
        ("R-290", 5_500.0, True),
        ("R-32", 35_000.0, False),  # 14.4 %
        ("R-32", 36_500.0, True),
        ("R-410A", 900_000.0, False),  # it does not burn
        ("", 900_000.0, False),
    ],
)
@pytest.mark.parametrize("since_start_s", [None, 0.0, 1.0, math.inf])
def test_from_a_quarter_of_what_burns_whoever_is_there_leaves(
    refrigerant: str, ppm: float, stops: bool, since_start_s: float | None
) -> None:
    """25 % of the lower flammable limit: servicing clauses after IEC 60335-2-40, from memory."""
    found = alarms(seen("refrigerant_in_air", ppm * 1e-6, 1e-5, refrigerant=refrigerant), since_start_s)
    assert [it.kind for it in found] == ([AlarmKind.REFRIGERANT_IN_AIR] if stops else [])


def test_to_leave_is_said_before_anything_else_that_stops() -> None:
    said = str(to_stop([AlarmKind.FLOODBACK, AlarmKind.REFRIGERANT_IN_AIR]))
    assert said == ("Leave, keep others away, touch no switch and add nothing: refrigerant in the air and floodback.")


def condensing(over_indoor_f: float, supply_k: float, outdoor_k: float = 281.5) -> Situation:
    """An R-410A unit at 70 °F indoors and 47 °F outdoors, whose amps and pressures say that it runs."""
    indoor_k, spread = 294.26, 0.2
    bubble_k = indoor_k + over_indoor_f / 1.8
    measured = {
        "return_air_temperature": Estimate(indoor_k, spread),
        "supply_air_temperature": Estimate(supply_k, spread),
        "outdoor_air_temperature": Estimate(outdoor_k, spread),
        "compressor_current": Estimate(10.0, 0.1),
        "suction_pressure": Estimate(7e5, 2e3),
        "liquid_pressure": Estimate(bubble_pressure("R-410A", bubble_k), 2e3),
        "liquid_bubble_point": Estimate(bubble_k, spread),
        "condensing_over_ambient": Estimate(bubble_k - outdoor_k, spread),
    }
    return Situation(refrigerant="R-410A", compressor_rla_a=16.0, measured=measured)


@pytest.mark.parametrize(
    ("over_indoor_f", "supply_k", "outdoor_k", "stops"),
    [
        (35.0, 308.0, 281.5, ""),  # a heat pump that heats: 58 °F over the outdoor air, and nothing wrong
        (55.0, 308.0, 289.0, ""),  # the most that makers' tables of heating have, at 60 °F outdoors
        (61.0, 308.0, 281.5, "alarm.condenses_too_warm_indoors"),
        (35.0, 284.0, 291.0, ""),  # the same head of one that cools: 41 °F over the outdoor air
        (35.0, 284.0, 288.0, "alarm.condenses_too_warm"),  # 46 °F
        (35.0, 294.5, 281.5, ""),  # the air tells nothing: it may heat
        (61.0, 294.5, 281.5, "alarm.condenses_too_warm_indoors"),
        (45.5, 294.5, 294.26, "alarm.condenses_too_warm"),  # as warm outdoors as in: nothing heats
    ],
)
def test_a_condenser_is_held_against_the_air_that_it_stands_in(
    over_indoor_f: float, supply_k: float, outdoor_k: float, stops: str
) -> None:
    """Makers' heating tables for R-410A at 70 °F indoors go up to 429 psig at 60 °F outdoors, which is 125 °F."""
    found = alarms(condensing(over_indoor_f, supply_k, outdoor_k))
    assert [alarm.says.kind for alarm in found] == ([stops] if stops else [])
    assert all(alarm.kind is AlarmKind.HEAD_PRESSURE for alarm in found)


@pytest.mark.parametrize(
    ("suction_pa", "liquid_pa", "fan_a", "outdoor_k", "stops"),
    [
        (7e5, 20e5, 1.2, 275.0, True),
        (15e5, 10e5, 1.2, 275.0, False),  # a valve has just turned: the sides are exchanged
        (15e5, 10e5, 1.2, 283.2, True),  # too warm for that: the hoses are
        (12e5, 11e5, 1.2, 290.0, False),  # it pumps nothing
        (7e5, 8.0e5, 1.2, 275.0, False),
        (7e5, 8.1e5, 1.2, 275.0, True),
        (7e5, 9e5, 0.0, 275.0, False),  # a defrost
        (7e5, 9e5, 0.0, 290.0, True),
    ],
)
def test_a_defrost_is_no_floodback(
    suction_pa: float, liquid_pa: float, fan_a: float, outdoor_k: float, stops: bool
) -> None:
    measured = {
        "superheat": Estimate(-2.0, 0.1),
        "suction_pressure": Estimate(suction_pa, 2e3),
        "liquid_pressure": Estimate(liquid_pa, 2e3),
        "condenser_fan_current": Estimate(fan_a, 0.02),
        "outdoor_air_temperature": Estimate(outdoor_k, 0.2),
    }
    assert kinds(Situation(measured=measured)) == ([AlarmKind.FLOODBACK] if stops else [])


def test_an_alarm_of_heating_rests_on_the_return_air() -> None:
    now = condensing(61.0, 308.0)
    (alarm,) = alarms(now, doubted={"return_air_temperature"})
    assert (alarm.in_doubt, alarm.quantity, alarm.limit) == (True, Quantity.TEMPERATURE_DIFFERENCE, 60 / 1.8)
    assert not alarms(now, doubted={"outdoor_air_temperature"})[0].in_doubt
    assert "makers' tables" in alarm.source


@pytest.mark.parametrize(("psi", "stops"), [(515.0, False), (530.0, True)])
def test_the_pressure_stays_a_twentieth_below_the_design_pressure(psi: float, stops: bool) -> None:
    near = seen("liquid_pressure", psi * ONE_PSI_PA, 100.0, design_pressure_pa=550 * ONE_PSI_PA)
    assert kinds(near) == ([AlarmKind.HEAD_PRESSURE] if stops else [])


def test_of_two_limits_of_head_pressure_the_nameplates_is_told() -> None:
    measured = {"liquid_pressure": Estimate(3.9e6, 1e3), "condensing_over_ambient": Estimate(30.0, 0.1)}
    (alarm,) = alarms(Situation(measured=measured, design_pressure_pa=3.9e6))
    assert "nameplate" in alarm.source


@pytest.mark.parametrize(
    ("since_start_s", "expected"),
    [
        (9.9, []),
        (10.0, [AlarmKind.COMPRESSOR_CURRENT]),
        (119.9, [AlarmKind.COMPRESSOR_CURRENT]),
        (120.0, [AlarmKind.FLOODBACK, AlarmKind.COMPRESSOR_CURRENT]),
        (math.inf, [AlarmKind.FLOODBACK, AlarmKind.COMPRESSOR_CURRENT]),
    ],
)
def test_a_start_is_forgiven_ten_seconds_of_inrush_and_two_minutes_of_liquid(
    since_start_s: float, expected: list[AlarmKind]
) -> None:
    measured = {"superheat": Estimate(0.0, 0.1), "compressor_load_ratio": Estimate(4.0, 0.1)}
    assert kinds(Situation(measured=measured), since_start_s) == expected


def test_a_full_cylinder_and_a_high_head_stop_at_rest_and_at_the_start_too() -> None:
    now = Situation(
        measured={"liquid_pressure": Estimate(4.0e6, 1e3)},
        design_pressure_pa=3.9e6,
        cylinder_refrigerant_kg=Estimate(9.6, 0.01),
        cylinder_safe_fill_kg=9.5,
    )
    assert kinds(now, 0.0) == kinds(now, 1.0) == [AlarmKind.HEAD_PRESSURE, AlarmKind.CYLINDER]


@pytest.mark.parametrize(
    "now", [Situation(cylinder_refrigerant_kg=Estimate(9.6, 0.01)), Situation(cylinder_safe_fill_kg=9.5)]
)
def test_of_a_cylinder_half_known_nothing_is_said(now: Situation) -> None:
    assert kinds(now) == []


def test_what_comes_from_a_reading_in_doubt_is_no_fact():
    measured = {
        "superheat": Estimate(0.2, 0.3),
        "compressor_load_ratio": Estimate(1.6, 0.02),
        "condensing_over_ambient": Estimate(30.0, 0.3),
    }
    now = Situation(measured=measured)
    for channel, doubtful in (
        ("suction_line_temperature", AlarmKind.FLOODBACK),
        ("suction_pressure", AlarmKind.FLOODBACK),
        ("compressor_current_b", AlarmKind.COMPRESSOR_CURRENT),
        ("outdoor_air_temperature", AlarmKind.HEAD_PRESSURE),
    ):
        found = alarms(now, doubted={channel})
        assert {alarm.kind for alarm in found} == {alarm.kind for alarm in alarms(now)}
        assert [alarm.kind for alarm in found if alarm.in_doubt] == [doubtful]
    assert not any(alarm.in_doubt for alarm in alarms(now))


def test_a_fact_comes_before_the_same_in_doubt():
    """A head above its limit by its own pressure stays a fact, whatever the outdoor probe reads."""
    measured = {"liquid_pressure": Estimate(3.95e6, 7e3), "condensing_over_ambient": Estimate(30.0, 0.3)}
    (alarm,) = alarms(
        Situation(measured=measured, design_pressure_pa=4.0e6), doubted={"outdoor_air_temperature", "cylinder_mass"}
    )
    assert (alarm.kind, alarm.in_doubt) == (AlarmKind.HEAD_PRESSURE, False)


def test_floodback_is_said_with_its_margin_and_below_nought_sends_to_the_instruments_too():
    """1.0 ± 0.7 K is 1.8 ± 1.3 °F: at its limit, and no certain thing."""
    (little,) = alarms(Situation(measured={"superheat": Estimate(0.99, 0.35)}))
    assert str(little.says).startswith("Superheat 1.8 ± 1.3 °F: liquid may reach the compressor. Add nothing")
    assert "gauge or absolute" not in str(little.says)
    (below,) = alarms(Situation(measured={"superheat": Estimate(-1.8, 0.3)}))
    assert str(below.says).startswith("Superheat −3.2 ± 1.1 °F: liquid may reach the compressor.")
    assert "check the probe (gauge or absolute) and the clamp, too" in str(below.says)


def test_a_fact_and_one_in_doubt_stand_apart():
    now, watch = Situation(measured={"superheat": Estimate(0.2, 0.3)}), AlarmWatch()
    (doubtful,), (fact,) = alarms(now, doubted={"suction_pressure"}), alarms(now)
    assert watch.follow([doubtful], 0.0).raised == [doubtful]
    assert watch.follow([fact], 1.0).raised == [fact]  # what turns out true is news
    assert watch.standing() == (doubtful, fact)
    assert watch.follow([fact], 10.0).ended == [doubtful]
    assert watch.standing() == (fact,)


def test_the_words_of_an_alarm_stand_still_while_superheat_moves_about_zero():
    """What is read out each time it changes would be read out all the time."""
    above, below = (alarms(Situation(measured={"superheat": Estimate(value, 0.3)})) for value in (0.1, -0.1))
    watch = AlarmWatch()
    kinds = []
    for second, found in enumerate((above, below, above, below, above)):
        watch.follow(found, float(second))
        kinds.append(watch.standing()[0].says.kind)
    assert kinds == ["alarm.little_superheat", *["alarm.below_dew_point"] * 4]
    assert watch.standing()[0].measured.value == -0.1


def test_the_figure_of_an_alarm_is_told_anew_once_it_has_moved_by_what_it_may_be_off_by():
    """It changed each second in the loudest letters of the page; ± 0.5 K here (k = 2), by which it moves first."""
    watch, told = AlarmWatch(), []
    for second, superheat_dk in enumerate((0.75, 0.25, 0.5, 0.125, 0.5)):
        watch.follow(alarms(Situation(measured={"superheat": Estimate(superheat_dk, 0.25)})), float(second))
        told.append((watch.standing()[0].measured.value, watch.standing()[0].says.parts[0].value))
    assert told == [(0.75, 0.75)] * 3 + [(0.125, 0.125)] * 2


@pytest.mark.parametrize(
    ("measured", "doubted", "stands"),
    [
        ({"compressor_load_ratio": 1.6}, (), True),
        ({"compressor_load_ratio": 1.6}, ("compressor_current",), False),  # a clamp in doubt tells of no protector
        ({"compressor_load_ratio": 1.2}, (), False),
        ({"condensing_over_ambient": 30.0}, (), False),  # a pressure switch may wait for a hand
    ],
)
def test_what_its_own_protector_stops_is_told_by_its_amps_as_a_fact(measured, doubted, stands):
    """A protector in the motor opens on amps and heat, and closes again by itself: common practice, no source."""
    now = Situation(measured={name: Estimate(value, 0.02) for name, value in measured.items()})
    watch = AlarmWatch()
    assert not watch.is_on_amps()
    watch.follow(alarms(now, doubted=doubted), 0.0)
    assert watch.is_on_amps() is stands
    watch.follow([], 10.0)
    assert not watch.is_on_amps()  # it has ended


def test_floodback_that_comes_with_the_stop_itself_is_none_that_it_stopped_for():
    """The suction rises as it stops, and the amps are read a little later; the head that trips it counts at once."""
    flooding = alarms(Situation(measured={"superheat": Estimate(-1.0, 0.3)}))
    (doubtful,) = alarms(Situation(measured={"superheat": Estimate(-1.0, 0.3)}), doubted={"suction_pressure"})
    watch = AlarmWatch()
    watch.follow(flooding, 0.0)
    assert (watch.is_fact(9.0), watch.is_fact(10.0)) == (False, True)
    assert AlarmWatch(flooding, 100.0).is_fact(100.0)  # it stood before the daemon was started anew
    watch = AlarmWatch()
    watch.follow(flooding, 0.0)
    watch.follow([], 30.0)
    watch.follow(flooding, 900.0)
    assert (watch.is_fact(909.0), watch.is_fact(910.0)) == (False, True)  # the one before has ended
    watch = AlarmWatch()
    watch.follow([doubtful], 0.0)
    assert not watch.is_fact(20.0)
    watch.follow(alarms(Situation(measured={"condensing_over_ambient": Estimate(30.0, 0.3)})), 20.0)
    assert watch.is_fact(20.0)


def test_the_words_of_superheat_below_zero_stay_with_a_figure_that_has_moved() -> None:
    """Half a kelvin above zero is still floodback; its figure is told anew, for it moved by more than 0.6 K."""
    watch = AlarmWatch()
    for second, superheat_dk in enumerate((-0.9, 0.5)):
        watch.follow(alarms(Situation(measured={"superheat": Estimate(superheat_dk, 0.3)})), float(second))
    (told,) = watch.standing()
    assert (told.says.kind, told.measured.value) == ("alarm.below_dew_point", 0.5)
