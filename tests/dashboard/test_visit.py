"""The Visit page without a browser: its frame, what is told to it, and that the Charge page pays nothing for it."""

import hashlib
import json
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import msgspec
import pytest
from dash import html
from msgspec.structs import replace

from calc import saturation
from calc.cautions import Step, cautions
from calc.units import System, parse
from calc.vacuum import NO_VOLTAGE
from dashboard.asks import MADE_FROM, AskBody
from dashboard.entered import Written, entered
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.invitations import make_invitation
from dashboard.roles import Visitor
from dashboard.shared.basics import attributes
from dashboard.shared.markup import markup
from dashboard.visit import moves
from dashboard.visit.beginning import _is_closed, beginning, whose_name
from dashboard.visit.cards import Card, Key
from dashboard.visit.checks import rows
from dashboard.visit.page import visit_page
from dashboard.visit.sealed import appending
from ingest.visit.account import account
from ingest.visit.checklist import checklists, guided
from ingest.visit.standing import Standing
from ingest.wire.asks import APPENDED, MAY_ASK
from ingest.wire.bench_messages import BenchAbout
from ingest.wire.events import word_of
from ingest.wire.messages import (
    Advice,
    ByHold,
    ChannelPlace,
    ChargeLeftStands,
    Chosen,
    ConditionMessage,
    CylinderDescribed,
    DescribeAsk,
    Finding,
    FindingStands,
    Hold,
    KeepAsk,
    Mark,
    Outcome,
    PatternBegun,
    PendingNote,
    PlaceAsk,
    Progress,
    ProposalStands,
    Proposed,
    ProposedFinding,
    ProposedMove,
    ProposedPlace,
    ProposedUnit,
    Question,
    Reply,
    SettledSince,
    Sheet,
    Stop,
    UnitBrief,
    Units,
    VerificationMessage,
    Visit,
    Waiting,
    Want,
    Wording,
    encode,
    topic,
)
from ingest.wire.sheet import Capacitor, Circuit, Contactor, Motor
from ingest.wire.talk import StopStands
from tests import wire_rig
from tests.ingest.report.journal import Journal
from tests.ingest.report.reading import words
from tests.ingest.visit.checks import exact, find
from tests.page import cookie_of, enter, request, serving_page, settings
from tests.wire_rig import RIG

SAM, ROBIN = Visitor("technician", "Sam"), Visitor("lead", "Robin")


class Read(HTMLParser):
    """What a browser would read: each element with its attributes, and whether all that was opened is closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in ("meta", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_a_layout_is_written_as_html_that_a_parser_reads_back() -> None:
    text = markup(
        html.Div([html.P(["2 < 3 & ", html.B("so")]), None, html.Span(hidden=True), 5], **attributes(data_x='a "b"'))
    )
    assert text == '<div data-x="a &quot;b&quot;"><p>2 &lt; 3 &amp; <b>so</b></p><span hidden></span>5</div>'
    assert Read(text).found[0] == ("div", {"data-x": 'a "b"'})


def test_the_frame_is_whole_and_says_what_its_visitor_may_ask() -> None:
    for visitor, may, may_not in ((SAM, "acknowledge", "nothing"), (ROBIN, "note", "added")):
        read = Read(visit_page(visitor))
        assert read.open == []
        (page,) = [found for _, found in read.found if found.get("id") == "page"]
        asks = (page["data-may"] or "").split()
        assert may in asks
        assert may_not not in asks
        ids = [found["id"] for _, found in read.found if "id" in found]
        assert len(ids) == len(set(ids))


async def test_it_is_served_to_both_and_loads_nothing_of_dash(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        lead = cookie_of(await enter(known, make_invitation(known, "lead")))
        for headers in ({}, lead):
            answer = await request(known, "GET", "/visit", headers=headers)
            assert answer.status == 200
            read = Read(answer.text)
            loaded = [found.get("src") or found.get("href") for tag, found in read.found if tag in ("script", "link")]
            assert all(str(path).startswith("/assets/") for path in loaded)
            assert not any("plotly" in str(path) for path in loaded)
            for path in loaded:
                assert (await request(known, "GET", str(path), headers=headers)).status == 200, path


def hub_with(visit: Visit) -> Hub:
    hub = Hub()
    hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=1.7e9)))
    hub.receive(topic(RIG, "visit"), encode(visit))
    return hub


async def told(hub: Hub, page: str = "visit", system: str = "us") -> dict[str, dict]:
    return of(await hub.join(system, page).take())


def of(taken: bytes) -> dict[str, dict]:
    """What was sent, by kind."""
    blocks = [block.split("\n", 1) for block in taken.decode().strip().split("\n\n")]
    return {kind.removeprefix("event: "): json.loads(data.removeprefix("data: ")) for kind, data in blocks}


NOTED = Visit("visit-1", 0.0, 0.0, 0, notes=(PendingNote("n1", "Robin", 1.7e9, "Is the filter clean?"),))


async def test_a_note_that_waits_is_a_card_with_the_ask_that_answers_it() -> None:
    (card,) = (await told(hub_with(NOTED)))["visit"]["talk"]
    assert card["says"] == ["Is the filter clean?"]
    assert (card["by"], card["time"]) == ("Robin", 1.7e9)
    reply, key = card["keys"]
    assert (key["ask"], key["body"], key["only_for"]) == ("acknowledge", {"of": "n1"}, "technician")
    assert reply["opens"]["keys"][0]["body"] == {"fields": {"of": "n1"}}


async def test_each_page_is_told_what_it_shows_and_no_more() -> None:
    hub = hub_with(NOTED)
    charge, visit = await told(hub, "charge"), await told(hub)
    assert "visit" not in charge
    assert not {"marks", "hands", "bench"} & visit.keys()
    viewer = hub.join("us")
    await viewer.take()
    hub.receive(topic(RIG, "visit"), encode(NOTED))
    assert b"event: visit" not in await viewer.take()


async def test_another_visit_brings_nothing_of_the_last() -> None:
    hub = hub_with(NOTED)
    hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=1.8e9, unit=wire_rig.unit(tag="AHU-2"))))
    assert (await told(hub))["visit"]["talk"] == []


async def test_a_proposal_is_one_touch_but_for_what_no_scale_tells() -> None:
    says = Wording("6.2 oz left the cylinder, 14:02 to 14:04. Keep?", "176 g left the cylinder, 14:02 to 14:04. Keep?")
    moves = [
        ProposalStands(name, 1.7e9, 1.7e9, 1.7e9, ProposedMove(mass_kg, 0.002), says)
        for name, mass_kg in (("out", 0.1758), ("in", -0.2))
    ]
    found = ProposalStands("f", 1.7e9, 1.7e9, 1.7e9, ProposedFinding("start", {"peak_a": 61.0}), says)
    visit = Visit("visit-1", 0.0, 0.0, 0, proposals=(*moves, found))
    out, back, finding = (await told(hub_with(visit), system="si"))["visit"]["proposals"]
    assert out["says"] == ["176 g left the cylinder, 14:02 to 14:04. Keep?"]
    assert [(key["ask"], key["body"], key["main"]) for key in out["keys"]] == [
        ("dismiss", {"of": "out"}, False),
        ("keep", {"of": "out", "phase": "vapour"}, False),
        ("keep", {"of": "out", "phase": "liquid"}, True),  # R-410A: a blend is charged as liquid
    ]
    for card in (back, finding):
        assert [(key["ask"], key["body"]) for key in card["keys"]] == [
            (ask, {"of": card["id"]}) for ask in ("dismiss", "keep")
        ]


async def test_two_readings_of_two_places_are_named_by_one_touch_that_says_both() -> None:
    per = {"herm": "Herm to common", "fan": "Fan to common"}
    seen = [ProposedFinding("capacitor_measured", {"measured.?": farad}, per) for farad in (43.6e-6, 5e-6, 45e-6)]
    says = [Wording(text, text) for text in ("43.6 µF.", "5 µF.", "45 µF.")]
    stand = [ProposalStands(f"p{n}", 1.7e9, 1.7e9, 1.7e9, what, says[n]) for n, what in enumerate(seen)]
    pair, alone = (await told(hub_with(Visit("visit-1", 0.0, 0.0, 0, proposals=stand))))["visit"]["proposals"]
    assert (pair["says"], alone["says"]) == (["1. 43.6 µF.", "2. 5 µF."], ["45 µF."])
    assert not pair["together"]
    keys = {key["says"]: key for key in pair["keys"]}
    assert keys["1 is not so"]["body"] == {"of": "p0"}
    assert keys["2 is not so"]["body"] == {"of": "p1"}
    assert len(keys) == 6  # each place of each reading: one that was renewed between is measured twice
    both = keys["1: Fan to common. 2: Herm to common."]
    asks = [MADE_FROM["keep"](("a1", "Sam"), msgspec.convert(it, AskBody)) for it in (both["body"], *both["besides"])]
    dual = {"sections": "dual"}  # one reading was of each
    second = KeepAsk("a1", "Sam", of="p1", per=("herm",), choices=dual)
    assert asks == [KeepAsk("a1", "Sam", of="p0", per=("fan",)), second]
    renewed = keys["1: Herm to common. 2: Herm to common."]
    assert renewed["besides"] == [{"of": "p1", "fields": {"per": ["herm"]}}]
    other = ProposedFinding("capacitor_measured", {"measured.?": 5e-6}, per, part="fan capacitor")
    apart = [stand[0], ProposalStands("p9", 1.7e9, 1.7e9, 1.7e9, other, says[1])]
    cards = (await told(hub_with(Visit("visit-1", 0.0, 0.0, 0, proposals=apart))))["visit"]["proposals"]
    assert [card["id"] for card in cards] == ["p0", "p9"]  # of two parts


async def test_dead_is_kept_as_seen_at_the_place_of_work_by_a_key_that_says_so() -> None:
    per = {name: name.upper() for name in ("a_b", "a_earth", "b_earth", "control")}
    seen = ProposedFinding("prove_dead", {"volts.?": 0.1}, per, places=4)
    says = Wording("Live, dead, live.", "Live, dead, live.")
    visit = Visit("visit-1", 0.0, 0.0, 0, proposals=[ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, seen, says)])
    (card,) = (await told(hub_with(visit)))["visit"]["proposals"]
    each = next(key for key in card["keys"] if "each" in key["says"])
    assert each["says"] == "Keep each, at the place of work: A_B, A_EARTH, B_EARTH, CONTROL"
    made = MADE_FROM["keep"](("a1", "Sam"), msgspec.convert(each["body"], AskBody))
    assert made == KeepAsk("a1", "Sam", of="p", per=tuple(per), choices={"at_place_of_work": "yes"})


@pytest.mark.parametrize(
    ("places", "each"),
    [(4, ("a_b", "a_earth", "b_earth", "control")), (5, ("a_b", "a_earth", "b_earth", "control", "load_side"))],
)
async def test_the_load_side_is_named_with_each_only_where_the_meter_was_seen_there_too(
    places: int, each: tuple[str, ...]
) -> None:
    per = {name: name.upper() for name in ("a_b", "a_earth", "b_earth", "control", "load_side")}
    seen = ProposedFinding("prove_dead", {"volts.?": 0.1}, per, places=places)
    says = Wording("Live, dead, live.", "Live, dead, live.")
    visit = Visit("visit-1", 0.0, 0.0, 0, proposals=[ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, seen, says)])
    (card,) = (await told(hub_with(visit)))["visit"]["proposals"]
    key = next(key for key in card["keys"] if "each" in key["says"])
    assert key["body"]["fields"]["per"] == list(each)
    assert "LOAD_SIDE" in [says for _, says in card["fields"][0]["options"]]  # by who held it there


async def test_no_key_proves_more_pairs_dead_than_the_meter_was_seen_on_and_the_rig_asks_about_those_chosen() -> None:
    """A meter that is held on pair after pair shows one place: on which it was, only whoever held it knows."""
    per = {name: name.upper() for name in ("a_b", "a_earth", "b_earth", "control")}
    seen = ProposedFinding("prove_dead", {"volts.?": 0.1}, per, places=1)
    says = Wording("Live, dead, live.", "Live, dead, live.")
    visit = Visit("visit-1", 0.0, 0.0, 0, proposals=[ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, seen, says)])
    (card,) = (await told(hub_with(visit)))["visit"]["proposals"]
    counted = "Places where the meter was seen below 3 V: 1. Choose only those that it was held on."
    assert card["says"] == ["Live, dead, live.", counted]
    assert not card["together"]
    chosen, here = (key for key in card["keys"] if key["ask"] == "keep")
    assert (chosen["body"], chosen["main"]) == ({"of": "p"}, False)
    assert (here["says"], here["main"]) == ("Keep those chosen, at the place of work", True)
    assert here["body"] == {"of": "p", "fields": {"choices": {"at_place_of_work": "yes"}}}
    (pairs,) = card["fields"]
    assert (pairs["several"], pairs["needed"], pairs["value"]) == (True, True, "")


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-454B"])
async def test_beside_an_amount_stands_what_to_beware_of_in_recovering_as_in_charging(refrigerant: str) -> None:
    """The form has a key for either: 40 CFR 82.156 and AHRI Guideline K, as `calc.cautions` has them."""
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0), unit=wire_rig.unit(refrigerant=refrigerant))
    (form,) = [it for it in (await told(hub))["visit"]["forms"] if it["id"] == "moves"]
    card = next(it for it in form["cards"] if it["id"] == "move")
    said = {*(it["says"] for it in card["cautions"]), *card["cautions_once"]}
    for step in (Step.CHARGE, Step.RECOVER):
        missing = [it for it in cautions(refrigerant, step) if it not in said]
        assert all("no live part exposed" in it for it in missing), missing  # of two, the longer one says it all


async def test_what_the_visit_found_in_the_unit_is_warned_of_at_every_card_from_then_on() -> None:
    """At checks too, whose cards are sent anew then, though the unit is said to hold what does not burn."""
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0))
    viewer = hub.join("us", "visit")
    await viewer.take()
    hub.receive(topic(RIG, "visit"), encode(Visit("v1", 0.0, 0.0, 0, safety_class="A3")))
    events = of(await viewer.take())
    (form,) = [it for it in events["visit"]["forms"] if it["id"] == "moves"]
    move = next(it for it in form["cards"] if it["id"] == "move")
    burns = {"says": "What is in it burns (A3)", "harm": 3, "stands": False}
    for card in (move, events["checklist"]["cards"]["moving"], events["checklist"]["cards"]["probes_on"]):
        assert {**card["cautions"][0], "says": card["cautions"][0]["says"].split(":")[0]} == burns
    assert "Evacuate the hose; purge nothing that burns." in [it["says"] for it in move["cautions"]]
    assert not any("purge it" in it["says"] for it in move["cautions"])
    hub.receive(topic(RIG, "visit"), encode(Visit("v1", 0.1, 0.0, 1, safety_class="A3")))
    assert "checklist" not in of(await viewer.take())


@pytest.mark.parametrize("safety_class", ["", "A3"])
async def test_where_a_circuit_was_opened_each_part_of_the_work_has_its_own_cautions_and_each_is_said_once(
    safety_class: str,
) -> None:
    cards = (await told(told_of_checks(Visit("v1", 0.0, 0.0, 0, safety_class=safety_class))))["checklist"]["cards"]
    opened, steps = cards["opened"], guided()["opened"].check.steps_at
    assert opened["cautions"] == []  # sixteen at once are not read
    at = {it["to"]: [each["says"] for each in it["cautions"]] for it in opened["fields"] if it["cautions"]}
    assert list(at) == list(steps)
    everything = [says for each in at.values() for says in each] + opened["cautions_once"]
    assert len(set(everything)) == len(everything)
    assert {*everything} == {says for step in steps.values() for says in cautions("R-410A", step, found=safety_class)}
    assert all(len(said) <= 6 for said in at.values())
    assert at["vacuum_course"][0] == NO_VOLTAGE
    assert ("What is in it burns" in at["level_verified"][0]) is bool(safety_class)
    others = {word: card["fields"] for word, card in cards.items() if word != "opened"}
    elsewhere = [(word, it["to"], len(it["cautions"])) for word, at in others.items() for it in at if it["cautions"]]
    assert elsewhere == [("contactor", "travel", 1)]


async def test_nobody_is_said_to_have_told_the_owner_before_they_say_so() -> None:
    cards = (await told(told_of_checks(Visit("v1", 0.0, 0.0, 0))))["checklist"]["cards"]
    owner = next(it for it in cards["handover"]["fields"] if it["to"] == "owner")
    assert (owner["usual"], owner["value"]) == ("", "")
    assert "Told what was found and done." in owner["offers"]


async def test_one_key_keeps_together_only_what_its_sentence_says_whole() -> None:
    """Not where a place or a phase is to be chosen, a probe was moved, or a life hangs on it."""
    per = {"herm": "Herm", "fan": "Fan"}
    proposed = {
        "supply": ProposedFinding("supply", {"running.a_b": 230.0}),
        "section": ProposedFinding("capacitor_measured", {"measured.?": 9e-6}, per),
        "dead": ProposedFinding("prove_dead", {"source_before": 230.0}),
        "empty": ProposedFinding("discharge", {"volts.herm_common": 0.4}),
        "out": ProposedMove(0.2, 0.002),
        "back": ProposedMove(-0.2, 0.002),
        "after": ProposedFinding("readings_after", {"subcooling": 5.0}, choices={"settled": "yes"}),
        "moved": ProposedPlace(["liquid_pressure"]),
        "unit": ProposedUnit("RTU-K7Q-4", 0.98),
    }
    says = Wording("Seen. Keep?", "Seen. Keep?")
    stand = [ProposalStands(name, 1.7e9, 1.7e9, 1.7e9, what, says) for name, what in proposed.items()]
    cards = (await told(hub_with(Visit("visit-1", 0.0, 0.0, 0, proposals=stand))))["visit"]["proposals"]
    assert [card["id"] for card in cards if card["together"]] == ["supply", "back"]
    after = next(card for card in cards if card["id"] == "after")
    conditions = {key["body"].get("fields", {}).get("choices", {}).get("conditions") for key in after["keys"]}
    assert conditions == {None, "same", "differ"}  # which no instrument tells, and a reading after a move needs
    for card in cards:
        mains = [key for key in card["keys"] if key["main"]]
        assert not card["together"] or [key["ask"] for key in mains] == ["keep"]


@pytest.mark.parametrize("places", [2, 4])
async def test_what_no_instrument_tells_is_named_as_it_is_kept(places: int) -> None:
    """In one touch where few are to choose from; several of many are chosen first."""
    per = {name: name.upper() for name in ("a", "b", "c", "d")[:places]}
    what = ProposedFinding("capacitor_measured", {"measured.?": 9e-6}, per)
    seen = ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, what, Wording("9.00 µF.", "9.00 µF."))
    (card,) = (await told(hub_with(Visit("visit-1", 0.0, 0.0, 0, proposals=[seen]))))["visit"]["proposals"]
    keeps = [key for key in card["keys"] if key["ask"] == "keep"]
    if places == 2:
        assert [key["body"] for key in keeps] == [{"of": "p", "fields": {"per": [name]}} for name in per]
        assert [key["says"] for key in keeps] == ["Keep: A", "Keep: B"]
        made = MADE_FROM["keep"](("a1", "Sam"), msgspec.convert(keeps[0]["body"], AskBody))
        assert made == KeepAsk("a1", "Sam", of="p", per=("a",))
    else:
        each, chosen = keeps
        assert (each["says"], each["bare"]) == ("Keep each: A, B, C, D", True)
        assert (each["body"], chosen["body"]) == ({"of": "p", "fields": {"per": list(per)}}, {"of": "p"})
        (field,) = card["fields"]
        assert (field["name"], field["into"], field["several"], field["needed"]) == ("per", "fields", True, True)


@pytest.mark.parametrize("by", ["Sam", "technician", "", None])
async def test_with_the_power_that_is_back_it_is_asked_whether_the_lock_is_off(by: str | None) -> None:
    seen = ProposedFinding("power_back", {"since_stop": 600.0}, choices={"call": "present", "contactor": "in"})
    waits = ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, seen, Wording("Power is back.", "Power is back."))
    handed_over = Progress(technician="Kim")  # who is at work now put no lock on
    locks = [] if by is None else [by]
    events = await told(told_of_checks(Visit("v1", 0.0, 0.0, 0, proposals=[waits], locks=locks, progress=handed_over)))
    (card,) = events["visit"]["proposals"]
    _, *keeps = card["keys"]
    assert not card["together"]  # a life hangs on it
    row = next(row for row in events["visit"]["rows"] if row["id"] == "power_back")
    assert row["begins"] == {}  # that a lock is off stands nowhere before somebody says so
    if by == "Sam":
        as_it_is, off = keeps
        assert (as_it_is["says"], as_it_is["main"]) == ("Keep", False)
        assert (off["says"], off["main"]) == ("Keep: Sam took their lock off", True)
        assert off["body"] == {"of": "p", "fields": {"choices": {"lock_removed_by": "Sam"}}}
        assert row["offers"] == {"chosen lock_removed_by": {"Sam": "Sam took their lock off"}}
    else:
        assert [key["says"] for key in keeps] == ["Keep"]
        assert row["offers"] == {}


def told_of_checks(visit: Visit, **about: object) -> Hub:
    hub = Hub()
    hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=1.7e9, **about)))
    for group in checklists():
        hub.receive(topic(RIG, f"checklist/{group.group.lower()}"), encode(group))
    hub.receive(topic(RIG, "visit"), encode(visit))
    return hub


async def test_at_another_unit_it_is_asked_first_whether_the_probes_came_along() -> None:
    events = await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, circuit="1", came_from="RTU-9")))
    card = events["visit"]["talk"][0]
    assert card["says"][0].startswith("They were at RTU-9. Until you say that they are at RTU-K7Q-4, nothing")
    one_by_one, all_of_them = card["keys"]
    assert (one_by_one["shows"], one_by_one["only_for"]) == ("places", "technician")
    assert (all_of_them["says"], all_of_them["ask"]) == ("All are at RTU-K7Q-4 now", "place")
    assert all_of_them["body"] == {"fields": {"on": "1"}}
    said = await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, circuit="1")))
    assert said["visit"]["talk"] == []


async def test_circuits_that_were_counted_and_are_not_in_the_sheet_are_told_with_a_way_to_add_them() -> None:
    counted = Finding("f1", 1.7e9, "Sam", check="which_unit", grade="said", outcome="met", values={"circuits": 2.0})
    for values, there in ((counted.values, 1), ({"circuits": 1.0}, 0)):
        mark = replace(counted, values=values)
        hub = told_of_checks(Standing("visit-1", [mark]).message())
        hub.receive(topic(RIG, "marks"), encode(mark))
        cards = [card for card in (await told(hub))["visit"]["talk"] if card["id"] == "miscounted"]
        assert len(cards) == there
        for card in cards:
            assert card["says"][0].startswith("Counted at the unit: 2. In its sheet: 1.")
            assert [key["shows"] for key in card["keys"]] == ["units"]


async def test_while_the_charge_is_asked_for_the_handover_does_not_say_that_nothing_is_open() -> None:
    events = await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, facts=["charge_asked"])))
    begins = {row["id"]: row["begins"] for row in events["visit"]["rows"]}
    known = "The charge is not done: the judge still asks for it."
    assert begins["handover"] == {"chosen next_person": known}


LEFT = ChargeLeftStands("l1", "Sam", 1.7e9, "none_today", Wording("Add 5 oz.", "Add 140 g.", "headline.add"))


async def test_the_charge_is_left_by_a_key_with_its_reasons_while_the_judge_asks_for_it_and_no_lead_to_stop() -> None:
    asked = Visit("visit-1", 0.0, 0.0, 0, facts=["charge_asked"], circuit="1")
    (card,) = (await told(told_of_checks(asked)))["visit"]["leaving"]
    (key,) = card["keys"]
    assert key["says"] == "Leave the charge as it is"
    reasons = {each["body"]["fields"]["reason"]: each for each in key["opens"]["keys"]}
    assert reasons.keys() == {"near_enough", "none_today", "leak_first", "owner", "other"}
    assert {each["ask"] for each in reasons.values()} == {"leave_charge"}
    assert {each["body"]["fields"]["circuit"] for each in reasons.values()} == {"1"}
    stop = StopStands("s1", "Robin", "Wait.", 1.7e9)
    at_the_panel = replace(asked, next=["isolate", "prove_dead", "discharge", "connections", "leaks"])
    for quiet in (
        at_the_panel,
        replace(asked, facts=[]),
        replace(asked, stop=stop),
        replace(asked, progress=Progress("signed")),
    ):
        assert (await told(told_of_checks(quiet)))["visit"]["leaving"] == []
    (live,) = (await told(told_of_checks(replace(asked, next=["supply", "leaks"]))))["visit"]["leaving"]
    assert len(live["keys"]) == 1
    assert live["says"][-1] == "Open until it is answered, and else signed so: D3 Supply under load."
    for before in ("power_back", "close_panel", "look_first"):  # whose lock is off, and where hands were
        (first,) = (await told(told_of_checks(replace(asked, next=[before, "supply", "leaks"]))))["visit"]["leaving"]
        assert first["keys"] == []
        title = f"{guided()[before].check.place} {guided()[before].check.title}"
        assert first["says"] == [f"It can be left as it is once this is answered, or skipped: {title}."]
    gone_on = replace(asked, stop=replace(stop, released_s=1.7e9), next=["leaks"])
    assert len((await told(told_of_checks(gone_on)))["visit"]["leaving"]) == 1


async def test_who_left_the_charge_and_against_what_stands_there_and_goes_to_the_next_person() -> None:
    left = Visit("visit-1", 0.0, 0.0, 0, facts=["charge_asked"], charge_left=LEFT)
    visit = (await told(told_of_checks(left)))["visit"]
    (card,) = visit["leaving"]
    assert (card["keys"], card["by"]) == ([], "Sam")
    assert card["says"] == ["No more refrigerant today", "Against the advice: Add 5 oz."]
    begins = {row["id"]: row["begins"] for row in visit["rows"]}["handover"]
    assert begins == {
        "chosen next_person": "The charge was left as it is, against the advice. No more refrigerant today."
    }


async def test_what_was_said_first_of_all_stands_there_when_it_is_opened_again() -> None:
    said = {"work": "panel", "complaint": "Trips at noon."}
    complaint = Finding("f1", 1.7e9, "Sam", "technician", check="complaint", grade="said", outcome="met", choices=said)
    locked = Finding("f2", 1.7e9, "Sam", "technician", check="isolate", grade="said", outcome="met",
                     choices={"disconnect_state": "locked_by_me"})  # fmt: skip
    hub = told_of_checks(Standing("visit-1", [complaint, locked]).message())
    for mark in (complaint, locked):
        hub.receive(topic(RIG, "marks"), encode(mark))
    rows = {row["id"]: row for row in (await told(hub))["visit"]["rows"]}
    assert rows["complaint"]["begins"]["chosen complaint"] == "Trips at noon."
    assert rows["complaint"]["begins"]["chosen work"] == "panel"
    assert "chosen disconnect_state" not in rows["isolate"]["begins"]  # what hands depend on is said anew


async def test_the_page_says_what_the_hold_key_takes_next_and_what_came_of_the_last_press() -> None:
    says = Wording("L1 to L2: 0.1 V, taken.", "L1-L2.")
    held = ByHold("prove_dead", "volts.a_earth", "L1 to ground (earth)", 3, 6, says)
    for next_up, asks in (["prove_dead"], 2), (["isolate"], 0):
        visit = Visit("visit-1", 0.0, 0.0, 0, next=next_up, by_hold=held)
        rows = {row["card"]: row for row in (await told(told_of_checks(visit)))["visit"]["rows"]}
        assert len(rows["prove_dead"]["asks_now"]) == asks
        assert rows["isolate"]["asks_now"] == []
        if asks:
            (asked, _), came = rows["prove_dead"]["asks_now"]
            assert "3 of 6: both leads still on L1 to ground (earth), and press it." in asked
            assert came == ["L1 to L2: 0.1 V, taken.", "L1-L2."]


async def test_while_a_lead_s_stop_stands_the_page_says_why_the_hold_key_takes_nothing() -> None:
    says = Wording("Robin asked to stop.", "Robin asked to stop.", "hold.lead_stopped")
    visit = Visit("visit-1", 0.0, 0.0, 0, stop=StopStands("s", "Robin", "Hands out.", 1.7e9, acknowledged_s=1.7e9))
    visit = replace(visit, by_hold=ByHold("prove_dead", "", "", 1, 6, says))
    sent = await told(told_of_checks(visit))
    rows = {row["card"]: row for row in sent["visit"]["rows"]}
    assert rows["prove_dead"]["asks_now"] == [["Robin asked to stop.", "Robin asked to stop."]]
    assert not [row for row in rows.values() if row["next"] or row["asked"]]
    closed = replace(visit, findings=[FindingStands("close_panel", "met", "seen", 1.7e9, "f")])
    assert not _is_closed(closed)
    assert visit.stop
    assert _is_closed(replace(closed, stop=replace(visit.stop, released_s=1.7e9)))


async def test_what_every_pair_was_pressed_for_is_kept_as_tested_at_the_place_of_work() -> None:
    seen = ProposedFinding("prove_dead", {"source_before": 230.0, "volts.a_b": 0.1, "source_after": 230.0})
    waits = ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, seen, Wording("By the HOLD key.", "-"))
    (card,) = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, proposals=[waits]))))["visit"]["proposals"]
    assert (card["fields"], card["together"]) == ([], False)  # a life hangs on it
    _, keep = card["keys"]
    assert (keep["says"], keep["main"]) == ("Keep, at the place of work", True)
    assert keep["body"] == {"of": "p", "fields": {"choices": {"at_place_of_work": "yes"}}}


async def test_a_photograph_says_before_it_is_taken_what_it_answers() -> None:
    cards = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0))))["checklist"]["cards"]
    (field,) = [it for it in cards["close_panel"]["fields"] if it["kind"] == "photographs"]
    (shot,) = [it for it in field["shots"] if it["word"] == "cover"]
    assert shot["says"] == "Taken, it says: Cover: On again · Screws: As many back as came out."
    assert shot["answers"] == {"chosen cover": "on", "chosen screws_back": "all"}
    chosen = {it["name"] for it in cards["close_panel"]["fields"]}
    assert shot["answers"].keys() <= chosen
    (content,) = [it for it in cards["what_is_in_it"]["fields"] if it["kind"] == "photographs"]
    assert {it["only"] for it in content["shots"] if it["word"] != "cylinder"} == {"flammable"}


async def test_a_joint_across_which_volts_were_seen_is_kept_with_its_name() -> None:
    seen = ProposedFinding("joint_drop", {"drop.a": 0.2, "amps": 8.0})
    waits = ProposalStands("p", 1.7e9, 1.7e9, 1.7e9, seen, Wording("200 mV. Keep it, and say which joint?", "-"))
    (card,) = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, proposals=[waits]))))["visit"]["proposals"]
    (field,) = card["fields"]
    assert (field["name"], field["into"], field["needed"]) == ("joint", "fields.choices", True)
    assert not card["together"]
    dismiss, *named, keep = card["keys"]
    assert (dismiss["bare"], keep["bare"], keep["body"]) == (True, False, {"of": "p"})
    blade = next(each for each in named if each["says"] == "Keep: Disconnect blade")
    assert (blade["bare"], blade["body"]) == (True, {"of": "p", "fields": {"choices": {"joint": "Disconnect blade"}}})
    assert "joint" in {it.name for it in guided()["joint_drop"].check.texts}


async def test_the_units_to_go_to_stand_before_all_that_is_known_of_this_one() -> None:
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0))
    hub.receive(topic(RIG, "units"), encode(Units([UnitBrief("AHU-2", "Basement", ["R-32"], 1.6e9)])))
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")], parts=[Motor("blower")])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    (form,) = [it for it in (await told(hub))["visit"]["forms"] if it["id"] == "units"]
    ids = [card["id"] for card in form["cards"]]
    assert ids.index("unit-here") < ids.index("unit-AHU-2") < ids.index("unit-parts") < ids.index("unit-new")


async def test_every_check_has_a_card_whose_asks_the_rig_can_read() -> None:
    events = await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0)))
    cards = events["checklist"]["cards"]
    assert set(cards) == set(guided())
    for word, card in cards.items():
        *_, record = card["keys"]
        assert record["body"] == {"fields": {"check": word}}
        fields = {**record["body"]["fields"], "grade": "said"}
        body = AskBody(fields=fields)
        assert MADE_FROM["finding"](("a1", "Sam"), body).check == word
        figures = {
            f"{it.name}.{place}" if place else it.name
            for it in guided()[word].check.figures
            for place in it.per or [""]
        }
        assert {it["name"] for it in card["fields"] if it["kind"] == "number"} == figures
        assert all(any(each.text in line for line in card["more"]) for each in guided()[word].check.sources)
    head, *more = cards["prove_dead"]["more"]
    assert head == "When not, and who says so"
    assert "3 V; 50 V (common practice, no source)." in more
    units = {it["name"]: it["unit"] for it in cards["capacitor_measured"]["fields"] if it["kind"] == "number"}
    assert units["measured.herm"] == "µF"
    volts = {it["name"]: it["channels"] for it in cards["supply"]["fields"]}
    assert volts["running.a_b"] == [["line_voltage_ab", "Line voltage L1–L2"]]
    assert volts["running.b_c"] == []  # this rig has no such channel
    before = {it["name"]: it["channels"] for it in cards["readings_before"]["fields"]}
    assert before["superheat"] == [["superheat", "Superheat"]]  # it is no channel, and is worked out of some
    offers = {it["name"]: it["offers"] for it in cards["capacitor_under_load"]["fields"]}
    assert (offers["hertz"], offers["turns"]) == (["60 Hz", "50 Hz"], ["1", "5", "10"])
    amps = next(it for it in cards["motor_amps"]["fields"] if len(it["channels"]) > 1)
    assert {name for name, _ in amps["channels"]} == {"compressor_current", "condenser_fan_current"}  # of which motor?
    ohms = {it["name"]: it["unit"] for it in cards["windings"]["fields"] if it["kind"] == "number"}
    assert (ohms["to_case"], ohms["ohms.start_common"]) == ("MΩ", "Ω")  # a bare number of megohms counts as megohms
    written = {"values/to_case": ("197 MΩ", "insulation_resistance")}
    assert entered({}, written, barometric_pressure_pa=None) == {"values": {"to_case": 197e6}}


async def test_what_kills_at_a_panel_stands_open_wherever_hands_go_in_whatever_was_read_before() -> None:
    """A caution that was read at the first look is folded at the second lock-out: common practice, no source."""
    cards = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0))))["checklist"]["cards"]
    places = {word: it.check.place for word, it in guided().items()}
    standing = {
        word: {it["says"].split(":")[0].split(",")[0] for it in card["cautions"] if it["stands"]}
        for word, card in cards.items()
    }
    dead = {"Before a panel is opened", "Prove the tester on a known live source"}
    discharge = "A capacitor keeps its charge with the power off"
    assert standing["isolate"] == {*dead, "At a disconnect"}
    assert standing["prove_dead"] == {*dead, "Until it is proved dead it is live"}
    assert standing["windings"] == {*dead, "Megohms only dead"}
    assert standing["capacitor_by_eye"] == standing["discharge"] == {*dead, discharge}
    assert standing["contactor"] == dead  # what is read of it alive is asked for among what is measured alive
    assert any("runs has live parts" in it for it in standing["supply"])
    back = [it["says"] for it in cards["power_back"]["cautions"] if it["stands"]]
    assert [it.split(":")[0] for it in back[1:]] == ["Before power comes back", "At a disconnect", NO_VOLTAGE]
    (pushed,) = (it for each in cards["contactor"]["fields"] for it in each["cautions"])
    assert pushed["says"] == "Only dead: a contactor is never pushed in by hand with power on."
    assert pushed["stands"]
    for word, found in standing.items():
        assert found == set() or places[word][0] in "BCD", word
        harms = [it["harm"] for it in cards[word]["cautions"]]
        assert harms == sorted(harms), word


async def test_of_what_is_made_at_a_panel_only_the_cause_needs_a_pen_and_nothing_else() -> None:
    """Nothing is made dead for it; where any caution stands, hands go there."""
    rows = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0))))["visit"]["rows"]
    assert [row["id"] for row in rows if row["by_pen"]] == ["cause"]


async def test_what_was_done_about_a_cause_is_asked_for_openly() -> None:
    """It decides whether the cause is answered, and stood folded away: common practice, no source."""
    cards = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0))))["checklist"]["cards"]
    fields = {field["label"]: field for field in cards["cause"]["fields"]}
    assert {label for label, field in fields.items() if field["unfolded"]} == {"What was done about it"}
    assert fields["What was done about it"]["offers"]  # by a touch


async def test_a_check_stands_with_its_outcome_grade_and_time_and_the_next_is_marked() -> None:
    found = [
        FindingStands(
            "capacitor_measured", "not_met", "typed", 1.7e9, f"f-{part}", part, says=wire_rig.same("Too low.")
        )
        for part in ("herm can", "fan can")
    ]
    visit = Visit("visit-1", 0.0, 0.0, 0, findings=found, next=("isolate", "prove_dead"), circuit="2")
    rows = {row["id"]: row for row in (await told(told_of_checks(visit)))["visit"]["rows"]}
    assert len(rows) == len(guided()) + 1
    assert [row["id"] for row in rows.values() if row["next"]] == ["isolate"]
    row = rows["capacitor_measured fan can"]
    assert (row["said"], row["grade"], row["why"]) == ("Not met", "typed", ["Too low.", "Too low."])
    assert row["body"] == {"part": "fan can"}
    assert row["goes_on"] == ""
    circuits = {row["card"] for row in rows.values() if row["body"] == {"circuit": "2"}}
    assert circuits == {word for word, one in guided().items() if one.check.of == "circuit"}


async def test_a_check_begins_with_what_is_known_and_the_handover_with_what_is_open() -> None:
    found = [
        FindingStands("look_first", "not_met", "said", 1.7e9, "f1"),
        FindingStands("supply", "cannot_tell", "measured", 1.7e9, "f2"),
    ]
    settled = SettledSince("subcooling", 1.7e9)
    at_work = Progress("open", 1.7e9, "Sam")
    following = ("prove_dead", "tag")
    visit = Visit("v1", 0.0, 0.0, 0, findings=found, next=following, settled=settled, progress=at_work)
    events = await told(told_of_checks(visit))
    begins = {row["id"]: row["begins"] for row in events["visit"]["rows"]}
    assert begins["which_unit"] == {"chosen tag": "RTU-K7Q-4"}
    assert begins["what_is_in_it"] == {"chosen safety_class": "A1"}
    assert begins["readings_before"] == {"chosen settled": "yes"}  # the judge's word
    known = "Not met: Look first. Could not be told: Supply under load. Not made: Prove dead."
    assert begins["handover"] == {"chosen next_person": known}  # what closes a visit is not told as not made
    asked = {row["id"] for row in events["visit"]["rows"] if row["asked"]}
    assert asked == {"prove_dead", "tag"}
    assert events["visit"]["closing"] == []
    over = [*found, FindingStands("handover", "met", "said", 1.7e9, "f3")]
    again = ("look_first", "prove_dead", "tag")
    nothing = Visit("visit-1", 0.0, 0.0, 0, findings=over, next=again, progress=at_work, hoses=("suction",))
    (sign,) = (await told(told_of_checks(nothing)))["visit"]["closing"]
    assert (sign["id"], sign["fields"][0]["value"]) == ("sign", "Sam")
    told_open = ["Not met: Look first.", "Could not be told: Supply under load.", "Not made: Prove dead, Tag."]
    assert sign["says"][:-1] == ["A hose still shares the suction port.", *told_open]
    stands = [f"sign.check_open:{word}" for word in ("look_first", "supply", "prove_dead", "tag")]
    named = ["sign.name", "sign.hose_open:suction", *stands]  # what the rig would ask about stands above the key
    assert sign["keys"][0]["body"] == {"confirmed": True, "confirms": named}
    bare = (await told(hub_with(visit)))["visit"]  # before the checks are heard of
    assert (bare["rows"], bare["closing"]) == ([], [])


def test_the_handover_begins_with_the_day_that_the_look_for_leaks_asks_for() -> None:
    look = Finding("f1", 1.7e9, check="leaks", grade="seen", outcome="met", choices={"read_again": "2026-12-30"})
    visit = Visit("v1", 0.0, 0.0, 0, findings=[FindingStands("leaks", "met", "seen", 1.7e9, "f1")])
    for marks, begins in (({"f1": look}, {"next_reading": "2026-12-30"}), ({}, {})):
        handover = beginning(checklists(), wire_rig.about(started_s=1.7e9), visit, {}, marks=marks)["handover"]
        assert {name: text for name, text in handover.items() if name == "next_reading"} == begins


async def test_what_was_left_in_the_panel_is_named_where_the_visit_is_handed_over_and_signed() -> None:
    found = [FindingStands("handover", "met", "said", 1.7e9, "f1")]
    visit = Visit("v1", 0.0, 0.0, 0, findings=found, left_in_the_panel=("conductor",))
    events = (await told(told_of_checks(visit)))["visit"]
    (sign,) = events["closing"]
    assert sign["says"][0] == "Not made: Conductor and terminal."
    assert sign["keys"][0]["body"]["confirms"] == ["sign.name", "sign.check_open:conductor"]
    assert not any(row["asked"] for row in events["rows"])
    begins = beginning(checklists(), wire_rig.about(started_s=1.7e9), visit, {})
    assert begins["handover"]["next_person"] == "Not made: Conductor and terminal."


@pytest.mark.parametrize(
    ("found", "why"),
    [
        ([("capacitor_measured", "not_met", "can")], "It measured outside its label."),
        ([("capacitor_measured", "met", "can"), ("capacitor_under_load", "not_met", "can")], "It failed under load."),
        ([("capacitor_measured", "not_met", "can"), ("capacitor_measured", "not_met", "other")], None),
        ([("capacitor_measured", "met", "can"), ("capacitor_by_eye", "not_met", "can")], None),
        ([("capacitor_measured", "not_met", "can"), ("replacement", "met", "can")], None),
        ([("capacitor_measured", "not_met", "can"), ("replacement", "met", "other")], "It measured outside its label."),
    ],
)
def test_why_a_capacitor_is_renewed_is_read_of_the_check_by_which_it_failed(
    found: list[tuple[str, Outcome, str]], why: str | None
) -> None:
    stands = [
        FindingStands(check, told, "measured", 1.7e9, f"f{n}", part) for n, (check, told, part) in enumerate(found)
    ]
    visit = Visit("v1", 0.0, 0.0, 0, findings=stands)
    begins = beginning(checklists(), wire_rig.about(started_s=1.7e9), visit, {})["replacement"]
    (offers,) = [text.offers for text in guided()["replacement"].check.texts if text.name == "why"]
    assert begins.get("why") == why
    assert why is None or why in offers


async def test_a_page_knows_which_answers_make_a_check_not_met() -> None:
    """So that it is said before what stands there without a touch is recorded."""
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0, next=("air",)))
    cards = (await told(hub))["checklist"]["cards"]
    fields = {field["label"]: field.get("fails") for field in cards["air"]["fields"]}
    assert (fields["The protocol's air condition"], fields["Mode"]) == (["not_met"], None)


@pytest.mark.parametrize(
    ("at_work", "at_the_lock", "signs"),
    [("technician", "Sam", "Sam"), ("Kim", "Sam", "Kim"), ("technician", "", ""), ("technician", "technician", "")],
)
async def test_a_name_that_was_written_at_the_lock_is_not_asked_for_again(
    at_work: str, at_the_lock: str, signs: str
) -> None:
    """A page that knows no name has the role in its place, which signs nothing."""
    lock = Finding("f1", 1.7e9, check="isolate", grade="said", outcome="met", choices={"locked_by": at_the_lock})
    stands = [
        FindingStands("isolate", "met", "said", 1.7e9, "f1"),
        FindingStands("handover", "met", "said", 1.7e9, "f2"),
    ]
    visit = Visit("visit-1", 0.0, 0.0, 0, findings=stands, progress=Progress("open", 1.7e9, at_work))
    assert whose_name(visit, {"f1": lock}) == signs
    begins = beginning(checklists(), wire_rig.about(started_s=1.7e9), visit, {}, marks={"f1": lock})
    assert begins["isolate"].get("locked_by", "") == signs
    hub = told_of_checks(visit)
    hub.receive(topic(RIG, "marks"), encode(lock))
    (sign,) = (await told(hub))["visit"]["closing"]
    assert sign["fields"][0]["value"] == signs


def test_a_first_look_that_is_asked_again_keeps_what_it_found_and_asks_what_is_behind_the_panel() -> None:
    """What explains the complaint is not taken back by one touch: common practice, no source."""
    said = {"found": "explains", "found_what": "filter clogged", "repaired": "yes", "bypassed": "outside"}
    look = Finding("f1", 1.7e9, check="look_first", grade="seen", outcome="met", choices=said)
    stands = [FindingStands("look_first", "met", "seen", 1.7e9, "f1")]
    for following, kept in ((("look_first",), {**said}), ((), {**said})):
        visit = Visit("v1", 0.0, 0.0, 0, findings=stands, next=following)
        (row,) = [it for it in rows(checklists(), visit, {}, {"f1": look}) if it["card"] == "look_first"]
        if following:
            del kept["bypassed"]
        assert row["begins"] == {f"chosen {name}": answer for name, answer in kept.items()}


def begins_of(hub_events: dict) -> dict:
    return {row["id"]: row["begins"] for row in hub_events["visit"]["rows"]}


def closed(outcome: Outcome) -> FindingStands:
    return FindingStands("close_panel", outcome, "seen", 1.7e9, "f1")


@pytest.mark.parametrize(
    ("found", "following", "begins"),
    [
        ([closed("met")], (), {"chosen panel_closed": "yes"}),
        ([closed("met")], ("close_panel",), {}),  # a hand was in it since
        ([closed("not_met")], (), {}),
        ([], (), {}),
    ],
)
async def test_a_move_begins_with_a_closed_panel_where_that_was_recorded_last(
    found: list[FindingStands], following: tuple[str, ...], begins: dict
) -> None:
    visit = Visit("v1", 0.0, 0.0, 0, findings=found, next=following)
    assert begins_of(await told(told_of_checks(visit)))["moving"] == begins


async def test_the_air_begins_with_the_mode_that_the_rig_reads_where_that_is_no_usual_one() -> None:
    for facts, begins in ((["heating"], {"chosen mode": "heating"}), (["cooling"], {}), ([], {})):
        visit = Visit("v1", 0.0, 0.0, 0, facts=facts)
        assert begins_of(await told(told_of_checks(visit)))["air"] == begins


CAN = Capacitor("can", herm_f=45e-6, fan_f=5e-6)


@pytest.mark.parametrize(
    ("cans", "begins"),
    [
        ([CAN], ["dual", "dual"]),
        ([Capacitor("fan", fan_f=5e-6)], ["single", "fan"]),
        ([Capacitor("start", herm_f=45e-6)], ["single", "herm"]),
        ([CAN, Capacitor("of the blower", fan_f=10e-6)], ["", ""]),
        ([], ["", ""]),
    ],
)
async def test_discharging_and_measuring_begin_with_the_sections_of_the_one_capacitor_of_the_sheet(
    cans: list[Capacitor], begins: list[str]
) -> None:
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0))
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")], parts=[Motor("blower"), *cans])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    told_now = begins_of(await told(hub))
    asked = ("discharge", "capacitor_measured")
    assert [told_now[check].get("chosen sections", "") for check in asked] == begins


def going_on(check: str, says: Wording, **more: object) -> Hub:
    """A check that could not tell yet, with its mark."""
    mark = Finding(
        "f1", 1.7e9, "Sam", "technician", check=check, grade="typed", outcome="cannot_tell", says=says, **more
    )
    stands = FindingStands(check, "cannot_tell", "typed", 1.7e9, "f1", says=says)
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0, findings=[stands], next=(check,)))
    hub.receive(topic(RIG, "marks"), encode(mark))
    return hub


async def test_what_was_said_of_a_check_that_could_not_tell_stands_there_when_it_is_opened_again() -> None:
    said = {"terminal": "L1", "found": "tight", "torque_by": "table"}
    values, spreads = {"gauge": 12.0, "torque": 4.0}, {"torque": 0.12}
    missing = wire_rig.same("Still missing: slot.")
    hub = going_on("connections", missing, choices=said, values=values, standard_uncertainties=spreads)
    row = {it["id"]: it for it in (await told(hub))["visit"]["rows"]}["connections"]
    assert row["goes_on"] == "f1"
    assert row["begins"] == {f"chosen {name}": answer for name, answer in said.items()}
    assert row["held"] == {"gauge": ["12", "12"], "torque": ["35.4 ± 2.1 lbf in", "4.00 ± 0.24 N·m"]}


async def test_what_a_label_says_is_asked_for_no_more_and_is_known_since() -> None:
    """The label was read after the section was measured: nothing says any more that it is missing."""
    says = Wording("Still missing: Label.", "Still missing: Label.", "finding.missing")
    hub = going_on("capacitor_measured", says, values={"measured.herm": 9e-6})
    can = Capacitor("run capacitor", herm_f=45e-6, fan_f=5e-6, volts=440.0, tolerance_share=0.06)
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")], parts=[can])))
    rows = {it["id"]: it for it in (await told(hub))["visit"]["rows"]}
    assert rows["capacitor_measured"]["why"][0].startswith("Recorded before its label was known. Known since: Label")
    assert "Herm 45 µF" in rows["capacitor_measured"]["why"][0]
    assert {name: said[0] for name, said in rows["capacitor_measured"]["held"].items()} == {
        "label.herm": "45 µF", "label.fan": "5 µF", "tolerance": "6 %", "measured.herm": "9 µF",
    }  # fmt: skip
    assert {name: said[0] for name, said in rows["replacement"]["held"].items()} == {
        "old_label.herm": "45 µF", "old_label.fan": "5 µF", "rated_volts.old": "440 V",
    }  # fmt: skip


def advice(air: str) -> Advice:
    """The judge's advice; air: what its protocol has of the airflow."""
    conditions = [
        ConditionMessage("outdoor_air_temperature", "met", wire_rig.same(""), wire_rig.same(""), ""),
        ConditionMessage("air_split", air, wire_rig.same(""), wire_rig.same(""), ""),  # type: ignore[arg-type]
    ]
    verified = VerificationMessage("subcooling", "right", 0.9, 0.1, 0.5, conditions, wire_rig.same(""))
    return Advice(1.7e9, wire_rig.same(""), [], [], {}, verification=verified)


@pytest.mark.parametrize(("air", "begins"), [("met", "met"), ("not met", "not_met"), ("cannot tell", "")])
async def test_air_begins_with_what_the_judge_says_of_it(air: str, begins: str) -> None:
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0))
    assert begins_of(await told(hub))["air"] == {}
    hub.receive(topic(RIG, "advice"), encode(advice(air)))
    assert begins_of(await told(hub))["air"].get("chosen condition", "") == begins
    hub.receive(topic(RIG, "bench/about"), encode(BenchAbout("", "", blind=True, speed=1.0, faults={})))
    assert begins_of(await told(hub))["air"] == {}  # before the verdict nobody is told what is right


async def test_the_visit_is_told_anew_when_the_judge_says_otherwise_of_it_and_not_at_each_advice() -> None:
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0))
    viewer = hub.join("us", "visit")
    await viewer.take()
    for air, is_told in (("met", True), ("met", False), ("not met", True)):
        hub.receive(topic(RIG, "advice"), encode(advice(air)))
        assert (b"event: visit" in await viewer.take()) is is_told, air


async def test_a_circuit_that_came_into_view_is_asked_for_itself() -> None:
    found = [FindingStands("air", "met", "measured", 1.7e9, "f1", circuit="1")]
    visit = Visit("visit-1", 0.0, 0.0, 0, findings=found, next=("air",), circuit="2")
    rows = [row for row in (await told(told_of_checks(visit)))["visit"]["rows"] if row["card"] == "air"]
    assert [(row["body"], row["asked"]) for row in rows] == [({"circuit": "1"}, False), ({"circuit": "2"}, True)]


@pytest.mark.parametrize(("outcome", "goes_on"), [("cannot_tell", "f-1"), ("met", ""), ("not_met", "")])
async def test_what_could_not_be_told_goes_on_from_what_was_entered(outcome: Outcome, goes_on: str) -> None:
    found = [FindingStands("prove_dead", outcome, "measured", 1.7e9, "f-1")]
    visit = Visit("visit-1", 0.0, 0.0, 0, findings=found)
    rows = {row["id"]: row for row in (await told(told_of_checks(visit)))["visit"]["rows"]}
    assert rows["prove_dead"]["goes_on"] == goes_on
    assert rows["isolate"]["goes_on"] == ""


@pytest.mark.parametrize(("asked", "outcome"), [(("prove_dead",), ""), ((), "cannot_tell")])
async def test_what_proves_nothing_any_more_is_made_anew_where_it_is_asked_for(
    asked: tuple[str, ...], outcome: str
) -> None:
    found = [FindingStands("prove_dead", "cannot_tell", "measured", 1.7e9, "f-1", past=True)]
    visit = Visit("visit-1", 0.0, 0.0, 0, findings=found, next=asked)
    rows = {row["id"]: row for row in (await told(told_of_checks(visit)))["visit"]["rows"]}
    assert (rows["prove_dead"]["goes_on"], rows["prove_dead"]["outcome"]) == ("", outcome)


async def test_another_part_has_a_line_of_its_own_where_all_that_were_found_are_met() -> None:
    found = [FindingStands("discharge", "met", "typed", 1.7e9, "f-1", part="run capacitor")]
    visit = Visit("visit-1", 0.0, 0.0, 0, findings=found, next=("discharge",))
    rows = [row for row in (await told(told_of_checks(visit)))["visit"]["rows"] if row["card"] == "discharge"]
    assert [(row["body"], row["asked"]) for row in rows] == [({"part": "run capacitor"}, False), ({}, True)]


async def test_what_a_part_could_not_be_told_goes_on_as_of_that_part_until_it_is_exchanged() -> None:
    measured = FindingStands("capacitor_measured", "cannot_tell", "measured", 1.7e9, "f-1", part="can")

    async def c3(*more: FindingStands) -> tuple[str, dict]:
        visit = Visit("v1", 0.0, 0.0, 0, findings=[measured, *more])
        rows = (await told(told_of_checks(visit)))["visit"]["rows"]
        return next((row["goes_on"], row["begins"]) for row in rows if row["card"] == "capacitor_measured")

    assert await c3() == ("f-1", {"part": "can"})
    for part, goes_on in (("", ""), ("can", ""), ("another", "f-1")):
        replaced = FindingStands("replacement", "met", "said", 1.7e9, "f-2", part=part)
        assert (await c3(replaced))[0] == goes_on


async def test_sections_that_were_said_as_it_was_discharged_are_not_asked_again() -> None:
    stands = FindingStands("discharge", "met", "said", 1.7e9, "f1")
    for sections, begins in (("dual", {"chosen sections": "dual"}), ("single", {})):
        hub = told_of_checks(Visit("v1", 0.0, 0.0, 0, findings=[stands]))
        said = Finding(
            "f1",
            1.7e9,
            "Sam",
            "technician",
            check="discharge",
            grade="said",
            outcome="met",
            choices={"sections": sections},
        )
        hub.receive(topic(RIG, "marks"), encode(said))
        assert begins_of(await told(hub))["capacitor_measured"] == begins


ON_ANOTHER_PAGE = {"correction", "check", "correct", "reload", "seen", "photograph"}
"""What no key of the Visit page asks: corrections and checks of an instrument stand on the Charge page, a configuration
is read again by a command, and that a stop was seen, and parts of a photograph, the page tells by itself."""
HEAD = (1.7e9, "Robin", "lead")
SAID: list[Mark] = [
    Question("q1", 1.7e9, "Sam", "technician", "Which capacitor?"),
    Reply("r1", *HEAD, "The 45 µF one.", of="q1"),
    Want("w1", *HEAD, "the nameplate", what="photograph"),
    Want("w2", *HEAD, "", what="reading"),
    Hold("h1", *HEAD, before="each_move"),
    Stop("s1", *HEAD, "Hands off: it restarts by itself."),
    CylinderDescribed("c1", 1.7e9, "Sam", "technician", name="C-7", use="virgin", refrigerant="R-410A"),
    Proposed("p1", 1.7e9, what=ProposedMove(0.17, 0.002), from_s=1.7e9, to_s=1.7e9, says=wire_rig.same("Keep?")),
    Waiting("x1", 1.7e9, "Sam", "technician", reason="parts"),
]


def cards_of(told: dict) -> list[dict]:
    return [*told["proposals"], *told["talk"], *(card for form in told["forms"] for card in form["cards"])]


def keys_of(card: dict) -> list[tuple[dict, dict]]:
    """Every key of a card, with the card of which it is; those of the forms that its keys open ask for both bodies."""
    own = [(card, key) for key in card["keys"] if not key["opens"]]
    opened = [key for key in card["keys"] if key["opens"]]
    return own + [
        (inner, {**inner_key, "body": {**key["body"], **inner_key["body"]}})
        for key in opened
        for inner, inner_key in keys_of(key["opens"])
    ]


async def test_every_key_asks_for_something_that_there_is_with_what_it_needs() -> None:
    hub = told_of_checks(Standing("visit-1", SAID).message())
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv"), Circuit("2", "R-410A", "txv")], parts=[Motor("blower")])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    hub.receive(topic(RIG, "units"), encode(Units([UnitBrief("AHU-2", "Basement", ["R-32"], 1.6e9)])))
    events = await told(hub)
    asked = {}
    for card in [*cards_of(events["visit"]), *events["checklist"]["cards"].values()]:
        for of, key in keys_of(card):
            does = [bool(key["ask"]), key["leaves"], key["adds"] != 0, bool(key["shows"])]
            assert does.count(True) == 1, (card["title"], key["says"])
            if not key["ask"]:
                continue
            assert key["ask"] in MAY_ASK, (card["title"], key["says"])
            asked.setdefault(key["ask"], (of, key))
            names = [field["name"] for field in of["fields"]]
            assert len(names) == len(set(names)), card["title"]
    assert {"acknowledge", "reply", "want", "hold", "release", "stop", "question", "keep", "dismiss", "finding"} <= set(
        asked
    )
    assert {"place", "hose", "added", "recovered", "cylinder", "describe", "resume", "wait", "sign", "note"} <= set(
        asked
    )
    assert events["visit"]["stop"] == {
        "id": "s1",
        "by": "Robin",
        "time": 1.7e9,
        "text": "Hands off: it restarts by itself.",
    }
    places = next(form for form in events["visit"]["forms"] if form["id"] == "places")["cards"]
    probe = next(card for card in places if card["title"] == "low side probe")
    assert [key["says"] for key in probe["keys"]] == ["On circuit 1", "On circuit 2", "Off", "One of them…"]
    motor = events["checklist"]["cards"]["motor_amps"]["fields"][0]
    assert (motor["name"], motor["options"]) == ("part", [["blower", "blower"]])
    asked = {
        word: [it["to"] for it in events["checklist"]["cards"][word]["fields"]] for word in ("motor_amps", "start")
    }
    assert "motor" not in asked["motor_amps"]  # its part tells; of a start what drives something else tells nothing
    assert "motor" in asked["start"]
    can = events["checklist"]["cards"]["capacitor_by_eye"]["fields"][0]  # a motor is no capacitor
    assert (can["name"], can["kind"], can["optional"]) == ("part", "text", True)


@pytest.mark.parametrize(
    ("on", "turns", "says"),
    [("", 1, "On nothing."), ("1", 1, "On: 1"), ("", 5, "Nobody has said where."), (None, 1, "Nobody has said where.")],
)
async def test_a_probe_says_where_it_is_and_that_it_is_on_nothing(on: str | None, turns: int, says: str) -> None:
    read_by = ("suction_pressure", "suction_line_temperature")
    places = {} if on is None else {name: ChannelPlace(on, turns) for name in read_by}
    elsewhere = {read_by[0]: "it is on nothing"} if on == "" else {}
    visit = Visit("visit-1", 0.0, 0.0, 0, circuit="1", places=places, elsewhere=elsewhere)
    forms = (await told(told_of_checks(visit)))["visit"]["forms"]
    cards = next(form["cards"] for form in forms if form["id"] == "places")
    probe = next(card for card in cards if card["title"] == "low side probe")
    assert probe["says"][1] == says
    assert ("it is on nothing" in probe["says"]) is (on == "" and turns != 1)


async def test_what_was_chosen_of_a_part_stands_there_as_it_goes_on() -> None:
    stands = FindingStands("capacitor_measured", "cannot_tell", "said", 1.7e9, "f1")
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0, findings=[stands], next=["capacitor_measured"]))
    said = Finding(
        "f1", 1.7e9, "Sam", "technician", check="capacitor_measured", grade="said", outcome="cannot_tell",
        choices={"sections": "fan"},
    )  # fmt: skip
    hub.receive(topic(RIG, "marks"), encode(said))
    assert begins_of(await told(hub))["capacitor_measured"] == {"chosen sections": "fan", "part": ""}


async def test_what_a_check_always_needs_is_asked_for_beforehand() -> None:
    cards = (await told(told_of_checks(Visit("v1", 0.0, 0.0, 0))))["checklist"]["cards"]

    def field(check: str, to: str) -> dict:
        return next(it for it in cards[check]["fields"] if it["to"] == to)

    assert field("which_unit", "told_by")["photographed"] == ["tag"]
    assert not field("connections", "torque_by")["optional"]


async def test_the_time_since_the_last_stop_is_asked_in_the_minutes_of_its_rule() -> None:
    card = (await told(told_of_checks(Visit("v1", 0.0, 0.0, 0))))["checklist"]["cards"]["power_back"]
    asked = next(field for field in card["fields"] if field["to"] == "since_stop")
    assert (asked["unit"], parse("5 min", asked["quantity"])) == ("min", 300.0)


async def test_a_stop_that_the_disk_refuses_says_so_on_both_pages_and_to_the_lead() -> None:
    stop = StopStands("s1", "Robin", "Hands off.", 1.7e9, saved=False)
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0, stop=stop))
    says = "Hands off. It counts all the same. NOT SAVED: the disk of the rig refuses it so far."
    visit = (await told(hub))["visit"]
    assert visit["stop"]["text"] == says
    assert visit["talk"][0]["says"][0] == says
    (pending,) = (await told(hub, "charge"))["marks"]["pending"]
    assert (pending["stops"], pending["text"]) == (says, f"STOP. {says}")


async def test_a_stop_that_was_acknowledged_lasts_on_both_pages_until_a_lead_says_go_on() -> None:
    stop = StopStands("s1", "Robin", "Hands off.", 1.7e9, acknowledged_s=1.7e9, acknowledged_by="Sam")
    for it, shown in (
        (stop, {"id": "s1", "by": "Robin", "time": 1.7e9, "unsaved": ""}),
        (replace(stop, acknowledged_s=None), None),
        (replace(stop, released_s=1.7e9, released_by="Kim"), None),
    ):
        hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0, stop=it))
        assert (await told(hub))["visit"]["stands"] == shown
        assert (await told(hub, "charge"))["marks"]["stands"] == shown
    assert (await told(hub))["visit"]["talk"][0]["says"] == ["Hands off.", "Sam has stopped.", "Kim said go on."]


async def test_a_visit_that_was_left_long_ago_asks_whether_it_is_still_the_same() -> None:
    told_of = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, progress=Progress(left_s=13 * 3600.0)))))[
        "visit"
    ]
    (left,) = told_of["talk"]
    assert left["title"] == "Is this still the same visit?"
    assert "nobody recorded anything here for 13 h" in left["says"][0]
    assert "prove dead again" in left["says"][0]
    same, new = left["keys"]
    assert (same["says"], same["ask"]) == ("Still the same visit", "resume")
    assert (new["ask"], new["body"]["fields"]["unit"]) == ("open", "RTU-K7Q-4")
    assert (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0))))["visit"]["talk"] == []


async def test_a_signed_visit_leads_to_another_and_shows_no_key_that_the_rig_would_refuse() -> None:
    hub = told_of_checks(
        Visit(
            "visit-1",
            0.0,
            0.0,
            0,
            notes=NOTED.notes,
            progress=Progress("signed", 1.7e9, "Sam"),
            next=("which_unit",),
            proposals=(ProposalStands("p1", 0.0, 0.0, 0.0, ProposedMove(-0.1, 0.002), Wording("Seen.", "Seen.")),),
        )
    )
    visit = (await told(hub))["visit"]
    assert (visit["signed"], visit["proposals"], visit["closing"]) == (True, [], [])
    assert not any(row["next"] or row["asked"] for row in visit["rows"])
    signed, note = visit["talk"]
    another, new = signed["keys"]
    assert (new["says"], new["ask"], new["body"]["fields"]["unit"]) == ("New visit to this unit", "open", "RTU-K7Q-4")
    assert another["says"] == "Another unit"
    assert another["shows"] in [form["id"] for form in visit["forms"]]
    assert note["says"] == ["Is the filter clean?"]
    asks = {key["ask"] for card in cards_of(visit) for _, key in keys_of(card)}
    left = {word_of(ask) for ask in APPENDED}  # what the rig itself lets pass
    assert asks - {""} <= left, asks
    assert {"note", "acknowledge", "open"} <= asks


@pytest.mark.parametrize(("as_liquid", "phase"), [(True, "liquid"), (False, "")])
def test_an_amount_is_kept_as_typed_and_as_liquid_at_first_only_where_it_is_charged_so(
    as_liquid: bool, phase: str
) -> None:
    """A zeotropic blend leaves its cylinder as liquid; of any other the person says it."""
    unit = wire_rig.unit(charge_as_liquid=as_liquid)
    (move,) = (it for it in moves.form(Visit("visit-1", 0.0, 0.0, 0), unit, "us").cards if it.id == "move")
    assert {it.name: it.value for it in move.fields}["phase"] == phase
    assert [(key.ask, key.body) for key in move.keys] == [
        (ask, {"fields": {"how": "typed"}}) for ask in ("recovered", "added")
    ]


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("country", ["", "US", "PR", "DE", "CH"])
def test_the_law_on_leaks_is_that_of_the_country_on_the_sheet_in_the_words_of_the_report(
    country: str, system: System
) -> None:
    small, large = Circuit("1", "R-410A", "txv", charge_kg=3.4), Circuit("2", "R-410A", "txv", charge_kg=30.0)
    ozone, unknown = Circuit("3", "R-22", "txv", charge_kg=50.0), Circuit("4", "R-410A", "txv")
    for circuit in (small, large, ozone, unknown):
        it = Journal(Sheet("RTU-M2D-1", [replace(circuit, name="1")], country=country))
        visit = Visit("visit-1", 0.0, 0.0, 0, circuits=[account(it.sheet.circuits[0], [], ())])
        (card,) = (it for it in moves.form(visit, wire_rig.unit(), system, country).cards if it.id == "circuit-1")
        _, *law = card.says
        report = words(it.report(system))
        assert law
        assert all(told in report for told in law)
        both = " ".join(law)
        assert ("CFR" in both or "federal" in both) is (country in ("", "US", "PR"))
        assert ("(EU) 2024" in both) is (country == "DE" or (not country and circuit in (small, large)))


def test_a_code_of_no_country_is_as_good_as_none() -> None:
    visit = Visit("visit-1", 0.0, 0.0, 0, circuits=[account(Circuit("1", "R-410A", "txv", charge_kg=30.0), [], ())])
    assert moves.form(visit, wire_rig.unit(), "us", "QQ") == moves.form(visit, wire_rig.unit(), "us", "")


def test_of_a_signed_visit_a_card_keeps_what_adds_to_it_and_goes_where_nothing_does() -> None:
    note, added = Key("Note", "note"), Key("Added", "added")
    for key in (note, Key("One more", adds=1), Key("One less", adds=-1), Key("Probes", shows="probes")):
        assert appending([Card("c", "Card", keys=(added, key))]) == [Card("c", "Card", keys=(key,))]
        opens = Key("More", opens=Card("d", "Form", keys=(added, key)))
        assert appending([Card("c", "Card", keys=(opens,))]) == [Card("c", "Card", keys=(opens,))]
    refused = Key("More", opens=Card("d", "Form", keys=(added,)))
    assert appending([Card("c", "Card", keys=(added, refused)), Card("t", "Told")]) == [Card("t", "Told")]


@pytest.mark.parametrize(("technician", "name"), [("technician", ""), ("Sam", "Sam")])
async def test_a_role_is_no_name_below_a_visit(technician: str, name: str) -> None:
    visit = Visit("visit-1", 0.0, 0.0, 0, progress=Progress("open", 1.7e9, technician))
    cards = cards_of((await told(hub_with(visit)))["visit"])
    (sign,) = [card for card in cards if card["id"] == "sign"]
    assert {field["name"]: field["value"] for field in sign["fields"]}["name"] == name


async def test_the_times_of_a_pattern_are_told_to_both_until_something_is_kept_of_it() -> None:
    times_s = (1.7e9 + 130, 1.7e9 + 260, 1.7e9 + 420, 1.7e9 + 600)
    begun = PatternBegun("x1", 1.7e9, "Sam", "technician", times_s=times_s)
    hub = told_of_checks(Standing("visit-1", [begun]).message())
    (card,) = [it for it in (await told(hub))["visit"]["talk"] if it["id"] == "pattern"]
    assert card["times"] == [[says, at] for says, at in zip(["Fan on", "Fan auto"] * 2, times_s, strict=True)]
    assert card["keys"] == []
    assert "never the cooling call" in card["says"][0]
    found = {"grade": "measured", "proposal": "p1"}
    unit = Chosen("k1", 1.7e9 + 900, "Sam", "technician", tag="RTU-K7Q-4", outcome="met", probability=0.98, **found)
    none = Chosen("k1", 1.7e9 + 900, "Sam", "technician", tag="", outcome="not_met", probability=0.97, **found)
    for kept, says in ((unit, "this unit: over 95 %"), (none, "none of these: over 95 %")):
        known = (await told(told_of_checks(Standing("visit-1", [begun, kept]).message())))["visit"]
        assert [it for it in known["talk"] if it["id"] == "pattern"] == []
        which = next(it for it in cards_of(known) if it["id"] == "which-unit")
        assert says in which["says"][0]
        assert any("was chosen by Sam" in each for each in which["says"]) == bool(kept.tag)
        assert {key["ask"] for _, key in keys_of(which)} == {"pattern", "choose"}


async def test_a_sheet_is_made_of_what_was_filled_in_and_stays_as_it_is_elsewhere() -> None:
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0))
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv", 3.4)], place="Roof", parts=[Motor("blower")])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    form = next(it for it in (await told(hub))["visit"]["forms"] if it["id"] == "units")
    here, *_, new = form["cards"]
    correct = next(key for _, key in keys_of(here) if key["ask"])
    written = {"sheet/circuits/0/target_subcooling_dk": ("10 degF", "temperature_difference")}
    fields = entered(correct["body"]["fields"], written, barometric_pressure_pa=None)
    ask = MADE_FROM["describe"](("a1", "Sam"), AskBody(fields=fields))
    assert ask.builds_on == hashlib.sha256(encode(sheet)).hexdigest()  # somebody may change it before this is sent
    assert ask.circuits_were == ["1"]
    assert ask.sheet.circuits[0].target_subcooling_dk == pytest.approx(10 / 1.8)
    assert (ask.sheet.circuits[0].charge_kg, ask.sheet.place, ask.sheet.parts[0].name) == (3.4, "Roof", "blower")
    assert [it["to"] for it in new["fields"] if it["needed"]] == ["tag"]
    asked = new["repeats"]["fields"]
    assert [it["to"] for it in asked if it["needed"]] == ["name", "refrigerant", "metering_device"]
    assert [it["to"] for it in asked if not it["needed"] and not it["optional"]] == [
        "charge_kg", "target_subcooling_dk", "target_superheat_dk", "rated_current_a",
    ]  # fmt: skip
    (refrigerants,) = [it for it in asked if it["to"] == "refrigerant"]
    assert {option for option, _ in refrigerants["options"]} == {*saturation.names()}
    assert refrigerants["options"][0] == ["R-410A", "R-410A"]
    assert refrigerants["shown"] == 6


async def test_a_look_begins_with_the_circuit_in_view() -> None:
    events = await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0, circuit="2")))
    assert begins_of(events)["looked_for"] == {"circuit": "2"}


async def test_a_circuit_is_brought_into_view_and_a_clamp_put_on_a_motor_by_one_touch() -> None:
    places = {"compressor_current": ChannelPlace("compressor 2", turns=2)}
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0, circuit="1", places=places))
    motors = [Motor(name, drives="compressor", circuit=name[-1]) for name in ("compressor 1", "compressor 2")]
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv"), Circuit("2", "R-410A", "txv")], parts=motors)
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    events = await told(hub)
    cards = {card["id"]: card for form in events["visit"]["forms"] if form["id"] == "places" for card in form["cards"]}

    def asks(card: str) -> dict[str, PlaceAsk]:
        bodies = {key["says"]: msgspec.convert(key["body"], AskBody) for _, key in keys_of(cards[card])}
        return {says: MADE_FROM["place"](("a1", "Sam"), body) for says, body in bodies.items()}

    assert "Circuit 1 is in view." in cards["circuit-in-view"]["says"]
    assert asks("circuit-in-view")["All on 2"] == PlaceAsk("a1", "Sam", on="2")
    closing = {key["says"] for card in cards.values() for _, key in keys_of(card) if key["closes"]}
    assert closing == {"All on 1", "All on 2"}  # of a probe or a hose the next is touched beside it
    one = asks("probe-low side probe")["Suction line: on 2"]
    assert (one.on, one.channels) == ("2", ["suction_line_temperature"])
    clamp = asks("clamp-compressor_current")
    amps = ["compressor_current"]
    assert clamp.keys() == {"On compressor 1", "1 ×", "5 ×", "10 ×"}  # and not what is so already
    assert clamp["On compressor 1"] == PlaceAsk("a1", "Sam", on="compressor 1", channels=amps, turns=2)
    assert clamp["10 ×"] == PlaceAsk("a1", "Sam", on="compressor 2", channels=amps, turns=10)
    alone = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(alone))
    forms = (await told(hub))["visit"]["forms"]
    assert "circuit-in-view" not in [card["id"] for form in forms for card in form["cards"]]


async def test_each_circuit_of_a_sheet_has_its_own_plate() -> None:
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0))
    sheet = Sheet("RTU-K7Q-4", [Circuit("A", "R-410A", "txv"), Circuit("B", "R-410A", "txv")])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    form = next(it for it in (await told(hub))["visit"]["forms"] if it["id"] == "units")
    correct = next(of for of, key in keys_of(form["cards"][0]) if key["ask"])
    charges = [(it["name"], it["into"]) for it in correct["fields"] if it["to"] == "charge_kg"]
    assert charges == [("charge_kg", "fields.sheet.circuits.0"), ("charge_kg_1", "fields.sheet.circuits.1")]
    assert len({it["label"] for it in correct["fields"]}) == len(correct["fields"])


async def test_a_circuit_is_renamed_with_its_compressor_and_a_part_is_corrected_and_added() -> None:
    hub = told_of_checks(Visit("visit-1", 0.0, 0.0, 0))
    motor = Motor("compressor", drives="compressor", circuit="1", rated_current_a=12.0)
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv"), Circuit("2", "R-410A", "txv")], parts=[motor])
    hub.receive(topic(RIG, "unit/RTU-K7Q-4"), encode(sheet))
    form = next(it for it in (await told(hub))["visit"]["forms"] if it["id"] == "units")
    here, parts = form["cards"][:2]
    correct = next(of for of, key in keys_of(here) if key["ask"])
    marked, _ = (it for it in correct["fields"] if it["to"] == "name" and "circuits" in it["into"])
    assert (marked["into"], marked["value"], marked["also"]) == (
        "fields.sheet.circuits.0", "1", ["fields.sheet.parts.0.circuit"],
    )  # fmt: skip
    assert here["keys"][0]["body"]["fields"]["circuits_were"] == ["1", "2"]

    def asks(kind: str, written: Written, **more: str) -> DescribeAsk:
        of, key = next((of, key) for of, key in keys_of(parts) if key["ask"] and of["id"] == kind)
        fields = entered(key["body"]["fields"], written, barometric_pressure_pa=None)
        number = 0 if kind == "parts" else 1
        fields["sheet"]["parts"][number] |= more
        assert {it["into"] for it in of["fields"]} == {f"fields.sheet.parts.{number}"}
        assert len({it["name"] for it in of["fields"]}) == len(of["fields"])
        made = MADE_FROM["describe"](("a1", "Sam"), AskBody(fields=fields))
        assert isinstance(made, DescribeAsk)
        assert made.builds_on == hashlib.sha256(encode(sheet)).hexdigest()
        return made

    corrected = asks("parts", {"sheet/parts/0/rated_current_a": ("13.5 A", "current")}).sheet
    assert corrected.parts == [replace(motor, rated_current_a=13.5)]
    can = asks("part-capacitor", {"sheet/parts/1/herm_f": ("45 uF", "capacitance")}, name="can").sheet.parts[1]
    assert can == Capacitor("can", herm_f=pytest.approx(45e-6))
    fan = asks("part-motor", {}, name="fan", drives="condenser_fan").sheet
    assert (fan.parts[0], fan.parts[1]) == (motor, Motor("fan", drives="condenser_fan"))
    assert asks("part-contactor", {}, name="contactor").sheet.parts[1] == Contactor("contactor")


# --- what a person writes in the trade's notation


def test_what_was_written_is_read_into_its_place() -> None:
    """45 microfarad and a gauge pressure: 118 psi x 6894.757 Pa (NIST SP 811, B.8) over 101 325 Pa."""
    whole = entered(
        {"check": "x", "sheet": {"circuits": [{"name": "1"}]}},
        {
            "values/herm": ("45 uF", "capacitance"),
            "values/volts.a_b": ("0.4 V", "voltage"),
            "values/turns": ("3", ""),
            "sheet/circuits/0/low": ("118 psig", "pressure"),
            "split": ("18 degF", "temperature_difference"),
        },
        barometric_pressure_pa=101_325.0,
    )
    assert whole["check"] == "x"
    assert whole["values"] == {"herm": pytest.approx(45e-6), "volts.a_b": pytest.approx(0.4), "turns": 3.0}
    assert whole["sheet"]["circuits"][0] == {"name": "1", "low": pytest.approx(118 * 6894.757 + 101_325)}
    assert whole["split"] == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("gauge_psi", "plate_psi", "outcome"),
    [(150, 150.0, "met"), (149, 150.0, "met"), (160, 150.0, "not_met"), (157, 150.0, "not_met")],
)
@pytest.mark.parametrize(("system", "unit", "of_a_psi"), [("us", "psig", 1.0), ("si", "kPa gauge", 6.894757)])
async def test_a_pressure_test_is_typed_as_gauge_and_nameplate_print_it(
    system: str, unit: str, of_a_psi: float, gauge_psi: float, plate_psi: float, outcome: str
) -> None:
    """Nobody adds the air's 14.7 psi: 157 on the gauge is above 150 on the plate. At 95 kPa of air, as at 1700 ft.

    150 psi are 1034.2 kPa (NIST SP 811, B.8). From one gauge to its nameplate the air cancels, and the test over the
    same pipes at one temperature holds.
    """
    air_pa = 95e3
    hub = told_of_checks(Visit("v1", 0.0, 0.0, 0), barometric_pressure_pa=air_pa)
    fields = {
        it["to"] or it["name"]: it for it in (await told(hub, system=system))["checklist"]["cards"]["opened"]["fields"]
    }
    pressures = {name: it for name, it in fields.items() if name.startswith("nitrogen.") or name == "plate_limit"}
    assert {it["unit"] for it in pressures.values()} == {unit}
    assert not [it["label"] for it in pressures.values() if "absolute" in it["label"]]
    typed = {"nitrogen.start": gauge_psi, "nitrogen.end": gauge_psi, "plate_limit": plate_psi}
    written = {
        f"values/{name}": (f"{typed[name] * of_a_psi:.1f} {unit}", it["quantity"]) for name, it in pressures.items()
    }
    values = entered({}, written, barometric_pressure_pa=air_pa)["values"]
    assert values["nitrogen.start"] == pytest.approx(gauge_psi * 6894.757 + air_pa, abs=60.0)
    assert values["plate_limit"] == pytest.approx(plate_psi * 6894.757 + air_pa, abs=60.0)
    held = values | {"pipe.start": 294.3, "pipe.end": 294.3, "vacuum": 47.0, "isolated_for": 1260.0}
    held |= {"weighed_in": 3.4, "charge_due": 3.4}
    choices = {
        "level_verified": "yes",
        "gas": "nitrogen",
        "tested": "last",
        "vacuum_course": "holds",
        "drier": "renewed",
        "purged": "yes",
        "flowing": "yes",
    }
    assert find("opened", held, choices, accuracies=exact(held, 1e-4)).outcome == outcome


def test_a_typed_pressure_that_does_not_say_what_it_counts_from_is_asked_about() -> None:
    """4150 kPa off a gauge is no 4150 kPa absolute: 101 kPa too much would be let into the pipes."""
    for text in ("4150 kPa", "4.15 MPa", "41.5 bar", "602 psi"):
        with pytest.raises(AskError, match="does not say what it counts from"):
            entered({}, {"values/plate_limit": (text, "pressure")}, barometric_pressure_pa=101_325.0)
    vacuum = entered({}, {"values/vacuum": ("65 Pa", "vacuum_pressure")}, barometric_pressure_pa=101_325.0)
    assert vacuum["values"] == {"vacuum": pytest.approx(65.0)}


@pytest.mark.parametrize(
    ("text", "share"),
    [("6", 0.06), ("6 %", 0.06), ("6%", 0.06), ("5,5", 0.055), ("0.06", 0.06), ("0,5", 0.5), ("0.5 %", 0.005),
     ("1 %", 0.01), ("100", 1.0), ("100 %", 1.0), ("150 percent", 1.5), ("0", 0.0)],
)  # fmt: skip
def test_a_share_may_be_written_as_its_label_has_it_in_percent(text: str, share: float) -> None:
    """A label says ±6 %; what is below 1 is the share itself. Arithmetic."""
    for path in ("values/tolerance", "sheet/parts/tolerance_share"):
        *way, name = path.split("/")
        read = entered({}, {path: (text, "ratio")}, barometric_pressure_pa=None)
        for step in way:
            read = read[step]
        assert read[name] == pytest.approx(share)


async def test_where_a_share_is_asked_for_its_unit_stands_beside_it() -> None:
    cards = (await told(told_of_checks(Visit("visit-1", 0.0, 0.0, 0))))["checklist"]["cards"]
    for check in ("capacitor_measured", "capacitor_by_eye", "replacement", "capacitor_under_load"):
        assert {it["unit"] for it in cards[check]["fields"] if it["name"] == "tolerance"} == {"%"}


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ({"a": ("1", "ratio")}, "1 may be 1 % or 100 %"),
        ({"a": ("1.0", "ratio")}, "1.0 may be 1 % or 100 %"),
        ({"a": ("loud", "voltage")}, "cannot be read"),
        ({"a": ("5 kg", "voltage")}, "cannot be read"),
        ({"a": ("1e999", "")}, "no number"),
        ({"a": ("5 V", "loudness")}, "no quantity"),
        ({"check/a": ("5", "")}, "leads nowhere"),
        ({"list/7/a": ("5", "")}, "leads nowhere"),
        ({"list/0": ("5", "")}, "leads nowhere"),
        ({"a/b/c/d/e/f/g": ("5", "")}, "deeper than any ask"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_it_is(written: dict, says: str) -> None:
    with pytest.raises(AskError, match=says) as refused:
        entered({"check": "x", "list": [{}]}, written, barometric_pressure_pa=None)
    assert refused.value.status == 400
