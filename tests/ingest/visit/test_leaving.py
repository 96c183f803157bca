"""Who leaves the charge against advice is led on, and nothing calls that right; common practice, no source."""

from dataclasses import replace
from typing import Any

import pytest
from msgspec.structs import replace as changed

from ingest.visit.deciding import DoubtfulError, Facts, RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.found_sound import baselines
from ingest.visit.leading import Now
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.held_back import LEAD_STOPPED
from ingest.wire.messages import (
    Acknowledged,
    Added,
    Advice,
    AlarmMessage,
    ChargeLeft,
    Circuit,
    Correction,
    Described,
    FoundSound,
    LeaveChargeAsk,
    Mark,
    NextStepMessage,
    Released,
    Sheet,
    SignAsk,
    Stop,
    VisitOpened,
    Wording,
)
from tests.ingest.visit.checks import HEAD, TIME_S, course, facts
from tests.ingest.visit.test_leading import AT_THE_CIRCUIT, kept

SAYS = Wording("Add 5 oz.", "Add 140 g.", "headline.add")
STEP = NextStepMessage(0.14, 0.2, 0.1, 0.3, "liquid", "")
ASK = LeaveChargeAsk("l1", "Sam", reason="none_today")


def advised(state: str = "move", step: NextStepMessage | None = STEP, **more: Any) -> Facts:
    return replace(facts(), advice=Advice(TIME_S, more.pop("says", SAYS), [], [], {}, state, next_step=step, **more))


def leave(standing: Standing, ask: LeaveChargeAsk = ASK, known: Facts | None = None) -> ChargeLeft:
    mark = DECISIONS[LeaveChargeAsk](ask, ("l1", *HEAD[1:]), standing, known or advised())
    assert isinstance(mark, ChargeLeft)
    return mark


ASKED = Now(runs=True, charge_asked=True, way="add")


def led_on(standing: Standing, now: Now = ASKED) -> str:
    """Name what is next, while the judge asks for refrigerant; empty for nothing."""
    standing.judged("subcooling", TIME_S + 60.0, now=now)
    return next(iter(standing.message().next), "")


def at_the_end(*more: Mark) -> Standing:
    return course(*(kept(f"k{word}", word) for word in AT_THE_CIRCUIT), *more)


def added(name: str, circuit: str = "") -> Added:
    return Added(name, TIME_S, "Sam", "technician", mass_kg=0.2, circuit=circuit)


def test_closing_follows_and_who_left_it_why_and_against_what_is_told() -> None:
    visit = at_the_end()
    assert led_on(visit) == ""
    mark = leave(visit)
    assert (mark.by, mark.time_s, mark.reason) == ("Sam", TIME_S, "none_today")
    assert (mark.advised, mark.advised_kg) == (SAYS, 0.14)
    visit.take(mark)
    assert led_on(visit) == "probes_off"
    told = visit.message()
    assert told.charge_left is not None
    assert (told.charge_left.by, told.charge_left.reason, told.charge_left.advised_kg) == ("Sam", "none_today", 0.14)
    assert "charge_asked" in told.facts  # the judge still asks


def test_it_holds_until_refrigerant_of_that_circuit_is_moved_again() -> None:
    visit = at_the_end(added("a1"))
    visit.take(leave(visit))
    assert led_on(visit) == "probes_off"
    visit.take(added("a2", "2"))
    assert led_on(visit) == "probes_off"
    visit.take(added("a3"))
    assert led_on(visit) == ""
    assert visit.message().charge_left is None
    visit.take(Correction("c1", TIME_S, "Sam", "technician", of="a3"))  # nothing was moved after all
    assert led_on(visit) == "probes_off"
    visit.take(Correction("c2", TIME_S, "Sam", "technician", of="a1", mass_kg=0.3))  # of before it was left
    assert led_on(visit) == "probes_off"


def test_it_covers_only_the_way_that_it_was_left_against() -> None:
    visit = at_the_end()
    visit.take(leave(visit))
    for way, is_led_on in (("add", True), ("", True), ("recover", False)):
        assert bool(led_on(visit, Now(runs=True, charge_asked=True, way=way))) is is_led_on  # type: ignore[arg-type]
        assert (visit.message().charge_left is not None) is is_led_on
    looked = at_the_end()
    looked.take(leave(looked, known=advised("look", None, says=Wording("-", "-", "headline.several"))))
    assert led_on(looked, Now(runs=True, charge_asked=True)) == "probes_off"
    for way in ("add", "recover"):  # nobody had asked for an amount as it was left
        assert led_on(looked, Now(runs=True, charge_asked=True, way=way)) == ""  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("left_kg", "step_kg", "holds"),
    [
        (0.14, 0.27, True),
        (0.14, 0.29, False),  # beyond twice
        (0.02, 0.06, True),  # beyond twice, and by 40 g alone: it comes and goes with the readings
        (0.02, 0.08, False),
        (0.14, 0.05, True),
    ],
)
def test_it_covers_no_amount_that_is_much_larger_than_the_one_that_was_left(
    left_kg: float, step_kg: float, holds: bool
) -> None:
    """That a decision is of an amount: common practice, no source."""
    visit = at_the_end()
    visit.take(leave(visit, known=advised(step=changed(STEP, step_kg=left_kg))))
    led_on(visit, replace(ASKED, step_kg=step_kg))
    assert (visit.message().charge_left is not None) is holds


STOP = (Stop("s1", TIME_S, "Robin", "lead", text="Wait for me."),)
STOPPED = (*STOP, Acknowledged("s2", TIME_S, "Sam", "technician", of="s1"))
GO_ON = Released("s3", TIME_S, "Robin", "lead", of="s1")


@pytest.mark.parametrize("stop", [STOP, STOPPED])
def test_while_a_leads_stop_stands_nothing_is_left_and_nothing_is_closed(stop: tuple[Mark, ...]) -> None:
    visit = at_the_end(*stop)
    with pytest.raises(RefusedError, match="Robin asked to stop and has not said go on"):
        leave(visit)
    left_before = at_the_end()
    left_before.take(leave(left_before))
    alone = kept("left", "readings_before", choices={"settled": "yes", "then": "leave"})
    for before in (left_before, at_the_end(alone)):
        assert led_on(before) == "probes_off"
        for mark in stop:
            before.take(mark)
        assert led_on(before) == ""
        for mark in (*STOPPED[len(stop) :], GO_ON):
            before.take(mark)
        assert led_on(before) == "probes_off"


def test_right_after_a_lead_says_go_on_nothing_is_left_against_what_was_advised_under_the_stop() -> None:
    visit = at_the_end(*STOPPED, GO_ON)
    of_then = Wording("Robin asked to stop: touch nothing more.", "-", LEAD_STOPPED)
    with pytest.raises(RefusedError, match="not told yet"):
        leave(visit, known=advised("look", None, says=of_then))
    led_on(visit)
    assert leave(visit).advised == SAYS


def test_nor_against_what_was_advised_before_the_stop() -> None:
    visit = at_the_end()
    for nth, mark in enumerate((*STOPPED, GO_ON)):
        visit.take(mark, 100.0 + nth)
    for judged_at_s in (99.0, 102.0):
        visit.judged("subcooling", TIME_S, now=ASKED, at_s=judged_at_s)
        with pytest.raises(RefusedError, match="not told yet"):
            leave(visit)
    visit.judged("subcooling", TIME_S, now=ASKED, at_s=102.2)
    assert leave(visit).advised == SAYS


ALARM = AlarmMessage("head_pressure", SAYS, SAYS, "")


@pytest.mark.parametrize(
    ("ask", "known", "why"),
    [
        (ASK, advised("stop", None), "an alarm stands"),
        (ASK, advised(alarms=[ALARM]), "an alarm stands"),
        (ASK, advised("near enough", None), "nothing is asked of the charge"),
        (ASK, replace(advised(), is_blind=True), "nothing is asked of the charge"),
        (ASK, facts(), "nothing is asked of the charge"),
        (LeaveChargeAsk("l1", "Sam", reason="other", text=" "), advised(), "reason in words"),
        (LeaveChargeAsk("l1", "Sam", reason="owner", circuit="2"), advised(), "circuit is '2'"),
    ],
)
def test_it_is_refused_where_hands_come_first_or_there_is_nothing_to_leave(
    ask: LeaveChargeAsk, known: Facts, why: str
) -> None:
    with pytest.raises(RefusedError, match=why):
        leave(at_the_end(), ask, known)


def test_with_the_probes_off_there_is_nothing_to_leave() -> None:
    with pytest.raises(RefusedError, match="nothing is asked"):
        leave(at_the_end(kept("off", "probes_off")))


def test_whoever_left_it_is_not_asked_about_it_again_as_they_sign() -> None:
    sign, visit = SignAsk("g1", "Sam", name="Sam"), at_the_end()
    for is_asked in (True, False):
        led_on(visit)
        with pytest.raises(DoubtfulError) as asked:
            DECISIONS[SignAsk](sign, HEAD, visit, advised())
        assert ("sign.judge_says:add" in asked.value.names) is is_asked
        visit.take(leave(visit))


def test_sent_again_after_an_answer_that_was_lost_it_is_the_same() -> None:
    visit = at_the_end()
    mark = leave(visit, LeaveChargeAsk("l1", "Sam", reason="owner", text=" Asked at noon. "))
    assert is_repeated(LeaveChargeAsk("l1", "Sam", reason="owner", text="Asked at noon."), "technician", mark)
    assert not is_repeated(LeaveChargeAsk("l1", "Sam", reason="leak_first", text="Asked at noon."), "technician", mark)


def test_it_follows_its_circuit_to_another_name() -> None:
    def sheet(*names: str) -> Sheet:
        return Sheet("RTU-K7Q-4", circuits=tuple(Circuit(name, "R-410A", "txv") for name in names))

    visit = course(Described("d1", TIME_S, "Sam", "technician", sheet=sheet("1", "2")))
    visit.take(ChargeLeft("l1", TIME_S, "Sam", "technician", reason="owner", advised=SAYS, circuit="2"))
    visit.take(Described("d2", TIME_S, "Sam", "technician", sheet=sheet("1", "B"), circuits_were=("1", "2")))
    assert visit.charges_left.of("B") is not None
    assert visit.charges_left.of("2") is None


def test_what_a_unit_showed_at_a_visit_that_left_it_so_is_no_memory_of_it_as_sound() -> None:
    left = ChargeLeft("l1", TIME_S, reason="owner", advised=SAYS, circuit="1")

    def ended(*marks: Mark) -> list[str]:
        return [it.ended for it in baselines([("v1", marks)], unnamed="1")]

    sound = FoundSound("s1", TIME_S, circuit="1", departures={"superheat": (0.1, 0.1)})
    assert ended(sound) == [""]
    assert ended(sound, left) == ["left"]
    assert ended(left, sound) == ["left"]
    assert ended(sound, changed(left, circuit="")) == ["left"]  # the only one, which has a name in its sheet alone
    assert ended(left, added("a1"), sound) == [""]
    other = FoundSound("s2", TIME_S, circuit="2", departures={"superheat": (0.1, 0.1)})
    assert ended(sound, left, other) == ["left", ""]


def test_who_names_no_circuit_leaves_the_one_at_which_the_probes_are() -> None:
    at_one = at_the_end(VisitOpened("o1", TIME_S, unit="RTU-K7Q-4", circuit="1"))
    for circuit in ("", "1"):
        assert leave(at_one, LeaveChargeAsk("l1", "Sam", reason="owner", circuit=circuit)).circuit == "1"


def test_a_circuit_that_nobody_named_is_left_until_it_is_moved_by_whichever_name() -> None:
    for name in ("", "1"):
        visit = at_the_end()
        visit.moved.know([Circuit("1", "R-410A", "txv")], "1")
        visit.take(leave(visit))
        assert led_on(visit) == "probes_off"
        visit.take(added("a1", name))
        assert led_on(visit) == "", name
        assert visit.message().charge_left is None, name
