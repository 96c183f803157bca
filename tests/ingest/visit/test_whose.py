"""Several people work with one rig: what one of them means for the unit before is not recorded at the next."""

from collections.abc import Callable, Sequence
from typing import Any

import pytest
from msgspec.structs import replace

from ingest.asks import Asks
from ingest.visit.deciding import Asked, Facts
from ingest.visit.standing import Standing
from ingest.visit.whose import doubts
from ingest.wire.messages import (
    AcknowledgeAsk,
    Added,
    AddedAsk,
    Answer,
    Ask,
    CorrectionAsk,
    CylinderAsk,
    DescribeAsk,
    Described,
    DismissAsk,
    FindingAsk,
    HandOverAsk,
    HoseAsk,
    KeepAsk,
    LeftAlone,
    Mark,
    NoteAsk,
    PlaceAsk,
    Proposed,
    ProposedFinding,
    Reading,
    RecoveredAsk,
    ReloadAsk,
    SeenAsk,
    SessionBegan,
    Sheet,
    SignAsk,
    StopAsk,
    VisitOpened,
    Wording,
)
from tests import wire_rig
from tests.ingest.test_asks import Book, surroundings
from tests.units import CORRECT
from tests.yes import confirming, saying_yes

NOW_S = 1_700_000_000.0
HERE = wire_rig.about(started_s=NOW_S).unit
SHEETS = {CORRECT.tag: CORRECT}


@pytest.mark.parametrize(
    ("mark", "ask", "asks"),
    [
        (LeftAlone("b1", NOW_S, idle_s=13 * 3600.0), AddedAsk("a1", "Sam", mass_kg=0.1), True),
        (LeftAlone("b1", NOW_S, idle_s=13 * 3600.0), NoteAsk("a1", "Sam", text="Same fault."), False),
        (SessionBegan("b1", NOW_S), AddedAsk("a1", "Sam", mass_kg=0.1), False),
    ],
)
def test_what_counts_is_asked_about_in_a_visit_that_may_be_another(mark: Mark, ask: Ask, asks: bool) -> None:
    standing = Standing("va", [mark])
    said = worded(doubts(ask, standing, Facts(HERE, {}, frozenset(), frozenset()), NOW_S))
    assert [it.kind for it in said] == (["visit.left"] if asks else [])
    assert all(f"nobody recorded anything at {HERE.tag} for 13 h" in it.us for it in said)


def worded(asked: Sequence[Asked]) -> list[Wording]:
    return [it.put(it.names) for it in asked]


class Rig:
    """A rig that goes from one unit to the next, by the name of who opens it."""

    def __init__(self) -> None:
        self.book = Book()
        self.now_s = NOW_S
        self.visit, self.tag, self.first = "va", "RTU-A", 0
        changes = {"standing": self.standing, "facts": self.facts, "time_s": lambda: self.now_s}
        self.asks = Asks(surroundings(self.book, **changes))

    def standing(self) -> Standing:
        return Standing(self.visit, list(self.book.marks.values())[self.first :])

    def facts(self) -> Facts:
        reads = {"suction_pressure": Reading(9e5, NOW_S)}
        return Facts(replace(HERE, tag=self.tag), reads, frozenset(), frozenset(), circuits=["1"], sheets=SHEETS)

    def go(self, visit: str, tag: str, by: str) -> None:
        self.visit, self.tag, self.first = visit, tag, len(self.book.marks)
        opened = VisitOpened(f"o{self.first}", self.now_s, by, "technician", unit=tag, circuit="1")
        seen = Proposed("p1", NOW_S, what=ProposedFinding("isolate"), from_s=NOW_S, to_s=NOW_S, says=Wording("-", "-"))
        moved = Added("m1", NOW_S, "Sam", "technician", mass_kg=0.1, phase="liquid", circuit="1")
        self.book.marks |= {opened.id: opened, seen.id: seen, moved.id: moved}

    async def tell(self, ask: Ask, user: str = "technician") -> Answer:
        return await self.asks.answer(user, ask.kind, ask)


@pytest.fixture
async def rig() -> Rig:
    """Sam and Robin were at RTU-A; Robin has just opened RTU-B."""
    rig = Rig()
    assert (await rig.tell(NoteAsk("n1", "Sam", text="both of us are here"))).ok
    rig.go("vb", "RTU-B", "Robin")
    rig.now_s += 60.0
    return rig


ASKS: dict[str, Callable[..., Ask]] = {
    "added": lambda **fields: AddedAsk("a1", "Sam", mass_kg=0.1, phase="liquid", **fields),
    "recovered": lambda **fields: RecoveredAsk("a1", "Sam", mass_kg=0.1, phase="vapour", **fields),
    "sign": lambda **fields: SignAsk("a1", "Sam", name="Sam", **fields),
    "finding": lambda **fields: FindingAsk("a1", "Sam", check="complaint", grade="said", **fields),
    "dismiss": lambda **fields: DismissAsk("a1", "Sam", of="p1", **fields),
    "keep": lambda **fields: KeepAsk("a1", "Sam", of="p1", **fields),
    "correction": lambda **fields: CorrectionAsk("a1", "Sam", of="m1", mass_kg=0.09, **fields),
    "cylinder": lambda **fields: CylinderAsk("a1", "Sam", name="C1", use="virgin", refrigerant="R-410A", **fields),
    "hand_over": lambda **fields: HandOverAsk("a1", "Sam", to="Kim", **fields),
    "place": lambda **fields: PlaceAsk("a1", "Sam", on="1", channels=["suction_pressure"], **fields),
    "hose": lambda **fields: HoseAsk("a1", "Sam", port="suction", on=True, **fields),
    "describe": lambda **fields: DescribeAsk("a1", "Sam", sheet=_new_sheet(), **fields),
}


def _new_sheet() -> Sheet:
    return replace(CORRECT, tag="AHU-9")


@pytest.mark.parametrize("kind", ASKS)
async def test_what_is_meant_for_another_visit_is_refused_by_name_of_both_units(rig: Rig, kind: str) -> None:
    before = dict[str, Mark](rig.book.kept)
    for confirmed in (False, True):
        answer = await rig.tell(ASKS[kind](visit="va", confirmed=confirmed))
        assert not answer.ok
        assert answer.question is None
        assert answer.reason.startswith("this was meant for RTU-A, and the rig is at RTU-B now, opened by Robin")
    assert rig.book.kept == before


async def test_of_a_visit_before_the_daemon_began_its_id_is_told_instead(rig: Rig) -> None:
    assert "another unit (visit v0)" in (await rig.tell(ASKS["sign"](visit="v0"))).reason
    rig.go("vc", "RTU-B", "Robin")
    assert "an earlier visit to RTU-B" in (await rig.tell(NoteAsk("a1", "Sam", "vb", text="x"))).reason
    rig.go("vd", "RTU-B", "")  # by the configuration, and by nobody
    reason = (await rig.tell(NoteAsk("a2", "Sam", "va", text="x"))).reason
    assert "the rig is at RTU-B now: nothing was recorded" in reason


@pytest.mark.parametrize("kind", ASKS)
async def test_what_names_the_visit_at_work_is_not_asked_about(rig: Rig, kind: str) -> None:
    answer = await rig.tell(ASKS[kind](visit="vb"))
    assert "Robin" not in (answer.question.us if answer.question else "")
    assert answer.ok or kind == "sign"  # which asks about the checks that are open


@pytest.mark.parametrize("kind", ASKS)
async def test_what_names_none_is_asked_about_once_somebody_else_opened_the_unit(rig: Rig, kind: str) -> None:
    answer = await rig.tell(ASKS[kind]())
    assert answer.question is not None
    said = "Robin opened RTU-B 1 min ago, and this does not say for which unit it is meant. Is it for RTU-B?"
    assert answer.question.us.startswith(said)
    assert answer.question.si.startswith(said)
    assert (await saying_yes(rig.tell, ASKS[kind](visit="vb", confirmed=True))).ok


@pytest.mark.parametrize("kind", ASKS)
async def test_a_yes_to_something_else_does_not_say_of_which_visit_it_is(rig: Rig, kind: str) -> None:
    """Somebody who was asked about the amount at RTU-A says yes, and the rig has gone on to RTU-B meanwhile."""
    before = dict[str, Mark](rig.book.kept)
    for confirms in ((), ("amount.in_one_go",)):
        answer = await rig.tell(ASKS[kind](confirmed=True, confirms=confirms))
        assert not answer.ok
        assert answer.question is not None
        assert answer.question.us.startswith("Robin opened RTU-B 1 min ago, and this does not say for which unit")
        assert answer.asks[0].startswith("visit.opened_by_another:")
    assert rig.book.kept == before
    assert (await rig.tell(confirming(ASKS[kind](), answer))).ok


async def test_it_is_asked_together_with_all_else_so_that_one_yes_hides_nothing(rig: Rig) -> None:
    answer = await rig.tell(AddedAsk("a1", "Sam", mass_kg=1.3, phase="liquid"))
    assert answer.question is not None
    alone = await rig.tell(AddedAsk("a2", "Robin", mass_kg=1.3, phase="liquid"))
    assert alone.question is not None
    assert answer.question.us.endswith(alone.question.us)
    assert answer.question.us != alone.question.us


@pytest.mark.parametrize(
    ("by", "after_s", "asked"),
    [("Sam", 0.0, True), ("Sam", 600.0, True), (" robin ", 60.0, False), ("Sam", 600.1, False)],
)
async def test_who_opened_it_knows_and_so_does_everybody_later(by: str, after_s: float, asked: bool) -> None:
    rig: Any = Rig()
    rig.go("vb", "RTU-B", "Robin")
    rig.now_s += after_s
    for number, ask in enumerate((
        FindingAsk("a1", by, check="complaint", grade="said"), HandOverAsk("a1", by, to="Kim"),
        HoseAsk("a1", by, port="suction", on=True),
    )):  # fmt: skip
        answer = await rig.tell(replace(ask, id=f"a{number}"))
        minutes = "10" if after_s == 600.0 else "1"
        assert answer.question is None or f"opened RTU-B {minutes} min ago" in answer.question.us
        assert (answer.question is not None) is asked
        assert answer.ok is not asked


async def test_who_finds_it_at_the_unit_of_the_configuration_is_asked_nothing() -> None:
    rig = Rig()
    rig.go("va", "RTU-A", "")
    assert (await rig.tell(FindingAsk("a1", "Sam", check="complaint", grade="said"))).ok


async def test_a_name_that_somebody_gave_to_another_circuit_is_asked_about() -> None:
    """Robin exchanged what two circuits are called; Sam's page is from before, and its visit is the right one."""
    rig = Rig()
    rig.go("vb", CORRECT.tag, "Robin")
    one, two = CORRECT.circuits
    exchanged = replace(CORRECT, circuits=[replace(one, name="2"), replace(two, name="1")])
    rig.book.marks["d1"] = Described("d1", rig.now_s, "Robin", "technician", sheet=exchanged, circuits_were=("1", "2"))
    rig.now_s += 120.0
    found = FindingAsk("f1", "Sam", "vb", check="leaks", grade="said", circuit="1")
    for ask in (found, PlaceAsk("q1", "Sam", "vb", on="1", channels=["suction_pressure"])):
        answer = await rig.tell(ask)
        assert answer.question is not None
        assert answer.question.us.startswith(
            "Robin gave the name 1 to another circuit 2 min ago. Is this meant for the one that is called 1 now?"
        )
        assert "gave the name" not in str(await rig.tell(replace(ask, id=f"{ask.id}b", by="Robin")))
        assert (await rig.tell(confirming(replace(ask, id=f"{ask.id}c"), answer))).ok
    for ask in (NoteAsk("n2", "Sam", "vb", text="All well."), replace(found, id="f4", circuit="")):
        assert "gave the name" not in str(await rig.tell(ask))  # which names neither
    unsaid = (await rig.tell(replace(found, id="f3", visit=""))).question
    assert unsaid is not None  # both at once: one yes answers all that was asked
    assert unsaid.us.startswith(f"Robin opened {CORRECT.tag} 2 min ago")
    assert "Robin gave the name 1 to another circuit" in unsaid.us
    rig.now_s += 600.0
    assert "gave the name" not in str(await rig.tell(replace(found, id="f2")))


async def test_a_clock_that_was_set_meanwhile_makes_no_exchange_of_names_older() -> None:
    rig = Rig()
    rig.go("vb", CORRECT.tag, "Robin")
    one, two = CORRECT.circuits
    exchanged = replace(CORRECT, circuits=[replace(one, name="2"), replace(two, name="1")])
    stamped = rig.now_s - 13 * 3600.0  # by a clock that was behind, and has been set since
    described = Described("d1", stamped, "Robin", "technician", sheet=exchanged, circuits_were=("1", "2"))
    standing = rig.standing()
    standing.take(described, at_s=rig.now_s)
    facts = rig.facts()
    found = FindingAsk("f1", "Sam", "vb", check="leaks", grade="said", circuit="1")
    (asked,) = worded(doubts(found, standing, facts, rig.now_s))
    assert asked.us.startswith("Robin gave the name 1 to another circuit 1 min ago")


async def test_a_stop_is_heard_wherever_the_rig_is(rig: Rig) -> None:
    assert (await rig.tell(StopAsk("s1", "Kim", "va", text="Shut the cylinder."), "lead")).ok


async def test_the_configuration_is_read_again_wherever_the_rig_is(rig: Rig) -> None:
    assert "this was meant for" not in (await rig.tell(ReloadAsk("r1", "Sam", "va"))).reason


@pytest.mark.parametrize(
    ("ask", "of"),
    [(AcknowledgeAsk("k1", "Sam", "va", of="x1"), "note"), (SeenAsk("k1", "Sam", "va", of="x1"), "stop")],
)
async def test_that_something_was_read_counts_from_a_page_that_still_shows_the_unit_before(
    rig: Rig, ask: Ask, of: str
) -> None:
    written = NoteAsk("x1", "Kim", text="Mind the lug.") if of == "note" else StopAsk("x1", "Kim", text="Hands off.")
    assert (await rig.tell(written, "lead")).ok
    answer = await rig.tell(ask)
    assert (answer.ok, answer.reason) == (True, "")
    assert not rig.standing().message().notes


async def test_what_was_recorded_at_the_unit_before_is_still_known_when_it_is_sent_again(rig: Rig) -> None:
    again = await rig.tell(NoteAsk("n1", "Sam", "va", text="both of us are here"))
    assert again == Answer("n1", ok=True, mark=rig.book.marks["n1"])
