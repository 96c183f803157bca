"""Proposals: what waits for a person, and what one touch makes of it."""

import dataclasses
from functools import partial
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from ingest.visit.deciding import DoubtfulError, Facts, RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.proposals import is_alike, is_same
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    Described,
    DismissAsk,
    Dismissed,
    Finding,
    KeepAsk,
    LeftAlone,
    Mark,
    Outcome,
    Placed,
    PowerRead,
    Proposed,
    ProposedFinding,
    ProposedMove,
    ProposedPlace,
    ProposedUnit,
    Reading,
    Recovered,
    Sheet,
    WhatProposed,
    Wording,
    decode,
    encode,
)
from tests import wire_rig
from tests.ingest.visit.moves import Visit, circuit, kinds

TIME_S = 1.7e9
HEAD = ("k1", TIME_S + 60.0, "Sam", "technician")
OUNCE_KG = 0.028349523125  # NIST SP 811, B.8
FACTS = Facts(
    replace(wire_rig.about(started_s=TIME_S).unit, nameplate_charge_kg=120 * OUNCE_KG), {}, frozenset(), frozenset()
)


def replace_facts(**changes: Any) -> Facts:
    return dataclasses.replace(FACTS, **changes)


ISOLATED = ProposedFinding(
    "isolate",
    values={"amps.compressor": 0.0},
    standard_uncertainties={"amps.compressor": 0.1},
    choices={"disconnect_state": "open"},
)


def proposed(name: str, what: WhatProposed = ISOLATED, from_s: float = TIME_S, to_s: float = TIME_S + 10) -> Proposed:
    says = Wording("No amps. Keep?", "No amps. Keep?", kind="noticed.power_off")
    return Proposed(name, to_s, what=what, from_s=from_s, to_s=to_s, says=says)


def keep(standing: Standing, of: str, **fields: Any) -> Mark:
    return DECISIONS[KeepAsk](KeepAsk("k1", "Sam", of=of, **fields), HEAD, standing, FACTS)  # type: ignore[arg-type]


def dismiss(standing: Standing, of: str, text: str = "") -> Mark:
    return DECISIONS[DismissAsk](DismissAsk("k1", "Sam", of=of, text=text), HEAD, standing, FACTS)  # type: ignore[arg-type]


def waiting(standing: Standing) -> list[str]:
    return [each.id for each in standing.message().proposals]


def test_a_finding_that_is_kept_is_measured_and_names_its_proposal() -> None:
    kept = keep(Standing("v1", [proposed("p1")]), "p1")
    assert isinstance(kept, Finding)
    assert (kept.id, kept.by, kept.grade, kept.check, kept.proposal) == ("k1", "Sam", "measured", "isolate", "p1")
    assert (kept.values, kept.standard_uncertainties, kept.choices) == (
        ISOLATED.values,
        ISOLATED.standard_uncertainties,
        ISOLATED.choices,
    )


CAPACITOR = ProposedFinding(
    "capacitor_measured",
    values={"measured.?": 44e-6, "label.herm": 45e-6, "tolerance": 0.06},
    standard_uncertainties={"measured.?": 0.2e-6},
    per={"herm": "Herm to common", "fan": "Fan to common"},
)


def test_who_keeps_says_what_no_instrument_tells() -> None:
    standing = Standing("v1", [proposed("p1", CAPACITOR)])
    kept = keep(standing, "p1", per=["herm"])
    assert isinstance(kept, Finding)
    assert kept.values == {"measured.herm": 44e-6, "label.herm": 45e-6, "tolerance": 0.06}
    assert kept.accuracies == {"measured.herm": 0.4e-6}
    for per in ([], ["start"], ["herm", "start"]):
        with pytest.raises(RefusedError, match="one or several of herm, fan was expected"):
            keep(standing, "p1", per=per)
    with pytest.raises(RefusedError, match="proposes no finding"):
        keep(Standing("v1", [proposed("p1", ProposedMove(0.1, 0.01))]), "p1", phase="liquid", per=["herm"])


def test_one_section_after_another_makes_one_finding_and_nothing_that_was_dead_counts_again() -> None:
    herm = replace(CAPACITOR, values={"measured.herm": 44e-6}, per={}, standard_uncertainties={})
    fan = replace(CAPACITOR, values={"measured.fan": 5e-6}, per={}, standard_uncertainties={})
    again = proposed("p4", from_s=TIME_S + 100, to_s=TIME_S + 100)
    standing = Standing("v1", [proposed("p1", herm), proposed("p2", fan), proposed("p3"), again])
    for number in (1, 2, 3):
        standing.take(replace(keep(standing, f"p{number}"), id=f"k{number}"))
    both = standing.findings.newest("capacitor_measured", "")
    assert both is not None
    assert both.values == {"measured.herm": 44e-6, "measured.fan": 5e-6}
    last = keep(standing, "p4")
    assert isinstance(last, Finding)
    assert last.values == ISOLATED.values
    assert last.builds_on == ""


@pytest.mark.parametrize(("mass_kg", "kind"), [(0.17, Added), (-0.17, Recovered)])
def test_a_move_that_is_kept_is_added_or_recovered(mass_kg: float, kind: type[Added | Recovered]) -> None:
    standing = Standing("v1", [Added("a", TIME_S, mass_kg=0.5), proposed("p1", ProposedMove(mass_kg, 0.01))])
    kept = keep(standing, "p1", phase="liquid")
    assert kept == kind(*HEAD, mass_kg=0.17, phase="liquid", how="scale", proposal="p1")
    before_kg = standing.message().added_kg
    standing.take(kept)
    assert (standing.message().added_kg, standing.message().recovered_kg) == (
        before_kg + (0.17 if mass_kg > 0 else 0.0),
        0.17 if mass_kg < 0 else 0.0,
    )


def test_who_knows_better_how_much_it_was_says_so() -> None:
    kept = keep(Standing("v1", [proposed("p1", ProposedMove(0.17, 0.01))]), "p1", mass_kg=0.15, phase="liquid")
    assert kept == Added(*HEAD, mass_kg=0.15, phase="liquid", how="typed", proposal="p1")


def test_a_move_is_kept_of_the_circuit_that_was_in_view_while_it_was_seen() -> None:
    visit = Visit(circuit("1"), circuit("2"))
    visit.take(proposed("p1", ProposedMove(0.17, 0.01, circuit="1")))
    visit.take(Placed("b1", TIME_S, on="2", channels=("suction_pressure",)))
    assert visit.standing.placing.circuit == "2"
    visit.ask(KeepAsk("k1", "Sam", of="p1", phase="liquid"))
    assert {it.circuit: it.added_kg for it in visit.standing.message().circuits} == {"1": 0.17, "2": 0.0}


def test_readings_after_a_move_are_withdrawn_by_the_next_one_of_their_circuit() -> None:
    def read(check: str, circuit: str = "1") -> ProposedFinding:
        return ProposedFinding(check, values={"subcooling": 2.8}, choices={"settled": "yes"}, circuit=circuit)

    standing = Standing("v1", [
        proposed("before", read("readings_before")), proposed("other", read("readings_after", "2")),
        proposed("after", read("readings_after")),
    ])  # fmt: skip
    moved = Added("a1", TIME_S + 18.0, "Kim", "technician", mass_kg=0.35, phase="liquid", circuit="1")
    standing.take(moved)
    assert waiting(standing) == ["before", "other"]  # what was so before any move is told of that
    for answer in (keep, dismiss):
        with pytest.raises(RefusedError, match="Kim moved refrigerant since it was seen"):
            answer(standing, "after")
    standing.take(proposed("again", read("readings_after"), moved.time_s + 400.0, moved.time_s + 410.0))
    standing.take(Added("a2", moved.time_s + 390.0, "Kim", "technician", mass_kg=0.1, phase="liquid", circuit="1"))
    assert waiting(standing) == ["before", "other", "again"]  # it was seen after that one


def test_a_move_that_is_kept_has_its_circuit_as_it_is_named_now() -> None:
    visit = Visit(circuit("1"), circuit("2"))
    visit.take(proposed("p1", ProposedMove(0.17, 0.01, circuit="1")))
    renamed = Sheet("RTU-K7Q-4", [circuit("east"), circuit("2")])
    visit.take(Described("d1", TIME_S, sheet=renamed, circuits_were=["1", "2"]))
    waits = visit.standing.proposals.waiting("p1")
    assert waits is not None
    assert isinstance(waits.what, ProposedMove)
    assert waits.what.circuit == "east"


@pytest.mark.parametrize(
    ("noted_kg", "at_s", "fields", "asked"),
    [
        (0.17, 0.0, {}, True),  # as the scale began to show it
        (0.17, 200.0, {}, True),
        (0.17, -0.1, {}, False),
        (0.2125, 50.0, {}, True),  # a quarter more
        (0.2126, 50.0, {}, False),
        (0.3, 50.0, {"how": "estimated", "within_share": 0.5}, True),
        (0.17, 50.0, {"circuit": "2"}, False),
        (0.17, 50.0, {"proposal": "p0"}, False),  # of another proposal, which was that one
        (-0.17, 50.0, {}, False),
    ],
)
def test_what_was_noted_by_hand_since_a_scale_began_to_show_it_is_asked_about(
    noted_kg: float, at_s: float, fields: dict[str, Any], asked: bool
) -> None:
    kind = Added if noted_kg > 0 else Recovered
    visit = Visit(circuit("1"), circuit("2"))
    visit.now_s = TIME_S + 260.0
    visit.take(proposed("p1", ProposedMove(0.17, 0.01, circuit="1"), from_s=TIME_S, to_s=TIME_S + 60.0))
    visit.take(kind("m1", TIME_S + at_s, "Sam", "technician", **{"mass_kg": abs(noted_kg), "circuit": "1"} | fields))
    visit.ask(KeepAsk("k1", "Sam", of="p1", phase="liquid"))
    assert ("amount.noted_by_hand" in kinds(visit.warned)) is asked
    if asked:
        words = f"noted {(260.0 - at_s) // 60.0:.0f} min ago. Is this another one?"
        assert visit.told[-1].us.endswith(words)


def test_what_is_within_the_spread_of_a_scale_may_be_what_it_saw() -> None:
    move = ProposedMove(-0.1, 0.05)
    assert is_alike(move, -0.2)
    assert not is_alike(move, -0.2001)
    assert not is_alike(ProposedMove(0.01, 0.05), -0.01)


def test_a_move_goes_through_the_guards_of_every_amount() -> None:
    """More than the plate's charge is asked about before it is written, and no scale tells liquid from vapour."""
    standing = Standing("v1", [proposed("p1", ProposedMove(130 * OUNCE_KG, 0.01))])
    with pytest.raises(DoubtfulError):
        keep(standing, "p1", phase="liquid")
    assert isinstance(keep(standing, "p1", phase="liquid", confirmed=True), Added)
    with pytest.raises(RefusedError, match="liquid or vapour"):
        keep(standing, "p1", confirmed=True)


def test_what_is_of_a_move_is_refused_of_anything_else() -> None:
    with pytest.raises(RefusedError, match="no move of refrigerant"):
        keep(Standing("v1", [proposed("p1")]), "p1", mass_kg=0.1)


def test_a_probe_that_moved_is_put_where_it_is_now() -> None:
    there = replace_facts(readings={"suction_pressure": Reading(9e5, TIME_S)}, circuits=("1", "2"))
    standing = Standing("v1", [proposed("p1", ProposedPlace(["suction_pressure"], on="2"))])
    kept = DECISIONS[KeepAsk](KeepAsk("k1", "Sam", of="p1"), HEAD, standing, there)
    assert kept == Placed(*HEAD, on="2", channels=("suction_pressure",), proposal="p1")
    standing.take(kept)
    assert (waiting(standing), standing.message().circuit) == ([], "2")


def test_a_unit_that_was_told_may_be_dismissed() -> None:
    standing = Standing("v1", [proposed("p1", ProposedUnit("RTU-K7Q-4", 0.97))])
    assert isinstance(dismiss(standing, "p1"), Dismissed)


def test_a_proposal_waits_until_it_is_answered_and_never_again() -> None:
    standing = Standing("v1", [proposed("p1"), proposed("p2"), proposed("p3")])
    assert waiting(standing) == ["p1", "p2", "p3"]
    standing.take(keep(standing, "p2"))
    standing.take(replace(dismiss(standing, "p1", " It hangs in the air.\n"), id="k2"))
    assert waiting(standing) == ["p3"]
    standing.take(proposed("p1"))
    assert waiting(standing) == ["p3"]
    with pytest.raises(RefusedError, match="was dismissed already, by Sam"):
        keep(standing, "p1")
    with pytest.raises(RefusedError, match="was kept already, by Sam"):
        dismiss(standing, "p2")
    with pytest.raises(RefusedError, match="there is no proposal 'p9'"):
        keep(standing, "p9")


def test_of_two_who_answer_at_once_the_first_counts() -> None:
    standing = Standing("v1", [proposed("p1")])
    kept, dismissed = keep(standing, "p1"), dismiss(standing, "p1")
    standing.take(kept)
    standing.take(replace(dismissed, id="k2"))
    assert standing.proposals.answered("p1") == kept
    assert standing.proposals.waiting("p1") is None


def found_by_hand(outcome: Outcome, time_s: float = TIME_S + 20, check: str = "isolate") -> Finding:
    return Finding("f1", time_s, "Sam", "technician", check=check, grade="said", outcome=outcome)


@pytest.mark.parametrize(
    ("found", "left"),
    [
        (found_by_hand("met"), []),
        (found_by_hand("not_met"), []),
        (found_by_hand("cannot_tell"), ["p1"]),  # the instruments may tell more
        (found_by_hand("skipped"), ["p1"]),
        (found_by_hand("met", TIME_S + 5), ["p1"]),  # it was seen until after that
        (found_by_hand("met", TIME_S + 10), []),  # until that very moment
        (found_by_hand("met", check="connections"), ["p1"]),
    ],
)
def test_what_a_person_found_by_themselves_meanwhile_is_not_asked_again(found: Finding, left: list[str]) -> None:
    standing = Standing("v1", [proposed("p1"), found])
    assert waiting(standing) == left
    by_section = Standing("v1", [proposed("p2", CAPACITOR), found_by_hand("met", check="capacitor_measured")])
    assert waiting(by_section) == ["p2"]
    no_check = [proposed("p3", ProposedMove(0.1, 0.002)), proposed("p4", ProposedPlace(["suction_pressure"], "1"))]
    assert waiting(Standing("v1", [*no_check, found])) == ["p3", "p4"]


def test_power_that_was_seen_to_go_off_takes_nothing_from_a_lock_that_was_seen() -> None:
    standing = Standing("v1", [found_by_hand("met"), proposed("p1", replace(ISOLATED, choices={}), to_s=TIME_S + 40)])
    with pytest.raises(RefusedError, match="Isolate and lock is met already, by Sam"):
        keep(standing, "p1")


BACK = ProposedFinding("power_back", values={"since_stop": 400.0, "compressor": 11.0}, choices={"call": "present"})


POWERED = PowerRead("b1", TIME_S + 20, channel="line_voltage_ab", value=230.0)
LOCKED = Finding("i1", TIME_S, "Sam", "technician", check="isolate", grade="seen", outcome="met")
PAIRS = ProposedFinding(
    "prove_dead",
    values={"source_before": 230.0, "volts.?": 0.1, "source_after": 230.0},
    choices={"tester_kind": "meter"},
    per={"a_b": "L1 to L2", "a_earth": "L1 to ground", "b_earth": "L2 to ground", "control": "Control circuit"},
    places=4,
)
ALL_PAIRS: dict[str, Any] = {"per": [*PAIRS.per], "choices": {"at_place_of_work": "yes", "phases": "single"}}


@pytest.mark.parametrize(
    ("since", "withdrawn"),
    [
        (POWERED, True),
        (LeftAlone("b1", TIME_S + 20, idle_s=13 * 3600.0), True),
        (Finding("b1", TIME_S + 20, "Sam", "technician", check="power_back", grade="typed", outcome="not_met"), True),
        (Finding("b1", TIME_S + 20, "Sam", "technician", check="connections", grade="said", outcome="met"), False),
    ],
)
def test_what_was_seen_dead_before_there_was_power_is_not_kept_any_more(since: Mark, withdrawn: bool) -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it, each time anew."""
    amps = proposed("p2", ProposedFinding("motor_amps", {"amps.a": 1.0}))
    standing = Standing("v1", [LOCKED, proposed("p1", PAIRS), amps, since])
    assert waiting(standing) == (["p2"] if withdrawn else ["p1", "p2"])
    standing.take(replace(LOCKED, id="i2"))
    if withdrawn:
        with pytest.raises(RefusedError, match="since it was seen there was power, or the visit was left alone"):
            keep(standing, "p1", **ALL_PAIRS)
    anew = proposed("p3", PAIRS)
    standing.take(anew)
    kept = DECISIONS[KeepAsk](KeepAsk("k1", "Sam", of="p3", **ALL_PAIRS), HEAD, standing, FACTS)  # type: ignore[arg-type]
    assert isinstance(kept, Finding)
    assert kept.outcome == "met"


@pytest.mark.parametrize(("volts", "outcome"), [(230.0, "not_met"), (0.2, "met")])
def test_what_was_seen_dead_is_held_against_what_the_rig_reads_as_it_is_kept(volts: float, outcome: str) -> None:
    standing = Standing("v1", [LOCKED, proposed("p1", PAIRS)])
    live = replace_facts(readings={"line_voltage_ab": Reading(volts, TIME_S, standard_uncertainty=1.0)})
    kept = DECISIONS[KeepAsk](KeepAsk("k1", "Sam", of="p1", **ALL_PAIRS), HEAD, standing, live)  # type: ignore[arg-type]
    assert isinstance(kept, Finding)
    assert kept.outcome == outcome


def test_power_that_was_back_is_not_kept_any_more_once_it_was_isolated_after_that() -> None:
    back = proposed("p1", BACK)
    for later in (found_by_hand("met"), found_by_hand("cannot_tell")):
        standing = Standing("v1", [back, later])
        assert waiting(standing) == []
        with pytest.raises(RefusedError, match="was withdrawn: Isolate and lock was recorded after it, by Sam"):
            keep(standing, "p1")
    for other in (found_by_hand("not_met"), found_by_hand("skipped"), found_by_hand("met", TIME_S + 5)):
        assert waiting(Standing("v1", [back, other])) == ["p1"]


@pytest.mark.parametrize(("off_s", "left"), [(-60.0, ["p1"]), (60.0, [])])
def test_of_power_that_is_kept_as_off_counts_when_it_was_seen_and_not_when_it_was_kept(
    off_s: float, left: list[str]
) -> None:
    off = proposed("p2", from_s=TIME_S + off_s, to_s=TIME_S + off_s + 10)
    standing = Standing("v1", [off, proposed("p1", BACK)])
    standing.take(replace(keep(standing, "p2"), time_s=TIME_S + 600))
    assert waiting(standing) == left


def test_why_it_was_not_so_is_kept_without_blanks_around_it() -> None:
    assert dismiss(Standing("v1", [proposed("p1")]), "p1", " In the air.\n") == Dismissed(
        *HEAD, of="p1", text="In the air."
    )


def test_a_visit_whose_proposals_nobody_answers_still_fits_a_message() -> None:
    """64 KiB are the most that anybody reads (docs/asyncapi.yaml)."""
    standing = Standing("v1", [proposed(f"p{number}", from_s=TIME_S + number) for number in range(500)])
    sent = waiting(standing)
    assert sent == [f"p{number}" for number in range(24)]
    assert len(encode(standing.message())) < 64 * 1024


def test_an_event_that_is_seen_again_from_elsewhere_in_it_was_told() -> None:
    told = partial(is_same, proposed("p1", from_s=TIME_S, to_s=TIME_S + 30))
    assert told(proposed("p2", replace(ISOLATED, values={"amps.compressor": 0.1}), TIME_S + 20, TIME_S + 40))
    assert told(proposed("p2", ISOLATED, TIME_S + 30, TIME_S + 40))  # the moment at which one ends is in both
    assert told(proposed("p2", ISOLATED, TIME_S - 10, TIME_S))
    assert not told(proposed("p2", ISOLATED, TIME_S + 31, TIME_S + 40))
    assert not told(proposed("p2", replace(ISOLATED, part="fan"), TIME_S, TIME_S + 30))
    assert not told(proposed("p2", ProposedPlace(["suction_pressure"]), TIME_S, TIME_S + 30))
    assert not told(replace(proposed("p2"), says=Wording("Amps", "Amps", kind="noticed.power_on")))
    locked, off = (
        replace(proposed(name, BACK), says=Wording("Back", "Back", kind=f"noticed.power_back{of}"))
        for name, of in (("p1", "_locked"), ("p2", ""))
    )
    assert is_same(locked, off)  # the lock was taken off in between


@given(st.lists(st.sampled_from(["p1", "p2", "p3", "keep p1", "dismiss p1", "keep p2", "dismiss p3"]), max_size=20))
def test_the_same_marks_stand_alike_from_the_record_or_as_they_come(done: list[str]) -> None:
    standing, marks = Standing("v1"), []
    for number, what in enumerate(done):
        kind, _, of = what.rpartition(" ")
        try:
            mark: Mark = proposed(of) if not kind else {"keep": keep, "dismiss": dismiss}[kind](standing, of)
        except RefusedError:
            continue
        mark = mark if isinstance(mark, Proposed) else replace(mark, id=f"k{number}")
        standing.take(mark)
        marks.append(decode(encode(mark), Mark))  # type: ignore[arg-type]
    assert Standing("v1", marks).message() == standing.message()
    answered = {getattr(it, "of", "") or getattr(it, "proposal", "") for it in marks}
    assert not answered & set(waiting(standing))


def test_a_move_that_is_kept_names_the_cylinder_on_the_scale_where_that_was_described() -> None:
    described = Visit().brings("7")
    for cylinder, named in (("7", "7"), ("8", ""), ("", "")):
        what = ProposedMove(0.1, 0.01, cylinder=cylinder)
        standing = Standing("v1", [described, proposed("p1", what)])
        kept = keep(standing, "p1", phase="liquid")
        assert isinstance(kept, Added)
        assert kept.cylinder == named


def test_sections_of_one_part_make_one_finding_of_that_part() -> None:
    herm = replace(CAPACITOR, values={"measured.herm": 44e-6}, per={}, standard_uncertainties={}, part="run capacitor")
    fan, other = replace(herm, values={"measured.fan": 5e-6}), replace(herm, part="fan capacitor")
    standing = Standing("v1", [proposed("p1", herm), proposed("p2", other), proposed("p3", fan)])
    for number in (1, 2, 3):
        standing.take(replace(keep(standing, f"p{number}"), id=f"k{number}"))
    both = standing.findings.newest("capacitor_measured", "run capacitor")
    assert both is not None
    assert (both.values, both.builds_on) == ({"measured.herm": 44e-6, "measured.fan": 5e-6}, "k1")


UNDER_LOAD = ProposedFinding(
    "capacitor_under_load",
    values={"amps": 6.3, "volts": 370.0, "hertz": 60.0, "label": 45e-6},
    choices={"section": "herm"},
    part="run capacitor",
)


def by_hand(check: str, choices: dict[str, str], **fields: Any) -> Finding:
    return Finding("h1", TIME_S, "Sam", "technician", check=check, grade="said", outcome="cannot_tell", choices=choices,
                   **fields)  # fmt: skip


def test_what_a_proposal_began_of_a_part_is_gone_on_with_by_the_next_of_that_part() -> None:
    """What was answered by hand since, as that no drive feeds it, is not asked a second time."""
    again = replace(UNDER_LOAD, values={**UNDER_LOAD.values, "amps": 6.2})
    standing = Standing("v1", [proposed("p1", UNDER_LOAD), proposed("p2", again)])
    begun = keep(standing, "p1")
    assert isinstance(begun, Finding)
    assert (begun.outcome, begun.builds_on) == ("cannot_tell", "")  # whether a drive feeds it, no instrument tells
    standing.take(begun)
    whole = {**begun.choices, "drive": "no"}
    standing.take(by_hand("capacitor_under_load", whole, part="run capacitor", builds_on="k1", values=begun.values))
    kept = keep(standing, "p2")
    assert isinstance(kept, Finding)
    assert (kept.builds_on, kept.choices, kept.values["amps"]) == ("h1", whole, 6.2)
    assert kept.outcome != "cannot_tell" or "drive" not in str(kept.says)


@pytest.mark.parametrize(
    ("changes", "earlier"),
    [
        ({"choices": {"section": "fan"}}, {}),  # it is of another section
        ({"part": "fan capacitor"}, {}),
        ({"values": {"amps": 6.2}}, {}),  # the volts would be of another moment
        ({}, {"outcome": "met"}),
        ({}, {"proposal": ""}),  # a person began it by themselves
        ({}, {"outcome": "skipped"}),
    ],
)
def test_what_is_of_something_else_or_of_another_moment_is_begun_anew(
    changes: dict[str, Any], earlier: dict[str, Any]
) -> None:
    standing = Standing("v1", [proposed("p1", UNDER_LOAD), proposed("p2", replace(UNDER_LOAD, **changes))])
    standing.take(replace(keep(standing, "p1"), **earlier))
    kept = keep(standing, "p2")
    assert isinstance(kept, Finding)
    assert kept.builds_on == ""


def test_a_start_and_what_is_dead_count_for_their_own_moment_alone() -> None:
    start = ProposedFinding("start", values={"restarts": 0.0}, choices={"course": "ran"}, part="compressor")
    empty = ProposedFinding("discharge", values={"volts.herm_common": 0.1}, part="run capacitor")
    for what in (start, empty):
        standing = Standing("v1", [proposed("p1", what), proposed("p2", what, from_s=TIME_S + 60, to_s=TIME_S + 60)])
        standing.take(keep(standing, "p1"))
        kept = keep(standing, "p2")
        assert isinstance(kept, Finding)
        assert kept.builds_on == ""


def test_what_is_named_wrongly_is_told_with_what_would_do() -> None:
    standing = Standing("v1", [proposed("p1", CAPACITOR)])
    for per, told in (([], "nothing"), (["start"], "start")):
        with pytest.raises(RefusedError, match=f"per: {told} is named; one or several of herm, fan was expected"):
            keep(standing, "p1", per=per)


DEAD = ProposedFinding(
    "prove_dead",
    values={"source_before": 238.0, "volts.?": 0.2, "source_after": 238.0},
    per={
        "a_b": "L1 to L2",
        "a_earth": "L1 to ground (earth)",
        "b_earth": "L2 to ground (earth)",
        "control": "Control circuit",
    },
    places=2,
    choices={"tester_kind": "meter"},
)


def test_who_names_more_pairs_than_the_meter_was_seen_on_is_asked_whether_it_was_held_on_each() -> None:
    standing = Standing("v1", [proposed("p1", DEAD)])
    two = keep(standing, "p1", per=["a_b", "control"])
    assert isinstance(two, Finding)
    assert two.values == {"source_before": 238.0, "volts.a_b": 0.2, "control": 0.2, "source_after": 238.0}
    with pytest.raises(DoubtfulError, match=r"below 3 V: 2; pairs named: 4\. A meter moved from one dead"):
        keep(standing, "p1", per=list(DEAD.per))
    all_of = keep(standing, "p1", per=list(DEAD.per), confirmed=True)
    assert isinstance(all_of, Finding)
    pairs = {"volts.a_b", "volts.a_earth", "volts.b_earth", "control"}
    assert pairs < all_of.values.keys()
    assert {name for name, grade in all_of.grades.items() if grade == "said"} == pairs
    assert all_of.grades["source_before"] == "measured"
    assert (all_of.grade, two.grade) == ("said", "measured")  # no better known than who says it


def test_the_load_side_of_a_contactor_is_kept_by_its_own_name() -> None:
    what = replace(DEAD, per={**DEAD.per, "load_side": "Load side of the contactor"}, places=5)
    there = {"at_place_of_work": "yes", "phases": "single"}
    kept = keep(Standing("v1", [proposed("p1", what)]), "p1", per=list(what.per), choices=there)
    assert isinstance(kept, Finding)
    assert (kept.outcome, kept.values["load_side"]) == ("met", 0.2)


def test_one_proof_that_it_is_dead_is_kept_for_all_that_were_seen() -> None:
    """Each was to be dismissed by hand. One that still lacks a pair ends none."""
    first, again, later = (proposed(f"p{n}", PAIRS, TIME_S + 100 * n, TIME_S + 100 * n + 50) for n in (1, 2, 3))
    standing = Standing("v1", [LOCKED, first, again, later, proposed("p4")])
    lacks = keep(standing, "p2", per=["a_b"])
    assert isinstance(lacks, Finding)
    standing.take(replace(lacks, id="k0"))
    assert waiting(standing) == ["p1", "p3", "p4"]
    standing.take(replace(keep(standing, "p3", **ALL_PAIRS), id="k3"))
    assert waiting(standing) == ["p4"]
    with pytest.raises(RefusedError, match="was kept already, by Sam"):
        keep(standing, "p1", **ALL_PAIRS)


def test_what_no_instrument_tells_is_said_as_it_is_kept_and_what_one_showed_is_not_said_otherwise() -> None:
    per = {"a_b": "L1-L2", "a_earth": "L1-ground", "b_earth": "L2-ground", "control": "control circuit"}
    values = {"source_before": 236.0, "source_after": 236.0, "volts.?": 0.1}
    what = ProposedFinding("prove_dead", values, per, places=4, choices={"tester_kind": "meter"})
    standing = Standing("v1", [proposed("p1", what)])
    there = {"at_place_of_work": "yes", "phases": "single"}
    kept = keep(standing, "p1", per=tuple(per), choices=there)
    assert isinstance(kept, Finding)
    assert (kept.outcome, kept.choices) == ("met", {"tester_kind": "meter", **there})
    asked = KeepAsk("k1", "Sam", of="p1", per=tuple(per), choices=there)
    assert is_repeated(asked, "technician", kept)
    assert not is_repeated(replace(asked, choices={"at_place_of_work": "no"}), "technician", kept)
    with pytest.raises(RefusedError, match="tester_kind was seen by the instruments"):
        keep(standing, "p1", per=tuple(per), choices={"tester_kind": "two_pole"})
    move = Standing("v1", [proposed("p2", ProposedMove(0.1, 0.002))])
    with pytest.raises(RefusedError, match="per and choices are of one"):
        keep(move, "p2", phase="liquid", choices=there)
