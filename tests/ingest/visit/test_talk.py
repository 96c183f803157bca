"""What a technician and a lead say to each other: what stands in `visit`, and what is asked before it is recorded."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from calc.diagnosis import Fault, next_check
from calc.sentences import Sentence
from ingest.visit.deciding import DoubtfulError, Facts, RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.sealed import check_not_sealed
from ingest.visit.standing import Standing
from ingest.visit.whose import check_of_this_visit
from ingest.wire.messages import (
    AcknowledgeAsk,
    Acknowledged,
    Added,
    AddedAsk,
    Advice,
    Ask,
    CauseMessage,
    CylinderDescribed,
    DismissAsk,
    DoubtMessage,
    Finding,
    FindingAsk,
    Hold,
    HoldAsk,
    Mark,
    Note,
    NoteAsk,
    Proposed,
    ProposedFinding,
    Question,
    QuestionAsk,
    Reading,
    ReadingAsk,
    Recovered,
    ReleaseAsk,
    Reply,
    ReplyAsk,
    Role,
    Seen,
    SeenAsk,
    SignAsk,
    Signed,
    Stop,
    StopAsk,
    Visit,
    VisitOpened,
    Want,
    WantAsk,
    Wording,
    decode,
)
from ingest.wire.talk import TalkCounts
from ingest.wire.wording import worded
from tests import wire_rig
from tests.ingest.visit.checks import taken

TIME_S = 1.7e9
UNIT = wire_rig.about(started_s=TIME_S).unit
ALL_MEASURED = {
    name: Reading(value, TIME_S, standard_uncertainty=0.25)
    for name, value in {
        "suction_pressure": 914_906.0,
        "suction_line_temperature": 285.15,
        "liquid_pressure": 2_514_000.0,
        "liquid_line_temperature": 309.15,
        "superheat": 4.2,
        "subcooling": 5.6,
    }.items()
}
LARGEST_MESSAGE_BYTES = 65_536


def facts(**changes: Any) -> Facts:
    known: dict[str, Any] = {
        "unit": UNIT,
        "readings": ALL_MEASURED,
        "in_doubt": frozenset(),
        "unsettled": frozenset(),
    }
    return Facts(**known | changes)


class Visited:
    """A visit at which people ask, one after the other."""

    def __init__(self) -> None:
        self.standing = Standing("v1")
        self.time_s = TIME_S

    def ask(self, ask: Ask, role: Role = "technician", known: Facts | None = None) -> Any:
        """Decide it and take the mark, a second after the one before."""
        self.time_s += 1.0
        mark = DECISIONS[type(ask)](ask, (ask.id, self.time_s, ask.by, role), self.standing, known or facts())
        self.standing.take(mark)
        return mark

    @property
    def said(self) -> Visit:
        """What stands in `visit`, as it is read from the wire."""
        return decode(self.standing.encoded(), Visit)


@pytest.fixture
def visited() -> Visited:
    return Visited()


# --- questions


def test_a_question_freezes_the_readings_of_its_moment_with_their_spread_and_doubts(visited: Visited) -> None:
    known = facts(in_doubt=frozenset({"superheat", "compressor_current"}), unsettled=frozenset({"subcooling"}))
    asked = visited.ask(QuestionAsk("q1", "Sam", text=" Is that right? "), known=known)
    visited.ask(ReadingAsk("r1", "Sam"), known=facts(readings={"superheat": Reading(9.9, TIME_S)}))
    assert asked == Question(
        "q1",
        TIME_S + 1,
        "Sam",
        "technician",
        "Is that right?",
        figures={name: reading.value for name, reading in ALL_MEASURED.items()},
        standard_uncertainties=dict.fromkeys(ALL_MEASURED, 0.25),
        in_doubt=["superheat"],
        unsettled=["subcooling"],
    )


def test_what_was_left_at_another_unit_or_is_silent_is_left_out_and_said_to_be(visited: Visited) -> None:
    left = "it was on RTU-A, and nobody has said that it moved"
    readings = {
        "suction_pressure": Reading(9.1e5, TIME_S, "elsewhere", left, 3e3),
        "compressor_current": Reading(12.0, TIME_S, "stale", "", 0.1),
        "liquid_pressure": Reading(2.3e6, TIME_S, "uncalibrated", "", 3e3),
        "superheat": Reading(None, TIME_S, "elsewhere", f"suction pressure: {left}"),
    }
    for ask in (ReadingAsk("r1", "Sam"), QuestionAsk("q1", "Sam", text="x", confirmed=True)):
        kept = visited.ask(ask, known=facts(readings=readings))
        assert kept.figures == {
            "suction_pressure": None, "compressor_current": None, "liquid_pressure": 2.3e6, "superheat": None,
        }  # fmt: skip
        assert kept.standard_uncertainties == {"liquid_pressure": 3e3}
        assert kept.left_out == {"suction_pressure": left, "compressor_current": "nothing new came from it"}


@pytest.mark.parametrize("quality", ["elsewhere", "stale"])
def test_what_is_not_of_this_unit_is_missing_for_who_answers(visited: Visited, quality: Any) -> None:
    left = {**ALL_MEASURED, "liquid_pressure": Reading(2.3e6, TIME_S, quality, "it is elsewhere")}
    with pytest.raises(DoubtfulError) as asked:
        visited.ask(QuestionAsk("q1", "Sam", text="x"), known=facts(readings=left))
    assert asked.value.question.kind == "question.not_measured"


def test_a_question_and_a_reading_of_one_moment_keep_the_same(visited: Visited) -> None:
    question, reading = visited.ask(QuestionAsk("q1", "Sam", text="x")), visited.ask(ReadingAsk("r1", "Sam"))
    for field in ("figures", "standard_uncertainties", "in_doubt", "unsettled", "left_out"):
        assert getattr(question, field) == getattr(reading, field)


@pytest.mark.parametrize(
    ("metering_device", "lacks", "words"),
    [
        ("txv", "liquid_pressure", "Not measured: liquid pressure. Without that the subcooling is not known"),
        ("eev", "liquid_line_temperature", "Not measured: liquid line temperature."),
        (
            "fixed_orifice",
            "suction_pressure",
            "Not measured: suction pressure. Without that the superheat is",
        ),
    ],
)
def test_the_channel_that_the_charge_is_judged_by_is_named_where_it_is_missing(
    visited: Visited, metering_device: str, lacks: str, words: str
) -> None:
    """Which figure shows the charge: California Title 24, RA3.2.2 (superheat at a fixed orifice, else subcooling)."""
    unit = replace(UNIT, metering_device=metering_device)
    for reading in (None, Reading(None, TIME_S, "stale", "the probe is silent")):
        readings = {name: it for name, it in ALL_MEASURED.items() if name != lacks}
        known = facts(unit=unit, readings=readings if reading is None else readings | {lacks: reading})
        with pytest.raises(DoubtfulError) as asked:
            visited.ask(QuestionAsk("q1", "Sam", text="Is it low?"), known=known)
        assert asked.value.question.us.startswith(words)
        assert "ask for it first" in asked.value.question.us
    sent = visited.ask(QuestionAsk("q1", "Sam", text="Is it low?", confirmed=True), known=known)
    assert sent.missing == asked.value.question


@pytest.mark.parametrize(
    ("metering_device", "lacks"), [("txv", "suction_pressure"), ("fixed_orifice", "liquid_line_temperature")]
)
def test_a_channel_that_the_charge_is_not_judged_by_is_not_asked_for(
    visited: Visited, metering_device: str, lacks: str
) -> None:
    known = facts(
        unit=replace(UNIT, metering_device=metering_device),
        readings={name: it for name, it in ALL_MEASURED.items() if name != lacks},
    )
    assert visited.ask(QuestionAsk("q1", "Sam", text="x"), known=known).missing is None


def advice(**changes: Any) -> Advice:
    return replace(wire_rig.advice(time_s=TIME_S), **{"doubts": (), "causes": ()} | changes)


def test_what_is_to_be_done_about_a_doubt_is_named_and_else_what_the_advice_looks_at_next(visited: Visited) -> None:
    fix, step = worded(Sentence("fix.clamps_exchanged")), worded(next_check(Fault.RESTRICTION))
    doubt = DoubtMessage(["suction_line_temperature"], worded(Sentence("doubt.clamps_exchanged")), fix, 0.9, "x")
    cause = CauseMessage("liquid-line restriction", 0.8, (), (), (), step)
    for told, first in ((advice(causes=[cause]), step), (advice(causes=[cause], doubts=[doubt]), fix)):
        with pytest.raises(DoubtfulError) as asked:
            visited.ask(QuestionAsk("q1", "Sam", text="x"), known=facts(advice=told))
        assert asked.value.question.us.startswith(first.us)
        assert asked.value.question.si.startswith(first.si)
    assert visited.ask(QuestionAsk("q1", "Sam", text="x"), known=facts(advice=advice())).missing is None


def test_a_question_about_a_check_names_it_until_it_is_answered(visited: Visited) -> None:
    asked = QuestionAsk("q1", "Sam", text="Is that tight?", check="connections")
    nothing_measured = facts(readings={})  # of which the check's question does not speak
    with pytest.raises(DoubtfulError, match="is not answered yet, and whoever answers will ask for it first"):
        visited.ask(asked, known=nothing_measured)
    skipped = {"check": "connections", "grade": "said", "outcome": "skipped", "reason": "not_reachable"}
    visited.ask(FindingAsk("f1", "Sam", **skipped))
    assert visited.ask(asked, known=nothing_measured).missing is None


def test_a_finding_is_what_a_lead_wanted(visited: Visited) -> None:
    visited.ask(WantAsk("w1", "Robin", what="check", text="the lugs"), "lead")
    skipped = {"check": "connections", "grade": "said", "outcome": "skipped", "reason": "not_reachable"}
    visited.ask(FindingAsk("f1", "Sam", **skipped, want="w1"))
    assert visited.said.talk == TalkCounts(wants_closed=1)


def test_a_question_waits_for_a_lead_then_for_the_technician_and_is_then_only_counted(visited: Visited) -> None:
    visited.ask(QuestionAsk("q1", "Sam", text="Is that right?"))
    (thread,) = visited.said.questions
    assert (thread.id, thread.by, thread.text, thread.waits_for, thread.replies) == (
        "q1", "Sam", "Is that right?", "lead", 0,
    )  # fmt: skip
    visited.ask(ReplyAsk("a1", "Robin", of="q1", text="Let it sit."), "lead")
    (thread,) = visited.said.questions
    assert (thread.waits_for, thread.replies) == ("technician", 1)
    assert thread.last is not None
    assert (thread.last.by, thread.last.text, thread.last.time_s) == ("Robin", "Let it sit.", TIME_S + 2)
    visited.ask(ReplyAsk("a2", "Sam", of="q1", text="How long?"))
    assert visited.said.questions[0].waits_for == "lead"
    visited.ask(ReplyAsk("a3", "Kim", of="q1", text="Ten minutes."), "lead")
    visited.ask(AcknowledgeAsk("k1", "Sam", of="q1"))
    assert (visited.said.questions, visited.said.talk) == ([], TalkCounts(questions_closed=1))
    visited.ask(ReplyAsk("a4", "Sam", of="q1", text="It did settle."))  # it goes on
    assert visited.said.questions[0].replies == 4
    assert visited.said.talk == TalkCounts(questions_open=1)
    visited.ask(AcknowledgeAsk("k2", "Robin", of="q1"), "lead")
    assert visited.said.talk == TalkCounts(questions_closed=1)


def test_a_lead_closes_no_question_without_a_reply(visited: Visited) -> None:
    visited.ask(QuestionAsk("q1", "Sam", text="Is that right?"))
    with pytest.raises(RefusedError, match="a question is answered by a reply"):
        visited.ask(AcknowledgeAsk("k1", "Robin", of="q1"), "lead")
    visited.ask(AcknowledgeAsk("k2", "Sam", of="q1"))  # nor does whoever asked it, by reading it
    assert visited.said.talk == TalkCounts(questions_open=1)


def test_a_note_is_a_thread_once_somebody_replied_and_who_replies_has_read_it(visited: Visited) -> None:
    visited.ask(NoteAsk("n1", "Robin", text="Mind the filter."), "lead")
    assert ([note.id for note in visited.said.notes], visited.said.questions) == (["n1"], [])
    visited.ask(ReplyAsk("a1", "Sam", of="n1", text="It is clean."))
    assert visited.said.notes == []
    (thread,) = visited.said.questions
    assert (thread.id, thread.text, thread.waits_for) == ("n1", "Mind the filter.", "lead")
    with pytest.raises(RefusedError):
        visited.ask(AcknowledgeAsk("k1", "Robin", of="n9"), "lead")
    visited.ask(AcknowledgeAsk("k1", "Robin", of="n1"), "lead")
    assert visited.said.questions == []


def test_a_lead_reads_no_note_of_a_lead_for_the_technician(visited: Visited) -> None:
    visited.ask(NoteAsk("n1", "Robin", text="Mind the filter."), "lead")
    with pytest.raises(RefusedError):
        visited.ask(AcknowledgeAsk("k1", "Kim", of="n1"), "lead")
    assert len(visited.said.notes) == 1


@pytest.mark.parametrize(
    ("ask", "role", "reason"),
    [
        (QuestionAsk("x", "Sam", text=" "), "technician", "needs a text"),
        (QuestionAsk("x", "Sam", text="x", photographs=["p1"]), "technician", "no photograph 'p1'"),
        (QuestionAsk("x", "Sam", text="x", check="Z9"), "technician", "there is no check 'Z9'"),
        (FindingAsk("x", "Sam", check="look_first", grade="said", want="w1"), "technician", "no lead wants a check"),
        (QuestionAsk("x", "Sam", text="x", photographs=["p"] * 11), "technician", "at most 10"),
        (ReplyAsk("x", "Sam", of="q9", text="x"), "technician", "no question and no note 'q9'"),
        (ReplyAsk("x", "Sam", of="q1", text="\u200b"), "technician", "needs a text"),
        (WantAsk("x", "Robin", what="reading", text=""), "lead", "needs a text"),
        (DismissAsk("x", "Sam", of="w9", text="x"), "technician", "there is no proposal 'w9'"),
        (DismissAsk("x", "Sam", of="w1"), "technician", "a reason is missing"),
        (ReadingAsk("x", "Sam", want="w9"), "technician", "no lead wants a reading under 'w9'"),
        (ReadingAsk("x", "Sam", want="w1"), "technician", "no lead wants a reading under 'w1'"),
        (ReleaseAsk("x", "Robin", of="h9"), "lead", "nothing is held under 'h9'"),
        (StopAsk("x", "Robin", text=""), "lead", "needs a text"),
        (SeenAsk("x", "Sam", of="q1"), "technician", "no stop 'q1'"),
        (AcknowledgeAsk("x", "Sam", of="w1"), "technician", "no note 'w1'"),
    ],
)
def test_what_cannot_be_meant_is_refused(visited: Visited, ask: Ask, role: Role, reason: str) -> None:
    visited.ask(QuestionAsk("q1", "Sam", text="x"))
    visited.ask(WantAsk("w1", "Robin", what="photograph", text="the label"), "lead")
    with pytest.raises(RefusedError, match=reason):
        visited.ask(ask, role)


# --- what a lead wants


def test_a_want_waits_until_something_names_it_or_it_is_dismissed(visited: Visited) -> None:
    for name, what in (("w1", "photograph"), ("w2", "reading"), ("w3", "check"), ("w4", "reading")):
        visited.ask(WantAsk(name, "Robin", what=what, text="of the can"), "lead")  # type: ignore[arg-type]
    assert [(want.id, want.what) for want in visited.said.wants] == [
        ("w1", "photograph"), ("w2", "reading"), ("w3", "check"), ("w4", "reading"),
    ]  # fmt: skip
    visited.standing.take(taken("p1"))  # names none
    assert len(visited.said.wants) == 4
    visited.standing.take(taken("p2", want="w1"))
    visited.ask(ReadingAsk("r1", "Sam", want="w2"))
    visited.ask(DismissAsk("d1", "Sam", of="w3", text="not reachable"))
    assert [want.id for want in visited.said.wants] == ["w4"]
    assert visited.said.talk == TalkCounts(wants_open=1, wants_closed=3)
    assert visited.said.photographs.count == 2
    assert [shown.id for shown in visited.said.photographs.newest] == ["p2", "p1"]
    visited.ask(ReadingAsk("r2", "Sam", want="w2"))  # a second one of what was wanted is no mistake
    assert visited.said.talk == TalkCounts(wants_open=1, wants_closed=3)


# --- what a lead wants to be asked before


def added(name: str, ounces: float = 4.0, **fields: Any) -> AddedAsk:
    return AddedAsk(name, "Sam", mass_kg=ounces * 0.028349523125, phase="liquid", **fields)  # NIST SP 811, B.8


def test_a_first_move_that_a_lead_holds_is_asked_about_and_told_if_it_was_made(visited: Visited) -> None:
    visited.ask(HoldAsk("h1", "Robin", before="first_move", text="I want to see the coil first"), "lead")
    assert [(hold.id, hold.before, hold.passed_s) for hold in visited.said.holds] == [("h1", "first_move", None)]
    with pytest.raises(DoubtfulError) as asked:
        visited.ask(added("a1"))
    assert asked.value.question.us == (
        "Robin wants to be asked before the first refrigerant is moved: “I want to see the coil first”. They have not "
        "let it go ahead. Shall it be noted all the same?"
    )
    visited.ask(added("a1", confirmed=True))  # what was moved can always be recorded
    (hold,) = visited.said.holds
    assert hold.passed_s == visited.time_s
    visited.ask(added("a2"))  # which is no first one
    visited.ask(ReleaseAsk("f1", "Robin", of="h1"), "lead")
    assert (visited.said.holds, visited.said.talk) == ([], TalkCounts(holds_closed=1))


@pytest.mark.parametrize("before", ["first_move", "each_move"])
def test_what_was_released_is_not_asked_about(visited: Visited, before: Any) -> None:
    visited.ask(HoldAsk("h1", "Robin", before=before), "lead")
    visited.ask(ReleaseAsk("f1", "Kim", of="h1"), "lead")  # any lead may
    visited.ask(added("a1"))
    assert visited.said.holds == []


def test_a_release_for_once_lets_one_move_pass(visited: Visited) -> None:
    visited.ask(HoldAsk("h1", "Robin", before="each_move"), "lead")
    visited.ask(ReleaseAsk("f1", "Robin", of="h1", once=True), "lead")
    assert visited.said.holds[0].lets_pass
    visited.ask(added("a1"))
    (hold,) = visited.said.holds
    assert (hold.lets_pass, hold.passed_s) == (False, None)
    with pytest.raises(DoubtfulError, match="before each time"):
        visited.ask(added("a2"))
    visited.ask(added("a2", confirmed=True))
    with pytest.raises(DoubtfulError):
        visited.ask(added("a3"))


def test_refrigerant_that_is_recovered_moves_as_well_and_leave_for_the_first_move_lasts(visited: Visited) -> None:
    visited.ask(HoldAsk("h1", "Robin", before="each_move"), "lead")
    visited.standing.take(Recovered("r1", TIME_S + 5, "Sam", mass_kg=0.1))
    assert visited.said.holds[0].passed_s == TIME_S + 5
    visited.ask(ReleaseAsk("f1", "Robin", of="h1", once=True), "lead")
    visited.standing.take(Recovered("r2", TIME_S + 6, "Sam", mass_kg=0.1))
    assert not visited.said.holds[0].lets_pass  # for once, and that is used up
    visited.ask(ReleaseAsk("f2", "Robin", of="h1"), "lead")
    visited.ask(HoldAsk("h2", "Robin", before="first_move"), "lead")
    visited.ask(ReleaseAsk("f3", "Robin", of="h2", once=True), "lead")
    for move in ("a1", "a2"):  # the second is no first one
        visited.ask(added(move))


@pytest.mark.parametrize(("before", "check"), [("power", "power_back"), ("opening", "opened")])
def test_a_hold_of_something_else_holds_no_move_and_tells_when_its_check_was_answered(
    visited: Visited, before: Any, check: str
) -> None:
    visited.ask(HoldAsk("h1", "Robin", before=before), "lead")
    visited.ask(added("a1"))
    assert visited.said.holds[0].passed_s is None
    visited.standing.take(Finding("f1", TIME_S + 9, "Sam", check=check, grade="said", outcome="skipped"))
    assert visited.said.holds[0].passed_s is None  # it was not done
    visited.standing.take(Finding("f2", TIME_S + 10, "Sam", check=check, grade="said", outcome="met"))
    assert visited.said.holds[0].passed_s == TIME_S + 10
    visited.ask(HoldAsk("h2", "Robin", before=before), "lead")
    visited.ask(ReleaseAsk("r1", "Robin", of="h2", once=True), "lead")
    visited.standing.take(Finding("f3", TIME_S + 20, "Sam", check=check, grade="said", outcome="met"))
    told = {hold.id: (hold.lets_pass, hold.passed_s) for hold in visited.said.holds}
    assert told == {"h1": (False, TIME_S + 20), "h2": (False, None)}


def test_a_held_amount_that_is_unlikely_too_is_one_question(visited: Visited) -> None:
    visited.ask(HoldAsk("h1", "Robin", before="each_move"), "lead")
    visited.ask(HoldAsk("h2", "Kim", before="each_move"), "lead")
    known = facts(unit=replace(UNIT, nameplate_charge_kg=3.4))
    with pytest.raises(DoubtfulError) as asked:
        visited.ask(added("a1", 40.0), known=known)
    for words in ("Robin wants", "2 lb 8 oz added in one go"):  # who wanted it first
        assert words in asked.value.question.us
    assert "1.13 kg added in one go" in asked.value.question.si  # 40 oz; NIST SP 811, B.8
    with pytest.raises(RefusedError, match="no unit of this size takes that"):
        visited.ask(added("a1", 500.0, confirmed=True), known=known)


# --- a stop


def test_a_stop_tells_when_it_was_delivered_seen_and_acknowledged(visited: Visited) -> None:
    visited.ask(StopAsk("s1", "Robin", text="Shut the cylinder."), "lead")
    stop = visited.said.stop
    assert stop is not None
    assert (stop.id, stop.by, stop.text, stop.delivered_s) == ("s1", "Robin", "Shut the cylinder.", TIME_S + 1)
    assert (stop.seen_s, stop.acknowledged_s) == (None, None)
    visited.ask(SeenAsk("e1", "Sam", of="s1"))
    visited.ask(SeenAsk("e2", "Kim", of="s1"))  # on a second tablet
    stop = visited.said.stop
    assert stop is not None
    assert (stop.seen_s, stop.seen_by, stop.acknowledged_s) == (TIME_S + 2, "Sam", None)
    visited.ask(AcknowledgeAsk("k1", "Sam", of="s1"))
    visited.ask(AcknowledgeAsk("k2", "Kim", of="s1"))
    stop = visited.said.stop
    assert stop is not None  # the lead is told
    assert (stop.seen_s, stop.acknowledged_s, stop.acknowledged_by) == (TIME_S + 2, TIME_S + 4, "Sam")
    assert visited.said.talk == TalkCounts(stops_closed=1)


def test_the_newest_stop_comes_first_and_none_is_lost(visited: Visited) -> None:
    for name in ("s1", "s2", "s3"):
        visited.ask(StopAsk(name, "Robin", text=name), "lead")
    shown = []
    while (stop := visited.said.stop) and stop.acknowledged_s is None:
        shown.append(stop.id)
        visited.ask(AcknowledgeAsk(f"k{stop.id}", "Sam", of=stop.id))
    assert shown == ["s3", "s2", "s1"]
    assert visited.said.talk == TalkCounts(stops_closed=3)


def test_whoever_acknowledges_a_stop_has_seen_it(visited: Visited) -> None:
    visited.ask(StopAsk("s1", "Robin", text="x"), "lead")
    visited.ask(AcknowledgeAsk("k1", "Sam", of="s1"))
    assert visited.said.stop is not None
    assert (visited.said.stop.seen_s, visited.said.stop.seen_by) == (TIME_S + 2, "Sam")


def test_what_the_disk_has_not_taken_of_a_stop_is_told_as_not_saved_and_nothing_else_is(visited: Visited) -> None:
    one, two = (Stop(f"s{number}", TIME_S, "Robin", "lead", "Hands off.") for number in (1, 2))
    visited.standing.take(one)
    answered = Acknowledged("k1", TIME_S + 1, "Sam", "technician", of="s1")
    seen = Seen("e2", TIME_S + 1, "Sam", "technician", of="s2")
    for unsaved, is_saved in (
        ((two,), {"s1": True, "s2": False}),
        ((answered,), {"s1": False}),
        ((two, seen, answered), {"s1": False, "s2": False}),
        ((), {"s1": True}),
    ):
        visited.standing.unsaved = unsaved
        stops = visited.standing.stops
        stands = [*stops._open.values(), *stops._closed.values()]
        assert {it.id: it.saved for it in stands} == is_saved
    assert visited.standing.talk.stops.open == 1  # beside the fold


def test_what_is_said_to_a_stop_that_stands_in_another_visit_is_told_before_the_disk_has_it(visited: Visited) -> None:
    visited.standing.stops_elsewhere = (Stop("s2", TIME_S, "Robin", "lead", "Hands off."),)
    visited.standing.unsaved = (Acknowledged("k2", TIME_S + 1, "Sam", "technician", of="s2"),)
    stands = visited.standing.stops.now()
    assert stands is not None
    assert (stands.id, stands.acknowledged_by, stands.saved) == ("s2", "Sam", False)


def test_a_stop_that_nobody_answered_stands_at_the_visit_to_which_a_start_brings_the_rig(visited: Visited) -> None:
    for name in ("s1", "s2", "s3"):
        visited.ask(StopAsk(name, "Robin", text=name), "lead")
    visited.ask(SeenAsk("e1", "Sam", of="s3"))
    visited.ask(AcknowledgeAsk("k1", "Sam", of="s2"))
    stood = visited.said.stop
    left = visited.standing.stops.unanswered
    assert [it.id for it in left] == ["s1", "s3"]
    visited.standing = Standing("v2", [VisitOpened("o1", TIME_S, stops=left)])
    assert visited.said.stop == stood
    assert visited.said.talk == TalkCounts(stops_open=2)
    for name in ("s3", "s1"):
        visited.ask(AcknowledgeAsk(f"k{name}", "Sam", of=name))
    visited.standing.take(VisitOpened("o2", TIME_S, stops=left))  # once answered it does not come back
    assert visited.said.talk == TalkCounts(stops_closed=2)


def test_a_stop_stands_until_a_lead_says_go_on(visited: Visited) -> None:
    visited.ask(StopAsk("s1", "Robin", text="Hands off."), "lead")
    go_on = ReleaseAsk("g1", "Kim", of="s1")
    with pytest.raises(RefusedError, match="say go on once they have"):
        visited.ask(go_on, "lead")
    visited.ask(AcknowledgeAsk("k1", "Sam", of="s1"))
    with pytest.raises(RefusedError, match="without once"):
        visited.ask(replace(go_on, once=True), "lead")
    signs = SignAsk("x1", "Sam", name="Sam")
    for ask in (added("a1"), signs):
        with pytest.raises(DoubtfulError) as asked:
            visited.ask(ask)
        assert asked.value.question.us.startswith("Robin asked to stop 0 min ago, and has not said go on: “Hands off.”")
        assert asked.value.warnings == ("guard.stop_stands",)  # the lead is told
    visited.ask(added("a1", confirmed=True))  # what was moved can always be recorded
    visited.ask(go_on, "lead")  # any lead may
    stop = visited.said.stop
    assert stop is not None
    assert (stop.acknowledged_by, stop.released_by, stop.released_s) == ("Sam", "Kim", visited.time_s)
    visited.ask(added("a2"))
    with pytest.raises(DoubtfulError) as asked:
        visited.ask(signs)
    assert asked.value.question.us.startswith("Still open:")
    with pytest.raises(RefusedError, match="said go on already"):
        visited.ask(replace(go_on, id="g2"), "lead")


def test_of_several_stops_each_stands_until_a_lead_says_go_on_to_it(visited: Visited) -> None:
    for name in ("s1", "s2"):
        visited.ask(StopAsk(name, "Robin", text=name), "lead")
    for name in ("s2", "s1"):
        visited.ask(AcknowledgeAsk(f"k{name}", "Sam", of=name))
    for name in ("s1", "s2"):
        stop = visited.said.stop
        assert stop is not None
        assert (stop.id, stop.released_s) == (name, None)
        visited.ask(ReleaseAsk(f"g{name}", "Robin", of=name), "lead")
    visited.ask(added("a1"))


def test_a_yes_to_one_stop_is_none_to_the_next(visited: Visited) -> None:
    names = []
    for name in ("s1", "s2"):
        visited.ask(StopAsk(name, "Robin", text=f"Hands off, {name}."), "lead")
        visited.ask(AcknowledgeAsk(f"k{name}", "Sam", of=name))
        with pytest.raises(DoubtfulError) as asked:
            visited.ask(added("a1"))
        names.append(asked.value.names)
    assert names[0] != names[1]


def test_a_stop_that_stands_goes_along_to_the_next_unit_and_outlasts_a_signature(visited: Visited) -> None:
    visited.ask(StopAsk("s1", "Robin", text="Hands off."), "lead")
    visited.ask(AcknowledgeAsk("k1", "Sam", of="s1"))
    stood = visited.said.stop
    visited.standing = Standing("v2", [VisitOpened("o1", TIME_S, stops=visited.standing.stops.standing)])
    assert (visited.said.stop, visited.said.talk) == (stood, TalkCounts(stops_closed=1))
    with pytest.raises(DoubtfulError, match="has not said go on"):
        visited.ask(added("a1"))
    visited.standing.take(Signed("x1", TIME_S, "Sam", "technician", name="Sam", digest=""))
    go_on = ReleaseAsk("g1", "Robin", of="s1", visit="v1")  # from a page that still shows where it was asked
    check_not_sealed(go_on, visited.standing)
    check_of_this_visit(go_on, visited.standing, facts(), "")
    visited.ask(go_on, "lead")
    assert visited.standing.stops.standing == ()


# --- how much of it travels


LETTERS = st.sampled_from(["x", "ü", "\N{WRENCH}", "\n", '"'])
"""Of one to four bytes, and two that JSON writes with a backslash (RFC 8259, section 7)."""


def beside_the_talk(number: int, letter: str) -> list[Mark]:
    """What else stands in a visit, as long as it can be."""
    says, name = Wording(letter * 300, letter * 300, "x"), f"{number}{letter * 60}"
    what = ProposedFinding(check="motor_amps", values={f"value_{it}": 1.23456 for it in range(8)}, part=name)
    said = (TIME_S, "Sam", "technician", letter * 500)
    return [
        Finding(f"f{number}", *said, check="motor_amps", grade="said", outcome="met", part=name, says=says),
        Proposed(f"o{number}", TIME_S, what=what, from_s=TIME_S, to_s=TIME_S, says=says),
        CylinderDescribed(f"c{number}", *said, name=name, use="recovery", refrigerant="R-410A"),
    ]


@settings(deadline=None, max_examples=12)
@given(letter=LETTERS, count=st.integers(1, 400))
def test_hundreds_of_everything_fit_into_one_message_the_oldest_first(letter: str, count: int) -> None:
    text, by = letter * 500, letter * 64
    marks: list[Mark] = []
    for number in range(count):
        head = (TIME_S + number, by, "technician", text)
        marks += [
            Question(f"q{number}", *head, check=by, photographs=[f"{letter * 60}{it}" for it in range(10)]),
            Reply(f"a{number}", TIME_S, by, "lead", text, of=f"q{number}"),
            Want(f"w{number}", TIME_S, by, "lead", text, what="reading"),
            Hold(f"h{number}", TIME_S, by, "lead", text, before="each_move"),
            Stop(f"s{number}", TIME_S, by, "lead", text),
            Note(f"n{number}", TIME_S, by, "lead", text),
            taken(f"p{number}", text=text, check=by, part=by, circuit=by, unit=by),
            *beside_the_talk(number, letter),
        ]
    marks.append(Added("m1", TIME_S, by, "technician", mass_kg=0.1))
    payload = Standing("v1", marks).encoded()
    assert len(payload) <= LARGEST_MESSAGE_BYTES
    said = decode(payload, Visit)
    for name, listed in (("q", said.questions), ("w", said.wants), ("h", said.holds)):
        assert [it.id for it in listed] == [f"{name}{number}" for number in range(len(listed))]
        assert listed
    assert [it.id for it in said.photographs.newest] == [
        f"p{count - 1 - number}" for number in range(len(said.photographs.newest))
    ]
    assert said.talk == TalkCounts(questions_open=count, wants_open=count, holds_open=count, stops_open=count)
    assert said.stop is not None
    assert said.stop.id == f"s{count - 1}"
    closing = [Acknowledged(f"k{number}", TIME_S, "Sam", "technician", of=f"q{number}") for number in range(count)]
    after = Standing("v1", [*marks, *closing]).message()
    assert (after.questions, after.talk.questions_closed) == ([], count)
