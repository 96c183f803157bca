"""What goes out of calc's structs is what is in them, rounded to what is worth sending, and worded in both systems."""

import math

import pytest

from calc.comparing import CannotTell, Comparison, Met, NotMet, Outcome
from calc.diagnosis import Cause, Evidence, Fault
from calc.doubts.observed import Doubt
from calc.estimate import Estimate
from calc.governing import Figure
from calc.judge.alarms import Alarm, AlarmKind
from calc.judge.next_step import Limit, NextStep
from calc.judge.state import Awaited
from calc.judge.verification import Condition, Verification
from calc.protocols import Limits
from calc.quantities import Quantity
from calc.sentences import Sentence
from calc.symptoms import Departure
from ingest.advice.history import History
from ingest.advice.messages import (
    alarm_message,
    awaited_message,
    cause_message,
    doubt_message,
    step_message,
    verification_message,
)
from ingest.advice.wording import Voice

VOICE = Voice(101_325.0)
DDEGF = 5 / 9


def kelvin(degf: float) -> float:
    return (degf + 459.67) * DDEGF


def condition(
    name: str,
    state: Outcome = Outcome.MET,
    measured: Estimate | None = None,
    limits: tuple[float, float] | None = None,
    source: str = "a standard",
) -> Condition:
    of = None if limits is None else Limits(*limits, source)
    return Condition(name, state, Sentence("condition.met"), measured, of, source)


def verification(comparison: Comparison | None, *conditions: Condition, figure: Figure = "subcooling") -> Verification:
    return Verification(figure, conditions, Estimate(-1.23456, 0.34567), comparison)


@pytest.mark.parametrize(
    ("comparison", "state", "probability", "says"),
    [
        (Met(0.987654), "right", 0.9877, "Yes: the charge is right, by its subcooling alone (over 95 %)."),
        (NotMet(0.912345, "low"), "too little", 0.9123, "Yes: the charge is low, by its subcooling alone (90 %)."),
        (NotMet(0.912345, "high"), "too much", 0.9123, "Yes: the charge is high, by its subcooling alone (90 %)."),
        (CannotTell(0.612345, 0.7, True), "cannot tell", 0.6123, "Yes, but these instruments cannot tell."),
        (None, "may not be judged", None, "Not yet: 0 of 1 conditions open."),
    ],
)
def test_a_verdict(comparison: Comparison | None, state: str, probability: float | None, says: str) -> None:
    found = verification_message(verification(comparison, condition("readings")), "", VOICE)
    assert (found.state, found.probability, found.says.us) == (state, probability, says)
    assert (found.figure, found.deviation_dk, found.expanded_dk) == ("subcooling", -1.235, 0.691)


def test_open_conditions_are_counted_and_nothing_is_said_of_the_charge() -> None:
    open_one = condition("readings", Outcome.NOT_MET)
    unknown = condition("outdoor_air_temperature", Outcome.CANNOT_TELL)
    found = verification_message(verification(Met(0.99), open_one, unknown, condition("settled")), "", VOICE)
    assert found.says.us == "Not yet: 2 of 3 conditions open."
    assert (found.probability, [it.state for it in found.conditions]) == (None, ["not met", "cannot tell", "met"])
    without_target = Verification("superheat", (), None, None)
    none = verification_message(without_target, "", VOICE)
    assert (none.deviation_dk, none.expanded_dk) == (None, None)


FIFTEEN_MINUTES = (900.0, math.inf)
WARM = (kelvin(55), math.inf)


@pytest.mark.parametrize(
    ("given", "us", "si"),
    [
        (condition("readings"), "", ""),
        (condition("running_time", Outcome.CANNOT_TELL, None, FIFTEEN_MINUTES), "", ""),
        (condition("running_time", Outcome.MET, Estimate(1200.0, 0.0), FIFTEEN_MINUTES), "20 min", "20 min"),
        (condition("running_time", Outcome.MET, Estimate(1200.0, 0.0)), "20 min", "20 min"),
        (
            condition("undisturbed_time", Outcome.NOT_MET, Estimate(300.0, 0.0), FIFTEEN_MINUTES),
            "5 of 15 min",
            "5 of 15 min",
        ),
        (condition("liquid_pressure_accuracy", Outcome.NOT_MET, Estimate(9e4, 0.0), (0.0, 48e3)), "", ""),
        (
            condition("outdoor_air_temperature", Outcome.MET, Estimate(kelvin(95), 0.5 * DDEGF), WARM),
            "95.0 ± 1.0 °F",
            "35.0 ± 0.6 °C",
        ),
        (
            condition("outdoor_air_temperature", Outcome.NOT_MET, Estimate(kelvin(50), 0.5 * DDEGF), WARM),
            "50.0 ± 1.0 °F; at least 55 °F",
            "10.0 ± 0.6 °C; at least 12.8 °C",
        ),
        (
            condition("air_split", Outcome.NOT_MET, Estimate(9 * DDEGF, 0.5 * DDEGF), (-math.inf, 3 * DDEGF)),
            "9.0 ± 1.0 °F; at most 3 °F",
            "5.0 ± 0.6 K; at most 1.7 K",
        ),
        (
            condition("expansion_valve_superheat", Outcome.CANNOT_TELL, Estimate(5.0, 0.5), (20 / 9, 125 / 9)),
            "9.0 ± 1.8 °F; 4 °F to 25 °F",
            "5.0 ± 1.0 K; 2.2 K to 13.9 K",
        ),
        (condition("target", Outcome.NOT_MET, Estimate(5.0, 0.5)), "9.0 ± 1.8 °F", "5.0 ± 1.0 K"),
        (
            condition("temperature_accuracy", Outcome.MET, Estimate(0.5, 0.0), (0.0, 0.7)),
            "0.9 °F",
            "0.5 K",
        ),
    ],
)
def test_what_was_measured_of_a_condition_and_its_limits_if_not_met(given: Condition, us: str, si: str) -> None:
    (told,) = verification_message(verification(None, given), "", VOICE).conditions
    assert (told.measured.us, told.measured.si) == (us, si)
    assert (told.name, told.says.us, told.source) == (given.name, "Met.", "a standard")


@pytest.mark.parametrize(
    ("name", "split_source", "source"),
    [
        ("air_split", "a rule", "a standard; what it should be: a rule"),
        ("air_split", "", "a standard"),
        ("target", "a rule", "a standard"),
    ],
)
def test_the_split_tells_by_which_rule_it_was_expected(name: str, split_source: str, source: str) -> None:
    (told,) = verification_message(verification(None, condition(name)), split_source, VOICE).conditions
    assert told.source == source


def evidence(name: str, measured: float, expected: float, weight: float) -> Evidence:
    it = Departure(
        name, Estimate(measured, 0.1), Estimate(expected, 0.5), Estimate(measured - expected, 0.51), "a rule"
    )
    return Evidence(it, weight)


@pytest.mark.parametrize(
    ("name", "measured", "expected", "us", "si"),
    [
        (
            "suction_dew_point",
            kelvin(40),
            kelvin(45),
            "40 °F, expected 45.0 ± 1.8 °F",
            "4.4 °C, expected 7.2 ± 1.0 °C",
        ),
        ("compressor_load", 0.8, 1.1, "0.8, expected 1.10 ± 1.00", "0.8, expected 1.10 ± 1.00"),
        ("condenser_fan_load", 0.5, 0.9, "0.5, expected 0.90 ± 1.00", "0.5, expected 0.90 ± 1.00"),
        ("superheat", 10.0, 5.0, "18 °F, expected 9.0 ± 1.8 °F", "10 K, expected 5.0 ± 1.0 K"),
    ],
)
def test_evidence_in_the_units_of_its_figure(name: str, measured: float, expected: float, us: str, si: str) -> None:
    piece = evidence(name, measured, expected, 1.23456)
    against = evidence("air_split", 9.0, 11.0, -0.98765)
    cause = Cause(Fault.UNDERCHARGE, (), 0.123456, (piece,), (against,), Sentence("check.several"), None, None)
    found = cause_message(cause, VOICE)
    assert (found.fault, found.probability, found.together, found.held_back) == ("undercharge", 0.1235, [], None)
    (told,) = found.evidence_for
    assert (told.figure, told.weight, told.source) == (name, 1.23, "a rule")
    assert (told.measured.us, told.measured.si) == (us, si)
    assert [it.weight for it in found.evidence_against] == [-0.99]


def test_a_cause_that_is_held_back_says_why() -> None:
    first = Sentence("held_back.restriction")
    together = (Fault.RESTRICTION, Fault.OVERCHARGE)
    found = cause_message(Cause(Fault.SEVERAL, together, 0.5, (), (), Sentence("check.several"), first, None), VOICE)
    assert found.held_back is not None
    assert found.held_back.us == "First rule out a liquid-line restriction."
    assert found.together == [fault.value for fault in together]


@pytest.mark.parametrize(
    ("step_kg", "as_liquid", "phase"), [(0.123456, True, "liquid"), (0.123456, False, "vapour"), (-0.123456, True, "")]
)
def test_a_step_to_a_tenth_of_a_gram_with_the_phase_that_goes_in(step_kg: float, as_liquid: bool, phase: str) -> None:
    step = NextStep(step_kg, Estimate(0.234567, 0.05), (0.156789, 0.345678), Estimate(9.0, 3.0), None)
    found = step_message(step, as_liquid=as_liquid)
    assert (found.step_kg, found.needed_kg) == (round(step_kg, 4), 0.2346)
    assert (found.needed_least_kg, found.needed_most_kg) == (0.1568, 0.3457)
    assert (found.phase, found.limited_by) == (phase, "")
    limited = NextStep(step_kg, Estimate(0.2, 0.05), (0.1, 0.3), Estimate(9.0, 3.0), Limit.OVERSHOOT)
    assert step_message(limited, as_liquid=as_liquid).limited_by == "it must not overshoot"


def test_what_is_awaited_is_told_by_the_clock_in_whole_seconds() -> None:
    found = awaited_message(Awaited("subcooling", 101.0, 302.2), History(4.0))
    assert (found.what, found.seconds_left, found.of_seconds) == ("subcooling", 25.0, 76.0)
    slow = awaited_message(Awaited("subcooling", 101.6, 302.2), History())
    assert (slow.seconds_left, slow.of_seconds) == (102.0, 302.0)


def test_a_doubt_and_an_alarm_go_out_as_they_are() -> None:
    doubt = Doubt(("suction_pressure",), Sentence("condition.late"), Sentence("condition.settling"), 0.87, "a rule")
    told = doubt_message(doubt, VOICE)
    assert (told.channels, told.confidence, told.source) == (("suction_pressure",), 0.87, "a rule")
    assert (told.reason.us, told.fix.us) == ("An instrument is late.", "It is still settling: wait.")
    low = Alarm(
        AlarmKind.FLOODBACK, Sentence("alarm.floodback"), Estimate(0.5, 0.1), 1.0, Quantity.TEMPERATURE_DIFFERENCE, "no"
    )
    said = alarm_message(low, VOICE)
    assert (said.kind, said.source, said.measured.si) == ("floodback", "no", "0.5 ± 0.2 K; at least 1 K")
