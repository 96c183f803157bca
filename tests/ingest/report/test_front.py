"""The front, for the owner: the outcome with every danger on top, in plain words, complete or told as not recorded.

What it has to say, and never says, stands in the design of the page: common practice, no source.
"""

import re
from typing import Any

import pytest
from msgspec.structs import replace

from ingest.report.compose import compose
from ingest.report.document import Headline, Signature
from ingest.wire.messages import ChargeLeft, Correction, Finding, HandedOver, Note, Recovered, Reply, Stop, Wording
from tests.cases import case
from tests.ingest.report.journal import BURNS, ONE, OUNCE_KG, UNIT, Journal, circuit
from tests.ingest.report.reading import front, section, words
from tests.ingest.report.recorded import Shelf, names, read
from tests.rigs import make_pack


def headline(journal: Journal) -> str:
    block = journal.report().front[0].blocks[0]
    assert isinstance(block, Headline)
    return block.says.text


@pytest.mark.parametrize(
    ("left", "says"),
    [
        ("running", "It runs."),
        ("concern", "It runs, with a concern."),
        ("off", "It is off and locked: do not switch it on."),
    ],
)
def test_one_of_three_outcomes_stands_on_top(left: str, says: str) -> None:
    it = Journal()
    it.handed_over(left)
    assert headline(it) == says


def test_as_it_was_left_stands_on_top_though_nobody_handed_it_over() -> None:
    for choices, says in (
        ({"power": "left_off"}, "It is off and locked: do not switch it on."),
        ({"runs": "own_call"}, "It runs."),
        ({}, "Not finished yet: how it is left is not recorded."),
    ):
        it = Journal()
        it.found("as_it_was", choices=choices)
        assert headline(it) == says


def test_what_does_not_run_is_never_said_to_run() -> None:
    it = Journal()
    it.found("as_it_was", "not_met", choices={"runs": "no"})
    it.handed_over("concern", "not")
    assert headline(it) == "It does not run."


def test_that_it_cools_is_said_where_its_air_was_measured() -> None:
    it = Journal()
    it.found("air", values={"return_air": 297.6, "supply_air": 287.4})
    it.handed_over()
    assert headline(it) == "It runs and cools."


def test_whether_it_cools_is_told_by_its_air_at_the_end_and_not_as_it_was_found() -> None:
    it = Journal()
    arrived = it.found("as_it_was")
    it.handed_over()
    shelf = it.shelf()
    for mark, supply_k in ((arrived, 297.6), (it.marks[-1].id, 287.4)):
        (time_s,) = (found.time_s for found in it.marks if found.id == mark)
        air = {"return_air_temperature": 297.6, "supply_air_temperature": supply_k}
        shelf.packs["v1"].append(replace(make_pack(time_s, **air), sequence=len(shelf.packs["v1"]) + 1))
    block = compose(shelf, "v1", system="us", zone="UTC").front[0].blocks[0]
    assert isinstance(block, Headline)
    assert block.says.text == "It runs and cools."


@pytest.mark.parametrize("left", ["running", "off"])
@pytest.mark.parametrize(
    ("check", "choices", "says"),
    [
        ("look_first", {"bypassed": "found"}, "a safety of this unit is bypassed by a wire"),
        ("look_first", {"bypassed": "reported"}, "a safety of this unit is bypassed by a wire"),
        ("as_it_was", {"jumpers_out": "fewer"}, "a wire that bypasses a part of it is still in"),
        ("as_it_was", {"runs": "jumper"}, "a wire that bypasses a part of it is still in"),
        ("as_it_was", {"leak_detector": "bypassed"}, "its leak detector is bypassed"),
    ],
)
def test_what_is_bypassed_stands_on_the_first_line(left: str, check: str, choices: dict[str, str], says: str) -> None:
    it = Journal()
    it.found(check, "not_met", choices=choices)
    it.handed_over(left)
    assert says in headline(it)
    assert not headline(it).startswith("It runs:")
    assert not headline(it).startswith("It runs and")


def test_a_leak_of_what_burns_stands_there_too_and_another_does_not() -> None:
    for sheet, is_there in ((BURNS, True), (ONE, False)):
        it = Journal(sheet)
        it.found("leaks", "not_met", choices={"by": "bubbles", "joints": "leak", "places": "the flare nut"})
        it.handed_over()
        assert ("refrigerant that burns leaks from it" in headline(it)) is is_there
        assert "and found: “the flare nut”" in section(it.report(), "Refrigerant")


def test_a_leak_of_an_earlier_visit_that_nobody_repaired_stands_there_and_at_its_circuit() -> None:
    before, now = Journal(UNIT), Journal(UNIT)
    before.found("leaks", "not_met", choices={"by": "bubbles", "joints": "leak"}, circuit="2")
    before.marks = [replace(mark, id=f"b{mark.id}") for mark in before.marks]
    now.now_s += 40 * 86_400.0
    now.found("leaks", choices={"by": "detector", "joints": "tight"}, circuit="1")
    now.handed_over()
    shelf = before.shelf()
    shelf.put("v2", UNIT.tag, now.marks)
    report = compose(shelf, "v2", system="us", zone="UTC")
    assert "refrigerant that burns leaks from it" in front(report)[0].text  # R-454B, class A2L: ASHRAE 34
    first, second = section(report, "Refrigerant").split("Circuit 2 holds")
    leaks = "A leak was found on 30 May 2026, and no repair is recorded since."
    assert (leaks in first, leaks in second) == (False, True)
    sought = "none found"
    assert (sought in first, sought in second) == (True, False)


def test_a_leak_that_was_repaired_is_none_any_more() -> None:
    it = Journal(BURNS)
    it.found("leaks", "not_met", choices={"by": "bubbles", "joints": "leak"})
    it.found("opened", choices={"gas": "nitrogen", "vacuum_course": "holds"})
    it.handed_over()
    assert headline(it) == "It runs."


def test_the_owners_words_and_the_answer_stand_beside_each_other() -> None:
    it = Journal()
    it.found("complaint", choices={"complaint": "It stops every hot afternoon."}, grade="said")
    it.found("air", values={"return_air": 297.6, "supply_air": 287.4})
    it.handed_over(complaint="better")
    told = section(it.report("si"), "You told us, and now")
    assert "“It stops every hot afternoon.”" in told
    assert "Better, not gone. Air goes in at 24 °C and comes out at 14 °C (we measured)." in told


NEVER_FOR_OWNERS = (
    "superheat", "subcooling", "TXV", "EEV", "µF", "uF", "microfarad", "RLA", "FLA", "LRA", "MCA", "psig", "wet bulb",
    "dew point", "bubble point", "suction", "fixed orifice",
)  # fmt: skip
NEVER = ("safe", "optimal", "certified", "guaranteed", "guarantee", "per code", "top-up", "score", "grade", "95 %")


@pytest.mark.parametrize("name", names())
def test_no_word_of_the_trade_nor_promise_stands_on_the_front(name: str) -> None:
    visit = read(name)
    told = words(compose(Shelf(visit), visit.id, system="us", zone="UTC"), "front")
    for word in (*NEVER_FOR_OWNERS, *NEVER):
        with case(word):
            assert not re.search(rf"(?<![A-Za-z]){re.escape(word)}(?![A-Za-z])", told, re.IGNORECASE)


def test_each_cause_is_told_with_how_sure_that_is() -> None:
    it = Journal()
    measured = {"measured.herm": 9e-6, "label.herm": 45e-6}
    it.found("capacitor_measured", "not_met", values=measured, part="run capacitor")
    it.found("connections", "not_met", "said", choices={"found": "a_turn", "heat": "seen"})
    it.found("cause", "met", "said", choices={"cause": "loose_joint"})
    told = section(it.report(), "What we found")
    assert "about a fifth of the strength on its label left (we measured)" in told
    assert "was loose and had been hot; which one is not recorded (we saw)" in told
    assert "It likely failed from heat from a loose wire connection." in told


def test_what_nobody_knows_is_said_so() -> None:
    it = Journal()
    it.found("windings", "not_met", values={"ohms.start_run": 1e6}, part="compressor 1")
    assert "Why the part failed was not found out." in section(it.report(), "What we found")
    it.found("cause", "not_met", choices={"cause": "unknown"})
    assert "We do not know why it failed." in section(it.report(), "What we found")
    assert "have it found out why the part failed" in section(it.report(), "What to do, and by when")


def test_a_new_part_is_told_with_its_size_its_why_and_the_old_one() -> None:
    it = Journal()
    it.found("replacement", choices={"old_part": "kept", "why": "It was weak."}, part="run capacitor")
    told = section(it.report(), "What we did")
    assert told == "Replaced the run capacitor by one of the same size. The old part was kept. Why: “It was weak.”"


def moved(journal: Journal, before_k: float, after_k: float, outdoor_k: tuple[float, float]) -> None:
    spreads = {"subcooling": 0.3}
    before, after = ({"subcooling": dk, "outdoor": k} for dk, k in zip((before_k, after_k), outdoor_k, strict=True))
    journal.found("readings_before", values=before, standard_uncertainties=spreads)
    journal.added(4.0)
    journal.found("readings_after", values=after, standard_uncertainties=spreads)


def test_before_and_after_are_told_with_their_conditions() -> None:
    it = Journal()  # its plate asks for 5.5 K of subcooling
    moved(it, 1.0, 5.4, (304.0, 304.5))
    told = section(it.report(), "Before and after")
    assert "too little\nright" in told
    assert "Outdoors it was 88 °F before and 88 °F after: like conditions." in told
    it = Journal()
    moved(it, 1.0, 5.4, (298.0, 308.0))
    assert "the conditions differ, so compare with care" in section(it.report(), "Before and after")


def test_too_little_is_short_of_refrigerant() -> None:
    it = Journal()
    moved(it, 1.0, 5.4, (304.0, 304.5))
    assert "short of refrigerant by the maker's own figure (we measured)" in section(it.report(), "What we found")
    assert "We do not know whether it leaks" in section(it.report(), "What we could not tell, or did not check")


def test_what_could_not_be_told_is_always_there() -> None:
    title = "What we could not tell, or did not check"
    it = Journal()
    it.found("supply", "cannot_tell")
    it.found("windings", "skipped", reason="not_reachable", text="Behind the duct.")
    it.found("panels", "skipped", reason="not_fitted")
    told = section(it.report(), title)
    assert "We could not tell: the supply voltage." in told
    assert "We did not check: the windings of the motor (could not be reached; Behind the duct.)." in told
    assert "panel" not in told.partition("Not done")[0]
    for name in names():
        visit = read(name)
        assert section(compose(Shelf(visit), visit.id, system="us", zone="UTC"), title)


def test_refrigerant_is_told_with_how_it_burns_and_how_its_mass_is_known() -> None:
    it = Journal(UNIT)
    it.added(6.0, circuit="2")
    it.add(Recovered, mass_kg=1.0, circuit="1", how="estimated")
    told = section(it.report(), "Refrigerant")
    assert "Circuit 1 holds R-410A, which does not burn." in told
    assert "Circuit 2 holds R-454B, which burns, though slowly" in told
    assert "6 oz added (by a scale) and none recovered." in told
    assert "None added and 2 lb 3.3 oz recovered (estimated)." in told  # 1 kg: NIST SP 811
    assert told.count("No federal leak rule covers this circuit") == 2  # for each another charge
    alike = replace(UNIT, circuits=[circuit(name="1"), circuit(name="2")])
    told_once = section(Journal(alike).report(zone="America/Chicago"), "Refrigerant")
    assert told_once.count("Circuit 1: No federal leak rule covers this circuit") == 1
    assert "Local rules may ask for more. The same holds for circuit 2." in told_once
    assert "1.00 kg recovered" in section(it.report("si"), "Refrigerant")


def test_what_was_added_since_the_record_begins_is_told_with_its_days() -> None:
    before, now = Journal(), Journal()
    before.marks = [replace(mark, id=f"b{mark.id}") for mark in before.marks]
    before.added(6.0)
    now.now_s += 40 * 86_400.0
    now.added(4.0)
    now.marks = [replace(mark, id=f"n{mark.id}") for mark in now.marks]
    shelf = before.shelf()
    shelf.put("v2", ONE.tag, now.marks)
    told = section(compose(shelf, "v2", system="us", zone="UTC"), "Refrigerant")
    assert "Since the record of it begins 10 oz was added in all: 30 May 2026 and at this visit." in told


def test_what_to_do_has_a_day_and_what_happens_otherwise() -> None:
    it = Journal()
    it.added(4.0)
    it.found("readings_after", values={"subcooling": 5.4})
    it.handed_over(next_reading="2026-08-28", owner="Told; decides later.")
    told = section(it.report(), "What to do, and by when")
    assert "By 28 August 2026: have the refrigerant level read again; only then we know whether it leaks." in told
    assert "What you were told and what you decided: “Told; decides later.”" in told
    it = Journal()
    it.added(4.0)
    assert "By 30 June 2026" in section(it.report(), "What to do, and by when")  # a month: 40 CFR asks for no day


@pytest.mark.parametrize(
    ("at_the_look", "at_the_handover", "by"),
    [
        ("2026-06-30", "2026-08-28", "By 30 June 2026"),
        ("2026-09-30", "2026-08-28", "By 28 August 2026"),
        ("2026-06-30", "in autumn", "By 30 June 2026"),
        ("in four weeks", "in autumn", "When: “in autumn”"),
    ],
)
def test_of_two_days_on_which_it_is_to_be_read_again_the_first_one_stands(
    at_the_look: str, at_the_handover: str, by: str
) -> None:
    it = Journal()
    it.added(4.0)
    it.found("leaks", choices={"by": "bubbles", "joints": "tight", "read_again": at_the_look})
    it.found("readings_after", values={"subcooling": 5.4})
    it.handed_over(next_reading=at_the_handover)
    told = section(it.report(), "What to do, and by when")
    assert told.count("read again") == 1
    assert f"{by}: have the refrigerant level read again" in told


def test_at_most_three_things_are_to_be_done() -> None:
    it = Journal()
    it.found("look_first", "not_met", choices={"bypassed": "found"})
    it.found("leaks", "not_met", choices={"joints": "leak"})
    it.found("cause", "not_met", choices={"cause": "unknown"})
    it.handed_over(next_reading="2026-08-28")
    told = section(it.report(), "What to do, and by when").splitlines()
    assert len(told) == 4  # and what was decided
    assert told[0].startswith("At once: have the bypassed safety restored.")


def test_who_is_told_and_what_nobody_said_is_not_recorded() -> None:
    it = Journal()
    it.add(HandedOver, to="Kim")
    it.handed_over()
    assert section(it.report(), "Who").count("not recorded") == 4
    strokes = [[(0.1, 0.2), (0.3, 0.4)], [(0.5, 0.5)]]
    it.signed(
        strokes=strokes,
        company="Field and Daughter",
        certificate="12345, universal",
        owner="Jo Field\n2 Mill Street",
        owner_strokes=strokes[:1],
    )
    report = it.report(zone="America/Denver")
    told = section(report, "Who")
    for part in ("Sam and Kim", "Field and Daughter", "12345, universal", "Jo Field, 2 Mill Street", "30 May 2026"):
        assert part in told
    assert "not recorded" not in told
    signatures = [it for it in report.front[-1].blocks if isinstance(it, Signature)]
    assert [list(map(list, it.strokes)) for it in signatures] == [strokes, strokes[:1]]
    assert signatures[0].says.text == "Sam, 30 May 2026, 06:33"  # mountain daylight time: six hours behind


def test_a_draft_says_so() -> None:
    report = Journal().report()
    assert not report.signed
    assert "Not signed yet: this is a draft." in section(report, "Who")
    assert headline(Journal()) == "Not finished yet: how it is left is not recorded."


def corrected() -> Journal:
    it = Journal()
    move = it.added(6.0)
    it.handed_over()
    it.signed()
    it.add(Correction, of=move, mass_kg=5 * OUNCE_KG, by="Kim")
    it.add(Note, text="The label was smudged.", by="Kim")
    it.add(Note, text="Mind your hands next time.", by="Robin", role="lead")
    return it


def test_what_was_corrected_after_the_signature_is_appended_and_the_page_stays() -> None:
    report, before = corrected().report(), corrected()
    appended = section(report, "Added after the signature")
    assert "30 May 2026, 12:34, Kim: the 6 oz that was added at 12:31 was 5 oz." in appended
    assert "30 May 2026, 12:35, Kim: “The label was smudged.”" in appended
    assert "Something was corrected after this was signed" in section(report, "Outcome")
    before.marks = before.marks[:-3]
    unchanged = {it.text for it in front(before.report())}
    assert unchanged - {it.text for it in front(report)} == set()
    assert report.digest == before.report().digest
    assert report.code == before.report().code


def test_what_a_lead_says_stands_nowhere() -> None:
    it = corrected()
    note = it.add(Note, text="Slower with that hose.", by="Robin", role="lead")
    it.add(Reply, of=note, text="Slower with that hose.", by="Robin", role="lead")
    it.add(Stop, text="Slower with that hose.", by="Robin", role="lead")
    told = words(it.report())
    assert "Slower" not in told
    assert "Mind your hands" not in told


def test_no_code_of_a_door_stands_anywhere() -> None:
    it = Journal(replace(ONE, access="Ladder at the back. Door code 4711#. Then left"))
    it.handed_over(next_person="Key box 0815; mind the wasps")
    told = words(it.report())
    assert "4711" not in told
    assert "0815" not in told
    assert "Ladder at the back." in told
    assert "mind the wasps" in told


def test_a_record_that_is_not_as_it_was_signed_is_told() -> None:
    it = Journal()
    it.found("panels")
    it.handed_over()
    it.signed()
    assert "The record is not as it was signed" not in words(it.report())
    it.marks = [mark for mark in it.marks if not (isinstance(mark, Finding) and mark.check == "panels")]
    assert "The record is not as it was signed" in words(it.report())


def test_a_unit_of_which_nobody_knows_anything_has_a_report() -> None:
    shelf = Shelf.of("v1", "RTU-9", Journal().marks)
    told: Any = compose(shelf, "v1", system="us", zone="UTC")
    assert told.place == ""
    assert "Which refrigerant is in it is not recorded." in section(told, "Refrigerant")


def test_a_level_within_its_limits_and_low_is_told_as_that() -> None:
    it = Journal(replace(ONE, circuits=[circuit(target_subcooling_dk=5.5)]))
    moved(it, 4.4, 5.4, (304.0, 304.0))
    assert "a little low on refrigerant by the maker's own figure, though within its range" in section(
        it.report(), "What we found"
    )


ADD = Wording("Add 5 oz.", "Add 140 g.", "headline.add")


@pytest.mark.parametrize(
    ("left", "us", "si"),
    [
        (
            {"reason": "none_today", "advised_kg": 0.14},
            "Left as it is: no more refrigerant today, against the advice to add 5 oz.",
            "Left as it is: no more refrigerant today, against the advice to add 140 g.",
        ),
        (
            {"reason": "other", "text": "The roof is wet", "advised_kg": -0.14},
            "Left as it is: “The roof is wet”, against the advice to recover 5 oz.",
            "Left as it is: “The roof is wet”, against the advice to recover 140 g.",
        ),
        (
            {"reason": "owner"},
            "Left as it is: the owner decides, against the advice to look further before that is judged.",
            "Left as it is: the owner decides, against the advice to look further before that is judged.",
        ),
    ],
)
def test_a_charge_that_was_left_against_advice_is_told_and_never_called_right(
    left: dict[str, Any], us: str, si: str
) -> None:
    it = Journal()
    it.added(4.0)
    mark = it.add(ChargeLeft, advised=ADD, circuit=it.sheet.circuits[0].name, **left)
    it.handed_over()
    for system, says in (("us", us), ("si", si)):
        report = it.report(system)  # type: ignore[arg-type]
        (told,) = [statement for statement in front(report) if statement.text == says]
        assert mark in told.evidence
    assert headline(it) == (
        "It runs, with a concern: its refrigerant was left as it is, against what its figures ask for."
    )
    assert "Now: have the refrigerant level put right." in section(it.report(), "What to do, and by when")
    done = section(it.report(), "Advice given, and what was done")
    assert f"Add 5 oz. Done: l{us[1:]}" in done
    it.added(5.0)  # and then it was moved after all
    assert "eft as it is" not in words(it.report(), "front")
