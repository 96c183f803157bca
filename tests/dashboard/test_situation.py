"""How one rig stands for a lead who has many: the order, and what makes each of it so.

The order itself is the house's own decision (docs/decisions/0041); the times are common practice, no source.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import msgspec
import pytest

from dashboard import words
from dashboard.lateness import Now
from dashboard.watch.heard import Heard, with_about, with_advice, with_mark, with_pack
from dashboard.watch.situation import ORDER, Situation, situation
from ingest.visit.standing import Standing
from ingest.wire.bench_messages import BenchAbout
from ingest.wire.messages import (
    Acknowledged,
    Added,
    AwaitedMessage,
    ByWeight,
    ChargeLeft,
    Finding,
    HoseSet,
    Mark,
    Note,
    Question,
    Released,
    Reply,
    Signed,
    Status,
    Stop,
    Visit,
    VisitOpened,
    Waiting,
    Wording,
)
from tests import wire_rig
from tests.watched import warned

NOW_S = 1.7e9 + 9000.0
MINUTE = 60.0


def heard(
    *, minutes_in: float = 5.0, behind_s: float = 0.5, status: str = "online", awaited_s: float | None = None
) -> Heard:
    """A rig that is at work, whose visit began so long ago; its advice waits for so long still, or for nothing."""
    known = Heard("van-1", status=Status(status, 1))
    known = with_about(known, wire_rig.about(started_s=NOW_S - minutes_in * MINUTE))
    pack = wire_rig.pack(1, wire_rig.values(), time_s=NOW_S - behind_s)
    known = with_pack(known, pack, Now(10.0, NOW_S - behind_s), 0.0)
    awaited = None if awaited_s is None else AwaitedMessage("superheat", awaited_s, 1800.0)
    known = with_advice(known, msgspec.structs.replace(wire_rig.advice(time_s=NOW_S), awaited=awaited))
    return with_visit(known)


def with_visit(known: Heard, *marks: Mark, following: tuple[str, ...] = ("capacitor_measured",)) -> Heard:
    """The rig with a visit that has these marks, as the daemon would tell how it stands."""
    assert known.about
    standing = Standing("visit-1")
    standing.take(VisitOpened("o1", known.about.visit_started_s, "Sam", "technician", unit="RTU-K7Q-4"))
    for mark in marks:
        standing.take(mark)
        known = with_mark(known, mark)
    visit: Visit = msgspec.structs.replace(standing.message(), next=following)
    return replace(known, visit=visit)


def stands(known: Heard, later_s: float = 0.0) -> Situation:
    return situation(known, NOW_S + later_s)


STOP = Stop("stop", NOW_S - 30.0, "Robin", "lead", "Shut the cylinder.")
SIGNED = Signed("s1", NOW_S, "Sam", "technician", name="Sam", digest="0" * 64)
QUESTION = Question("q1", NOW_S - 90.0, "Sam", "technician", "Is this restriction?")


def with_alarm(known: Heard) -> Heard:
    return with_advice(known, wire_rig.opinion(time_s=NOW_S))


EXAMPLES: dict[str, Callable[[], Heard]] = {
    "stop": lambda: with_alarm(heard()),
    "asked": lambda: with_visit(heard(), QUESTION),
    "against": lambda: with_mark(heard(), warned("a1", NOW_S - 2.0)),
    "refused": lambda: with_mark(heard(), msgspec.structs.replace(warned("a1", NOW_S - 2.0), refused=True)),
    "stuck": lambda: heard(minutes_in=16.0),
    "silent": lambda: heard(behind_s=11.0),
    "concern": lambda: with_visit(
        heard(), HoseSet("h1", NOW_S - 9.0, "Sam", "technician", port="liquid", on=True), SIGNED
    ),
    "soon": lambda: heard(awaited_s=500.0),
    "going": heard,
    "over": lambda: with_visit(heard(), SIGNED),
}


@pytest.mark.parametrize("kind", EXAMPLES)
def test_an_example_of_each_is_what_it_is(kind: str) -> None:
    assert stands(EXAMPLES[kind]()).kind == kind


def test_the_order_is_that_of_who_needs_a_lead_first() -> None:
    assert list(EXAMPLES) == list(ORDER)
    ranks = [stands(example()).rank for example in EXAMPLES.values()]
    assert ranks == sorted(ranks)


def test_what_is_worse_goes_first_and_the_rest_is_told_beside_it() -> None:
    known = with_alarm(with_mark(with_visit(heard(minutes_in=40.0), QUESTION, STOP), warned("a1", NOW_S)))
    it = stands(known)
    assert it.kind == "stop"
    assert "Robin asked to stop: Shut the cylinder." in it.says.us
    assert [kind for kind, _ in it.also] == ["stop", "asked", "against"]


# --- a stop


def test_a_stop_says_how_far_it_has_come_until_a_lead_says_go_on() -> None:
    assert "no page at the unit has shown it" in stands(with_visit(heard(), STOP)).says.us
    acknowledged = Acknowledged("a", NOW_S - 10.0, "Sam", "technician", of="stop")
    it = stands(with_visit(heard(), STOP, acknowledged))
    assert (it.kind, it.since_s) == ("stop", STOP.time_s)
    assert "Sam has stopped." in it.says.us
    released = Released("r", NOW_S - 5.0, "Robin", "lead", of="stop")
    assert stands(with_visit(heard(), STOP, acknowledged, released)).kind == "going"


def test_an_alarm_stands_since_it_was_first_told() -> None:
    known = with_advice(with_alarm(heard()), wire_rig.opinion(time_s=NOW_S + 4.0))
    assert stands(known, 4.0).since_s == NOW_S
    assert stands(with_advice(known, wire_rig.advice(time_s=NOW_S + 5.0)), 5.0).kind == "soon"


def test_an_alarm_of_a_rig_that_was_signed_and_taken_home_stands_for_nothing() -> None:
    assert stands(with_visit(with_alarm(heard()), SIGNED)).kind == "stop"
    assert stands(with_visit(with_alarm(heard(status="offline")), SIGNED)).kind == "over"
    assert stands(with_alarm(heard(status="lost"))).kind == "stop"


# --- somebody asks


def test_a_question_waits_until_a_lead_replies() -> None:
    assert stands(EXAMPLES["asked"]()).since_s == QUESTION.time_s
    reply = Reply("r1", NOW_S - 20.0, "Robin", "lead", "It is charge.", of="q1")
    assert stands(with_visit(heard(), QUESTION, reply)).kind == "going"
    again = Reply("r2", NOW_S - 10.0, "Sam", "technician", "And now?", of="q1")
    it = stands(with_visit(heard(), QUESTION, reply, again))
    assert (it.kind, it.says.us, it.since_s) == ("asked", "Sam asks: And now?", NOW_S - 10.0)


def test_who_waits_for_the_lead_asks_and_who_waits_for_parts_does_not() -> None:
    lead = Waiting("w1", NOW_S - 60.0, "Sam", "technician", reason="lead")
    assert stands(with_visit(heard(), lead)).kind == "asked"
    it = stands(with_visit(heard(minutes_in=60.0), Waiting("w1", NOW_S - 60.0, "Sam", "technician", reason="parts")))
    assert (it.kind, it.says.us) == ("going", "Waits for: Parts")


# --- against advice


def test_an_intention_is_told_before_it_is_confirmed_and_as_done_afterwards() -> None:
    known = EXAMPLES["against"]()
    assert "Sam was warned just now; not known what followed" in stands(known).says.us
    assert "Sam was warned 3 min ago; not known" in stands(with_pack_at(known, 180.0), 178.0).says.us
    done = with_mark(known, Added("a1", NOW_S, "Sam", "technician", mass_kg=0.2))
    assert stands(done).kind == "against"
    assert "Sam went on in spite of this" in stands(done).says.us


def test_an_intention_ends_by_something_else_that_is_done_or_by_time() -> None:
    known = EXAMPLES["against"]()
    other = Added("a2", NOW_S, "Sam", "technician", mass_kg=0.05)
    assert stands(with_mark(known, other)).kind == "going"
    assert stands(with_mark(known, Note("n1", NOW_S, "Robin", "lead", "Wait."))).kind == "against"
    assert stands(with_pack_at(known, 299.0), 299.0 - 2.0).kind == "against"
    assert stands(with_pack_at(known, 301.0), 301.0 - 2.0).kind == "going"


def with_pack_at(known: Heard, later_s: float) -> Heard:
    at_s = NOW_S - 2.0 + later_s
    return with_pack(known, wire_rig.pack(2, wire_rig.values(), time_s=at_s), Now(later_s + 10.0, at_s), 0.0)


def test_a_refused_intention_says_so_and_a_mark_heard_late_brings_no_older_one_back() -> None:
    refused = msgspec.structs.replace(warned("a3", NOW_S), refused=True)
    known = with_mark(heard(), refused)
    assert "the rig refused" in stands(known).says.us
    assert words.SITUATIONS[stands(known).kind] == "Refused"
    assert with_mark(known, warned("a1", NOW_S - 60.0)).warned == refused


def test_another_visit_begins_with_nothing_of_the_one_before() -> None:
    known = with_about(EXAMPLES["against"](), wire_rig.about(started_s=NOW_S, visit="visit-2"))
    assert (known.warned, known.visit, known.advice) == (None, None, None)


# --- stuck, silent


def test_who_did_something_lately_or_waits_for_figures_is_not_stuck() -> None:
    finding = Finding("f1", NOW_S - MINUTE, "Sam", "technician", check="tag", grade="seen", outcome="met")
    assert stands(with_visit(heard(minutes_in=40.0), finding)).kind == "going"
    assert stands(heard(minutes_in=40.0, awaited_s=1500.0)).kind == "going"
    assert stands(with_visit(heard(minutes_in=40.0), following=())).kind == "going"
    assert stands(heard(minutes_in=14.9)).kind == "going"
    assert stands(heard(minutes_in=40.0)).since_s == NOW_S - 40.0 * MINUTE


def test_what_is_told_is_that_nothing_was_recorded_and_not_that_nothing_was_done() -> None:
    assert (
        stands(heard(minutes_in=16.0)).says.us
        == "Nothing recorded for 16 min; next: Capacitor, measured, leads off, each section"
    )


@pytest.mark.parametrize(
    ("step", "kind"), [("recover", "going"), ("evacuate", "going"), ("weigh_in", "stuck"), ("done", "stuck")]
)
def test_a_recovery_and_a_vacuum_take_longer_and_nobody_is_stuck_meanwhile(
    step: Literal["recover", "evacuate", "weigh_in", "done"], kind: str
) -> None:
    """Hours, with a large circuit: common practice, no source."""
    known = heard(minutes_in=50.0)
    assert known.visit
    by_weight = ByWeight("", step, says=Wording("-", "-"), recovered_kg=0.0)
    assert stands(replace(known, visit=msgspec.structs.replace(known.visit, by_weight=by_weight))).kind == kind


def test_what_was_left_at_a_unit_that_was_signed_is_a_concern() -> None:
    not_met = Finding("f1", NOW_S - MINUTE, "Sam", "technician", check="tag", grade="seen", outcome="not_met")
    assert stands(EXAMPLES["concern"]()).says.us == "Signed, and open: the Liquid port has a hose on"
    assert stands(with_visit(heard(), not_met, SIGNED)).says.us == "Signed, and open: Tag not met"
    off = HoseSet("h2", NOW_S - 5.0, "Sam", "technician", port="liquid", on=False)
    assert (
        stands(
            with_visit(heard(), HoseSet("h1", NOW_S - 9.0, "Sam", "technician", port="liquid", on=True), off, SIGNED)
        ).kind
        == "over"
    )
    advised = Wording("Add 5 oz.", "Add 140 g.", "headline.add")
    left = ChargeLeft("l1", NOW_S - 9.0, "Sam", "technician", reason="leak_first", advised=advised)
    assert stands(with_visit(heard(), left, SIGNED)).says.us == (
        "Signed, and open: the charge was left as it is, against the advice: The leak comes first"
    )
    over = with_visit(heard(status="offline"), SIGNED)
    assert over.visit
    locked = stands(replace(over, visit=msgspec.structs.replace(over.visit, locks=["Sam", ""])))
    assert (locked.kind, locked.ahead) == ("concern", None)
    assert "the lock of Sam was not told off; the lock of Somebody was not told off" in locked.says.us


@pytest.mark.parametrize(("status", "says"), [("lost", "No contact with the rig"), ("offline", "off")])
def test_a_rig_that_is_gone_is_silent_at_once_and_not_stuck(status: str, says: str) -> None:
    it = stands(heard(minutes_in=40.0, status=status))
    assert (it.kind, it.ahead) == ("silent", None)
    assert says in it.says.us


def test_silence_is_of_packs_too_and_ends_with_one() -> None:
    known = EXAMPLES["silent"]()
    assert stands(known).since_s == NOW_S - 11.0
    pack = wire_rig.pack(2, wire_rig.values(), time_s=NOW_S)
    assert stands(with_pack(known, pack, Now(30.0, NOW_S), 0.0)).kind == "going"
    assert stands(with_pack(known, pack, Now(30.0, NOW_S), 60.0)).kind == "silent"  # it comes of an outage


def test_a_rig_of_which_only_its_name_is_known_is_silent() -> None:
    assert situation(Heard("van-1"), NOW_S).kind == "silent"


def test_the_clock_of_a_rig_may_be_wrong() -> None:
    """Its packs tell its time: an hour off, and nobody has been stuck for an hour."""
    slow_s = NOW_S - 3600.0
    known = with_about(Heard("van-1", Status("online", 1)), wire_rig.about(started_s=slow_s - MINUTE))
    for number in (1, 2):
        pack = wire_rig.pack(number, wire_rig.values(), time_s=slow_s + number)
        known = with_pack(known, pack, Now(number, NOW_S + number), 0.0)
    known = with_advice(known, msgspec.structs.replace(wire_rig.advice(time_s=slow_s), awaited=None))
    assert situation(with_visit(known), NOW_S + 2.0).kind == "going"


# --- what is next


def test_what_is_next_has_its_time_where_the_advice_waits_for_it() -> None:
    it = stands(EXAMPLES["soon"]())
    assert it.ahead
    assert (it.ahead.says.us, it.ahead.at_s) == ("Superheat settled", NOW_S + 500.0)
    it = stands(heard())
    assert it.ahead
    assert (it.ahead.says.us, it.ahead.at_s) == ("the check Capacitor, measured, leads off, each section", None)


def test_a_blind_exercise_keeps_what_is_wrong_from_a_lead_too() -> None:
    known = with_advice(heard(), msgspec.structs.replace(wire_rig.advice(time_s=NOW_S), state="move", awaited=None))
    assert stands(known).says.us == "Wait. Still settling."
    blind = replace(known, bench=BenchAbout("any", "", True, 1.0, {"low_charge": "Low charge"}))
    assert stands(blind).says.us != "Wait. Still settling."
