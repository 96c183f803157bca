"""What is never taken as usual, and never met against what the rig reads: where hands or a life hang on it."""

from dataclasses import replace

import pytest
from msgspec.structs import replace as replace_fields

from calc.mode import Mode
from ingest.visit.checklist import guided
from ingest.visit.deciding import Facts
from ingest.visit.earlier import NONE_BEFORE, history
from ingest.visit.finding import asks_for_a_stop
from ingest.visit.grading import grades_of
from ingest.visit.leading import Now, led_to
from ingest.visit.proposing import keep
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    Advice,
    CarriedOver,
    Finding,
    KeepAsk,
    Proposed,
    ProposedFinding,
    Reading,
    Recovered,
    Stop,
    VisitOpened,
    Wording,
)
from tests.ingest.visit.checks import HEAD, TIME_S, course, facts, find
from tests.ingest.visit.test_every_check import WHOLE
from tests.ingest.visit.test_rules import AIR, CONDITIONS, LOOKED, MOVED, NO_LEAK, WHAT

PSI = 6894.757
BURNS = facts(refrigerant="R-454B", safety_class="A2L")
HEATS = {
    "return_air_temperature": 293.0, "supply_air_temperature": 309.0, "outdoor_air_temperature": 278.0,
    "compressor_current": 9.0, "condenser_fan_current": 1.2,
}  # fmt: skip


def reading(known: Facts, runs: bool | None = None, **read: float) -> Facts:
    readings = {name: Reading(value, TIME_S, standard_uncertainty=0.1) for name, value in read.items()}
    return replace(known, readings=readings, runs=runs)


def test_a_hose_is_never_purged_with_what_burns() -> None:
    """Servicing clauses after IEC 60335-2-40: no live part, no spark, and what burns is not let go into the room."""
    moved = MOVED | {"panel_closed": "yes"}
    found = find("moving", {}, moved | {"hose": "purged"}, known=BURNS)
    assert (found.outcome, found.says and found.says.us) == (
        "not_met", "Evacuate the hose; purge nothing that burns.",
    )  # fmt: skip
    assert find("moving", {}, moved | {"hose": "evacuated"}, known=BURNS).outcome == "met"
    assert find("moving", {}, MOVED | {"hose": "purged"}).outcome == "met"


def test_nothing_is_added_on_the_liquid_side_of_one_that_runs() -> None:
    """Common practice, as the guard of a move has it: its high side presses harder than a cylinder."""
    liquid = MOVED | {"port": "liquid_side"}
    for runs, outcome in ((True, "not_met"), (False, "met"), (None, "met")):
        assert find("moving", {}, liquid, known=reading(facts(), runs)).outcome == outcome
    assert find("moving", {}, MOVED, known=reading(facts(), True)).outcome == "met"
    out = course(Recovered("r1", TIME_S, mass_kg=0.2))
    assert find("moving", {}, liquid, known=reading(facts(), True), standing=out).outcome == "met"
    added = course(Added("a1", TIME_S, mass_kg=0.2, phase="liquid"))
    assert find("moving", {}, liquid, known=reading(facts(), True), standing=added).outcome == "not_met"


@pytest.mark.parametrize(("psi", "outcome"), [(14.7, "not_met"), (16.0, "not_met"), (160.0, "met")])
def test_hoses_in_open_air_are_no_circuit_at_rest(psi: float, outcome: str) -> None:
    """The air presses with 14.696 psi at sea level (ISO 2533: 101 325 Pa)."""
    values = dict.fromkeys(("pressure.suction", "pressure.liquid"), psi * PSI)
    found = find("probes_on", values, {"unit_is": "at_rest"}, accuracies=dict.fromkeys(values, 1.5 * PSI))
    assert found.outcome == outcome
    one_open = values | {"pressure.liquid": 14.7 * PSI}
    assert find("probes_on", one_open, {"unit_is": "at_rest"}).outcome == "not_met"


@pytest.mark.parametrize(("kpa", "outcome"), [(84.3, "not_met"), (95.0, "met"), (1100.0, "met")])
def test_high_up_the_air_presses_less_and_a_circuit_is_told_from_it_by_less(kpa: float, outcome: str) -> None:
    """84.3 kPa at 5,000 ft (ISO 2533: 84 307 Pa at 1524 m): 95 kPa are 1.6 psig there."""
    there = replace(facts(), site_pa=84_307.0)
    values = dict.fromkeys(("pressure.suction", "pressure.liquid"), kpa * 1e3)
    asked = {"unit_is": "at_rest"}
    assert find("probes_on", values, asked, known=there, accuracies=dict.fromkeys(values, 7e3)).outcome == outcome


def test_what_heats_by_the_rig_is_never_said_to_cool() -> None:
    known = reading(facts(), True, **HEATS)
    found = find("air", {"outdoor": 300.0}, AIR, known=known, standing=course(LOOKED))
    assert (found.outcome, found.says and found.says.us) == (
        "not_met", "It heats, by what the rig reads: these figures are of cooling.",
    )  # fmt: skip
    assert find("air", {"outdoor": 300.0}, AIR, standing=course(LOOKED)).outcome == "met"


def test_eyes_alone_find_no_joint_tight() -> None:
    """Common practice, no source."""
    assert find("leaks", {}, NO_LEAK | {"by": "seen"}).outcome == "cannot_tell"
    assert find("leaks", {}, NO_LEAK | {"by": "seen", "joints": "leak"}).outcome == "not_met"
    for by in ("detector", "bubbles"):
        assert find("leaks", {}, NO_LEAK | {"by": by}).outcome == "met"


def test_a_photograph_of_a_part_shows_no_word() -> None:
    looked = {"found": "nothing", "bypassed": "none"}
    assert find("look_first", {}, looked, photographs=["p1"], grade="seen").grade == "said"
    burns = WHAT | dict.fromkeys(CONDITIONS, "yes")
    assert find("what_is_in_it", {}, burns, photographs=["p1"], grade="seen", known=BURNS).grade == "said"
    label = WHAT | {"safety_class": "A1"}
    assert find("what_is_in_it", {}, label, photographs=["p1"], grade="seen").grade == "seen"


def test_what_stands_on_a_plate_is_never_measured() -> None:
    proposed = ProposedFinding(
        check="motor_amps", values={"amps.a": 9.0, "rated": 12.0}, choices={"motor": "compressor"},
        standard_uncertainties={"amps.a": 0.1},
    )  # fmt: skip
    seen = Proposed("p1", TIME_S, from_s=TIME_S, to_s=TIME_S, what=proposed, says=Wording("Amps.", "Amps."))
    found = keep(KeepAsk("f1", "Sam", of="p1"), HEAD, course(seen), facts())
    assert isinstance(found, Finding)
    assert grades_of(found) == {"amps.a": "measured", "rated": "typed"}
    assert found.grade == "measured"


def test_the_mode_and_the_first_visit_are_usual_only_where_they_are_so() -> None:
    choices = {(word, it.name): it for word in ("air", "complaint") for it in guided()[word].check.choices}
    assert choices["air", "mode"].usual_when == "cooling"
    assert choices["complaint", "last_visit"].usual_when == "first_visit"
    standing = Standing("v1")
    for mode in Mode:
        standing.judged("", TIME_S, now=Now(mode=mode))
        assert ("cooling" in standing.message().facts) is (mode is Mode.COOLING)
        assert ("heating" in standing.message().facts) is (mode is Mode.HEATING)
    for runs in (True, False, None):
        standing.judged("", TIME_S, now=Now(runs=runs))
        assert ("runs" in standing.message().facts) is (runs is True), runs
    assert "first_visit" in standing.message().facts
    before = history([("v0", [VisitOpened("o1", TIME_S)])])
    assert "first_visit" not in Standing("v1", history=before).message().facts
    assert "first_visit" not in Standing("v1", history=before.renamed({"1": "2"})).message().facts


@pytest.mark.parametrize("check", ["isolate", "prove_dead"])
def test_that_it_was_on_throughout_is_usual_only_while_it_runs_and_nobody_locked_it(check: str) -> None:
    (power,) = (it for it in guided()["as_it_was"].check.choices if it.name == "power")
    assert (power.usual, power.usual_when) == ("throughout", "on_throughout")
    standing = Standing("v1")
    for runs in (True, False, None):
        standing.judged("", TIME_S, now=Now(runs=runs))
        assert ("on_throughout" in standing.message().facts) is (runs is True), runs
    standing.judged("", TIME_S, now=Now(runs=True))
    standing.take(Finding("f1", TIME_S, "Sam", "technician", check=check, outcome="skipped", grade="typed"))
    assert "on_throughout" not in standing.message().facts


@pytest.mark.parametrize(
    ("by", "removed", "power", "outcome"),
    [
        ("Kim", "", "throughout", "not_met"),
        ("Kim", "", "on", "not_met"),
        ("", "", "on", "cannot_tell"),
        ("Kim", "Kim", "throughout", "not_met"),
        ("Kim", "Kim", "on", "met"),
    ],
)
def test_nothing_is_left_on_while_a_lock_stands_nor_was_on_throughout_after_one(
    by: str, removed: str, power: str, outcome: str
) -> None:
    """Each lock is taken off by who put it on: 29 CFR 1910.147(e)(3)."""
    locked = {"disconnect_state": "locked_by_me", "tried": "nothing", **({"locked_by": by} if by else {})}
    on = Finding("i1", TIME_S, "Sam", "technician", check="isolate", grade="seen", outcome="met", choices=locked)
    off = replace_fields(on, id="d1", check="power_back", choices={"lock_removed_by": removed})
    values, choices, _ = WHOLE["as_it_was"]
    said = choices | {"power": power}
    found = find("as_it_was", values, said, known=reading(facts(), runs=True), standing=course(on, off))
    assert found.outcome == outcome


def test_a_lock_that_is_off_was_on_all_the_same() -> None:
    standing = Standing("v1", history=replace(NONE_BEFORE, locks=("Kim",)))
    standing.judged("", TIME_S, now=Now(runs=True))
    off = {"lock_removed_by": "Kim"}
    standing.take(Finding("d1", TIME_S, "Sam", check="power_back", grade="seen", outcome="met", choices=off))
    assert (standing.message().locks, "on_throughout" in standing.message().facts) == ((), False)


def test_it_was_not_on_throughout_where_somebody_left_a_lock() -> None:
    standing = Standing("v1")
    standing.judged("", TIME_S, now=Now(runs=True))
    standing.take(VisitOpened("o1", TIME_S, carried_over=CarriedOver(locks=["Kim"])))
    assert "on_throughout" not in standing.message().facts


@pytest.mark.parametrize(
    ("runs", "marks", "is_known"),
    [
        (True, {"as_it_was": "met"}, True),
        (None, {"as_it_was": "met"}, False),
        (False, {"as_it_was": "met"}, False),
        (True, {}, False),
        (True, {"as_it_was": "cannot_tell"}, False),
        (True, {"supply": "not_met", "as_it_was": "met"}, False),
        (True, {"capacitor_measured": "not_met", "as_it_was": "met"}, False),
        (True, {"capacitor_measured": "not_met", "replacement": "met", "as_it_was": "met"}, True),
    ],
)
def test_that_it_is_left_running_is_known_only_where_it_runs_and_nothing_stands_not_met(
    runs: bool | None, marks: dict[str, str], is_known: bool
) -> None:
    (left,) = (it for it in guided()["handover"].check.choices if it.name == "left")
    assert left.known_by == {"runs_well": "running"}
    standing = Standing("v1")
    standing.judged("", TIME_S, now=Now(runs=runs))
    for number, (check, outcome) in enumerate(marks.items()):
        about = {"check": check, "grade": "said", "outcome": outcome}
        standing.take(Finding(f"f{number}", TIME_S, "Sam", "technician", **about))  # type: ignore[arg-type]
    assert ("runs_well" in standing.message().facts) is is_known
    standing.take(Stop("s1", TIME_S, "Ada", "lead", text="Stop."))
    assert "runs_well" not in standing.message().facts


def test_air_is_not_led_to_at_rest_nor_readings_of_cooling_while_it_heats() -> None:
    asked = ["supply", "air", "readings_before", "tag"]
    assert led_to(asked, [], Now()) == asked
    assert led_to(asked, [], Now(runs=True, mode=Mode.COOLING)) == asked
    assert led_to(asked, [], Now(runs=False)) == ["supply", "readings_before", "tag"]
    assert led_to(asked, [], Now(runs=True, mode=Mode.HEATING)) == ["supply", "air", "tag"]


def test_while_something_asks_for_a_stop_making_dead_is_next_and_nothing_is_closed() -> None:
    asked = ["complaint", "isolate", "supply", "air", "tag", "handover"]
    assert led_to(asked, ["prove_dead"], Now(stops=True)) == ["isolate", "prove_dead", "complaint", "supply", "air"]
    standing = Standing("v1")
    standing.judged("", TIME_S, now=Now(runs=True, stops=True))
    assert standing.message().next[0] == "isolate"
    assert not {word for word in standing.message().next if guided()[word].check.place.startswith("F")}
    standing.judged("", TIME_S, now=Now(runs=True))
    assert standing.message().next[0] == "complaint"


@pytest.mark.parametrize(("state", "stops"), [("stop", True), ("starting", False), ("not running", False)])
def test_what_is_to_be_switched_off_asks_for_a_stop_without_an_alarm(state: str, stops: bool) -> None:
    """One that draws current and does not pump was led on to what is looked at before anything is opened."""
    advice = Advice(TIME_S, Wording("Switch it off now.", "Switch it off now."), [], [], {}, state)
    assert asks_for_a_stop(replace(facts(), advice=advice)) is stops
