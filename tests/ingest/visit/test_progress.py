"""How far a visit is: waiting, handed over, signed; and the digest that seals it."""

import hashlib
import re
from dataclasses import replace

import msgspec
import pytest

from ingest.visit.checklist import guided
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, decided
from ingest.visit.opening import open_visit
from ingest.visit.progress import hand_over, resume, sign, wait
from ingest.visit.seal import digest
from ingest.visit.sealed import check_not_sealed
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    Added,
    AddedAsk,
    Advice,
    CorrectionAsk,
    Finding,
    HandOverAsk,
    HoseSet,
    LeftAlone,
    NextStepMessage,
    Note,
    NoteAsk,
    OpenAsk,
    Outcome,
    Progress,
    ResumeAsk,
    Seen,
    SessionBegan,
    SignAsk,
    Signed,
    Stop,
    StopAsk,
    VisitOpened,
    WaitAsk,
    Wording,
    encode,
)
from ingest.wire.sheet import Circuit, Sheet
from tests import wire_rig

TIME_S = 1.7e9
HEAD: Head = ("a1", TIME_S + 60, "Sam", "technician")
FACTS = Facts(wire_rig.about(started_s=TIME_S).unit, {}, frozenset(), frozenset())
OPENED = VisitOpened("o1", TIME_S, unit="RTU-4", circuit="1")
NOTE = Note("n1", TIME_S, by="Robin", role="lead", text="Mind the filter.")


def test_it_waits_with_a_reason_and_goes_on() -> None:
    standing = Standing("v1", [OPENED])
    standing.take(wait(WaitAsk("a1", "Sam", reason="parts", text=" capacitor "), HEAD, standing, FACTS))
    assert standing.progress == Progress("waiting", TIME_S + 60, "Sam", "parts", "capacitor")
    standing.take(resume(ResumeAsk("a2", "Sam"), HEAD, standing, FACTS))
    assert standing.progress == Progress("open", TIME_S + 60, "Sam")
    with pytest.raises(RefusedError, match="neither waits nor was left alone"):
        resume(ResumeAsk("a3", "Sam"), HEAD, standing, FACTS)


def test_a_visit_that_was_left_alone_goes_on_by_one_touch() -> None:
    standing = Standing("v1", [OPENED, LeftAlone("b1", TIME_S, idle_s=13 * 3600.0)])
    standing.take(resume(ResumeAsk("a2", "Sam"), HEAD, standing, FACTS))
    assert standing.progress == Progress("open", TIME_S + 60, "Sam")


def test_a_visit_that_was_left_alone_is_asked_about_until_a_technician_goes_on_with_it() -> None:
    left_s = 13 * 3600.0
    standing = Standing("v1", [OPENED, LeftAlone("b1", TIME_S, idle_s=left_s)])
    assert standing.progress == Progress("open", left_s=left_s)
    standing.take(SessionBegan("b2", TIME_S))  # a restart answers nothing
    standing.take(NOTE)
    assert standing.progress.left_s == left_s
    standing.take(Note("n2", TIME_S, by="Sam", role="technician", text="Same fault."))
    standing.take(Seen("s1", TIME_S, "Sam", "technician", of="n1"))  # nor does what was recorded unasked
    assert standing.progress.left_s == left_s
    standing.take(HoseSet("h1", TIME_S, "Sam", "technician", port="liquid", on=True))
    assert standing.progress == Progress("open", technician="Sam")


def test_nothing_is_signed_or_left_for_another_visit_while_a_stop_is_not_answered() -> None:
    standing = Standing("v1", [OPENED, Stop("s1", TIME_S, "Robin", "lead", text="Hands off.")])
    facts = replace(FACTS, sheets={"RTU-9": Sheet("RTU-9", [Circuit("1", "R-410A", "txv")])})
    ask = SignAsk("k1", "Sam", name="Sam", confirmed=True)
    with pytest.raises(RefusedError, match="Robin asked to stop, and nobody at the unit has said that they have"):
        sign(ask, HEAD, standing, FACTS)
    with pytest.raises(RefusedError, match="Robin asked to stop"):
        open_visit(OpenAsk("o2", "Sam", unit="RTU-9", confirmed=True), HEAD, standing, facts)
    standing.take(Acknowledged("k2", TIME_S, "Sam", "technician", of="s1"))
    assert sign(ask, HEAD, standing, FACTS).name == "Sam"
    assert open_visit(OpenAsk("o2", "Sam", unit="RTU-9", confirmed=True), HEAD, standing, facts).unit == "RTU-9"


def test_a_yes_to_sign_covers_the_checks_and_hoses_that_were_named_and_none_that_came_open_since() -> None:
    standing = Standing("v1", [OPENED])

    def asked(*confirms: str) -> DoubtfulError:
        with pytest.raises(DoubtfulError) as caught:
            decided(SignAsk("k1", "Sam", name="Sam", confirmed=True, confirms=confirms), signs)
        return caught.value

    def signs(ask: SignAsk) -> Signed:
        return sign(ask, HEAD, standing, FACTS)

    first = asked()
    assert {"sign.name", "sign.check_open:complaint", "sign.check_open:which_unit"} < {*first.names}
    standing.take(HoseSet("h1", TIME_S, "Sam", "technician", port="liquid", on=True))
    again = asked(*first.names)
    assert again.question.us.startswith("A hose still stands open at the liquid port.")
    assert "Still open" not in again.question.us  # of these they have said already that it is so
    without = [name for name in again.names if name != "sign.check_open:which_unit"]
    assert asked(*without).question.us.startswith("Still open: Which unit, which circuit.")
    ask = SignAsk("k1", "Sam", name="Sam", confirmed=True, confirms=again.names)
    assert decided(ask, signs).name == "Sam"


def test_what_waits_or_is_signed_is_left_on_purpose() -> None:
    standing = Standing("v1", [OPENED])
    standing.take(wait(WaitAsk("a1", "Sam", reason="parts"), HEAD, standing, FACTS))
    standing.take(LeftAlone("b1", TIME_S, idle_s=72 * 3600.0))
    assert standing.progress.left_s == 0.0


def test_another_technician_takes_over_and_the_wait_goes_on() -> None:
    standing = Standing("v1", [OPENED])
    standing.take(wait(WaitAsk("a1", "Sam", reason="owner"), HEAD, standing, FACTS))
    standing.take(hand_over(HandOverAsk("a2", "Sam", to=" Kim ", text="The cap is off."), HEAD, standing, FACTS))
    assert standing.progress == Progress("waiting", TIME_S + 60, "Kim", "owner", "The cap is off.")
    with pytest.raises(RefusedError, match="to is empty"):
        hand_over(HandOverAsk("a3", "Sam", to=" "), HEAD, standing, FACTS)


def test_a_lead_who_notes_does_not_work_at_it() -> None:
    standing = Standing("v1", [OPENED, Note("n0", TIME_S, by="Sam", role="technician", text="x"), NOTE])
    assert standing.progress.technician == "Sam"


def test_a_visit_that_is_signed_stays_with_its_technician() -> None:
    standing = Standing("v1", [OPENED, Note("n0", TIME_S, by="Sam", role="technician", text="x")])
    standing.take(sign(SignAsk("a1", "Sam", name="Sam", confirmed=True), HEAD, standing, FACTS))
    standing.take(Note("n2", TIME_S + 90, by="Kim", role="technician", text="The label of the can, read again."))
    assert (standing.progress.state, standing.progress.technician) == ("signed", "Sam")


def test_the_digest_is_of_every_mark_in_order() -> None:
    """SHA-256 (FIPS 180-4), chained: of the digest before and the mark's bytes."""
    by_hand = hashlib.sha256(b"").digest()
    for mark in (OPENED, NOTE):
        by_hand = hashlib.sha256(by_hand + encode(mark)).digest()
    assert digest([OPENED, NOTE]) == by_hand.hex()
    assert digest([NOTE, OPENED]) != by_hand.hex()


def test_after_it_is_signed_only_what_is_appended_can_be_asked() -> None:
    standing = Standing("v1", [OPENED, Added("m1", TIME_S, "Sam", "technician", mass_kg=0.2, phase="liquid")])
    standing.take(sign(SignAsk("s1", "Sam", name=" Sam ", confirmed=True), HEAD, standing, FACTS))
    assert standing.progress.state == "signed"
    moved = AddedAsk("m2", "Sam", mass_kg=0.1, phase="liquid")
    for ask in (SignAsk("s2", "Sam", name="Sam"), WaitAsk("w1", "Sam", reason="parts"), moved):
        for visit in ("", "v1"):
            with pytest.raises(RefusedError, match="the visit is signed: open the unit again"):
                check_not_sealed(msgspec.structs.replace(ask, visit=visit), standing)
    for appended in (
        NoteAsk("n2", "Sam", text="x"),
        CorrectionAsk("c1", "Sam", of="m1"),
        StopAsk("t1", "Robin", text="x"),
    ):
        check_not_sealed(appended, standing)


def test_a_hose_that_stands_open_is_asked_about_before_anybody_signs() -> None:
    standing = Standing("v1", [OPENED, HoseSet("h1", TIME_S, port="suction", on=True)])
    with pytest.raises(DoubtfulError, match="A hose still stands open at the suction port"):
        sign(SignAsk("s1", "Sam", name="Sam"), HEAD, standing, FACTS)
    assert sign(SignAsk("s1", "Sam", name="Sam", confirmed=True), HEAD, standing, FACTS).name == "Sam"


def test_nobody_signs_without_a_name() -> None:
    with pytest.raises(RefusedError, match="name is empty"):
        sign(SignAsk("s1", "Sam", name=" "), HEAD, Standing("v1", [OPENED]), FACTS)


def test_of_two_open_hoses_one_is_named_and_after_it_the_other() -> None:
    standing = Standing("v1", [OPENED, *(HoseSet(port, TIME_S, port=port, on=True) for port in ("suction", "liquid"))])
    with pytest.raises(DoubtfulError, match="at the liquid port"):
        sign(SignAsk("s1", "Sam", name="Sam"), HEAD, standing, FACTS)
    standing.take(HoseSet("h3", TIME_S, port="liquid", on=False))
    with pytest.raises(DoubtfulError, match="at the suction port"):
        sign(SignAsk("s1", "Sam", name="Sam"), HEAD, standing, FACTS)


def test_what_was_not_made_or_not_met_is_named_before_anybody_signs() -> None:
    def found(word: str, outcome: Outcome) -> Finding:
        return Finding(f"f-{word}", TIME_S, "Sam", "technician", check=word, grade="said", outcome=outcome)

    unmade = {"isolate": "met", "prove_dead": "skipped", "panels": "not_met"}
    made: dict[str, Outcome] = dict.fromkeys(guided(), "met") | unmade  # type: ignore[assignment]
    standing = Standing("v1", [OPENED, *(found(word, outcome) for word, outcome in made.items())])
    told = r"^Still open: Prove dead, Panels\. Sign with it as it is\? Sam stands for it\.$"
    with pytest.raises(DoubtfulError, match=told):
        sign(SignAsk("s1", "Sam", name="Sam"), HEAD, standing, FACTS)
    with pytest.raises(DoubtfulError, match=r"^Still open: .*, and \d+ more\."):
        sign(SignAsk("s1", "Sam", name="Sam"), HEAD, Standing("v1", [OPENED]), FACTS)
    five = [OPENED, *(found(word, "met" if word in list(guided())[5:] else "not_met") for word in guided())]
    titles = ", ".join(it.check.title for it in list(guided().values())[:5])
    with pytest.raises(DoubtfulError, match=re.escape(f"Still open: {titles}. Sign")):
        sign(SignAsk("s1", "Sam", name="Sam"), HEAD, Standing("v1", five), FACTS)


def test_refrigerant_that_the_judge_still_advises_is_told_before_anybody_signs() -> None:
    advice = Advice(TIME_S, Wording("Subcooling 4.0 of 9.0: add 5 oz.", "-"), [], [], {})
    standing = Standing("v1", [OPENED, *(_met(word) for word in guided())])
    ask = SignAsk("s1", "Sam", name="Sam")
    assert sign(ask, HEAD, standing, replace(FACTS, advice=advice)).name == "Sam"  # nothing is to be moved by it
    step = NextStepMessage(0.14, 0.14, 0.1, 0.2, "liquid", "")
    short = replace(FACTS, advice=msgspec.structs.replace(advice, next_step=step))
    said = "Of the charge the judge says: Subcooling 4.0 of 9.0: add 5 oz. Sam stands for it."
    with pytest.raises(DoubtfulError, match=f"^{re.escape(said)}$"):
        sign(ask, HEAD, standing, short)


def test_a_yes_to_what_the_judge_would_add_covers_nothing_that_it_would_take_out_since() -> None:
    """Between the question and the yes the judge has turned round: they stand for what they were told."""
    standing = Standing("v1", [OPENED, *(_met(word) for word in guided())])
    advices = {
        way: Advice(
            TIME_S, Wording(f"{way} 5 oz.", "-"), [], [], {},
            next_step=NextStepMessage(sign * 0.14, sign * 0.14, sign * 0.1, sign * 0.2, "liquid", ""),
        )
        for way, sign in (("Add", 1.0), ("Recover", -1.0))
    }  # fmt: skip

    def asked(way: str, *confirms: str) -> Signed:
        ask = SignAsk("k1", "Sam", name="Sam", confirmed=True, confirms=confirms)
        return decided(ask, lambda it: sign(it, HEAD, standing, replace(FACTS, advice=advices[way])))

    with pytest.raises(DoubtfulError) as caught:
        asked("Add")
    shown = caught.value.names
    assert asked("Add", *shown).name == "Sam"
    with pytest.raises(DoubtfulError, match=r"Recover 5 oz\."):
        asked("Recover", *shown)


def _met(word: str) -> Finding:
    return Finding(f"f-{word}", TIME_S, "Sam", "technician", check=word, grade="said", outcome="met")
