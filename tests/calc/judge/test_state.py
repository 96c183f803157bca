"""What state a unit is in: charge last, behind what stands before it. Common practice, no source, unless a line says.

The unit: R-410A, an expansion valve, 11 °F of subcooling on the plate, 80 and 95 °F; what a sound one shows is that of
a ground-source manual, as in the tests of the causes.
"""

from dataclasses import replace

import pytest

from calc.comparing import NotMet, Outcome
from calc.diagnosis import Cause, Fault, explain
from calc.doubts.observed import Doubt
from calc.estimate import Estimate
from calc.governing import Figure
from calc.judge.alarms import Alarm, AlarmKind
from calc.judge.next_step import Limit, NextStep, next_addition
from calc.judge.state import (
    Course,
    Decision,
    Reason,
    State,
    _filled_up,
    _held_by_a_rival,
    _is_filled_up,
    _may_offer,
    _reason,
    asks_for_stop,
    decide,
    is_worth_keeping,
)
from calc.judge.verification import judge
from calc.quantities import Quantity, derived_from
from calc.saturation import bubble_pressure, dew_pressure
from calc.sentences import Sentence, term
from calc.settling import NotSteady, Settled, Settling, Why
from calc.situation import Move, Situation
from calc.targets import TABLE_SOURCE, Target, target_subcooling
from calc.uncertainty import Budget
from tests.fahrenheit import DDEGF, kelvin

PSI = 6894.757  # NIST SP 811, B.8
TARGET = target_subcooling(11 * DDEGF)
ALARM = Alarm(
    AlarmKind.CYLINDER, Sentence("alarm.cylinder"), Estimate(9.6, 0.01), 9.5, Quantity.MASS, "AHRI Guideline K"
)


def unit(
    subcooling_f: float = 11.0,
    superheat_f: float = 10.0,
    suction_f: float = 45.0,
    condensing_f: float = 115.0,
    split_f: float = 20.0,
    outdoor_f: float = 95.0,
    **known: object,
) -> Situation:
    measured = {
        "suction_pressure": Estimate(dew_pressure("R-410A", kelvin(suction_f)), 3.4e3),
        "suction_line_temperature": Estimate(kelvin(suction_f + superheat_f), 0.25),
        "liquid_pressure": Estimate(bubble_pressure("R-410A", kelvin(condensing_f)), 6.9e3),
        "liquid_line_temperature": Estimate(kelvin(condensing_f - subcooling_f), 0.25),
        "superheat": Estimate(superheat_f * DDEGF, 0.3),
        "subcooling": Estimate(subcooling_f * DDEGF, 0.3),
        "return_air_temperature": Estimate(kelvin(80.0), 0.15),
        "return_air_humidity": Estimate(51.1, 1.0),
        "supply_air_temperature": Estimate(kelvin(80.0 - split_f), 0.15),
        "air_split": Estimate(split_f * DDEGF, 0.2),
        "outdoor_air_temperature": Estimate(kelvin(outdoor_f), 0.15),
    }
    plate = Situation(
        refrigerant="R-410A",
        metering_device="txv",
        measured=measured,
        running_s=3600.0,
        undisturbed_s=1800.0,
        checked={name: Estimate(0.0, found.standard_uncertainty) for name, found in measured.items()},
        accuracies={"liquid_pressure": 5 * PSI, "suction_pressure": 3 * PSI, "liquid_line_temperature": 0.5},
        target_air_split_dk=Estimate(20 * DDEGF, 0.2),
        target_subcooling_dk=11 * DDEGF,
        nameplate_charge_kg=3.4,
    )
    return replace(plate, **known)  # type: ignore[arg-type]


SHORT = {"subcooling_f": 3.0, "superheat_f": 27.0, "suction_f": 41.0, "condensing_f": 110.0, "split_f": 18.0}


def settled(now: Situation, lately: Situation | None = None, *, alarms: tuple[Alarm, ...] = ()) -> Decision:
    return decide(now, lately or now, Settled(now.measured["subcooling"]), alarms=alarms)


def cause(fault: Fault, probability: float = 0.8, held_back: Sentence | None = None) -> Cause:
    return Cause(fault, (), probability, (), (), Sentence("x"), held_back, None)


def comes_of(lead: Cause, now: Situation) -> Reason:
    """What comes of a cause that leads, and a step that is known."""
    value = now.measured["subcooling"]
    step = next_addition("subcooling", value, target_dk=TARGET.value.estimate, nameplate_charge_kg=3.4)
    return _reason(lead, judge(value, TARGET, now), step, now, TARGET)[0]


def test_off_by_its_amps_it_is_not_running_though_its_pressures_still_differ() -> None:
    assert settled(unit(running_s=0.0)).state is State.NOT_RUNNING


@pytest.mark.parametrize(
    ("why", "state"),
    [(Why.STARTING, State.STARTING), (Why.JUST_BEGUN, State.SETTLING), (Why.HUNTING, State.SETTLING)],
)
def test_what_is_not_steady_settles_or_starts(why: Why, state: State) -> None:
    assert decide(unit(), unit(), NotSteady(why)).state is state


def test_what_is_awaited_is_told_with_all_of_its_time_and_not_beside_an_alarm() -> None:
    course = Settling(Estimate(6.0, 0.3), 200.0)
    it = decide(unit(), unit(), course, elapsed_s=100.0)
    assert it.awaited is not None
    assert (it.awaited.seconds_left, it.awaited.of_seconds) == (200.0, 300.0)
    assert decide(unit(), unit(), course, elapsed_s=100.0, alarms=(ALARM,)).awaited is None


def test_a_first_forecast_is_awaited_where_there_is_telling_when() -> None:
    it = decide(unit(), unit(), NotSteady(Why.JUST_BEGUN, left_s=40.0, of_s=60.0)).awaited
    assert it is not None
    assert (it.what, it.seconds_left, it.of_seconds) == ("first_forecast", 40.0, 60.0)
    assert decide(unit(), unit(), NotSteady(Why.HUNTING, 2.0, 60.0)).awaited is None


def test_a_course_followed_from_its_beginning_has_all_of_its_time_before_it() -> None:
    it = decide(unit(), unit(), Settling(Estimate(6.0, 0.3), 200.0)).awaited
    assert it is not None
    assert (it.what, it.seconds_left, it.of_seconds) == ("subcooling", 200.0, 200.0)


@pytest.mark.parametrize("course", [None, NotSteady(Why.HUNTING), Settling(Estimate(6.0, 0.3), 200.0)])
@pytest.mark.parametrize("known", [True, False])
def test_without_the_figure_or_its_course_there_is_nothing_to_judge(course: Course | None, known: bool) -> None:
    now = unit() if known else replace(unit(), measured={})
    reason = decide(now, now, course).reason
    assert (reason is Reason.NO_FIGURE) is (course is None or not known)


def test_other_causes_are_told_as_the_state_has_them() -> None:
    """No alarm, nothing weighed yet, one cause that leads, and several that may."""

    def told(it: Decision) -> tuple[Outcome, str]:
        assert it.verification is not None
        (found,) = [each for each in it.verification.conditions if each.name == "other_causes"]
        return found.state, found.says.kind

    assert told(settled(unit(), alarms=(ALARM,))) == (Outcome.NOT_MET, "condition.alarm")
    waits = decide(unit(), unit(), NotSteady(Why.HUNTING))
    assert told(waits) == (Outcome.CANNOT_TELL, "condition.not_weighed")
    assert told(settled(unit())) == (Outcome.MET, "condition.met")
    no_target = settled(unit(**SHORT, target_subcooling_dk=None))
    assert told(no_target)[0] is Outcome.CANNOT_TELL


@pytest.mark.parametrize(("off_f", "chance"), [(0.0, True), (2.5, True), (-2.5, True), (3.8, False), (-3.8, False)])
def test_something_is_wrong_where_the_figure_is_beyond_its_tolerance(off_f: float, chance: bool) -> None:
    """3 °F for subcooling: California Title 24, 2008, page RA3-15."""
    causes = settled(unit(subcooling_f=11 + off_f)).causes
    assert causes
    assert (Fault.NOTHING_WRONG in {cause.fault for cause in causes}) is chance


def test_something_is_wrong_where_an_alarm_stands() -> None:
    it = settled(unit(), alarms=(ALARM,))
    assert it.causes
    assert Fault.NOTHING_WRONG not in {cause.fault for cause in it.causes}


def test_causes_are_weighed_by_the_last_minute_not_by_the_last_tick() -> None:
    lead = settled(unit(), unit(**SHORT)).lead
    assert lead is not None
    assert lead.fault is Fault.UNDERCHARGE


def test_an_all_clear_does_not_lead_where_the_technician_is_sent_elsewhere() -> None:
    it = settled(unit(target_subcooling_dk=None))
    assert it.reason is Reason.NO_TARGET
    assert it.lead is None or it.lead.fault is not Fault.NOTHING_WRONG
    right = settled(unit())
    assert right.state is State.DONE
    assert right.lead is not None
    assert right.lead.fault is Fault.NOTHING_WRONG


def test_what_earlier_moves_did_sizes_the_next_one() -> None:
    """This unit answered twice as weakly as units do (0.5 °F for 1 % of the charge)."""
    weak = Move(0.3, Estimate(1.7, 0.3), Estimate(1.7 + 0.3 * 0.5 * 50 * DDEGF / 3.4, 0.3))
    first, later = settled(unit(**SHORT)), settled(unit(**SHORT, moves=(weak, weak)))
    assert first.state is later.state is State.MOVE
    assert first.next_step is not None
    assert later.next_step is not None
    assert later.next_step.needed_kg.value > 1.2 * first.next_step.needed_kg.value


def test_readings_beyond_all_physics_are_not_weighed() -> None:
    """Air of 400 K: outside what psychrometrics are known for. What is wrong with it, the doubts tell."""
    now = unit()
    steam = replace(now, measured={**now.measured, "return_air_temperature": Estimate(400.0, 0.2)})
    it = settled(now, steam)
    assert (it.state, it.reason, it.causes, it.next_step) == (State.LOOK, Reason.NOT_WEIGHED, (), None)


def test_where_refrigerant_is_moved_no_other_cause_is_open() -> None:
    it = settled(unit(**SHORT))
    assert it.verification is not None
    (other,) = [condition for condition in it.verification.conditions if condition.name == "other_causes"]
    assert other.state is Outcome.MET


def test_of_two_waits_the_longer_is_told() -> None:
    """A quarter of an hour each: California Title 24, 2008, RA3.2.2.5."""
    for running_s, undisturbed_s in ((600.0, 100.0), (100.0, 600.0)):
        it = settled(unit(running_s=running_s, undisturbed_s=undisturbed_s))
        assert it.awaited is not None
        assert (it.awaited.seconds_left, it.awaited.of_seconds) == (800.0, 900.0)


# --- what comes of causes and figure together


@pytest.mark.parametrize(
    ("probability", "reason"), [(0.45, Reason.SOME_CAUSE), (0.5, Reason.SOME_CAUSE), (0.55, Reason.ANOTHER_CAUSE)]
)
def test_another_cause_comes_first_once_it_is_likelier_than_not(probability: float, reason: Reason) -> None:
    assert comes_of(cause(Fault.CONDENSER_FOULING, probability), unit(3.0)) is reason


@pytest.mark.parametrize(
    ("lead", "reason"),
    [
        (cause(Fault.RESTRICTION, 0.45), Reason.SOME_CAUSE),
        (replace(cause(Fault.SEVERAL, 0.45), together=(Fault.UNDERCHARGE, Fault.CONDENSER_FOULING)), Reason.SOME_CAUSE),
        (replace(cause(Fault.SEVERAL, 0.45), together=(Fault.OVERCHARGE, Fault.CONDENSER_FOULING)), Reason.CONDITION),
        (cause(Fault.NOT_ONE_OF_THESE, 0.45), Reason.CONDITION),
    ],
)
def test_a_valve_that_something_starves_is_not_seen_to_first(lead: Cause, reason: Reason) -> None:
    """40 °F of superheat, beyond the 25 °F of California Title 24: the valve is starved, or does not open."""
    assert comes_of(lead, unit(13.0, superheat_f=40.0)) is reason


@pytest.mark.parametrize(
    ("fault", "reason"),
    [
        (
            Fault.SEVERAL,
            Reason.ANOTHER_CAUSE,
        ),  # before any condition: not the valve that starves beside ice
        (Fault.NOT_ONE_OF_THESE, Reason.SOME_CAUSE),
    ],
)
def test_where_no_single_cause_leads_no_charge_is_moved(fault: Fault, reason: Reason) -> None:
    for subcooling_f in (3.0, 19.0):
        assert comes_of(cause(fault, 0.9), unit(subcooling_f)) is reason
    assert comes_of(cause(fault, 0.5), unit(3.0)) is Reason.SOME_CAUSE


@pytest.mark.parametrize(
    ("fault", "subcooling_f", "reason"),
    [
        (Fault.UNDERCHARGE, 3.0, Reason.UNDERCHARGED),
        (Fault.OVERCHARGE, 19.0, Reason.OVERCHARGED),
        (Fault.UNDERCHARGE, 19.0, Reason.SOME_CAUSE),  # too little refrigerant lowers subcooling
        (Fault.OVERCHARGE, 3.0, Reason.SOME_CAUSE),
        (Fault.UNDERCHARGE, 11.0, Reason.RIGHT_YET),  # the figure is right: nothing is moved for a likelihood
        (Fault.OVERCHARGE, 12.0, Reason.RIGHT_YET),
        (Fault.NOTHING_WRONG, 11.0, Reason.VERIFIED),
    ],
)
def test_charge_is_moved_only_the_way_that_its_figure_points(fault: Fault, subcooling_f: float, reason: Reason) -> None:
    assert comes_of(cause(fault), unit(subcooling_f)) is reason


BROUGHT_BACK = (Move(0.3, Estimate(3.0 * DDEGF, 0.3), Estimate(7.0 * DDEGF, 0.3)),)


@pytest.mark.parametrize(
    ("probability", "subcooling_f", "moves", "reason"),
    [
        (0.9, 7.4, (), Reason.TOO_CLOSE),  # beyond 3 °F of the plate by less than the ± 1.1 °F of it
        (0.9, 8.6, (), Reason.TOO_CLOSE),  # within it, by less than that
        (0.9, 7.2, (), Reason.UNDERCHARGED),  # beyond it with 93 %
        (0.5, 7.4, BROUGHT_BACK, Reason.UNDERCHARGED),
        (0.5, 8.6, BROUGHT_BACK, Reason.TOO_CLOSE),
        (0.51, 8.6, BROUGHT_BACK, Reason.UNDERCHARGED),
    ],
)
def test_no_move_begins_where_the_instruments_cannot_tell_and_one_that_has_is_finished(
    probability: float, subcooling_f: float, moves: tuple[Move, ...], reason: Reason
) -> None:
    """A verdict takes 90 %: JCGM 106 leaves that to the one who decides; common practice, no source."""
    assert comes_of(cause(Fault.UNDERCHARGE, probability), unit(subcooling_f, moves=moves)) is reason


@pytest.mark.parametrize("subcooling_f", [7.5, 14.5])
def test_barely_beyond_its_tolerance_a_sound_unit_is_neither_filled_nor_called_right(subcooling_f: float) -> None:
    it = settled(unit(subcooling_f))
    assert (it.state, it.reason) == (State.LOOK, Reason.TOO_CLOSE)
    assert (it.next_step, it.may_move) == (None, None)
    assert it.lead is not None
    assert it.lead.fault is not Fault.NOTHING_WRONG


def test_what_is_filled_up_is_filled_to_its_target_and_says_so() -> None:
    """Some 2 % of the charge for each °F of subcooling: common practice, no source."""
    filled = settled(unit(9.3, moves=BROUGHT_BACK))
    assert (filled.state, filled.reason) == (State.MOVE, Reason.UNDERCHARGED)
    assert filled.next_step is not None
    assert 0.01 * 3.4 < filled.next_step.step_kg < 0.06 * 3.4
    assert filled.lead is not None
    assert (filled.lead.fault, filled.lead.held_back) == (Fault.UNDERCHARGE, None)
    assert Fault.NOTHING_WRONG not in {it.fault for it in filled.causes}
    assert sum(it.probability for it in filled.causes) == pytest.approx(1.0)
    assert filled.verification is not None
    assert filled.verification.verdict is None  # nothing is called right while there is something to add
    assert settled(unit(9.3)).state is State.DONE  # nobody was adding: within its tolerance it is left alone
    assert settled(unit(10.7, moves=BROUGHT_BACK)).state is State.DONE
    out = Move(-0.3, Estimate(19.0 * DDEGF, 0.3), Estimate(13.0 * DDEGF, 0.3))
    assert settled(unit(12.7, moves=(out,))).state is State.DONE  # what is taken out ends within the tolerance


@pytest.mark.parametrize(("subcooling_f", "share"), [(11.0, 0.0), (9.0, 0.04)])
def test_of_a_charge_that_is_left_alone_is_known_how_near_it_is(subcooling_f: float, share: float) -> None:
    """0.5 °F for 1 %: common practice, no source."""
    it = settled(unit(subcooling_f)).charge_left
    assert it is not None
    assert it.value == pytest.approx(share, abs=0.01)
    assert 0.02 < it.expanded() < 0.08


LIKE_A_RESTRICTION = {"superheat_f": 20.0, "suction_f": 36.0, "condensing_f": 108.0, "split_f": 16.0}
SAW_NONE = {"looked": {Fault.RESTRICTION.value: "clear"}}


def test_who_looked_for_a_restriction_and_saw_none_is_not_sent_there_again_but_tries_a_little() -> None:
    assert settled(unit(6.0, **LIKE_A_RESTRICTION)).reason is Reason.HELD_BACK
    tried = settled(unit(6.0, **LIKE_A_RESTRICTION, **SAW_NONE))
    assert (tried.state, tried.reason) == (State.MOVE, Reason.UNDERCHARGED)
    assert tried.next_step is not None
    assert tried.next_step.step_kg <= 0.05 * 3.4 + 1e-9
    assert tried.next_step.limited_by is Limit.TRIAL
    assert tried.lead is not None
    assert (tried.lead.fault, tried.lead.held_back) == (Fault.UNDERCHARGE, None)


@pytest.mark.parametrize("clamp", ["suction_line_temperature", "liquid_line_temperature"])
def test_before_that_both_clamps_are_seen_to(clamp: str) -> None:
    now = unit(6.0, **LIKE_A_RESTRICTION, **SAW_NONE)
    held = settled(replace(now, checked={name: it for name, it in now.checked.items() if name != clamp}))
    assert (held.reason, held.next_step) == (Reason.HELD_BACK, None)
    assert held.lead is not None
    assert held.lead.rule_out_first is Fault.INSTRUMENT_OFF


@pytest.mark.parametrize(
    ("after_f", "superheat_f", "goes_on"), [(5.9, 12.0, True), (4.2, 12.0, False), (5.9, 27.0, False)]
)
def test_it_goes_on_only_where_the_unit_has_answered(after_f: float, superheat_f: float, goes_on: bool) -> None:
    """5 % of the charge bring 2.5 °F of subcooling (common practice, no source): 1.9 °F of it, and 0.2.

    Behind a restriction liquid stacks up, and the valve stays starved: 8 to 12 °F is what one that is fed holds, 15 to
    18 °F with the suction line's gain (common practice, no source).
    """
    held = replace(cause(Fault.UNDERCHARGE, 0.6, Sentence("x")), rule_out_first=Fault.RESTRICTION)
    tried = Move(0.17, Estimate(4.0 * DDEGF, 0.3), Estimate(after_f * DDEGF, 0.3))
    now = unit(after_f, superheat_f, moves=(tried,))
    value = now.measured["subcooling"]
    verified = judge(value, TARGET, now)
    step = next_addition("subcooling", value, target_dk=TARGET.value.estimate, nameplate_charge_kg=3.4)
    causes = (held, cause(Fault.RESTRICTION, 0.3))
    assert (_filled_up(Reason.HELD_BACK, causes, TARGET, verified, step, now) is not None) is goes_on


@pytest.mark.parametrize(("added_kg", "most_kg"), [(3.2, 0.2), (3.39, 0.0), (4.0, 0.0)])
def test_no_more_than_the_nameplate_has_is_added_in_all(added_kg: float, most_kg: float) -> None:
    """The nameplate's 3.4 kg: who has added them is not told to add more, however short the figure reads."""
    moves = (Move(added_kg, Estimate(2.0 * DDEGF, 0.3), Estimate(3.0 * DDEGF, 0.3)),)
    assert settled(unit(**SHORT)).state is State.MOVE
    it = settled(unit(**SHORT, moves=moves))
    if most_kg:
        assert it.next_step is not None
        assert it.next_step.step_kg == pytest.approx(most_kg)
    else:
        assert (it.reason, it.next_step) == (Reason.HELD_BACK, None)
        assert it.lead is not None
        assert it.lead.held_back == Sentence("held_back.whole_charge")


@pytest.mark.parametrize("subcooling_f", [8.0, 9.3])
def test_nor_is_it_filled_up_by_more_than_that(subcooling_f: float) -> None:
    moves = (Move(3.4, Estimate(3.0 * DDEGF, 0.3), Estimate(7.0 * DDEGF, 0.3)),)
    assert settled(unit(subcooling_f, moves=moves)).next_step is None


@pytest.mark.parametrize(("likely", "goes_on"), [(0.8, True), (0.45, False)])
def test_airflow_that_was_looked_for_and_is_clear_holds_no_likely_undercharge_back(
    likely: float, goes_on: bool
) -> None:
    now = unit(5.0, split_f=28.0)
    seen = replace(now, looked={Fault.LOW_EVAPORATOR_AIRFLOW.value: "clear"})
    lead = cause(Fault.UNDERCHARGE, likely)
    assert comes_of(lead, now) is Reason.CONDITION
    assert (comes_of(lead, seen) is not Reason.CONDITION) is goes_on
    assert comes_of(cause(Fault.NOTHING_WRONG, likely), seen) is Reason.CONDITION


@pytest.mark.parametrize(("lead", "is_filled"), [(Fault.NOTHING_WRONG, False), (Fault.UNDERCHARGE, True)])
def test_by_a_table_the_last_ounces_take_other_figures_that_say_so_too(lead: Fault, is_filled: bool) -> None:
    """3 °F off the table's target, from which makers charge theirs by some 3.5 °F: common practice, no source."""
    target = Target(Budget(12 * DDEGF, {}), TABLE_SOURCE)
    begun = (Move(0.3, Estimate(30 * DDEGF, 0.3), Estimate(15 * DDEGF, 0.3)),)
    now = unit(superheat_f=15.0, moves=begun, metering_device="fixed_orifice")
    verified = judge(now.measured["superheat"], target, now)
    assert _is_filled_up(cause(lead), target, verified, now) is is_filled
    assert not _is_filled_up(cause(lead), target, verified, replace(now, **SAW_NONE))  # type: ignore[arg-type]
    assert _is_filled_up(cause(lead), replace(target, source="nameplate"), verified, now)


def test_what_is_filled_up_goes_on_where_figure_and_causes_are_too_close_to_tell() -> None:
    """2.9 °F short where 3 °F are right, and too little is as likely as nothing: one in three (by the causes)."""
    known = {"superheat_f": 16.0, "suction_f": 42.0, "condensing_f": 116.0, "split_f": 18.0}
    begun = settled(unit(8.1, moves=BROUGHT_BACK, **known))
    assert (begun.state, begun.reason) == (State.MOVE, Reason.UNDERCHARGED)
    assert begun.next_step is not None
    assert begun.next_step.step_kg > 0.0
    assert settled(unit(8.1, **known)).state is State.LOOK  # nobody was adding


def test_nothing_is_filled_up_where_too_much_leads() -> None:
    now = unit(9.3, moves=BROUGHT_BACK)
    value = now.measured["subcooling"]
    step = next_addition("subcooling", value, target_dk=TARGET.value.estimate, nameplate_charge_kg=3.4, near_dk=0.0)
    verified = judge(value, TARGET, now)
    short = cause(Fault.UNDERCHARGE, 0.3)
    for lead, is_filled in ((Fault.OVERCHARGE, False), (Fault.NOTHING_WRONG, True)):
        found = _filled_up(Reason.RIGHT_YET, (cause(lead, 0.4), short), TARGET, verified, step, now)
        assert (found is not None) is is_filled
        if found is not None:
            assert (found.fault, found.probability) == (Fault.UNDERCHARGE, pytest.approx(0.7))


def test_nothing_is_filled_up_by_less_than_a_scale_tells() -> None:
    filled = settled(unit(9.3, moves=BROUGHT_BACK, nameplate_charge_kg=0.2))
    assert filled.state is State.DONE


def test_the_last_ounces_wait_for_a_second_clamp() -> None:
    waits = settled(unit(9.3, moves=BROUGHT_BACK, checked={}))
    assert (waits.state, waits.reason, waits.next_step) == (State.LOOK, Reason.HELD_BACK, None)
    assert waits.causes[0].held_back == Sentence(
        "held_back.instrument_off", (term("channels", "liquid_line_temperature"),)
    )
    off = [it for it in waits.causes if it.fault is Fault.INSTRUMENT_OFF]
    assert [(it.channel, it.next_check.kind) for it in off] == [
        ("liquid_line_temperature", "check.instrument_off_pipe")
    ]


@pytest.mark.parametrize(
    ("begun_kg", "superheat_f", "condensing_f", "reason"),
    [
        (0.3, 12.0, 116.0, Reason.UNDERCHARGED),
        (0.3, 22.0, 110.0, Reason.HELD_BACK),  # the valve is starved still
        (0.05, 22.0, 110.0, Reason.HELD_BACK),  # a touch lifts no hold
        (0.3, 16.0, 119.0, Reason.HELD_BACK),  # a hot condenser is about as likely
    ],
)
def test_what_was_ruled_out_before_the_first_move_holds_no_later_one_unless_it_is_likely(
    begun_kg: float, superheat_f: float, condensing_f: float, reason: Reason
) -> None:
    now = unit(6.5, superheat_f=superheat_f, suction_f=44.0, condensing_f=condensing_f, split_f=18.0)
    held = settled(now)
    assert held.reason is Reason.HELD_BACK
    assert held.lead is not None
    assert held.lead.rule_out_first in (Fault.RESTRICTION, Fault.CONDENSER_FOULING)
    move = Move(begun_kg, Estimate(3.0 * DDEGF, 0.3), Estimate(6.5 * DDEGF, 0.3))
    told = settled(replace(now, moves=(move,)))
    assert told.reason is reason
    assert told.lead is not None
    is_held = reason is Reason.HELD_BACK  # nobody is sent to a move and away from it at once
    assert (told.next_step is None, told.lead.held_back is not None) == (is_held, is_held)


def orifice(superheat_f: float, moves: tuple[Move, ...] = (), **plate: object) -> Decision:
    """A sound unit but for its superheat; the table asks for 12 °F in these conditions (California Title 24)."""
    plate |= {"metering_device": "fixed_orifice", "target_subcooling_dk": None}
    now = unit(superheat_f=superheat_f, moves=moves, **plate)
    return decide(now, now, Settled(now.measured["superheat"]))


@pytest.mark.parametrize("superheat_f", [4.0, 20.0])
def test_off_a_table_for_all_units_alone_nothing_is_moved(superheat_f: float) -> None:
    """8 °F off, where 5 °F are right; nine in ten sound units lie within 6 °F of it (common practice, no source)."""
    by_table = orifice(superheat_f)
    assert (by_table.state, by_table.reason) == (State.LOOK, Reason.TABLE_ALONE)
    assert (by_table.next_step, by_table.may_move) == (None, None)
    assert by_table.verification is not None
    assert isinstance(by_table.verification.comparison, NotMet)
    assert Fault.NOTHING_WRONG not in {cause.fault for cause in by_table.causes}
    by_plate = orifice(superheat_f, target_superheat_dk=12 * DDEGF)
    assert by_plate.reason is Reason.HELD_BACK
    assert by_plate.lead is not None
    assert by_plate.lead.fault is (Fault.UNDERCHARGE if superheat_f > 12 else Fault.OVERCHARGE)


@pytest.mark.parametrize(
    ("sound", "moves", "reason"),
    [
        (0.09, (), Reason.UNDERCHARGED),
        (0.04, (), Reason.UNDERCHARGED),
        (0.11, (), Reason.TABLE_ALONE),  # what is likelier than 10 % is not ruled out: common practice, no source
        (0.4, BROUGHT_BACK, Reason.UNDERCHARGED),  # nearly there, and finished
    ],
)
def test_no_charge_is_blamed_by_a_table_while_nothing_may_be_wrong(
    sound: float, moves: tuple[Move, ...], reason: Reason
) -> None:
    now = unit(8.6 if moves else 3.0, moves=moves)
    value = now.measured["subcooling"]
    step = next_addition("subcooling", value, target_dk=TARGET.value.estimate, nameplate_charge_kg=3.4)
    lead = cause(Fault.UNDERCHARGE, 0.55)
    assert _reason(lead, judge(value, TARGET, now), step, now, TARGET, sound=sound)[0] is reason


@pytest.mark.parametrize(("sound", "reason"), [(0.02, Reason.OVERCHARGED), (0.04, Reason.TABLE_ALONE)])
def test_by_a_table_less_is_taken_out_than_put_in(sound: float, reason: Reason) -> None:
    now = unit(19.0)
    value = now.measured["subcooling"]
    step = next_addition("subcooling", value, target_dk=TARGET.value.estimate, nameplate_charge_kg=3.4)
    lead = cause(Fault.OVERCHARGE, 0.9)
    assert _reason(lead, judge(value, TARGET, now), step, now, TARGET, sound=sound)[0] is reason


@pytest.mark.parametrize(("likely", "held_by"), [(0.45, Fault.RESTRICTION), (0.55, None)])
def test_nothing_is_taken_out_for_what_is_no_likelier_than_not(likely: float, held_by: Fault | None) -> None:
    now = unit(19.0)
    verified = judge(now.measured["subcooling"], TARGET, now)
    causes = (cause(Fault.OVERCHARGE, likely), cause(Fault.NOTHING_WRONG, 0.2), cause(Fault.RESTRICTION, 0.2))
    held = _held_by_a_rival(Reason.OVERCHARGED, causes, verified, now, None)
    assert (held and held[0]) is held_by
    assert _held_by_a_rival(Reason.UNDERCHARGED, causes, verified, now, None) is None
    assert _held_by_a_rival(Reason.OVERCHARGED, causes, verified, now, 0.2) is None  # by what was added it is too much


def test_what_is_brought_to_the_target_of_a_table_is_brought_there() -> None:
    begun = Move(0.3, Estimate(35 * DDEGF, 0.3), Estimate(20 * DDEGF, 0.3))
    assert orifice(20.0).reason is Reason.TABLE_ALONE
    assert orifice(20.0, (begun,)).reason in (Reason.UNDERCHARGED, Reason.HELD_BACK)


@pytest.mark.parametrize(
    ("off_dk", "fault", "reason"),
    [
        (0.5, Fault.OVERCHARGE, Reason.TOO_CLOSE),
        (0.5, Fault.UNDERCHARGE, Reason.SOME_CAUSE),
        (-0.5, Fault.UNDERCHARGE, Reason.TOO_CLOSE),
        (-0.5, Fault.OVERCHARGE, Reason.SOME_CAUSE),
    ],
)
@pytest.mark.parametrize("figure", ["subcooling", "superheat"])
def test_half_a_kelvin_off_by_poor_instruments_still_points_one_way(
    figure: Figure, off_dk: float, fault: Fault, reason: Reason
) -> None:
    """More refrigerant raises subcooling and lowers superheat, however little."""
    device = "txv" if figure == "subcooling" else "fixed_orifice"
    now = unit(metering_device=device, target_superheat_dk=11 * DDEGF)
    value = Estimate(11 * DDEGF + (off_dk if figure == "subcooling" else -off_dk), 3.0)
    now = replace(now, measured={**now.measured, "superheat": Estimate(11 * DDEGF, 0.3)})
    step = NextStep(0.1, Estimate(0.1, 0.01), (0.05, 0.2), Estimate(1.0, 0.1), None)
    assert _reason(cause(fault), judge(value, TARGET, now), step, now, TARGET)[0] is reason


@pytest.mark.parametrize(
    ("fault", "reason"), [(Fault.UNDERCHARGE, Reason.UNDERCHARGED), (Fault.OVERCHARGE, Reason.CONDITION)]
)
def test_a_starved_valve_may_lose_its_superheat_and_no_other_may(fault: Fault, reason: Reason) -> None:
    """Above 25 °F it does not hold: California Title 24, 2008, page RA3-15."""
    subcooling_f = 3.0 if fault is Fault.UNDERCHARGE else 19.0
    assert comes_of(cause(fault), unit(subcooling_f, superheat_f=30.0)) is reason


def test_in_the_cold_no_charge_is_moved() -> None:
    """55 °F at least: California Title 24, 2013, RA3.2.1.1(d)."""
    assert comes_of(cause(Fault.UNDERCHARGE), unit(3.0, outdoor_f=45.0)) is Reason.CONDITION


@pytest.mark.parametrize(
    "known",
    [
        {"running_s": 60.0},
        {"undisturbed_s": 60.0},
        {"accuracies": {"liquid_pressure": 20 * PSI, "liquid_line_temperature": 0.5}},
        {"accuracies": {"liquid_pressure": 5 * PSI, "liquid_line_temperature": 2.0}},
    ],
)
def test_a_wait_or_a_poor_instrument_puts_off_the_verdict_and_not_the_work(known: dict[str, object]) -> None:
    now = unit(3.0, **known)
    assert judge(now.measured["subcooling"], TARGET, now).unmet
    assert comes_of(cause(Fault.UNDERCHARGE), now) is Reason.UNDERCHARGED


def test_nor_does_a_poor_gauge_on_the_suction_of_a_fixed_orifice() -> None:
    now = unit(metering_device="fixed_orifice", superheat_f=25.0, target_superheat_dk=12 * DDEGF)
    now = replace(now, accuracies={"suction_pressure": 20 * PSI, "suction_line_temperature": 0.5})
    target, value = target_subcooling(12 * DDEGF), now.measured["superheat"]
    step = NextStep(0.1, Estimate(0.1, 0.01), (0.05, 0.2), Estimate(1.0, 0.1), None)
    assert _reason(cause(Fault.UNDERCHARGE), judge(value, target, now), step, now, target)[0] is Reason.UNDERCHARGED


def test_a_charge_that_is_held_back_is_not_moved() -> None:
    assert comes_of(cause(Fault.UNDERCHARGE, held_back=Sentence("x")), unit(3.0)) is Reason.HELD_BACK


@pytest.mark.parametrize(
    ("course", "running_s", "kind"),
    [(Settled(Estimate(2.0, 0.3)), 0.0, "condition.at_rest"), (NotSteady(Why.STARTING), 60.0, "condition.settling")],
)
def test_no_valve_is_blamed_at_rest_or_while_it_starts(course: Course, running_s: float, kind: str) -> None:
    """It holds its superheat only in a unit that runs: common practice, no source."""
    now = unit()
    now = replace(now, running_s=running_s, measured={**now.measured, "superheat": Estimate(30.0, 0.3)})
    verified = decide(now, now, course).verification
    assert verified is not None
    valve = next(it for it in verified.conditions if it.name == "expansion_valve_superheat")
    assert (valve.state, valve.says.kind) == (Outcome.CANNOT_TELL, kind)


def a_doubt(*channels: str, confidence: float) -> Doubt:
    return Doubt(channels, Sentence("doubt.stands_still"), Sentence("fix.stands_still"), confidence)


def test_an_alarm_in_doubt_stops_nothing_but_sends_to_its_reading() -> None:
    """The suction probe contradicts others; a valve is judged by its liquid side, yet nothing goes in meanwhile."""
    short, course = unit(subcooling_f=5.0), Settled(Estimate(5.0 * DDEGF, 0.3))
    doubtful = Alarm(
        AlarmKind.FLOODBACK,
        Sentence("alarm.floodback"),
        Estimate(0.2, 0.3),
        1.0,
        Quantity.TEMPERATURE_DIFFERENCE,
        "",
        ("suction_pressure", "suction_line_temperature"),
        in_doubt=True,
    )
    doubt = a_doubt("suction_pressure", confidence=0.95)
    it = decide(short, short, course, doubts=[doubt], alarms=[doubtful])
    assert (it.state, it.reason, it.doubt) == (State.LOOK, Reason.DOUBT, doubt)
    assert (it.alarms, it.alarms_in_doubt, it.next_step) == ((), (doubtful,), None)
    both = decide(short, short, course, doubts=[doubt], alarms=[doubtful, ALARM])
    assert (both.state, both.alarms, both.alarms_in_doubt) == (State.STOP, (ALARM,), (doubtful,))


def test_amps_in_doubt_do_not_tell_that_it_rests() -> None:
    doubt = a_doubt("compressor_current", confidence=0.8)
    now = unit(running_s=0.0)
    it = decide(now, now, Settled(now.measured["subcooling"]), doubts=(doubt,))
    assert (it.state, it.reason, it.doubt) == (State.LOOK, Reason.DOUBT, doubt)
    runs = unit()
    assert decide(runs, runs, Settled(runs.measured["subcooling"]), doubts=(doubt,)).reason is not Reason.DOUBT


@pytest.mark.parametrize("channel", ["suction_pressure", "suction_line_temperature", "outdoor_air_temperature"])
def test_what_is_judged_is_not_called_sound_beside_a_doubt_elsewhere(channel: str) -> None:
    """A valve is judged by its liquid side; yet nothing is done, and no reading beyond doubt, while one is not."""
    now = unit(unreliable=frozenset({channel, *derived_from([channel])}))
    doubt = a_doubt(channel, confidence=0.95)
    sure = settled(unit())
    assert sure.verification is not None
    assert sure.verification.conditions[0].state is Outcome.MET
    it = decide(now, now.relied_on(), Settled(now.measured["subcooling"]), doubts=[doubt])
    assert it.state is not State.DONE
    assert it.verification is not None
    assert it.verification.verdict is None
    assert it.verification.conditions[0].name == "readings"
    assert (it.verification.conditions[0].state, it.verification.conditions[0].says) == (
        Outcome.CANNOT_TELL,
        doubt.reason,
    )


@pytest.mark.parametrize(
    ("channel", "reason"),
    [
        ("outdoor_air_temperature", Reason.DOUBT),
        ("return_air_humidity", Reason.DOUBT),
        ("return_air_temperature", Reason.DOUBT),
        ("suction_pressure", Reason.DOUBT),
        ("suction_line_temperature", Reason.DOUBT),
        ("supply_air_temperature", None),
    ],
)
@pytest.mark.parametrize("on_the_plate", [False, True])
def test_no_refrigerant_is_moved_on_a_figure_or_a_target_in_doubt(
    channel: str, reason: Reason | None, on_the_plate: bool
) -> None:
    """Behind an orifice the target comes from the air, unless it stands on the nameplate."""
    plate = {"target_superheat_dk": 12 * DDEGF} if on_the_plate else {}
    now = unit(superheat_f=35.0, metering_device="fixed_orifice", unreliable=frozenset({channel}), **plate)
    doubt = a_doubt(channel, confidence=0.8)
    it = decide(now, now.relied_on(), Settled(now.measured["superheat"]), doubts=[doubt])
    stands_in_the_way = reason is not None and not (on_the_plate and "air" in channel)
    assert (it.reason is Reason.DOUBT) is stands_in_the_way
    assert not stands_in_the_way or it.next_step is None


def test_a_clamp_that_may_be_loose_is_looked_at_before_the_unit_is_stopped() -> None:
    over, course = unit(subcooling_f=20.0, condensing_f=122.0), Settled(Estimate(20.0 * DDEGF, 0.3))
    doubt = a_doubt("liquid_line_temperature", confidence=0.5)
    it = decide(over, over, course, doubts=[doubt])
    assert it.state is State.LOOK
    assert it.check_first is doubt
    assert decide(over, over, course, doubts=[a_doubt("outdoor_air_temperature", confidence=0.5)]).check_first is None
    assert decide(over, over, course, doubts=[doubt], alarms=(ALARM,)).state is State.STOP
    sound, settled = unit(), Settled(Estimate(11.0 * DDEGF, 0.3))
    assert decide(sound, sound, settled, doubts=[doubt]).check_first is None


@pytest.mark.parametrize(
    ("further_kg", "held"), [(0.0, True), (0.02, True), (-0.02, True), (0.04, False), (-0.04, False)]
)
def test_an_amount_is_held_until_it_differs_by_a_whole_step_of_the_scale(further_kg: float, held: bool) -> None:
    """An ounce is 28.3 g."""
    short, course = unit(subcooling_f=5.0), Settled(Estimate(5.0 * DDEGF, 0.3))
    fresh = decide(short, short, course).next_step
    assert fresh is not None
    assert 0.08 < fresh.step_kg < 1.0
    said = replace(fresh, step_kg=fresh.step_kg + further_kg)
    assert decide(short, short, course, said=said).next_step == (said if held else fresh)
    in_all = replace(fresh, needed_kg=Estimate(fresh.needed_kg.value + further_kg, 0.1))
    assert decide(short, short, course, said=in_all).next_step == (in_all if held else fresh)


ADDED = Move(0.567, Estimate(11.0 * DDEGF, 0.3), Estimate(17.0 * DDEGF, 0.3))  # 1 lb 4 oz


def overcharged(*moves: Move) -> Situation:
    return unit(17.0, condensing_f=121.0, moves=moves)


def test_what_was_just_added_comes_out_before_air_is_suspected() -> None:
    """It was right, 1 lb 4 oz went in, and subcooling rose: common practice, no source."""
    found_so = settled(overcharged())
    assert found_so.reason in (Reason.HELD_BACK, Reason.ANOTHER_CAUSE)  # there may be air in it
    assert found_so.next_step is None
    added = settled(overcharged(ADDED))
    assert (added.reason, added.added_kg) == (Reason.OVERCHARGED, 0.567)
    assert added.next_step is not None
    assert -0.567 <= added.next_step.step_kg < 0
    assert Fault.NON_CONDENSABLES not in {it.fault for it in added.causes if it.probability > 0.01}


def test_no_more_comes_out_than_what_made_it_wrong() -> None:
    """A tenth of a kilogram went in since it was right: no more than that is too much now, by the balance of mass."""
    for added_kg in (0.1, 0.05):
        added = settled(overcharged(replace(ADDED, mass_kg=added_kg)))
        assert added.added_kg == added_kg
        assert added.next_step is not None
        assert added.next_step.step_kg == -added_kg


def test_only_what_made_it_wrong_is_what_was_added() -> None:
    short = Move(0.567, Estimate(4.0 * DDEGF, 0.3), Estimate(17.0 * DDEGF, 0.3))
    assert settled(overcharged(short)).added_kg is None  # it was not right before
    out = Move(-0.567, Estimate(11.0 * DDEGF, 0.3), Estimate(17.0 * DDEGF, 0.3))
    assert settled(overcharged(out)).added_kg is None
    now_short = unit(5.0, superheat_f=20.0, suction_f=39.0, condensing_f=109.0)
    short_after = settled(replace(now_short, moves=(ADDED,)))
    assert short_after.added_kg is None
    assert short_after.causes == settled(now_short).causes  # nor does it speak against air


@pytest.mark.parametrize("subcooling_f", [9.0, 13.0])
def test_what_is_verified_is_left_alone_though_a_little_is_off(subcooling_f: float) -> None:
    decision = settled(unit(subcooling_f))
    assert decision.state is State.DONE
    checks = {cause.fault: cause.next_check.kind for cause in decision.causes}
    assert checks[Fault.NOTHING_WRONG] == "check.nothing_wrong"


def test_nothing_is_near_enough_where_the_instruments_cannot_tell() -> None:
    close = settled(unit(8.2))
    assert close.reason is Reason.WITHIN_INSTRUMENTS
    assert close.state is State.NEAR_ENOUGH
    assert close.may_move is not None
    assert close.may_move.step_kg > 0
    assert close.next_step is None
    assert settled(unit(11.0)).reason in (Reason.NEAR_ENOUGH, Reason.VERIFIED)


def test_a_stop_is_asked_for_by_the_check_at_rest_and_holds_while_it_only_settles_again() -> None:
    """Air in it looks like too much refrigerant: rules of the trade, from memory."""
    full = settled(unit(20.0, condensing_f=119.0))
    assert full.reason in (Reason.HELD_BACK, Reason.ANOTHER_CAUSE)
    assert asks_for_stop(full, asked_before=False)
    low, waits = settled(unit(**SHORT)), replace(full, causes=())
    for before in (False, True):
        assert asks_for_stop(low, asked_before=before) is False
        for state in (State.SETTLING, State.NOT_RUNNING, State.STOP):  # as it stops, liquid may seem to come back
            assert asks_for_stop(replace(waits, state=state), asked_before=before) is before
    seen = unit(20.0, condensing_f=119.0, at_rest=rested(0.0))
    assert asks_for_stop(settled(seen), asked_before=True) is False  # it has been looked at
    assert settled(seen).reason is Reason.OVERCHARGED
    assert Fault.NON_CONDENSABLES not in [it.fault for it in settled(seen).causes]  # seen to be none: not asked again
    assert settled(seen).causes[0].next_check == Sentence("check.overcharge_alone")  # and nobody stops it to recover


def rested(over_air_f: float) -> dict[str, Estimate]:
    return {
        "liquid_pressure": Estimate(bubble_pressure("R-410A", kelvin(80.0 + over_air_f)), 6.9e3),
        "outdoor_air_temperature": Estimate(kelvin(95.0), 0.15),
        "return_air_temperature": Estimate(kelvin(80.0), 0.15),
    }


@pytest.mark.parametrize("over_air_f", [0.5, 1.0])
def test_what_looks_like_air_as_well_is_not_acquitted_by_a_rest_and_nothing_is_taken_out(over_air_f: float) -> None:
    """A circuit full of air reads 4 to 5 °F high at rest, a tenth 0.4: partial pressures; a colder coil hides it."""
    decision = settled(unit(19.0, condensing_f=121.0, at_rest=rested(over_air_f)))
    assert decision.causes[0].fault is Fault.OVERCHARGE
    assert (decision.state, decision.reason) == (State.LOOK, Reason.HELD_BACK)
    assert decision.next_step is None
    assert decision.causes[0].rule_out_first is Fault.NON_CONDENSABLES
    assert decision.causes[0].held_back == Sentence("held_back.rest_may_hide_air")
    assert asks_for_stop(decision, asked_before=False) is False  # it was stopped and read: nobody is asked again


def test_what_was_acquitted_of_air_and_begun_is_brought_to_its_end() -> None:
    out = Move(-0.2, Estimate(22.0 * DDEGF, 0.3), Estimate(19.0 * DDEGF, 0.3))
    begun = settled(replace(unit(19.0, condensing_f=121.0, at_rest=rested(1.0)), moves=(out,)))
    assert begun.reason is Reason.OVERCHARGED


def test_a_touch_of_recovery_lifts_no_hold() -> None:
    out = Move(-0.03, Estimate(19.2 * DDEGF, 0.3), Estimate(19.0 * DDEGF, 0.3))
    held = settled(replace(unit(19.0, condensing_f=121.0, at_rest=rested(1.0)), moves=(out,)))
    assert held.reason is Reason.HELD_BACK


@pytest.mark.parametrize("low", [True, False])
def test_what_was_found_and_not_put_right_comes_before_any_refrigerant(low: bool) -> None:
    now = unit(**SHORT) if low else unit(22.0, condensing_f=119.0, at_rest=rested(-1.0))
    assert settled(now).reason in (Reason.UNDERCHARGED, Reason.OVERCHARGED)
    fault = Fault.OVERFEEDING
    found = settled(replace(now, looked={fault.value: "found"}))
    assert found.reason is Reason.HELD_BACK
    assert (found.next_step, found.may_move) == (None, None)
    assert found.causes[0].held_back == Sentence("held_back.found", (term("fault", fault.value),))
    assert found.causes[0].rule_out_first is fault


def poorly(condensing_f: float) -> Situation:
    """Read with three times the usual uncertainty, 3 °F above its target: nobody can tell whether that is right."""
    now = unit(13.0, condensing_f=condensing_f)
    return replace(
        now, measured={it: Estimate(of.value, 3 * of.standard_uncertainty) for it, of in now.measured.items()}
    )


def test_where_nobody_can_tell_a_little_is_offered_only_where_nothing_looks_like_it() -> None:
    cool, hot = settled(poorly(116.0)), settled(poorly(120.0))
    assert (cool.reason, hot.reason) == (Reason.WITHIN_INSTRUMENTS, Reason.WITHIN_INSTRUMENTS)
    assert cool.may_move is not None
    assert cool.may_move.step_kg < 0
    assert hot.may_move is None


def test_no_charge_is_called_right_while_what_was_found_is_not_put_right() -> None:
    sound = unit(10.0)
    assert settled(sound).state is State.DONE
    found = settled(replace(sound, looked={"low evaporator airflow": "found"}))
    assert (found.state, found.reason) == (State.LOOK, Reason.HELD_BACK)
    assert found.causes[0].fault is Fault.LOW_EVAPORATOR_AIRFLOW
    assert found.causes[0].next_check == Sentence("held_back.found", (term("fault", "low evaporator airflow"),))


def test_nothing_is_offered_to_be_taken_out_while_air_or_a_hot_condenser_is_not_ruled_out() -> None:
    step = next_addition("subcooling", Estimate(8.0, 0.6), target_dk=Estimate(5.6, 0.0), nameplate_charge_kg=3.4)
    more = next_addition("subcooling", Estimate(2.0, 0.6), target_dk=Estimate(5.6, 0.0), nameplate_charge_kg=3.4)
    cool, hot = (unit(10.0, condensing_f=at_f) for at_f in (114.0, 132.0))
    clear, open_ = explain(cool.relied_on()), explain(hot.relied_on())
    assert _may_offer(step, cool, clear)
    assert not _may_offer(step, hot, open_)
    assert _may_offer(more, hot, open_)  # that too little is added hurts less than that a right charge is taken out
    assert not _may_offer(more, replace(cool, looked={"low evaporator airflow": "found"}), clear)
    assert not _may_offer(None, cool, clear)


def test_a_rest_that_reads_as_cold_as_its_air_acquits_of_air_that_was_unlikely() -> None:
    assert settled(unit(20.0, condensing_f=119.0, at_rest=rested(-0.5))).reason is Reason.OVERCHARGED


def test_hoses_are_exchanged_on_a_unit_that_was_stopped() -> None:
    exchanged = Doubt(("suction_pressure",), Sentence("x"), Sentence("fix.pressures_exchanged"), 0.9)
    now = unit()
    assert asks_for_stop(decide(now, now, None, doubts=(exchanged,)), asked_before=False) is False
    doubted = decide(
        now, now, Settled(now.measured["subcooling"]), doubts=(replace(exchanged, channels=("liquid_pressure",)),)
    )
    assert asks_for_stop(doubted, asked_before=False)


def test_air_that_the_pressure_at_rest_shows_is_not_looked_for_again_but_taken_out() -> None:
    """5 °F over the return air, where 30 psi of air in R-407C leave it (computed with the simulated unit)."""
    rested = {"liquid_pressure": Estimate(bubble_pressure("R-410A", kelvin(87.0)), 6.9e3)}
    air = {
        "outdoor_air_temperature": Estimate(kelvin(95.0), 0.15),
        "return_air_temperature": Estimate(kelvin(80.0), 0.15),
    }
    lead = settled(unit(20.0, condensing_f=124.0, at_rest={**rested, **air})).lead
    assert lead is not None
    assert (lead.fault, lead.next_check.kind) == (Fault.NON_CONDENSABLES, "check.non_condensables_seen")
    rested["liquid_pressure"] = Estimate(bubble_pressure("R-410A", kelvin(83.0)), 6.9e3)  # sun and wind do as much
    causes = settled(unit(20.0, condensing_f=124.0, at_rest={**rested, **air})).causes
    (open_yet,) = (it for it in causes if it.fault is Fault.NON_CONDENSABLES)
    assert open_yet.next_check.kind == "check.non_condensables_open"
    rested["liquid_pressure"] = Estimate(bubble_pressure("R-410A", kelvin(70.0)), 6.9e3)  # what tells nothing of air
    answered = settled(unit(20.0, condensing_f=124.0, at_rest={**rested, **air}))
    (untold,) = (it for it in answered.causes if it.fault is Fault.NON_CONDENSABLES)
    assert untold.next_check.kind == "check.non_condensables_untold"
    assert asks_for_stop(answered, asked_before=True) is False


@pytest.mark.parametrize(("suction_f", "freezes"), [(23.0, True), (27.0, True), (28.3, False), (35.0, False)])
def test_a_coil_below_freezing_is_looked_at_for_ice(suction_f: float, freezes: bool) -> None:
    """Water freezes at 32 °F; its metal is 2 K warmer than the refrigerant at least: common practice, no source."""
    decision = settled(unit(13.0, superheat_f=50.0, suction_f=suction_f))
    assert (decision.freezing_k is not None) is freezes


def test_a_figure_that_is_late_is_not_judged() -> None:
    late = settled(unit(late=frozenset({"subcooling"})))
    assert (late.reason, late.state, late.next_step) == (Reason.LATE, State.LOOK, None)
    assert late.verification is not None
    assert (late.verification.conditions[0].name, late.verification.conditions[0].state) == (
        "readings",
        Outcome.NOT_MET,
    )


def test_without_a_plate_the_air_split_is_held_to_what_is_usual() -> None:
    """20 °F at 80 °F and 67 °F wet bulb: common practice, no source; 28 °F is beyond what Title 24 allows over that."""
    for split_f, state in ((20.0, Outcome.MET), (28.0, Outcome.NOT_MET)):
        judged = settled(unit(split_f=split_f, target_air_split_dk=None)).verification
        assert judged is not None
        assert {it.name: it.state for it in judged.conditions}["air_split"] is state


def test_how_long_a_unit_must_rest_is_awaited() -> None:
    """Half an hour where the coil indoors is the coldest: common practice, no source."""
    rests = unit(running_s=0.0, rested_s=100.0)
    course = Settled(rests.measured["subcooling"])
    it = decide(rests, rests, course, stop_asked=True).awaited
    assert it is not None
    assert (it.what, it.seconds_left, it.of_seconds) == ("rest", 1700.0, 1800.0)
    assert decide(rests, rests, course).awaited is None  # nobody asked for the check
    has_rested = replace(rests, rested_s=1800.0)
    assert decide(has_rested, has_rested, course, stop_asked=True).awaited is None


@pytest.mark.parametrize(("line_k", "weakest"), [(0.25, "liquid_line_temperature"), (0.2, "liquid_pressure")])
def test_the_reading_that_blurs_a_figure_most_is_named(line_k: float, weakest: str) -> None:
    """Of 0.3 K in all, 0.25 K leave 0.17 K to the pressure and 0.2 K leave 0.22 K: in quadrature, JCGM 100, 5.1.2."""
    now = unit()
    line = Estimate(now.measured["liquid_line_temperature"].value, line_k)
    assert settled(replace(now, measured={**now.measured, "liquid_line_temperature": line})).weakest == weakest


def test_a_charge_without_a_step_is_not_moved() -> None:
    short = unit(3.0)
    verified = judge(short.measured["subcooling"], TARGET, short)
    for plate_kg, reason in ((None, Reason.NO_CHARGE), (3.4, Reason.TOO_CLOSE)):
        now = replace(short, nameplate_charge_kg=plate_kg)
        assert _reason(cause(Fault.UNDERCHARGE), verified, None, now, TARGET)[0] is reason


def heating(**known: object) -> Situation:
    """The same unit as it heats: 35 °F outdoors, 70 °F indoors, and the air leaves it at 98 °F."""
    now = unit(condensing_f=105.0, suction_f=25.0, outdoor_f=35.0, **known)
    air = {"return_air_temperature": kelvin(70.0), "supply_air_temperature": kelvin(98.0)}
    return replace(now, measured=now.measured | {name: Estimate(value, 0.15) for name, value in air.items()})


@pytest.mark.parametrize("subcooling_f", [3.0, 11.0, 25.0])
def test_what_heats_is_judged_by_no_figure_of_cooling(subcooling_f: float) -> None:
    """Its charge is judged by its own chart or by weight (trade press): no amount, no cause, no verdict, no target."""
    now = heating(subcooling_f=subcooling_f)
    now = replace(now, measured=now.measured | {"subcooling": Estimate(subcooling_f * DDEGF, 0.3)})
    found = settled(now)
    assert (found.state, found.reason) == (State.LOOK, Reason.HEATING)
    assert (found.next_step, found.may_move, found.verification, found.causes) == (None, None, None, ())
    assert found.awaited is None
    assert not asks_for_stop(found, asked_before=False)


def test_a_defrost_is_waited_through() -> None:
    """The circuit is turned to cooling, and the outdoor fan stands (trade press)."""
    now = unit(condensing_f=50.0, suction_f=20.0, outdoor_f=35.0)
    stands = {"condenser_fan_current": Estimate(0.0, 0.05), "supply_air_temperature": Estimate(kelvin(80.0), 0.15)}
    found = settled(replace(now, measured=now.measured | stands))
    assert (found.state, found.reason, found.verification) == (State.SETTLING, Reason.DEFROST, None)
    assert decide(now, now, None).reason is Reason.NO_FIGURE


def test_a_heat_pump_whose_gauge_sits_on_the_vapour_valve_pumps_all_the_same() -> None:
    """There stands the discharge in heating, so that the two pressures are one."""
    now = heating()
    alike = {"suction_pressure": now.measured["liquid_pressure"], "compressor_current": Estimate(9.0, 0.1)}
    found = settled(replace(now, measured=now.measured | alike))
    assert (found.reason, found.pumps_not) == (Reason.HEATING, False)


@pytest.mark.parametrize(
    ("running_s", "state", "starts", "pumps_not"),
    [
        (0.25, State.STARTING, True, False),
        (6.0, State.STARTING, True, False),  # a sound start of the simulated unit takes some 4 s
        (6.5, State.STARTING, False, False),
        (15.0, State.STARTING, False, False),
        (15.5, State.STOP, False, True),
        (600.0, State.STOP, False, True),
    ],
)
def test_what_draws_current_and_parts_no_pressures_is_to_be_stopped(
    running_s: float, state: State, starts: bool, pumps_not: bool
) -> None:
    """A three-phase scroll that turns backwards: makers' manuals. A start takes some seconds: from memory."""
    now = unit(running_s=running_s)
    alike = {"suction_pressure": now.measured["liquid_pressure"], "compressor_current": Estimate(4.0, 0.1)}
    now = replace(now, measured=now.measured | alike)
    for course in (None, Settled(now.measured["subcooling"])):  # it is told without a figure of the charge, too
        found = decide(now, now, course)
        assert (found.state, found.reason) == (state, Reason.AT_REST)
        assert (found.starts, found.pumps_not) == (starts, pumps_not)
        assert (found.drawn_a, found.causes, found.next_step) == (Estimate(4.0, 0.1), (), None)
    open_probe = a_doubt("liquid_pressure", confidence=0.95)  # one that may be off its port tells of no lift
    assert decide(now, now, Settled(now.measured["subcooling"]), doubts=[open_probe]).reason is Reason.DOUBT


@pytest.mark.parametrize(
    ("pressure_pa", "before_pa", "volts", "reason", "state"),
    [
        (20e3, 20e3, 0.3, Reason.VACUUM, State.NOT_RUNNING),
        (20e3, 20e3, 236.0, Reason.VACUUM_LIVE, State.STOP),  # a timer may start it; in a vacuum it arcs: makers
        (240e3, 240e3, 236.0, Reason.EMPTY, State.NOT_RUNNING),
        (240e3, 260e3, 236.0, Reason.FALLING, State.NOT_RUNNING),  # 40 CFR 82.156 in spirit, from memory
        (240e3, 220e3, 236.0, Reason.RISING, State.NOT_RUNNING),
    ],
)
def test_a_vacuum_with_power_on_is_to_be_stopped_and_what_moves_is_not_empty(
    pressure_pa: float, before_pa: float, volts: float, reason: Reason, state: State
) -> None:
    at_rest = unit(running_s=0.0)
    read = {"line_voltage_ab": Estimate(volts, 1.0)}
    now, lately = (
        replace(at_rest, measured=at_rest.measured | read | dict.fromkeys(_SIDES, Estimate(found_pa, 1e3)))
        for found_pa in (pressure_pa, before_pa)
    )
    found = decide(now, lately, None)
    assert (found.reason, found.state) == (reason, state)
    assert (found.causes, found.verification, found.awaited) == ((), None, None)


_SIDES = ("suction_pressure", "liquid_pressure")
CLEAR, DRIFTED, LEAKED = (Estimate(share, 1e-5) for share in (0.0, 100e-6, 800e-6))
"""What a detector reads: nothing, what it drifts by, and 800 ppm."""


def sniffed(in_air: Estimate, now: Situation) -> Situation:
    return replace(now, measured=now.measured | {"refrigerant_in_air": in_air})


def test_refrigerant_in_the_air_is_seen_to_before_any_charge() -> None:
    """Common practice, no source."""
    short = unit(**SHORT)
    assert settled(sniffed(DRIFTED, short)).state is State.MOVE
    told = settled(sniffed(LEAKED, short))
    assert (told.state, told.reason) == (State.LOOK, Reason.REFRIGERANT_IN_AIR)
    assert (told.in_air, told.next_step, told.may_move) == (LEAKED, None, None)
    assert (told.check_first, told.awaited) == (None, None)
    assert settled(poorly(116.0)).may_move is not None
    assert settled(sniffed(LEAKED, poorly(116.0))).may_move is None  # nor is anything offered
    right = settled(sniffed(LEAKED, unit())).verification
    assert right is not None
    assert right.verdict is None  # no charge is called right meanwhile
    floods = settled(sniffed(LEAKED, short), alarms=(replace(ALARM, kind=AlarmKind.FLOODBACK),))
    assert (floods.state, floods.reason, floods.in_air) == (State.STOP, Reason.ALARM, LEAKED)


def test_refrigerant_in_the_air_is_told_at_once_and_until_it_is_gone_for_a_minute() -> None:
    clear, thick = sniffed(CLEAR, unit()), sniffed(LEAKED, unit())
    at_once, lasting = settled(thick, clear), settled(clear, thick)
    assert at_once.in_air == lasting.in_air == LEAKED
    assert settled(sniffed(Estimate(700e-6, 1e-5), unit()), thick).in_air == LEAKED  # the more of the two
    assert settled(clear, clear).in_air is None
    assert settled(unit(), thick).in_air is None  # the detector has been taken away
    doubted = replace(thick, unreliable=frozenset({"refrigerant_in_air"}))
    assert settled(doubted, thick).reason is not Reason.REFRIGERANT_IN_AIR


def test_an_alarm_stops_what_heats_too() -> None:
    found = settled(heating(), alarms=(ALARM,))
    assert (found.state, found.reason) == (State.STOP, Reason.ALARM)


def test_what_cannot_be_relied_on_tells_of_no_heating() -> None:
    now = heating()
    lately = now.without({"supply_air_temperature"})
    assert settled(now, lately).reason is not Reason.HEATING


@pytest.mark.parametrize(
    ("known", "alarms", "kept"),
    [
        ({}, (), True),
        ({}, (ALARM,), True),  # a full cylinder says nothing of the circuit
        ({}, (replace(ALARM, kind=AlarmKind.FLOODBACK),), False),
        ({}, (replace(ALARM, kind=AlarmKind.HEAD_PRESSURE),), False),
        ({}, (ALARM, replace(ALARM, kind=AlarmKind.COMPRESSOR_CURRENT)), False),
        ({"running_s": 0.0}, (), False),
        ({"compressor_rla_a": 70.0}, (), False),  # 9 A is none that runs
    ],
)
def test_what_is_worth_keeping_is_of_a_circuit_at_work(
    known: dict[str, object], alarms: tuple[Alarm, ...], kept: bool
) -> None:
    now = unit(**known)
    now = replace(now, measured=now.measured | {"compressor_current": Estimate(9.0, 0.1)})
    assert is_worth_keeping(settled(now, alarms=alarms), now) is kept


def test_pressures_that_are_one_are_of_no_circuit_at_work() -> None:
    now = heating()
    alike = {"suction_pressure": now.measured["liquid_pressure"], "compressor_current": Estimate(9.0, 0.1)}
    now = replace(now, measured=now.measured | alike)
    assert not is_worth_keeping(settled(now), now)
    assert is_worth_keeping(settled(heating()), heating())


def test_where_nothing_is_likelier_than_not_the_unit_is_not_known_yet() -> None:
    """Condensing 37 °F over the outdoor air, all else as it should be: a blocked coil, or a compact unit that is sound
    (a maker prints 28 to 36 °F of one, tests/published/normal_pressures_by_makers.csv).
    """
    found = settled(unit(suction_f=47.0, condensing_f=132.0, superheat_f=12.0, split_f=20.0))
    assert found.reason is Reason.SOME_CAUSE
    assert found.lead is not None
    assert found.lead.fault is Fault.CONDENSER_FOULING
    assert found.is_unknown_unit
    blocked = settled(unit(suction_f=49.0, condensing_f=145.0))
    assert blocked.reason is Reason.ANOTHER_CAUSE
    assert not blocked.is_unknown_unit
    assert not settled(unit()).is_unknown_unit
