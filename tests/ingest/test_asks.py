"""Asks: what is recorded, who may, and what comes of nonsense."""

import asyncio
import hashlib
import io
import math
import re
from collections.abc import Mapping
from itertools import count
from math import inf
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from PIL import Image

from calc.sentences import Sentence, say
from ingest.asks import Asks, Surroundings, _check_can_be_told, _may_not
from ingest.field_checks import CheckRefusedError, ElsewhereError
from ingest.photographs import Parts
from ingest.record.errors import NotSavedError, WaitsError
from ingest.reload import ReloadError
from ingest.visit.deciding import Facts, RefusedError
from ingest.visit.repeated import used_for
from ingest.visit.standing import Standing
from ingest.wire import asks as wire_asks
from ingest.wire.asks import ASKS, MAY_ASK
from ingest.wire.events import Confirmable
from ingest.wire.messages import (
    AcknowledgeAsk,
    Acknowledged,
    Added,
    AddedAsk,
    Advice,
    Answer,
    Ask,
    Baseline,
    Calibration,
    CheckAsk,
    Checked,
    CheckFound,
    ChooseAsk,
    Circuit,
    CorrectAsk,
    Corrected,
    Correction,
    CorrectionAsk,
    CylinderAsk,
    DescribeAsk,
    DismissAsk,
    FindingAsk,
    HandOverAsk,
    HoldAsk,
    HoseAsk,
    KeepAsk,
    LeaveChargeAsk,
    LeftAlone,
    Line,
    LinkChanged,
    Mark,
    Motor,
    MoveAsk,
    Note,
    NoteAsk,
    OpenAsk,
    PatternAsk,
    Photograph,
    PhotographAsk,
    PlaceAsk,
    Proposed,
    ProposedFinding,
    ProposedMove,
    ProposedUnit,
    QuestionAsk,
    Reading,
    ReadingAsk,
    ReadingTaken,
    RecoveredAsk,
    ReleaseAsk,
    ReloadAsk,
    ReplyAsk,
    ResumeAsk,
    SeenAsk,
    Sheet,
    SignAsk,
    StopAsk,
    WaitAsk,
    WantAsk,
    Warned,
    WithdrawBaselineAsk,
    Wording,
    decode,
    encode,
)
from ingest.wire.roles import WHERE_NOBODY_IS_NAMED
from ingest.wire.talk import StopStands
from tests import wire_rig
from tests.yes import confirming, saying_yes

NOW_S = 1_700_000_000.0


class Book:
    """Marks in memory, on a disk that can be full."""

    def __init__(self) -> None:
        self.marks: dict[str, Mark] = {}
        self.pictures: dict[str, bytes] = {}
        self.is_full = False
        self.held: list[Mark] = []

    async def find(self, mark_id: str) -> Mark | None:
        return self.marks.get(mark_id)

    async def add(self, mark: Mark) -> Mark:
        if self.is_full:
            raise NotSavedError("database or disk is full")
        assert mark.id not in self.marks
        self.marks[mark.id] = mark
        return mark

    @property
    def kept(self) -> dict[str, Mark]:
        """All but what tells of warnings: what people asked for."""
        return {name: mark for name, mark in self.marks.items() if not isinstance(mark, Warned)}

    @property
    def warned(self) -> list[Warned]:
        return [mark for mark in self.marks.values() if isinstance(mark, Warned)]

    async def add_photograph(self, mark: Photograph, jpeg: bytes, visit: str) -> None:
        assert visit == self.standing().visit
        await self.add(mark)
        self.pictures[mark.id] = jpeg

    def standing(self) -> Standing:
        standing = Standing("v1", self.marks.values())
        standing.judged("", inf)  # since whatever is in its marks
        standing.unsaved = tuple(self.held)
        return standing

    async def show(self, mark: Mark) -> Mark:
        """As the part does that lets marks wait (`ingest.parts.until_saved`), which its own test holds."""
        if mark not in self.held:
            self.held.append(mark)
        while self.held:
            try:
                await self.add(self.held[0])
            except NotSavedError as error:
                raise WaitsError(error) from error
            del self.held[0]
        return mark


@pytest.fixture
def book() -> Book:
    return Book()


@pytest.fixture
def asks(book: Book) -> Asks:
    readings = {
        "suction_pressure": Reading(914_906.123456, NOW_S),
        "superheat": Reading(None, NOW_S, "stale", "the low side probe is silent"),
    }
    return Asks(surroundings(book, readings=lambda: readings))


async def nobody_was_away() -> None:
    pass


def surroundings(book: Book, **changes: Any) -> Surroundings:
    """Give what asks are answered from. Facts by name: readings and such, the charge of the plate, the advice."""
    known: dict[str, Any] = {
        "readings": dict,
        "in_doubt": frozenset,
        "unsettled": frozenset,
        "nameplate_charge_kg": lambda: NAMEPLATE_KG,
        "advice": lambda: None,
    }
    known |= {name: changes.pop(name) for name in [*known] if name in changes}

    def facts() -> Facts:
        unit = replace(wire_rig.about(started_s=NOW_S).unit, nameplate_charge_kg=known["nameplate_charge_kg"]())
        there = {"RTU-9": replace(SHEET, tag="RTU-9")}
        measured = known["readings"](), known["in_doubt"](), known["unsettled"]()
        kept = (Baseline("b1", "v0", NOW_S), Baseline("b2", "v0", NOW_S))
        return Facts(unit, *measured, ("1", "2"), ("blower",), sheets=there, baselines=kept, advice=known["advice"]())

    usual = {
        "users": WHERE_NOBODY_IS_NAMED,
        "find": book.find,
        "add": book.add,
        "standing": book.standing,
        "facts": facts,
        "reload": reload,
        "check": find_half_a_degree,
        "correct": take_off_half_a_degree,
        "parts": Parts(lambda: NOW_S, lambda lost: None),
        "add_photograph": book.add_photograph,
        "open": book.add,
        "unsaved": lambda: book.held,
        "show": book.show,
        "look_after": nobody_was_away,
        "time_s": lambda: NOW_S,
    }
    return Surroundings(**usual | changes)


FOUND = CheckFound("ice_point", "suction_line_temperature", 32.9, 273.65, 273.15, 0.5, 0.06, 0.25, "within", 0.19)


def find_half_a_degree(ask: CheckAsk) -> CheckFound:
    if ask.channel != FOUND.channel:
        raise CheckRefusedError(f"there is no channel {ask.channel!r}")
    return FOUND


def take_off_half_a_degree(checks: Mapping[str, CheckFound]) -> Calibration:
    return Calibration(FOUND.channel, Line(1.0, 0.0, 0.25), Line(1.0, -0.9, 0.19), tuple(checks))


async def reload() -> str:
    return "instruments: added clamp meter"


async def refuse_to_reload() -> str:
    raise ReloadError("rig.toml cannot be used")


OUNCE_KG = 0.028349523125  # NIST SP 811, B.8: 1 oz (avoirdupois) = 2.834 952 E-02 kg
NAMEPLATE_KG = 120 * OUNCE_KG  # 7.5 lb


def added(ounces: float = 4.0, **fields: Any) -> AddedAsk:
    return AddedAsk(**{"id": "a1", "by": "Sam", "mass_kg": ounces * OUNCE_KG, "phase": "liquid"} | fields)


async def tell(asks: Asks, ask: Ask, user: str = "") -> Answer:
    """Ask as somebody; as a technician where nobody is named and a technician may; what is confirmed says yes."""
    whom = user or ("technician" if type(ask) not in FOR_A_LEAD else "lead")
    return await saying_yes(lambda it: asks.answer(whom, it.kind, it), ask)


FOR_A_LEAD = {ask for ask, roles in ASKS.items() if "technician" not in roles}


async def test_refrigerant_added_becomes_a_mark(asks: Asks, book: Book) -> None:
    answer = await tell(asks, added())
    expected = Added("a1", NOW_S, by="Sam", role="technician", mass_kg=4 * OUNCE_KG, phase="liquid")
    assert answer == Answer("a1", ok=True, mark=expected)
    assert book.marks == {"a1": expected}


async def test_a_reading_keeps_the_figures_of_the_moment_with_how_sure_they_are(book: Book) -> None:
    readings = {
        "suction_pressure": Reading(914_906.123_456, NOW_S, standard_uncertainty=3_447.378_646),
        "superheat": Reading(None, NOW_S, "stale", "no reading yet"),
    }
    doubted = frozenset({"suction_pressure", "suction_dew_point"})  # of which the rig gives no dew point now
    unsettled = frozenset({"superheat", "subcooling"})  # which the rig does not give either
    told = {"readings": lambda: readings, "in_doubt": lambda: doubted, "unsettled": lambda: unsettled}
    asks = Asks(surroundings(book, **told))
    assert (await tell(asks, ReadingAsk("a1", "Sam"))).ok
    assert book.marks["a1"] == ReadingTaken(
        "a1",
        NOW_S,
        "Sam",
        "technician",
        figures={"suction_pressure": 914_906.1, "superheat": None},
        standard_uncertainties={"suction_pressure": 3_447.379},
        in_doubt=["suction_pressure"],
        unsettled=["superheat"],
    )


async def test_a_reload_keeps_what_changed(asks: Asks, book: Book) -> None:
    assert (await tell(asks, ReloadAsk("a1", "Sam"))).ok
    assert (book.marks["a1"].by, book.marks["a1"].text) == ("Sam", "instruments: added clamp meter")


async def test_a_reload_that_changed_nothing_is_no_mark_of_that_ask(book: Book) -> None:
    asks = Asks(surroundings(book, reload=refuse_to_reload))
    assert await tell(asks, ReloadAsk("a1", "Sam")) == Answer("a1", ok=False, reason="rig.toml cannot be used")
    assert book.marks == {}


SHEET = Sheet("RTU-M2D-1", [Circuit("1", "R-410A", "txv", charge_kg=2.5, ports=["suction"])], parts=[Motor("blower")])


def png() -> bytes:
    """A picture of one pixel."""
    file = io.BytesIO()
    Image.new("RGB", (1, 1), "navy").save(file, "PNG")
    return file.getvalue()


def sent(data: bytes, name: str, **fields: Any) -> PhotographAsk:
    """A photograph in one part."""
    digest = hashlib.sha256(data).hexdigest()
    return PhotographAsk(name, "Sam", photograph=name, digest=digest, part_number=1, part_count=1, data=data, **fields)


SMALL = png()

ONCE: dict[str, Ask] = {
    "added": added(),
    "recovered": RecoveredAsk("a1", "Sam", mass_kg=4 * OUNCE_KG, phase="vapour"),
    "correction": CorrectionAsk("a1", "Sam", of="m1", mass_kg=3 * OUNCE_KG),
    "withdrawal": CorrectionAsk("a1", "Sam", of="m1", mass_kg=0.0),
    "correction of a correction": CorrectionAsk("a1", "Sam", of="m2", mass_kg=3 * OUNCE_KG),
    "added with all that is known": added(
        cylinder="7", how="estimated", within_share=0.2, port="suction", purpose="adjust", proposal="p1"
    ),
    "moved to another cylinder": CorrectionAsk("a1", "Sam", of="m1", mass_kg=3 * OUNCE_KG, cylinder="7"),
    "cylinder": CylinderAsk(
        "a1", "Sam", name=" 8 ", use="virgin", refrigerant="r410a", tare_kg=12.5, gross_kg=23.8, photographs=["f1"]
    ),
    "reading": ReadingAsk("a1", "Sam"),
    "note": NoteAsk("a1", " Sam ", text=" Mind the filter first.\n"),
    "acknowledge": AcknowledgeAsk("a1", "Sam", of="n1"),
    "reload": ReloadAsk("a1", "Sam"),
    "check": CheckAsk("a1", "Sam", check="ice_point", channel="suction_line_temperature"),
    "check by a better one": CheckAsk(
        "a1", "Sam", check="reference", channel="suction_line_temperature", value=280.0, value_accuracy=0.1
    ),
    "correct": CorrectAsk("a1", "Sam", checks=["c1", "c2", "c1"]),
    "open": OpenAsk("a1", "Sam", unit="RTU-9"),
    "place": PlaceAsk("a1", "Sam", on="2", channels=["suction_pressure", "suction_pressure"]),
    "place all": PlaceAsk("a1", "Sam", on="2"),
    "hose": HoseAsk("a1", "Sam", port="suction", on=True),
    "wait": WaitAsk("a1", "Sam", reason="parts", text=" capacitor \n"),
    "leave charge": LeaveChargeAsk("a1", "Sam", reason="owner", text=" Asked at noon. "),
    "resume": ResumeAsk("a1", "Sam"),
    "hand over": HandOverAsk("a1", "Sam", to=" Robin ", text="the cap is off"),
    "sign": SignAsk("a1", "Sam", name=" Sam ", confirmed=True),
    "sign with a signature that is drawn": SignAsk(
        "a1", "Sam", name="Sam", strokes=[[(0.1, 0.25), (0.9, 0.5)], [(0.5, 0.5)]], confirmed=True
    ),
    "keep": KeepAsk("a1", "Sam", of="p1", phase="liquid"),
    "keep another amount": KeepAsk("a1", "Sam", of="p1", mass_kg=3 * OUNCE_KG, phase="liquid"),
    "keep a finding": KeepAsk("a1", "Sam", of="p2"),
    "finding": FindingAsk(
        "a1",
        " Sam ",
        check="discharge",
        grade="typed",
        values={"volts.herm_common": 0.3},
        accuracies={"volts.herm_common": 0.1},
        choices={"means": "resistor", "sections": "single"},
        photographs=("f1", "f1"),
        confirmed=True,  # the rig reads amps
        part="blower",
        text=" Slowly.\n",
    ),
    "finding that goes on": FindingAsk(
        "a1", "Sam", check="panels", grade="said", values={"screws.back": 12.0}, photographs=("f2",), builds_on="f0"
    ),
    "finding of two grades": FindingAsk(
        "a1", "Sam", check="isolate", grade="measured", values={"amps.blower": 0.0, "amps.compressor": 0.0}
    ),
    "finding skipped": FindingAsk("a1", "Sam", check="windings", grade="said", outcome="skipped", reason="not_fitted"),
    "dismiss": DismissAsk("a1", " Sam ", of="p1", text=" The hose fell off.\n"),
    "describe": DescribeAsk("a1", "Sam", sheet=SHEET),
    "reading that was wanted": ReadingAsk("a1", "Sam", want="w2"),
    "question": QuestionAsk("a1", "Sam", text=" Is that right? ", photographs=["f1", "f1"], confirmed=True),
    "reply": ReplyAsk("a1", "Sam", of="q1", text=" Let it sit.\n"),
    "want": WantAsk("a1", "Robin", what="photograph", text="the label of the can "),
    "dismiss what was wanted": DismissAsk("a1", "Sam", of="w2", text="no clamp here "),
    "hold": HoldAsk("a1", "Robin", before="power", text=" I want to see the lugs first "),
    "release": ReleaseAsk("a1", "Robin", of="h1", once=True),
    "stop": StopAsk("a1", "Robin", text=" Shut the cylinder. "),
    "seen": SeenAsk("a1", "Sam", of="s1"),
    "photograph": sent(SMALL, "a1", text=" C1 "),
    "pattern": PatternAsk("a1", "Sam", states=4),
    "choose": ChooseAsk("a1", "Sam", tag=" RTU-K7Q-4 ", grade="seen", photographs=["f1", "f1"]),
    "withdraw baseline": WithdrawBaselineAsk("a1", "Sam", of="b1", text=" The coil was fouled. "),
    "keep a unit": KeepAsk("a1", "Sam", of="p3"),
    "keep that it is none of these": KeepAsk("a1", "Sam", of="p4"),
}
"""Every kind of ask, all under one id, as it is sent first."""

ALIKE = ({"correction", "correction of a correction"}, {"place", "place all"})
"""Of one thing, said in two ways."""

BEFORE: tuple[Ask, ...] = (
    added(20.0, id="m1"),
    CorrectionAsk("m2", "Sam", of="m1", mass_kg=10 * OUNCE_KG),
    added(20.0, id="m3"),
    NoteAsk("n1", "Sam", text="x"),
    NoteAsk("n2", "Sam", text="y"),
    CheckAsk("c1", "Sam", check="ice_point", channel="suction_line_temperature"),
    CheckAsk("c2", "Sam", check="ice_point", channel="suction_line_temperature"),
    WaitAsk("w1", "Sam", reason="owner"),
    sent(SMALL, "f1"),
    sent(SMALL, "f2"),
    FindingAsk("f0", "Sam", check="panels", grade="said", values={"screws.out": 12.0}, photographs=("f1",)),
    CylinderAsk("y1", "Sam", name="7", use="virgin", refrigerant="R-410A"),
    QuestionAsk("q1", "Sam", text="x", confirmed=True),
    WantAsk("w2", "Robin", what="reading", text="x"),
    HoldAsk("h1", "Robin", before="opening"),
    StopAsk("s1", "Robin", text="x"),
    AcknowledgeAsk("s2", "Sam", of="s1"),
    ReleaseAsk("s3", "Robin", of="s1"),
)
"""What they speak of."""

PROPOSED = (
    Proposed(
        "p1", NOW_S, what=ProposedMove(4 * OUNCE_KG, 0.01), from_s=NOW_S, to_s=NOW_S, says=Wording("4 oz", "113 g")
    ),
    Proposed(
        "p2", NOW_S, what=ProposedFinding("isolate"), from_s=NOW_S, to_s=NOW_S, says=Wording("No amps", "No amps")
    ),
    Proposed("p3", NOW_S, what=ProposedUnit("RTU-K7Q-4", 0.98), from_s=NOW_S, to_s=NOW_S, says=Wording("It", "It")),
    Proposed("p4", NOW_S, what=ProposedUnit("", 0.98), from_s=NOW_S, to_s=NOW_S, says=Wording("None", "None")),
)
"""What the rig had proposed before."""


@pytest.fixture
async def begun(book: Book) -> Asks:
    """Asks of a visit in which some is recorded. The clock and the readings move on with every look at them."""
    now_s = count(NOW_S)
    advised = Advice(NOW_S, Wording("Add 5 oz.", "Add 140 g.", "headline.add"), [], [], {}, "move")
    asks = Asks(
        surroundings(
            book,
            time_s=lambda: next(now_s),
            advice=lambda: advised,
            readings=lambda: {
                "suction_pressure": Reading(next(now_s) / 2e3, NOW_S),
                "blower_current": Reading(4.0, NOW_S),
            },
            check=lambda ask: replace(FOUND, kind=ask.check, value=ask.value, value_accuracy=ask.value_accuracy),
        )
    )
    for proposed in PROPOSED:
        await book.add(proposed)
    for ask in BEFORE:
        assert (await tell(asks, ask)).ok
    return asks


@pytest.mark.parametrize("ask", ONCE.values(), ids=ONCE)
async def test_an_ask_that_is_sent_again_is_answered_alike_and_recorded_once(begun: Asks, book: Book, ask: Ask) -> None:
    first = await tell(begun, ask)
    assert first.ok
    book.marks["a1"] = decode(encode(book.marks["a1"]), Mark)  # type: ignore[arg-type] # as the record gives it
    assert await tell(begun, ask) == Answer("a1", ok=True, mark=book.marks["a1"])
    assert encode(await tell(begun, ask)) == encode(first)
    assert len(book.marks) == len(BEFORE) + len(PROPOSED) + 1


@pytest.mark.parametrize("ask", ONCE.values(), ids=ONCE)
async def test_an_ask_of_an_earlier_visit_is_known_again(begun: Asks, book: Book, ask: Ask) -> None:
    first = await tell(begun, ask)
    empty = {"standing": lambda: Standing("v2"), "facts": None, "check": None, "correct": None, "reload": None}
    in_the_next_visit = Asks(surroundings(book, **empty))
    assert await tell(in_the_next_visit, ask) == first


def test_every_kind_of_ask_is_sent_again_in_these_tests() -> None:
    assert {type(ask) for ask in ONCE.values()} == set(ASKS)


async def test_a_question_that_was_answered_is_no_other_ask(begun: Asks) -> None:
    assert (await tell(begun, added(45.0))).question is not None
    assert (await tell(begun, added(45.0, confirmed=True))).ok
    assert (await tell(begun, added(45.0))).ok
    assert (await tell(begun, added(45.0, confirmed=True))).ok


@pytest.mark.parametrize("kind", ONCE)
async def test_an_id_of_one_ask_is_refused_to_another(begun: Asks, book: Book, kind: str) -> None:
    assert (await tell(begun, ONCE[kind])).ok
    for other, second in ONCE.items():
        if other != kind and {kind, other} not in ALIKE:
            refused = await tell(begun, second)
            assert (refused.ok, refused.mark, len(book.marks)) == (False, None, len(BEFORE) + len(PROPOSED) + 1), other
            assert "under a new one" in refused.reason


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("added", {"mass_kg": 5 * OUNCE_KG}),
        ("added", {"mass_kg": 4 * OUNCE_KG + 0.001}),
        ("added", {"mass_kg": -4 * OUNCE_KG}),
        ("added", {"phase": "vapour"}),
        ("added", {"by": "Robin"}),
        ("recovered", {"mass_kg": 5 * OUNCE_KG}),
        ("recovered", {"phase": "liquid"}),
        ("correction", {"mass_kg": 4 * OUNCE_KG}),
        ("correction", {"mass_kg": None}),
        ("withdrawal", {"mass_kg": 4 * OUNCE_KG}),
        ("correction", {"of": "m3"}),
        ("correction", {"of": "n1"}),
        ("correction", {"cylinder": "7"}),
        ("added", {"cylinder": "7"}),
        ("added with all that is known", {"cylinder": ""}),
        ("added with all that is known", {"how": "scale", "within_share": None}),
        ("added with all that is known", {"within_share": 0.3}),
        ("added with all that is known", {"port": "liquid"}),
        ("added with all that is known", {"purpose": "weigh_in"}),
        ("added with all that is known", {"proposal": ""}),
        ("cylinder", {"gross_kg": 23.0}),
        ("cylinder", {"use": "recovery"}),
        ("cylinder", {"refrigerant": "R-32"}),
        ("cylinder", {"photographs": []}),
        ("reading", {"by": "Robin"}),
        ("reading", {"want": "w2"}),
        ("question", {"text": "Is that wrong?"}),
        ("question", {"check": "connections"}),
        ("question", {"photographs": []}),
        ("reply", {"of": "n1"}),
        ("reply", {"text": "x"}),
        ("want", {"what": "reading"}),
        ("hold", {"before": "opening"}),
        ("release", {"once": False}),
        ("withdraw baseline", {"of": "b2"}),
        ("withdraw baseline", {"text": "The fan ran backwards."}),
        ("stop", {"text": "x"}),
        ("photograph", {"digest": "0" * 64}),
        ("photograph", {"text": "C2"}),
        ("photograph", {"part": "compressor"}),
        ("photograph", {"by": "Robin"}),
        ("note", {"text": "Mind the filter last."}),
        ("note", {"by": "Robin"}),
        ("acknowledge", {"of": "n2"}),
        ("reload", {"by": "Robin"}),
        ("check", {"check": "reference"}),
        ("check", {"channel": "liquid_line_temperature"}),
        ("check", {"other": "liquid_line_temperature"}),
        ("check by a better one", {"value": 280.1}),
        ("check by a better one", {"value_accuracy": 0.2}),
        ("correct", {"checks": ["c1"]}),
        ("correct", {"checks": ["c2", "c1"]}),
        ("keep", {"of": "p2"}),
        ("keep", {"phase": "vapour"}),
        ("keep", {"mass_kg": 5 * OUNCE_KG}),
        ("keep another amount", {"mass_kg": None}),
        ("keep a finding", {"of": "p1"}),
        ("finding", {"values": {"volts.herm_common": 0.4}}),
        ("finding", {"accuracies": {}}),
        ("finding", {"choices": {"means": "nothing", "sections": "single"}}),
        ("finding", {"photographs": ("f2",)}),
        ("finding", {"part": ""}),
        ("finding", {"grade": "said"}),
        ("finding that goes on", {"values": {"screws.back": 11.0}}),
        ("finding that goes on", {"photographs": ("f3",)}),
        ("finding of two grades", {"grade": "said"}),
        ("finding of two grades", {"grades": {"amps.blower": "said"}}),
        ("finding of two grades", {"values": {"amps.blower": 0.0}}),
        ("finding that goes on", {"builds_on": ""}),
        ("finding skipped", {"reason": "not_reachable"}),
        ("finding skipped", {"text": "Behind the wall."}),
        ("keep a finding", {"phase": "liquid"}),
        ("pattern", {"states": 6}),
        ("choose", {"grade": "said", "photographs": []}),
        ("choose", {"photographs": ["f2"]}),
        ("keep a unit", {"of": "p4"}),
        ("keep a unit", {"phase": "liquid"}),
        ("dismiss", {"of": "p2"}),
        ("dismiss", {"text": "It was the other one."}),
        ("describe", {"sheet": replace(SHEET, place="Harbour Street library, yard")}),
        ("describe", {"by": "Robin"}),
    ],
    ids=str,
)
async def test_an_id_that_comes_with_other_contents_is_refused(
    begun: Asks, book: Book, kind: str, change: dict[str, Any]
) -> None:
    assert (await tell(begun, ONCE[kind])).ok
    refused = await tell(begun, replace(ONCE[kind], **change))
    assert (refused.ok, refused.mark, len(book.marks)) == (False, None, len(BEFORE) + len(PROPOSED) + 1)
    assert "under a new one" in refused.reason
    assert (await tell(begun, ONCE[kind])).ok


async def test_of_an_amount_the_refusal_says_what_was_recorded(begun: Asks) -> None:
    """Or somebody who was not answered would record it a second time, under a new id."""
    assert (await tell(begun, ONCE["added"])).ok
    asked = await tell(begun, added(5.0))
    before, after = "Recorded before under this id: ", ". Correct that, or ask again under a new one."
    assert said(asked) == (f"{before}4 oz added{after}", f"{before}113 g added{after}")
    assert (await tell(begun, CorrectionAsk("k1", "Sam", of="a1", mass_kg=6 * OUNCE_KG))).ok
    asked = await tell(begun, CorrectionAsk("k1", "Sam", of="a1"))
    assert said(asked) == (f"{before}a correction to 6 oz{after}", f"{before}a correction to 170 g{after}")
    assert (await tell(begun, CorrectionAsk("k2", "Sam", of="a1"))).ok
    asked = await tell(begun, NoteAsk("k2", "Sam", text="x"))
    assert said(asked) == (f"{before}a correction to nothing{after}",) * 2
    assert asked.refusal is not None
    assert asked.refusal.parts[1].value == 0.0  # for a program, which reads no words


def said(answer: Answer) -> tuple[str, str]:
    """A refusal in both systems, which has the same shape as every other: its kind, and its figures as parts."""
    assert answer.refusal is not None
    kind, parts = answer.refusal.kind, answer.refusal.parts
    assert say(Sentence(kind, parts), "us") == answer.refusal.us == answer.reason
    assert [part.what for part in parts] == ["sentence", "weighed"]
    return answer.refusal.us, answer.refusal.si


async def test_an_id_of_the_rig_itself_is_not_given_to_a_person(begun: Asks, book: Book) -> None:
    book.marks["a1"] = LinkChanged("a1", NOW_S, text="low side probe: waiting")
    for ask in ONCE.values():
        assert not (await tell(begun, ask)).ok


@pytest.mark.parametrize(
    ("user", "kind", "reason"),
    [
        ("stranger", "added", "is nobody whom this rig knows"),
        ("technician", "note", "the topic says 'note', the ask 'added'"),
        ("lead", "added", "is for the technician at the unit"),
    ],
)
async def test_who_asks_and_what_comes_before_the_id(
    begun: Asks, book: Book, user: str, kind: str, reason: str
) -> None:
    """Nobody gets a mark for knowing its id."""
    assert (await tell(begun, added())).ok
    for again in (added(), added(5.0)):
        refused = await begun.answer(user, kind, again)
        assert (refused.ok, refused.mark) == (False, None)
        assert reason in refused.reason


async def test_the_same_words_from_another_role_are_another_note(begun: Asks, book: Book) -> None:
    assert (await tell(begun, ONCE["note"], "lead")).ok
    refused = await tell(begun, ONCE["note"])
    assert (refused.ok, book.marks["a1"].role) == (False, "lead")
    assert refused.reason == "This id was used for something else; ask again under a new one."
    assert refused.refusal is not None
    assert (refused.refusal.kind, refused.refusal.parts) == ("refusal.used_before", ())


async def test_a_lead_may_leave_a_note_that_the_technician_acknowledges(asks: Asks, book: Book) -> None:
    note = await tell(asks, NoteAsk("n1", "Robin", text=" Mind the filter first. "), "lead")
    done = await tell(asks, AcknowledgeAsk("k1", "Sam", of="n1"))
    assert note.ok
    assert done.ok
    assert book.marks["n1"] == Note("n1", NOW_S, "Robin", "lead", "Mind the filter first.")
    assert book.marks["k1"] == Acknowledged("k1", NOW_S, "Sam", "technician", of="n1")


async def test_a_check_proposes_and_a_second_ask_corrects(asks: Asks, book: Book) -> None:
    checked = await tell(asks, CheckAsk("c1", "Sam", check="ice_point", channel="suction_line_temperature"))
    assert checked.mark == Checked("c1", NOW_S, "Sam", "technician", check=FOUND)
    corrected = await tell(asks, CorrectAsk("c2", "Sam", checks=["c1"]))
    calibration = take_off_half_a_degree({"c1": FOUND})
    assert corrected.mark == Corrected("c2", NOW_S, "Sam", "technician", calibration=calibration)
    assert list(book.marks) == ["c1", "c2"]


# --- who asks


@pytest.mark.parametrize(
    ("user", "role"),
    [("sam", "technician"), ("sam:technician", "technician"), ("sam:lead", "lead"), ("robin", "lead")],
)
async def test_the_role_is_the_credentials_whatever_the_ask_says(book: Book, user: str, role: str) -> None:
    asks = Asks(surroundings(book, users={"sam": "technician", "robin": "lead"}))
    payload = b'{"kind":"note","id":"n1","by":"Sam","role":"owner","text":"x"}'
    assert await asks.handle(f"{user}/note", payload) is not None
    assert book.marks["n1"].role == role


@pytest.mark.parametrize(
    ("user", "reason"),
    [
        ("robin", "is for the technician at the unit"),
        ("sam:lead", "is for the technician at the unit"),
        ("robin:lead", "is for the technician at the unit"),
        ("robin:technician", "nobody whom this rig knows"),
        ("pat", "nobody whom this rig knows"),
        ("technician", "nobody whom this rig knows"),
        ("sam:owner", "nobody whom this rig knows"),
        ("", "nobody whom this rig knows"),
    ],
)
async def test_nobody_asks_for_more_than_the_table_gives(book: Book, user: str, reason: str) -> None:
    asks = Asks(surroundings(book, users={"sam": "technician", "robin": "lead"}))
    answer = await tell(asks, added(), user)
    assert (answer.ok, book.marks) == (False, {})
    assert reason in answer.reason


def test_every_ask_in_the_table_has_its_own_word() -> None:
    assert len(MAY_ASK) == len(ASKS)
    assert {ask for ask in vars(wire_asks).values() if isinstance(ask, type) and issubclass(ask, Ask)} == {
        *ASKS, Ask, Confirmable, MoveAsk,
    }  # fmt: skip


def test_a_lead_writes_and_wants_and_records_nothing_that_was_done() -> None:
    for_a_lead = {kind for kind, roles in MAY_ASK.items() if "lead" in roles}
    assert for_a_lead == {"note", "acknowledge", "reply", "want", "hold", "release", "stop", "withdraw_baseline"}
    for_both = {kind for kind in for_a_lead if "technician" in MAY_ASK[kind]}
    assert for_both == {"note", "acknowledge", "reply", "withdraw_baseline"}


def test_a_refusal_tells_a_lead_what_they_may_by_the_table() -> None:
    said = _may_not("lead", "added")
    assert said.startswith("added is for the technician at the unit")
    named = set(re.findall(r"\w+", said.partition("a lead may ask for ")[2])) - {"and"}
    assert named == {kind for kind, roles in MAY_ASK.items() if "lead" in roles}


async def test_a_stop_is_no_technicians(book: Book) -> None:
    asks = Asks(surroundings(book))
    refused = await tell(asks, StopAsk("s1", "Sam", text="x"), "technician")
    assert (refused.ok, book.marks) == (False, {})
    assert refused.reason.startswith("stop is for a lead")


async def test_topic_and_ask_must_name_the_same_kind(asks: Asks, book: Book) -> None:
    answer = await asks.answer("lead", "note", added())
    assert (answer.ok, book.marks) == (False, {})
    assert "the topic says 'note', the ask 'added'" in answer.reason


# --- amounts


@pytest.mark.parametrize(
    ("ounces", "words"),
    [
        (31.0, "1 lb 15 oz added in one go, and the nameplate's charge is 7 lb 8 oz"),  # over a quarter of it
        (121.0, "this visit comes to 7 lb 9 oz, and the nameplate's charge is 7 lb 8 oz"),
    ],
)
async def test_an_unlikely_amount_is_asked_about_and_recorded_once_confirmed(
    asks: Asks, book: Book, ounces: float, words: str
) -> None:
    asked = await tell(asks, added(ounces))
    assert (asked.ok, book.kept) == (False, {})
    assert asked.question is not None
    assert words in asked.question.us
    assert "oz" not in asked.question.si
    assert (await tell(asks, added(ounces, confirmed=True))).ok


async def test_what_no_unit_of_this_size_takes_is_refused_even_if_confirmed(asks: Asks, book: Book) -> None:
    for confirmed in (False, True):
        answer = await tell(asks, added(500.0, confirmed=confirmed))
        assert (answer.ok, answer.question, book.kept) == (False, None, {})
        assert "31 lb 4 oz added: the nameplate's charge is 7 lb 8 oz" in answer.reason
        assert answer.refusal is not None  # in figures, so that each page words it in the reader's units
        assert answer.refusal.us == answer.reason
        assert answer.refusal.si.startswith("14.17 kg added: the nameplate's charge is 3.40 kg")  # 500 and 120 oz
        assert "oz" not in answer.refusal.si
        assert "kg" not in answer.refusal.us
        assert answer.refusal.kind == "amount.impossible"


async def test_the_lead_is_told_before_the_confirmation_and_once(asks: Asks, book: Book) -> None:
    for _ in range(2):
        asked = await tell(asks, added(45.0))
    assert asked.question is not None
    (warned,) = book.warned
    assert (warned.of, warned.whom, warned.by, warned.warnings, warned.refused) == (
        *("a1", "Sam", "", ("amount.in_one_go",), False),
    )
    assert warned.says == asked.question
    assert (await tell(asks, added(45.0, confirmed=True))).ok
    assert list(book.marks) == [warned.id, "a1"]


async def test_what_comes_confirmed_at_once_is_told_of_all_the_same(asks: Asks, book: Book) -> None:
    assert (await tell(asks, added(45.0, confirmed=True))).ok
    assert [(it.of, it.warnings) for it in book.warned] == [("a1", ("amount.in_one_go",))]
    assert list(book.marks)[-1] == "a1"


async def test_who_knows_what_will_be_asked_and_says_yes_at_once_does_not_pass_the_lead_by(
    asks: Asks, book: Book
) -> None:
    first = await asks.answer("technician", "added", added(45.0))
    assert (await asks.answer("technician", "added", confirming(added(45.0, id="a2"), first))).ok
    assert [(it.of, it.warnings) for it in book.warned] == [(name, ("amount.in_one_go",)) for name in ("a1", "a2")]


async def test_a_yes_covers_only_the_questions_that_it_was_shown(asks: Asks, book: Book) -> None:
    """Between the question and the yes somebody else notes as much: the yes has not seen that."""
    ask = added(45.0)
    first = await asks.answer("technician", "added", ask)
    (large,) = first.asks
    assert large.startswith("amount.in_one_go:")
    assert (await tell(asks, AddedAsk("b1", "Kim", mass_kg=45 * OUNCE_KG, phase="liquid", confirmed=True))).ok
    again = await asks.answer("technician", "added", confirming(ask, first))
    assert not again.ok
    assert again.question is not None
    assert "Kim" in again.question.us
    assert "in one go" not in again.question.us  # of that they have said already that it is so
    assert {it.partition(":")[0] for it in again.asks} >= {"guard.noted_by_both", "amount.in_one_go"}
    assert "a1" not in book.marks
    assert [it.warnings for it in book.warned if it.of == "a1"] == [("amount.in_one_go",), ("guard.noted_by_both",)]
    assert (await asks.answer("technician", "added", confirming(ask, again))).ok
    assert len([it for it in book.warned if it.of == "a1"]) == 2  # each is told once


async def test_a_yes_to_an_amount_does_not_cover_another_sum(asks: Asks) -> None:
    """119 oz of 120 were noted, 122 were asked about, and by the yes it comes to 125: that was never shown."""
    assert (await tell(asks, added(119.0, id="m1", confirmed=True))).ok
    ask = added(3.0, id="m2")
    first = await asks.answer("technician", "added", ask)
    assert (await tell(asks, added(3.0, id="m3", confirmed=True))).ok
    again = await asks.answer("technician", "added", confirming(ask, first))
    assert again.question is not None
    assert "comes to 7 lb 13 oz" in again.question.us


@pytest.mark.parametrize("confirms", [(), ("amount.sum",), ("amount.in_one_go",)])
async def test_a_yes_that_does_not_name_what_was_asked_covers_nothing(
    asks: Asks, book: Book, confirms: tuple[str, ...]
) -> None:
    answer = await asks.answer("technician", "added", replace(added(45.0), confirmed=True, confirms=confirms))
    assert (answer.ok, bool(answer.question), bool(answer.reason)) == (False, True, not confirms)
    assert not book.kept


async def test_names_of_questions_without_a_yes_are_no_yes(asks: Asks, book: Book) -> None:
    """docs/asyncapi.yaml: `confirms` is what a yes covers, and `confirmed` is the yes."""
    first = await asks.answer("technician", "added", added(45.0))
    named = await asks.answer("technician", "added", replace(added(45.0), confirms=first.asks))
    assert (named.ok, named.question, book.kept) == (False, first.question, {})


async def test_one_yes_answers_all_that_was_asked_of_one_check(book: Book) -> None:
    """A typed air pressure that is none of this place, and that its probe is far from: both are asked at once."""
    questions = {name: Wording(us=name, si=name) for name in ("of_this_place", "reference")}

    def far(ask: CheckAsk) -> CheckFound:
        if not ask.confirmed:
            raise ElsewhereError(questions)
        return FOUND

    asks = Asks(surroundings(book, check=far))
    ask = CheckAsk("c1", "Sam", check="reference", channel="barometric_pressure", value=9e4, value_accuracy=50.0)
    answer = await asks.answer("technician", "check", ask)
    assert answer.asks == ("check.of_this_place", "check.reference")
    del questions["of_this_place"]
    assert (await asks.answer("technician", "check", replace(ask, confirmed=True, confirms=answer.asks[:1]))).question
    assert (await asks.answer("technician", "check", confirming(ask, answer))).ok


async def test_a_refusal_is_told_to_the_lead_and_a_sound_amount_is_not(asks: Asks, book: Book) -> None:
    assert not (await tell(asks, added(500.0, id="a2"))).ok
    assert [(it.of, it.refused) for it in book.warned] == [("a2", True)]
    assert (await tell(asks, added())).ok
    assert (await tell(asks, NoteAsk("n1", "Sam", text="x"))).ok
    assert len(book.warned) == 1


async def test_a_disk_that_is_full_keeps_no_warning_from_the_person(asks: Asks, book: Book) -> None:
    book.is_full = True
    assert (await tell(asks, added(45.0))).question is not None
    assert book.marks == {}


async def test_small_steps_are_asked_about_once_their_sum_passes_the_nameplate(asks: Asks, book: Book) -> None:
    for number in range(4):
        assert (await tell(asks, added(30.0, id=f"a{number}"))).ok
    over = await tell(asks, added(1.0, id="a9"))
    assert over.question is not None
    assert over.question.us.startswith("With 1 oz added this visit comes to 7 lb 9 oz, and")  # 121 oz
    assert (await tell(asks, RecoveredAsk("r1", "Sam", mass_kg=2 * OUNCE_KG))).ok
    assert (await tell(asks, added(1.0, id="a9"))).ok


async def test_more_out_than_the_unit_holds_is_asked_about(asks: Asks) -> None:
    assert (await tell(asks, RecoveredAsk("r1", "Sam", mass_kg=100 * OUNCE_KG))).ok
    over = await tell(asks, RecoveredAsk("r2", "Sam", mass_kg=21 * OUNCE_KG))
    assert over.question is not None
    assert "7 lb 9 oz out" in over.question.us


async def test_a_large_amount_is_asked_about_where_no_nameplate_says_what_the_unit_holds(book: Book) -> None:
    asks = Asks(surroundings(book, nameplate_charge_kg=lambda: None))
    asked = await tell(asks, added(80.0))
    assert asked.question is not None
    assert asked.question.us == "5 lb added in one go, and no nameplate charge is known. Is that what the scale says?"


async def test_an_amount_is_corrected_by_a_mark_of_its_own(asks: Asks, book: Book) -> None:
    await tell(asks, added(20.0))
    assert (await tell(asks, CorrectionAsk("c1", "Sam", of="a1", mass_kg=2 * OUNCE_KG))).ok
    assert (await tell(asks, CorrectionAsk("c2", "Sam", of="c1", mass_kg=3 * OUNCE_KG))).ok
    assert book.marks["c2"] == Correction("c2", NOW_S, "Sam", "technician", of="a1", mass_kg=3 * OUNCE_KG)
    assert book.standing().ledger.added_kg == pytest.approx(3 * OUNCE_KG)
    assert (await tell(asks, CorrectionAsk("c3", "Sam", of="a1"))).ok
    assert book.standing().ledger.net_kg == 0.0
    assert list(book.marks) == ["a1", "c1", "c2", "c3"]  # nothing is erased


async def test_a_correction_is_weighed_like_a_first_amount(asks: Asks, book: Book) -> None:
    await tell(asks, added(20.0))
    assert (await tell(asks, CorrectionAsk("c1", "Sam", of="a1", mass_kg=40 * OUNCE_KG))).question is not None
    refused = await tell(asks, CorrectionAsk("c1", "Sam", of="a1", mass_kg=500 * OUNCE_KG, confirmed=True))
    assert (refused.ok, list(book.kept)) == (False, ["a1"])


async def test_what_a_correction_takes_the_place_of_is_not_weighed_with_it(asks: Asks, book: Book) -> None:
    for number in range(4):
        assert (await tell(asks, added(30.0, id=f"a{number}"))).ok  # 120 oz, all that the nameplate has
    less = await tell(asks, CorrectionAsk("c1", "Sam", of="a3", mass_kg=29 * OUNCE_KG))
    assert (less.ok, less.question) == (True, None)  # 119 oz
    more = await tell(asks, CorrectionAsk("c2", "Sam", of="a2", mass_kg=32 * OUNCE_KG))
    assert more.question is not None
    assert "this visit comes to 7 lb 9 oz" in more.question.us  # 121 oz


async def test_a_correction_of_what_was_recovered_is_weighed_as_recovered(asks: Asks, book: Book) -> None:
    assert (await tell(asks, RecoveredAsk("r1", "Sam", mass_kg=100 * OUNCE_KG))).ok
    more = await tell(asks, CorrectionAsk("c1", "Sam", of="r1", mass_kg=110 * OUNCE_KG))
    assert (more.ok, more.question) == (True, None)  # all of it out for a repair is no large step
    assert book.standing().ledger.recovered_kg == pytest.approx(110 * OUNCE_KG)
    over = await tell(asks, CorrectionAsk("c2", "Sam", of="r1", mass_kg=121 * OUNCE_KG))
    assert over.question is not None
    assert "7 lb 9 oz out" in over.question.us


async def test_a_correction_to_nothing_withdraws_and_one_below_nothing_is_refused(book: Book) -> None:
    asks = Asks(surroundings(book, nameplate_charge_kg=lambda: None))
    await tell(asks, added(20.0))
    for mass_kg, much in ((-0.1, "less"), (50.1, "more")):
        refused = await tell(asks, CorrectionAsk("c1", "Sam", of="a1", mass_kg=mass_kg, confirmed=True))
        assert (refused.ok, refused.question) == (False, None)
        assert f"the amount is {much} than can be noted at once" in refused.reason
        assert refused.reason.endswith("0 takes it back")
    assert (await tell(asks, CorrectionAsk("c1", "Sam", of="a1", mass_kg=0.0))).ok
    assert book.marks["c1"] == Correction("c1", NOW_S, "Sam", "technician", of="a1", mass_kg=None)
    assert book.standing().ledger.count == 0


async def test_what_was_withdrawn_counts_for_nothing_when_it_comes_back(asks: Asks) -> None:
    for number, ounces in enumerate((30.0, 30.0, 30.0, 1.0)):
        assert (await tell(asks, added(ounces, id=f"a{number}"))).ok
    assert (await tell(asks, CorrectionAsk("c1", "Sam", of="a3"))).ok
    assert (await tell(asks, CorrectionAsk("c2", "Sam", of="a3", mass_kg=30 * OUNCE_KG))).ok  # 120 oz
    assert (await tell(asks, CorrectionAsk("c3", "Sam", of="a3"))).ok
    assert (await tell(asks, added(30.0, id="a4"))).ok
    over = await tell(asks, CorrectionAsk("c4", "Sam", of="a3", mass_kg=1 * OUNCE_KG))
    assert over.question is not None
    assert "this visit comes to 7 lb 9 oz" in over.question.us  # 121 oz


async def test_what_was_recovered_and_withdrawn_counts_for_nothing_when_it_comes_back(asks: Asks) -> None:
    for name, ounces in (("r1", 60.0), ("r2", 40.0)):
        assert (await tell(asks, RecoveredAsk(name, "Sam", mass_kg=ounces * OUNCE_KG))).ok
    withdrawn = await tell(asks, CorrectionAsk("c1", "Sam", of="r2"))
    assert (withdrawn.ok, withdrawn.question) == (True, None)
    assert (await tell(asks, CorrectionAsk("c2", "Sam", of="r2", mass_kg=60 * OUNCE_KG))).ok  # 120 oz out
    assert (await tell(asks, CorrectionAsk("c3", "Sam", of="r2"))).ok
    over = await tell(asks, CorrectionAsk("c4", "Sam", of="r2", mass_kg=61 * OUNCE_KG))
    assert over.question is not None
    assert "7 lb 9 oz out" in over.question.us


async def test_an_addition_that_is_withdrawn_is_no_recovery(asks: Asks) -> None:
    assert (await tell(asks, RecoveredAsk("r1", "Sam", mass_kg=100 * OUNCE_KG))).ok
    assert (await tell(asks, added(20.0))).ok
    withdrawn = await tell(asks, CorrectionAsk("c1", "Sam", of="a1"))
    assert (withdrawn.ok, withdrawn.question) == (True, None)


async def test_one_check_or_two_make_a_correction(asks: Asks, book: Book) -> None:
    for name in ("c1", "c2"):
        assert (await tell(asks, CheckAsk(name, "Sam", check="ice_point", channel="suction_line_temperature"))).ok
    for number, checks in enumerate((["c1", "c2"], ["c1", "c1"], ["c1", "c2", "c1"])):
        corrected = await tell(asks, CorrectAsk(f"k{number}", "Sam", checks=checks))
        assert corrected.ok, checks
        assert corrected.mark.calibration.checks == tuple(dict.fromkeys(checks))  # type: ignore[union-attr]


async def test_a_mark_is_stamped_to_the_millisecond(book: Book) -> None:
    asks = Asks(surroundings(book, time_s=lambda: 1_700_000_000.123456))
    assert (await tell(asks, added())).ok
    assert book.marks["a1"].time_s == 1_700_000_000.123


async def test_messages_that_cannot_be_read_are_counted_one_by_one(asks: Asks) -> None:
    for _ in range(3):
        assert await asks.handle("technician/note", b"") is None
    assert asks.refused_messages == 3


async def test_the_least_and_the_most_that_is_taken(book: Book) -> None:
    asks = Asks(surroundings(book, nameplate_charge_kg=lambda: None))
    for name, mass_kg in (("a1", 0.0001), ("a2", 50.0)):
        assert (await tell(asks, AddedAsk(name, "Sam", mass_kg=mass_kg, phase="vapour", confirmed=True))).ok
        again = CorrectionAsk(f"c{name}", "Sam", of=name, mass_kg=mass_kg, confirmed=True)
        assert (await tell(asks, again)).ok
    assert [mark.mass_kg for mark in book.kept.values()] == [0.0001, 0.0001, 50.0, 50.0]  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("ask", "reason"),
    [
        (CheckAsk("a1", "Sam", check="ice_point", channel="oil_temperature"), "there is no channel 'oil_temperature'"),
        (CorrectAsk("a1", "Sam", checks=[]), "checks names 0 checks"),
        (CorrectAsk("a1", "Sam", checks=["c1", "c2", "c3"]), "checks names 3 checks"),
        (CorrectAsk("a1", "Sam", checks=["c9"]), "there is no check 'c9'"),
        (CorrectAsk("a1", "Sam", checks=["n1"]), "there is no check 'n1'"),
        (added(0.0), "the amount is less than can be noted at once: 0.0035 oz to 110 lb (0.1 g to 50 kg)"),
        (added(-4.0), "the amount is less than"),
        (AddedAsk("a1", "Sam", mass_kg=1e308, phase="liquid"), "the amount is more than can be noted at once"),
        (AddedAsk("a1", "Sam", mass_kg=50.1, phase="liquid"), "the amount is more than"),
        (AddedAsk("a1", "Sam", mass_kg=1e-300, phase="liquid"), "the amount is less than"),
        (AddedAsk("a1", "Sam", mass_kg=0.1), "phase is missing"),
        (NoteAsk("a1", "Sam", text="  "), "a note needs a text"),
        (NoteAsk("a1", "Sam", text="Here.", at_s=4e9), "lies before now"),
        *(
            (NoteAsk("a1", "Sam", text="Here.", at_s=at_s), "lies before now")
            for at_s in (-1.0, 1e300, -1e300, math.inf, math.nan)
        ),
        (NoteAsk("a1", "Sam", text="x" * 501), "at most 500 are kept"),
        (NoteAsk("a1", "Sam", text="\u200b\u2060\u200d\u3164"), "a note needs a text"),
        (ReadingAsk("a1", "\u200b\u00ad"), "by is empty"),
        (ReadingAsk("a1", " "), "by is empty: the name of who asks"),
        (AcknowledgeAsk("a1", "Sam", of="n9"), "there is no note 'n9'"),
        (CorrectionAsk("a1", "Sam", of="n1", mass_kg=0.1), "there is no amount 'n1'"),
        (CorrectionAsk("a1", "Sam", of="m9", mass_kg=0.1), "there is no amount 'm9'"),
    ],
)
async def test_what_makes_no_sense_is_refused_with_the_reason(asks: Asks, book: Book, ask: Ask, reason: str) -> None:
    await tell(asks, NoteAsk("n1", "Sam", text="x"))
    answer = await tell(asks, ask)
    assert (answer.ok, answer.mark, list(book.kept)) == (False, None, ["n1"])
    assert reason in answer.reason


async def test_a_correction_is_of_an_amount_that_a_scale_shows(asks: Asks, book: Book) -> None:
    assert (await tell(asks, added())).ok
    answer = await tell(asks, CorrectionAsk("c1", "Sam", of="a1", mass_kg=1e-300))
    assert answer.reason.startswith("mass_kg: the amount is less than can be noted at once")


async def test_only_a_note_can_be_acknowledged(asks: Asks, book: Book) -> None:
    await tell(asks, ReadingAsk("r1", "Sam"))
    assert not (await tell(asks, AcknowledgeAsk("k1", "Sam", of="r1"))).ok


async def test_what_the_disk_refuses_is_not_confirmed(asks: Asks, book: Book) -> None:
    book.is_full = True
    answer = await tell(asks, added())
    assert (answer.ok, answer.reason) == (False, "not saved: database or disk is full")
    book.is_full = False
    assert (await tell(asks, added())).ok


async def test_a_stop_that_the_disk_refuses_is_shown_all_the_same_and_told_as_not_saved(asks: Asks, book: Book) -> None:
    book.is_full = True
    answer = await tell(asks, StopAsk("s1", "Robin", text="Hands off."), "lead")
    assert not answer.ok
    assert answer.waits
    assert answer.reason.startswith("not saved: database or disk is full. It is shown at the unit all the same")
    shown = book.standing().message().stop
    assert shown == StopStands("s1", "Robin", "Hands off.", NOW_S, saved=False)
    for ask in (SeenAsk("e1", "Sam", of="s1"), AcknowledgeAsk("k1", "Sam", of="s1")):
        assert "shown at the unit all the same" in (await tell(asks, ask)).reason
    stop = book.standing().message().stop
    assert stop is not None
    assert (stop.seen_by, stop.acknowledged_by, stop.saved) == ("Sam", "Sam", False)
    assert book.marks == {}


async def test_what_is_said_to_a_stop_that_was_saved_is_shown_likewise(asks: Asks, book: Book) -> None:
    assert (await tell(asks, StopAsk("s1", "Robin", text="Hands off."), "lead")).ok
    assert book.standing().message().stop == StopStands("s1", "Robin", "Hands off.", NOW_S)
    book.is_full = True
    assert not (await tell(asks, AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    stop = book.standing().message().stop
    assert stop is not None
    assert (stop.acknowledged_by, stop.saved) == ("Sam", False)


async def test_what_follows_a_stop_that_waits_for_the_disk_waits_behind_it(asks: Asks, book: Book) -> None:
    book.is_full = True
    await tell(asks, StopAsk("s1", "Robin", text="Hands off."), "lead")
    assert (await tell(asks, AcknowledgeAsk("k1", "Sam", of="s1"))).waits
    assert [mark.id for mark in book.held] == ["s1", "k1"]
    book.is_full = False
    assert (await tell(asks, NoteAsk("n1", "Sam", text="The disk is back."))).ok
    assert list(book.marks) == ["n1"]
    assert (await tell(asks, AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    assert list(book.marks) == ["n1", "s1", "k1"]


@pytest.mark.parametrize("ask", [OpenAsk("o1", "Sam", unit="RTU-9"), SignAsk("g1", "Sam", name="Sam", confirmed=True)])
async def test_nobody_leaves_or_seals_the_visit_before_its_stop_is_recorded(asks: Asks, book: Book, ask: Ask) -> None:
    book.is_full = True
    await tell(asks, StopAsk("s1", "Robin", text="Hands off."), "lead")
    book.is_full = False
    assert (await tell(asks, ask)).reason == (
        "not saved: the disk has not taken yet what came before: a stop, or what was said to it"
    )
    assert book.marks == {}
    await book.add(book.held.pop())
    assert "not saved" not in (await tell(asks, ask)).reason


async def test_what_was_recorded_is_answered_so_though_a_stop_waits(asks: Asks, book: Book) -> None:
    stop, opened = StopAsk("s1", "Robin", text="Hands off."), OpenAsk("o1", "Sam", unit="RTU-9")
    assert (await tell(asks, stop, "lead")).ok
    assert (await tell(asks, AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    assert (await tell(asks, opened)).ok
    book.is_full = True
    await tell(asks, StopAsk("s2", "Robin", text="Again."), "lead")
    assert (await tell(asks, stop, "lead")).ok
    assert (await tell(asks, opened)).ok
    assert [mark.id for mark in book.held] == ["s2"]


@pytest.mark.parametrize("waits", [True, False])
async def test_an_id_that_was_used_is_refused_to_a_stop_whatever_the_disk_does(
    asks: Asks, book: Book, *, waits: bool
) -> None:
    """A client that begins to count anew asks under ids that the record has already."""
    assert (await tell(asks, NoteAsk("robin-1", "Robin", text="Good morning."), "lead")).ok
    book.is_full = True
    if waits:
        await tell(asks, StopAsk("robin-9", "Robin", text="Hands off."), "lead")
    held = list(book.held)
    answer = await tell(asks, StopAsk("robin-1", "Robin", text="Hands off the fan."), "lead")
    assert not answer.ok
    assert answer.refusal == used_for(book.marks["robin-1"])
    assert book.held == held


async def test_an_id_that_waits_is_refused_to_another_text_and_to_any_other_ask(asks: Asks, book: Book) -> None:
    book.is_full = True
    stop = StopAsk("s1", "Robin", text="Hands off.")
    await tell(asks, stop, "lead")
    waiting = book.held[0]
    for ask, user in (
        (StopAsk("s1", "Robin", text="Another text."), "lead"),
        (NoteAsk("s1", "Robin", text="Hands off."), "lead"),
        (SeenAsk("s1", "Sam", of="s1"), "technician"),
    ):
        assert (await tell(asks, ask, user)).refusal == used_for(waiting)
    assert book.held == [waiting]
    assert book.marks == {}
    assert "shown at the unit all the same" in (await tell(asks, stop, "lead")).reason


@pytest.mark.parametrize(
    "other", [StopAsk("s1", "Robin", text="Another text."), StopAsk("s1", "Kim", text="Hands off.")]
)
async def test_of_two_stops_that_come_under_one_id_at_once_the_second_is_refused(book: Book, other: StopAsk) -> None:
    async def find(mark_id: str) -> Mark | None:
        known = book.marks.get(mark_id)
        await asyncio.sleep(0.01)
        return known

    asks, stop = Asks(surroundings(book, find=find)), StopAsk("s1", "Robin", text="Hands off.")
    first, second = await asyncio.gather(tell(asks, stop, "lead"), tell(asks, other, "lead"))
    assert first.ok
    assert first.mark == book.marks["s1"]
    assert (second.ok, second.refusal) == (False, used_for(book.marks["s1"]))
    assert (await tell(asks, other, "lead")).refusal == used_for(book.marks["s1"])  # and so it is later


async def test_a_used_id_is_not_told_as_shown_where_the_record_cannot_be_read(book: Book) -> None:
    assert (await tell(Asks(surroundings(book)), NoteAsk("n1", "Robin", text="Good morning."), "lead")).ok

    async def find(_: str) -> Mark | None:
        raise NotSavedError("the record is away")

    asks = Asks(surroundings(book, find=find))
    book.is_full = True
    answer = await tell(asks, StopAsk("n1", "Robin", text="Hands off."), "lead")
    assert answer.reason == "not saved: the record is away"
    assert book.held == []
    assert "shown at the unit" in (await tell(asks, StopAsk("s1", "Robin", text="Hands off."), "lead")).reason


async def test_what_is_said_to_a_stop_stands_in_no_order_and_what_else_is_read_does(asks: Asks, book: Book) -> None:
    assert (await tell(asks, NoteAsk("n1", "Robin", text="Look."), "lead")).ok
    book.is_full = True
    assert (await tell(asks, StopAsk("s1", "Robin", text="Hands off."), "lead")).waits
    for ask, is_beside in (
        (StopAsk("s2", "Robin", text="Hands off."), True),
        (SeenAsk("e1", "Sam", of="s1"), True),
        (AcknowledgeAsk("k1", "Sam", of="s1"), True),
        (AcknowledgeAsk("k2", "Sam", of="n1"), False),
        (NoteAsk("n2", "Sam", text="It drips."), False),
        (SignAsk("g1", "Sam", name="Sam"), False),
    ):
        assert asks.is_beside(f"technician/{ask.kind}", encode(ask)) is is_beside
    assert asks.is_beside("technician/photograph", b"")
    assert not asks.is_beside("technician/acknowledge", b"{")


async def test_what_is_said_to_a_stop_is_stamped_as_it_is_said_and_not_as_the_disk_comes_back(book: Book) -> None:
    assert (await tell(Asks(surroundings(book)), StopAsk("s1", "Robin", text="Hands off."), "lead")).ok
    time_s = NOW_S + 1.0

    async def find(mark_id: str) -> Mark | None:
        nonlocal time_s
        time_s = NOW_S + 60.0
        return await book.find(mark_id)

    asks = Asks(surroundings(book, find=find, time_s=lambda: time_s))
    assert (await tell(asks, AcknowledgeAsk("k1", "Sam", of="s1"))).ok
    assert book.marks["k1"].time_s == NOW_S + 1.0


async def test_a_stop_waits_neither_for_a_disk_that_hangs_nor_for_a_look_at_who_was_away(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ingest.asks.LOOKED_UP_WITHIN_S", 0.01)
    hangs = asyncio.Event()

    async def find(_: str) -> Mark | None:
        await hangs.wait()
        return None

    async def look_after() -> None:
        await hangs.wait()

    asks = Asks(surroundings(book, find=find, look_after=look_after))
    stop = StopAsk("s1", "Robin", text="Hands off.")
    async with asyncio.timeout(10):
        assert (await tell(asks, stop, "lead")).ok
        assert (await tell(asks, SeenAsk("e1", "Sam", of="s1"))).ok
        assert (await tell(asks, stop, "lead")).reason == "not saved: the disk hangs"
    assert list(book.marks) == ["s1", "e1"]


async def test_a_stop_without_a_reason_is_refused_on_any_disk_and_of_the_rest_nothing_waits(book: Book) -> None:
    async def too_many(_: Mark) -> Mark:
        raise NotSavedError("20 stops are shown and wait for the disk")

    asks = Asks(surroundings(book, show=too_many))
    book.is_full = True
    assert "a stop needs a text" in (await tell(asks, StopAsk("s1", "Robin", text=""), "lead")).reason
    full = await tell(asks, StopAsk("s2", "Robin", text="Hands off."), "lead")
    assert (full.reason, full.waits) == ("not saved: 20 stops are shown and wait for the disk", False)
    assert (await tell(asks, NoteAsk("n1", "Sam", text="x"))).reason == "not saved: database or disk is full"
    assert book.held == []


async def test_the_first_thing_that_is_asked_after_a_night_is_asked_about(book: Book) -> None:
    """A machine that slept has looked at no clock before somebody asks."""

    async def look_after() -> None:
        if not book.marks:
            await book.add(LeftAlone("l1", NOW_S, idle_s=14 * 3600.0))

    asks = Asks(surroundings(book, look_after=look_after))
    hose = HoseAsk("h1", "Sam", port="suction", on=True)
    question = (await tell(asks, hose)).question
    assert question is not None
    assert question.kind == "visit.left"
    assert (await tell(asks, replace(hose, confirmed=True))).ok


async def test_an_answer_goes_to_the_id_of_its_ask(asks: Asks) -> None:
    handled = await asks.handle("technician/note", encode(NoteAsk("a1", "Sam", text="hello")))
    assert handled is not None
    assert handled[0] == "technician/a1"
    assert decode(handled[1], Answer).ok


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"\xff\xfe",
        b'\xef\xbb\xbf{"kind":"note","id":"a1","by":"Sam","text":"x"}',
        b'{"kind":"note","id":"a/b","by":"Sam","text":"x"}',
        b'{"kind":"note","id":"a.b","by":"Sam","text":"x"}',
        b'{"kind":"note","id":"","by":"Sam","text":"x"}',
        b'{"kind":"added","id":"a1","by":"Sam","phase":"liquid","mass_kg":NaN}',
        b'{"x":' * 20_000,
        b'{"x":' + b"[" * 60_000,
        b" " * 65_537,
        b"x" * 10_000_000,
    ],
    ids=lambda payload: repr(payload[:32]),
)
async def test_what_cannot_be_read_is_counted(asks: Asks, book: Book, payload: bytes) -> None:
    assert await asks.handle("technician/note", payload) is None
    assert asks.refused_messages == 1
    assert (await asks.handle("technician/note", encode(NoteAsk("a1", "Sam", text="still here")))) is not None


async def test_an_id_has_64_letters_at_most_and_a_name_no_blanks_about_it(asks: Asks, book: Book) -> None:
    assert await asks.handle("technician/note", encode(NoteAsk("a" * 65, "Sam", text="x"))) is None
    assert await asks.handle("technician/note", encode(NoteAsk("a" * 64, " Sam ", text="x"))) is not None
    assert book.marks["a" * 64].by == "Sam"


async def test_an_amount_is_no_note_to_acknowledge(asks: Asks) -> None:
    await tell(asks, added())
    assert not (await tell(asks, AcknowledgeAsk("k1", "Sam", of="a1"))).ok


@pytest.mark.parametrize(
    ("payload", "reason"),
    [
        (b'{"kind":"note","id":"a1","by":"S\xffm","text":"x"}', "invalid start byte"),
        (b'{"kind":"note","id":"a1"}', "missing required field `by`"),
        (b'{"id":"a1","by":"Sam","text":"x"}', "missing required field `kind`"),
        (b'{"kind":"erase","id":"a1","by":"Sam","text":"x"}', "'erase'"),
        (b'{"kind":"' + b"x" * 5000 + b'","id":"a1","by":"Sam"}', "xxx"),
        (b'{"kind":"added","id":"a1","by":"Sam","phase":"liquid"}', "missing required field `mass_kg`"),
        (b'{"kind":"added","id":"a1","by":"Sam","phase":"solid","mass_kg":0.1}', "'solid'"),
        (b'{"kind":"added","id":"a1","by":"Sam","phase":"liquid","mass_kg":"0.1"}', "got `str` - at `$.mass_kg`"),
    ],
)
async def test_what_cannot_be_read_is_answered_where_its_id_can(
    asks: Asks, book: Book, payload: bytes, reason: str
) -> None:
    handled = await asks.handle("technician/note", payload)
    assert handled is not None
    answer = decode(handled[1], Answer)
    assert (handled[0], answer.id, answer.ok, asks.refused_messages) == ("technician/a1", "a1", False, 1)
    assert answer.reason.startswith("the ask cannot be read: ")
    assert reason in answer.reason
    assert len(answer.reason) == 200 if b"x" * 5000 in payload else len(answer.reason) <= 200
    assert await asks.handle("stranger/note", payload) is None
    assert book.marks == {}


@pytest.mark.parametrize(
    ("payload", "name"),
    [
        (b'{"kind":"note","id":"a1","by":"Sam","text":"x","text":"y"}', "text"),
        (b'{"kind":"note","id":"a1","by":"Sam","text":"x","text":"x"}', "text"),
        (b'{"kind":"note","id":"a1","by":"Sam","text":"x","b\\u0079":"Robin"}', "by"),
        (b'{"kind":"note","id":"a1","by":"Sam","text":"x","kind":"note"}', "kind"),
        (b'{"kind":"note","id":"a0","id":"a1","by":"Sam","text":"x"}', "id"),
        (b'{"kind":"note","id":"a1","by":"Sam","text":"x","more":{"of":1,"of":2}}', "of"),
    ],
)
async def test_what_says_a_thing_twice_says_nothing(asks: Asks, book: Book, payload: bytes, name: str) -> None:
    """RFC 8259, section 4: where a name comes twice, "the behavior ... is unpredictable"."""
    handled = await asks.handle("lead/note", payload)
    assert handled is not None
    answer = decode(handled[1], Answer)
    assert (handled[0], answer.ok, book.marks, asks.refused_messages) == ("lead/a1", False, {}, 1)
    assert answer.reason == f"the ask cannot be read: '{name}' is given twice"


@given(st.binary(max_size=300), st.text(max_size=20))
async def test_nothing_that_comes_stops_the_daemon(payload: bytes, kind: str) -> None:
    book = Book()
    asks = Asks(surroundings(book))
    assert await asks.handle(kind, payload) is None
    assert asks.refused_messages == 1


@pytest.mark.parametrize(
    ("ask", "reason"),
    [
        (NoteAsk("a1", "S" * 65, text="x"), "by has 65 letters; at most 64"),
        (NoteAsk("a1", "Sam\x1b[2J", text="x"), r"by holds the control character U+001B"),
        (NoteAsk("a1", "Sam\nRobin", text="x"), "by holds the control character U+000A"),
        (NoteAsk("a1", "\ufeffSam", text="x"), "by holds a byte order mark"),
        (NoteAsk("a1", "Sam", text="x\x00y"), "text holds the control character U+0000"),
        (AcknowledgeAsk("a1", "Sam", of="n" * 70_00), "of has 7000 letters"),
        (CheckAsk("a1", "Sam", check="ice_point", channel="c" * 65), "channel has 65 letters"),
        (CorrectAsk("a1", "Sam", checks=["c" * 65]), "checks has 65 letters"),
    ],
)
async def test_no_text_of_an_ask_is_longer_than_sense_or_hides_something(asks: Asks, ask: Ask, reason: str) -> None:
    answer = await asks.answer("technician", ask.kind, ask)
    assert not answer.ok
    assert answer.reason.startswith(reason)


async def test_what_nobody_could_read_as_a_mark_is_not_recorded(asks: Asks, book: Book) -> None:
    """64 KiB is the bound of ingest.wire.encoding: an ask that just fits into it has a mark that does not."""
    sheet = replace(SHEET, tag="RTU-1", access="x" * 400)
    ask = DescribeAsk("a1", "Sam", sheet=sheet, confirmed=True)
    assert (await asks.answer("technician", "describe", ask)).ok
    large = [f"{number:064}" for number in range(900)]
    cylinder = CylinderAsk("a2", "Sam", name="C1", use="recovery", photographs=large)
    assert 60_000 < len(encode(cylinder)) < 65_536
    answer = await asks.answer("technician", "cylinder", cylinder)
    assert (answer.ok, answer.reason) == (False, "photographs names 900; at most 20 are kept")
    told = re.escape("has 66000 bytes; at most 65536 are kept")
    with pytest.raises(RefusedError, match=told):
        _check_can_be_told(Note("n" * 4, NOW_S, text="x" * (66_000 - NOTE_BYTES)))
    assert [*book.marks] == ["a1"]


NOTE_BYTES = len(encode(Answer("n" * 4, ok=True, mark=Note("n" * 4, NOW_S, text="")))) + len(',"text":""')


async def test_a_user_as_long_as_a_topic_may_be_is_not_told_back(asks: Asks) -> None:
    answer = await asks.answer("u" * 60_000, "note", NoteAsk("a1", "Sam", text="x"))
    assert not answer.ok
    assert len(answer.reason) < 200


async def test_a_probe_that_is_elsewhere_is_asked_about_and_checked_once_that_is_confirmed(book: Book) -> None:
    def still_on_the_unit(ask: CheckAsk) -> CheckFound:
        if not ask.confirmed:
            raise ElsewhereError({"open_to_air": question})
        return FOUND

    question = Wording(us="It still reads 118 psig", si="It still reads 814 kPa gauge")
    asks = Asks(surroundings(book, check=still_on_the_unit))
    ask = CheckAsk("c1", "Sam", check="open_to_air", channel="suction_pressure")
    answer = await asks.answer("technician", "check", ask)
    assert answer.question == question
    assert (answer.ok, book.marks) == (False, {})
    assert answer.asks == ("check.open_to_air",)
    assert (await asks.answer("technician", "check", confirming(ask, answer))).ok
