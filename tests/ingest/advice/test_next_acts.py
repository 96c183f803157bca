"""What the next hand would do where the sentence itself asks for nothing yet: what to beware of depends on it."""

from dataclasses import replace

import pytest

from calc.cautions import Step
from calc.comparing import Outcome
from calc.diagnosis import Cause, Fault
from calc.doubts.observed import Doubt
from calc.judge.alarms import AlarmKind
from calc.judge.state import Decision, Reason, State
from calc.judge.verification import Condition
from calc.sentences import Sentence
from calc.targets import NoTarget
from ingest.advice.sentence import _next_acts, _told_acts
from tests.ingest.advice.test_sentence import an_alarm


def decision(reason: Reason, *faults: Fault) -> Decision:
    causes = [Cause(fault, (), 0.9, (), (), Sentence("look"), None, None) for fault in faults]
    return Decision(
        state=State.LOOK,
        reason=reason,
        figure="subcooling",
        value=None,
        target=NoTarget(Sentence("none")),
        causes=tuple(causes),
    )


@pytest.mark.parametrize(
    "reason", [Reason.NO_TARGET, Reason.NO_CHARGE, Reason.TOO_CLOSE, Reason.TABLE_ALONE, Reason.NOT_WEIGHED]
)
def test_refrigerant_comes_out_only_where_too_much_is_likeliest(reason: Reason) -> None:
    assert _next_acts(decision(reason, Fault.OVERCHARGE)) == (Step.RECOVER,)
    assert _next_acts(decision(reason, Fault.UNDERCHARGE, Fault.OVERCHARGE)) == (Step.CHARGE,)
    assert _next_acts(decision(reason)) == ()


@pytest.mark.parametrize(
    ("reason", "acts"),
    [
        (Reason.NO_FIGURE, (Step.CONNECT,)),
        (Reason.HEATING, (Step.BY_A_HEAT_PUMP,)),  # nothing is moved
        (Reason.DEFROST, (Step.BY_A_HEAT_PUMP,)),
        (Reason.REFRIGERANT_IN_AIR, (Step.DISCONNECT,)),
        (Reason.VACUUM, (Step.EVACUATE,)),
        (Reason.VACUUM_LIVE, (Step.SWITCH_OFF, Step.EVACUATE)),
        (Reason.FALLING, (Step.RECOVER,)),
        (Reason.RISING, ()),
        (Reason.OPEN_OR_EMPTY, (Step.CONNECT,)),
        (Reason.EMPTY, (Step.PRESSURE_TEST, Step.EVACUATE)),
        (Reason.AT_REST, (Step.LOOK,)),  # it may start by itself
        (Reason.ANOTHER_CAUSE, (Step.LOOK,)),
        (Reason.SOME_CAUSE, (Step.LOOK,)),
        (Reason.HELD_BACK, (Step.LOOK,)),
        (Reason.RIGHT_YET, (Step.LOOK,)),
        (Reason.UNDERCHARGED, (Step.CHARGE,)),
        (Reason.OVERCHARGED, (Step.RECOVER,)),
        (Reason.NEAR_ENOUGH, (Step.LOOK, Step.DISCONNECT)),  # the hoses come off, and the panel goes on
        (Reason.VERIFIED, (Step.LOOK, Step.DISCONNECT)),
    ],
)
def test_what_the_sentence_asks_a_hand_to_do_is_what_it_is_warned_of(reason: Reason, acts: tuple[Step, ...]) -> None:
    """Common practice, no source."""
    assert _next_acts(decision(reason)) == acts
    seated_first = replace(decision(reason), check_first=doubt("liquid_line_temperature"))
    assert _next_acts(seated_first) == (Step.TOUCH, *acts)


@pytest.mark.parametrize(
    ("kind", "acts"),
    [
        (AlarmKind.FLOODBACK, (Step.TOUCH, Step.MEASURE)),  # the shell is measured, its terminal cover on
        (AlarmKind.HEAD_PRESSURE, (Step.LOOK,)),  # the condenser's fan
        (AlarmKind.COMPRESSOR_CURRENT, (Step.LOOK, Step.MEASURE)),
        (AlarmKind.CYLINDER, (Step.RECOVER,)),
        (AlarmKind.DISCHARGE_LINE, (Step.TOUCH,)),
        (AlarmKind.REFRIGERANT_IN_AIR, ()),  # who leaves has nothing in hand
    ],
)
def test_an_alarm_sends_a_hand_to_where_it_comes_from(kind: AlarmKind, acts: tuple[Step, ...]) -> None:
    """Common practice, no source."""
    assert _next_acts(replace(decision(Reason.ALARM), alarms=(an_alarm(kind),))) == acts


def test_two_alarms_that_send_to_one_place_are_warned_of_once() -> None:
    kinds = (AlarmKind.COMPRESSOR_CURRENT, AlarmKind.CYLINDER, AlarmKind.HEAD_PRESSURE)
    stopped = replace(decision(Reason.ALARM), alarms=tuple(map(an_alarm, kinds)))
    assert _next_acts(stopped) == (Step.LOOK, Step.MEASURE, Step.RECOVER)


@pytest.mark.parametrize(
    ("channel", "acts"),
    [
        ("liquid_line_temperature", (Step.TOUCH,)),
        ("suction_pressure", (Step.DISCONNECT, Step.TOUCH)),  # a probe or a hose comes off under pressure
        ("liquid_pressure", (Step.DISCONNECT, Step.TOUCH)),
        ("outdoor_air_temperature", (Step.TOUCH,)),
    ],
)
def test_a_doubt_sends_a_hand_to_its_instrument(channel: str, acts: tuple[Step, ...]) -> None:
    """Common practice, no source."""
    assert _next_acts(replace(decision(Reason.DOUBT), doubt=doubt(channel))) == acts


def doubt(channel: str) -> Doubt:
    return Doubt((channel,), Sentence("doubt.failed_check"), Sentence("fix.failed_check"), 0.8)


@pytest.mark.parametrize("reason", [Reason.LATE, Reason.NOT_STEADY, Reason.STILL_SETTLING])
def test_nobody_who_waits_is_told_how_to_charge(reason: Reason) -> None:
    assert _next_acts(decision(reason)) == ()


@pytest.mark.parametrize("reason", [Reason.HELD_BACK, Reason.ANOTHER_CAUSE, Reason.SOME_CAUSE, Reason.NO_TARGET])
def test_where_a_restriction_is_told_of_pipes_are_hot_and_fans_turn(reason: Reason) -> None:
    """Its check measures on a unit that runs, wherever among the causes it stands."""
    assert Step.TOUCH in _told_acts(decision(reason, Fault.RESTRICTION))
    assert Step.TOUCH in _told_acts(decision(reason, Fault.UNDERCHARGE, Fault.RESTRICTION))
    assert Step.TOUCH not in _told_acts(decision(reason, Fault.UNDERCHARGE))


def test_only_the_check_that_the_sentence_sends_to_is_in_hand() -> None:
    """Common practice, no source: a clamp at a drier needs no lock, and who adds refrigerant measures no amps."""
    restricted = decision(Reason.ANOTHER_CAUSE, Fault.RESTRICTION, Fault.VALVE_LEAKAGE)
    assert _next_acts(restricted) == (Step.TOUCH,)
    assert _told_acts(restricted) == (Step.TOUCH, Step.MEASURE)
    assert _next_acts(decision(Reason.UNDERCHARGED, Fault.UNDERCHARGE, Fault.VALVE_LEAKAGE)) == (Step.CHARGE,)
    (blamed,) = decision(Reason.HELD_BACK, Fault.UNDERCHARGE).causes
    held_back = replace(decision(Reason.HELD_BACK), causes=(replace(blamed, rule_out_first=Fault.RESTRICTION),))
    assert _next_acts(held_back) == (Step.TOUCH,)


def test_air_is_looked_for_at_the_thermostat_and_taken_out_once_it_is_seen() -> None:
    """Common practice, no source."""
    sought = decision(Reason.ANOTHER_CAUSE, Fault.NON_CONDENSABLES)
    assert _next_acts(sought) == ()
    (blamed,) = sought.causes
    seen = replace(sought, causes=(replace(blamed, next_check=Sentence("check.non_condensables_seen")),))
    assert _next_acts(seen) == (Step.DISCONNECT, Step.RECOVER)


@pytest.mark.parametrize(
    ("name", "acts"),
    [
        ("expansion_valve_superheat", (Step.TOUCH,)),
        ("outdoor_air_temperature", (Step.WEIGH_IN,)),
        ("air_split", (Step.LOOK,)),
    ],
)
def test_a_condition_sends_a_hand_to_where_it_is_met(name: str, acts: tuple[Step, ...]) -> None:
    """Common practice, no source."""
    condition = Condition(name, Outcome.NOT_MET, Sentence("condition.met"), None, None, "")
    assert _next_acts(replace(decision(Reason.CONDITION), condition=condition)) == acts


def test_a_compressor_that_is_measured_while_it_runs_has_live_parts() -> None:
    assert Step.MEASURE in _next_acts(decision(Reason.ANOTHER_CAUSE, Fault.VALVE_LEAKAGE))


def test_where_a_pressure_at_rest_may_hide_air_what_it_takes_to_renew_the_charge_is_cautioned_of() -> None:
    """The hold says that weighing it in afresh is right either way: it begins with taking it out."""
    held = decision(Reason.HELD_BACK, Fault.OVERCHARGE)
    lead = replace(held.causes[0], held_back=Sentence("held_back.rest_may_hide_air"))
    hides_air = replace(held, causes=(replace(lead, rule_out_first=Fault.NON_CONDENSABLES),))
    assert _next_acts(hides_air) == (Step.DISCONNECT, Step.RECOVER)
    assert _next_acts(replace(held, causes=(replace(lead, held_back=Sentence("held_back.unseen")),))) == (Step.LOOK,)
