"""Nothing is met against what the rig itself reads, and what is looked at is met only beside its own photograph."""

from dataclasses import replace
from itertools import cycle
from typing import Any

import pytest
from msgspec.structs import replace as changed

from ingest.visit.checklist import guided
from ingest.visit.deciding import DoubtfulError, Facts
from ingest.visit.decisions import DECISIONS
from ingest.visit.finding import finding
from ingest.visit.findings import needs_hands
from ingest.visit.rule_rig import OTHER_FEEDS
from ingest.visit.rules import Photographed
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Advice,
    AlarmMessage,
    Finding,
    FindingAsk,
    HandedOver,
    KeepAsk,
    Outcome,
    Placed,
    Proposed,
    ProposedFinding,
    Reading,
    VisitOpened,
    Wording,
)
from ingest.wire.packs import QUALITIES
from tests.cases import case
from tests.ingest.visit.checks import HEAD, TIME_S, course, facts, find, taken
from tests.ingest.visit.test_every_check import DEAD, LOOKED, WHOLE

LOCKED = {"disconnect_state": "locked_by_me", "tried": "nothing", "other_feeds": "none", "locked_by": "Sam"}
OWN = {"phases": "single", "tester_kind": "meter", "at_place_of_work": "yes"}
PSI = 6894.757


def reading(runs: bool | None = None, **read: tuple[float, float]) -> Facts:
    """What the rig reads: by channel a value and its standard uncertainty."""
    known = facts()
    readings = {name: Reading(value, TIME_S, standard_uncertainty=spread) for name, (value, spread) in read.items()}
    return Facts(known.unit, readings, frozenset(), frozenset(), runs=runs)


def told(check: str, values: Any = (), choices: Any = (), **asked: Any) -> tuple[str, str]:
    found = find(check, dict(values), dict(choices), photographs=["p1"], **asked)
    return found.outcome, found.says.us if found.says else ""


@pytest.mark.parametrize(("tried", "outcome"), [("starts", "not_met"), ("no", "cannot_tell"), ("", "cannot_tell")])
def test_a_lock_after_which_nobody_tried_a_start_is_not_met(tried: str, outcome: str) -> None:
    """29 CFR 1910.333(b)(2)(iv)(A), from memory: no picture of a lock shows that nothing starts."""
    said = {name: it for name, it in {**LOCKED, "tried": tried}.items() if it}
    assert told("isolate", {}, said)[0] == outcome


def test_no_lock_is_met_while_the_rig_reads_power() -> None:
    assert told("isolate", {}, LOCKED, known=reading(compressor_current=(0.1, 0.1)))[0] == "met"  # within its ±
    draws = told("isolate", {}, LOCKED, known=reading(blower_current=(3.5, 0.1)))
    assert draws == ("not_met", "The rig reads 3.5 ± 0.2 A at the blower: it is not without power.")
    live = told("isolate", {}, LOCKED, known=reading(line_voltage_ab=(230.0, 1.0)))
    assert live == ("not_met", "Your own voltmeter reads 230 ± 2 V on L1-L2: it is live.")
    assert told("isolate", {}, LOCKED, known=reading(line_voltage_ab=(30.0, 1.0)))[0] == "met"  # control's own
    assert told("isolate", {}, LOCKED, known=reading(runs=True))[0] == "not_met"


def test_a_current_in_any_leg_or_fan_is_power() -> None:
    """One leg alone still draws where a contactor's pole is welded: common practice, no source."""
    for leg in ("compressor_current_a", "compressor_current_b", "compressor_current_c", "condenser_fan_current"):
        with case(leg):
            assert told("isolate", {}, LOCKED, known=reading(**{leg: (3.5, 0.1)}))[0] == "not_met"


def test_a_clamp_that_may_still_be_at_another_unit_shows_nothing_dead_here() -> None:
    came = VisitOpened("o2", TIME_S, unit="RTU-9", came_from="RTU-4", carried=("compressor_current",))
    zero = facts()
    zero = replace(zero, readings={"compressor_current": Reading(0.0, TIME_S, "elsewhere", "it was on RTU-4", 0.1)})
    unsaid = told("isolate", {}, LOCKED, known=zero, standing=course(came))
    assert unsaid[0] == "cannot_tell"
    before = "Read at the unit before this one: compressor. Say under Probes, hoses that it is on this unit, or Off."
    assert unsaid[1] == before
    known_live = told("isolate", {}, LOCKED, known=zero, standing=course(came), outcome="not_met")
    assert known_live[0] == "not_met"  # who knows better may say so
    left_there = course(came, Placed("p1", TIME_S, on="", channels=("compressor_current",)))
    assert told("isolate", {}, LOCKED, known=zero, standing=left_there)[0] == "met"
    here = course(came, Placed("p1", TIME_S, on="1", channels=("compressor_current",)))
    assert told("isolate", {}, LOCKED, known=reading(compressor_current=(0.0, 0.1)), standing=here)[0] == "met"


def test_power_is_back_only_once_the_lock_is_off_by_who_put_it_on() -> None:
    """29 CFR 1910.147(e)(3), from memory."""
    values = {"compressor": 8.0, "since_stop": 600.0}
    called = {"call": "present", "contactor": "in"}

    def back(standing: Standing, **choices: str) -> tuple[str, str]:
        found = find("power_back", values, called | choices, standing=standing)
        return found.outcome, found.says.us if found.says else ""

    lock = kept("i1", "isolate", choices={"locked_by": "Sam Reed"})
    assert back(course(lock)) == ("cannot_tell", "Still missing: Lock removed by.")
    assert back(course(lock), lock_removed_by="me")[0] == "cannot_tell"
    assert back(course(lock), lock_removed_by="sam reed")[0] == "met"
    of_another = back(course(lock), lock_removed_by="Robin")
    not_off = "Sam Reed put the lock on and has not taken it off, by what is said here: hands off, switch it off again"
    assert of_another == ("not_met", f"{not_off}, and find Sam Reed before anything else.")
    assert back(course())[0] == "met"  # nobody put one on


REMOVED_BY = "Still missing: Lock removed by."
WHOSE = "Still missing: whose lock it was, and that they took it off."


@pytest.mark.parametrize(
    ("choices", "says"),
    [
        ({"disconnect_state": "locked_by_other", "locked_by": "Robin"}, REMOVED_BY),
        ({"disconnect_state": "locked_by_me", "locked_by": "Sam"}, REMOVED_BY),  # whatever its photograph
        ({"locked_by": "Robin"}, REMOVED_BY),
        ({"disconnect_state": "locked_by_other"}, WHOSE),
        ({"disconnect_state": "locked_by_other", "locked_by": "Sam"}, WHOSE),  # it is Sam who says so
        ({"disconnect_state": "locked_by_me", "tried": "nothing"}, WHOSE),
        ({"disconnect_state": "locked_by_me", "tried": "nothing", "locked_by": "technician"}, WHOSE),
        ({"disconnect_state": "open", "solar": "locked"}, WHOSE),
        ({"disconnect_state": "open"}, ""),
        ({"disconnect_state": "closed"}, ""),
        ({}, ""),
    ],
)
@pytest.mark.parametrize("outcome", ["met", "not_met", "cannot_tell", "skipped"])
def test_whatever_became_of_isolating_a_lock_that_was_named_or_said_to_be_on_is_asked_about(
    choices: dict[str, str], says: str, outcome: Outcome
) -> None:
    """29 CFR 1910.147(e)(3), from memory."""
    standing = course(kept("i1", "isolate", outcome, choices=choices))
    answers = {"call": "present", "contactor": "in"}
    found = find("power_back", {"compressor": 8.0, "since_stop": 600.0}, answers, standing=standing)
    assert found.outcome == ("cannot_tell" if says else "met")
    assert not says or (found.says is not None and found.says.us == says)


def test_a_lock_stands_until_it_is_said_to_be_off() -> None:
    on = kept("i1", "isolate", choices=LOCKED)
    assert course(on, kept("i2", "isolate", "cannot_tell")).findings.locks == ("Sam",)  # says nothing of it
    assert course(on, kept("p1", "power_back", "cannot_tell")).findings.locks == ("Sam",)
    assert course(on, kept("d1", "discharge")).message().locks == ("Sam",)
    assert course(on, kept("p1", "power_back")).findings.locks == ("Sam",)
    other, off = ({"lock_removed_by": name} for name in ("Robin", "sam"))
    assert course(on, kept("p1", "power_back", "not_met", choices=other)).findings.locks == ("Sam",)
    assert course(on, kept("p1", "power_back", "not_met", choices=off)).findings.locks == ()  # and did not start
    nobodys = kept("i1", "isolate", choices={"locked_by": "technician"})
    gone = kept("p1", "power_back", choices={"lock_removed_by": "technician"})
    assert course(nobodys, gone).findings.locks == ("",)
    assert course(nobodys, kept("p1", "power_back")).findings.locks == ("",)  # nobody says that it is off
    assert course(kept("p1", "power_back", choices=off)).findings.locks == ()  # where none was


@pytest.mark.parametrize("state", ["open", "closed"])
def test_whoever_says_how_the_disconnect_is_takes_off_no_lock_that_has_a_name(state: str) -> None:
    """29 CFR 1910.147(e)(3), from memory: who put it on removes it."""
    on, nobodys = (kept("i1", "isolate", choices=LOCKED | {"locked_by": name}) for name in ("Sam", ""))
    said = kept("i2", "isolate", "not_met", choices={"disconnect_state": state})
    assert course(on, said).findings.locks == ("Sam",)
    assert course(nobodys, said).findings.locks == ()
    skipped = changed(said, outcome="skipped", reason="weather")
    assert course(nobodys, skipped).findings.locks == ("",)
    off = kept("p1", "power_back", "skipped", reason="weather", choices={"lock_removed_by": "Sam"})
    assert course(on, off).findings.locks == ("Sam",)


def test_hands_in_a_panel_that_the_rig_reads_live_are_asked_about_whatever_was_proved() -> None:
    dead = course(kept("i1", "isolate"), kept("d1", "prove_dead"), kept("d2", "discharge"))
    live = replace(facts(), readings={"line_voltage_ab": Reading(230.0, TIME_S, standard_uncertainty=1.0)})
    for check, choices in (("connections", {"found": "tight"}), ("discharge", {"means": "resistor"})):
        ask = FindingAsk("f1", "Sam", check=check, grade="said", choices=choices)
        with pytest.raises(DoubtfulError, match="these do not stand as met: Isolate and lock, Prove dead, Discharge"):
            finding(ask, HEAD, dead, live)
        assert finding(ask, HEAD, dead, facts()).check == check
        assert finding(changed(ask, confirmed=True), HEAD, dead, live).check == check
    supply = FindingAsk("f1", "Sam", check="supply", grade="said")
    assert finding(supply, HEAD, dead, live).check == "supply"


def test_who_takes_over_what_is_isolated_puts_on_a_lock_of_their_own() -> None:
    """29 CFR 1910.147(f)(4), from memory: shift or personnel changes."""
    lock = kept("i1", "isolate", choices=LOCKED)
    dead = [lock, kept("d1", "prove_dead"), kept("d2", "discharge")]
    to_kim = HandedOver("h1", TIME_S, "Sam", "technician", to="Kim")
    standing = course(*dead, to_kim)
    asked = standing.findings.next()
    assert "isolate" in asked
    assert not {word for word in guided() if needs_hands(word)} & {*asked}
    assert standing.findings.before_hands("connections") == ["isolate"]
    standing.take(changed(lock, id="i2", by="Kim", choices=LOCKED | {"locked_by": "Kim"}))
    assert "isolate" not in standing.findings.next()
    assert standing.findings.before_hands("connections") == []
    assert course(*dead, changed(to_kim, to="sam")).findings.before_hands("connections") == []  # hers is on
    never = course(*dead[1:], to_kim).findings
    assert never.before_hands("connections") == ["isolate"]


def test_each_of_several_takes_off_their_own_lock() -> None:
    """29 CFR 1910.147(f)(3)(ii)(D), from memory: each puts on their own lock, and takes it off when done."""
    sam, kim = (kept(f"i{name}", "isolate", choices=LOCKED | {"locked_by": name}) for name in ("Sam", "Kim"))
    others = kept("i3", "isolate", choices={"disconnect_state": "locked_by_other"})
    off = {
        name: kept(f"o{name}", "power_back", "not_met", choices={"lock_removed_by": name}) for name in ("sam", "Kim")
    }
    assert course(sam, kim, sam).findings.locks == ("Sam", "Kim")
    assert course(sam, kim, off["sam"]).findings.locks == ("Kim",)
    assert course(sam, kim, off["sam"], off["Kim"]).findings.locks == ()
    assert course(sam, others, others).findings.locks == ("Sam", "")
    assert course(sam, others, kim).findings.locks == ("Sam", "Kim")  # it was hers
    assert course(sam, others, off["Kim"]).findings.locks == ("Sam",)
    assert course(sam, others, off["sam"]).findings.locks == ("",)


@pytest.mark.parametrize(
    ("off", "outcome", "says"),
    [
        ("Sam", "not_met", "Kim put the lock on"),
        ("Kim", "not_met", "Sam put the lock on"),
        ("Robin", "not_met", "Sam put the lock on"),
        ("", "cannot_tell", "Still missing: Lock removed by."),
    ],
)
def test_power_is_not_back_as_it_should_be_while_one_of_two_locks_is_on(off: str, outcome: str, says: str) -> None:
    sam, kim = (kept(f"i{name}", "isolate", choices=LOCKED | {"locked_by": name}) for name in ("Sam", "Kim"))
    answers = {"call": "present", "contactor": "in", "lock_removed_by": off}
    figures = {"compressor": 8.0, "since_stop": 600.0}
    found = find("power_back", figures, {k: v for k, v in answers.items() if v}, standing=course(sam, kim))
    assert found.outcome == outcome
    assert found.says is not None
    assert found.says.us.startswith(says)


def test_who_takes_off_a_lock_of_which_nobody_knew_whose_it_was_is_who_put_it_on() -> None:
    others = course(kept("i1", "isolate", choices={"disconnect_state": "locked_by_other"}))
    answers = {"call": "present", "contactor": "in", "lock_removed_by": "Kim"}
    assert find("power_back", {"compressor": 8.0, "since_stop": 600.0}, answers, standing=others).outcome == "met"


def test_what_the_rig_read_before_the_lock_was_on_neither_feeds_it_nor_proves_it_dead() -> None:
    """The lock is on by its photograph, taken at `TIME_S`; slow instruments were read ten seconds before."""
    for name, value in (("line_voltage_ab", 230.0), ("line_voltage_ab", 0.5), ("compressor_current", 12.0)):
        known = reading(**{name: (value, 0.5)}, runs=value == 12.0)
        early = replace(known, readings={name: Reading(value, TIME_S - 10.0, standard_uncertainty=0.5)})
        with case(name, value):
            outcome, says = told("isolate", {}, LOCKED, known=early)
            assert (outcome, "since the lock was on" in says) == ("cannot_tell", True)
            assert told("isolate", {}, LOCKED, known=early, outcome="not_met")[0] == "not_met"  # who knows it
            assert told("isolate", {}, LOCKED, known=known)[0] == ("met" if value == 0.5 else "not_met")
            locked = course(kept("i1", "isolate"))
            assert told("prove_dead", DEAD, OWN, known=early, standing=locked)[0] == "cannot_tell"
            at_once = replace(known, readings={name: Reading(value, TIME_S - 0.9, standard_uncertainty=0.5)})
            assert told("isolate", {}, LOCKED, known=at_once)[0] == ("met" if value == 0.5 else "not_met")
    other = replace(reading(), readings={"suction_pressure": Reading(9e5, TIME_S - 10.0)})
    assert told("isolate", {}, LOCKED, known=other)[0] == "met"  # of no lock


def test_what_is_typed_proves_nothing_dead_against_the_voltmeter_or_the_clamp() -> None:
    assert told("prove_dead", DEAD, OWN, known=reading(line_voltage_ab=(1.0, 0.5)))[0] == "met"
    live = told("prove_dead", DEAD, OWN, known=reading(line_voltage_ab=(230.0, 1.0)))
    assert live == ("not_met", "Your own voltmeter reads 230 ± 2 V on L1-L2: it is live.")
    assert told("prove_dead", DEAD, OWN, known=reading(compressor_current=(12.0, 0.1)))[0] == "not_met"
    assert told("prove_dead", DEAD, OWN, known=reading(runs=True))[0] == "not_met"


@pytest.mark.parametrize(("volts", "outcome"), [(50.0, "not_met"), (49.9, "met")])
def test_from_fifty_volts_on_it_is_live(volts: float, outcome: str) -> None:
    """50 V or more is live: common practice, no source."""
    for pair in ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"):
        with case(pair):
            assert told("isolate", {}, LOCKED, known=reading(**{pair: (volts, 0.1)}))[0] == outcome


def test_only_what_can_be_trusted_shows_power_here() -> None:
    """A voltmeter that nobody calibrated shows power all the same; one at another unit shows none of this one."""
    for quality in QUALITIES:
        known = replace(reading(), readings={"line_voltage_ab": Reading(230.0, TIME_S, quality, "", 1.0)})
        with case(quality):
            expected = "not_met" if quality in ("ok", "uncalibrated") else "met"
            assert told("isolate", {}, LOCKED, known=known)[0] == expected
    unknown = replace(reading(), readings={"line_voltage_ab": Reading(None, TIME_S)})
    assert told("isolate", {}, LOCKED, known=unknown)[0] == "met"


@pytest.mark.parametrize(("amps", "outcome"), [(0.1, "met"), (0.11, "not_met")])
def test_a_clamp_of_which_nobody_knows_how_well_it_measures_shows_power_above_a_tenth_of_an_ampere(
    amps: float, outcome: str
) -> None:
    """What a clamp shows on nothing: common practice, no source."""
    known = replace(reading(), readings={"compressor_current": Reading(amps, TIME_S)})
    assert told("isolate", {}, LOCKED, known=known)[0] == outcome


def test_the_feed_that_is_not_open_is_named() -> None:
    closed = told("isolate", {}, LOCKED | {"control_feed": "none", "solar": "closed"})
    label = next(it.label for it in guided()["isolate"].check.choices if it.name == "solar")
    assert closed[0] == "not_met"
    assert label in closed[1]


@pytest.mark.parametrize(
    "name", ["technician", " The technician ", "apprentice", "Lead", "me", "Myself", "I", "us", "we", "user", ""]
)
def test_a_role_is_no_name_at_a_lock(name: str) -> None:
    outcome, says = told("isolate", {}, {key: it for key, it in (LOCKED | {"locked_by": name}).items() if it})
    assert outcome == "cannot_tell"
    assert "placed by, by name" in says


def test_other_feeds_are_looked_for_and_never_taken_as_none() -> None:
    without = {name: it for name, it in LOCKED.items() if name != "other_feeds"}
    assert told("isolate", {}, without)[0] == "cannot_tell"
    assert told("isolate", {}, LOCKED | {"solar": "closed"})[0] == "not_met"
    assert told("isolate", {}, LOCKED | {"other_feeds": "closed"})[0] == "not_met"
    feeds = [it for it in guided()["isolate"].check.choices if it.name != "disconnect_state"]
    assert [it.name for it in feeds if it.usual] == []
    for name in (it.name for it in feeds if "closed" in it.options):
        with case(name):
            assert told("isolate", {}, LOCKED | {name: "closed"})[0] == "not_met"


def test_each_other_feed_may_be_answered_by_itself_and_the_one_without_an_answer_is_named() -> None:
    labels = {it.name: it.label for it in guided()["isolate"].check.choices}
    without = {name: it for name, it in LOCKED.items() if name != "other_feeds"}
    each = dict(zip(OTHER_FEEDS, cycle(("none", "locked")), strict=False))
    assert told("isolate", {}, without | each)[0] == "met"
    assert told("isolate", {}, without) == ("cannot_tell", f"Still missing: {labels['other_feeds']}.")
    for name in OTHER_FEEDS:
        with case(name):
            less = {feed: it for feed, it in each.items() if feed != name}
            assert told("isolate", {}, without | less) == ("cannot_tell", f"Still missing: {labels[name]}.")


@pytest.mark.parametrize("check", ["isolate", "panels"])
def test_a_photograph_of_another_check_or_of_none_shows_nothing_of_this_one(check: str) -> None:
    values, choices, _ = WHOLE[check]
    for of in ("which_unit", "", check):
        with case(of):
            ask = FindingAsk("f1", "Sam", check=check, grade="said", values=values, choices=choices, photographs=["p9"])
            found = finding(ask, HEAD, course(taken("p9", check=of)), facts())
            assert (found.outcome == "met") is (of == check)


def test_it_runs_by_itself_as_usual_only_while_the_rig_reads_that_it_does_and_never_against_that() -> None:
    for word, name in (("probes_on", "unit_is"), ("power_back", "call"), ("power_back", "contactor")):
        (choice,) = (it for it in guided()[word].check.choices if it.name == name)
        assert (choice.usual != "", choice.usual_when) == (True, "runs")
    for word in ("probes_on", "power_back"):
        values, choices, _ = WHOLE[word]
        choices = choices | ({"unit_is": "runs"} if word == "probes_on" else {})
        values = values | ({"pressure.suction": 9e5, "pressure.liquid": 25e5} if word == "probes_on" else {})
        with case(word):
            assert find(word, values, choices, known=reading(runs=True)).outcome == "met"
            rests = find(word, values, choices, known=reading(runs=False))
            assert (rests.outcome, rests.says and rests.says.kind) == ("not_met", "finding.rig_rests")


@pytest.mark.parametrize("left", ["running", "concern"])
def test_a_unit_that_the_rig_sees_at_rest_is_not_left_running_whatever_is_said(left: str) -> None:
    """That a word yields to a reading: common practice, no source."""
    values, choices, _ = WHOLE["handover"]
    choices = choices | {"left": left}
    rests = find("handover", values, choices, known=reading(runs=False))
    assert (rests.outcome, rests.says and rests.says.kind) == ("not_met", "finding.rig_rests")
    assert find("handover", values, choices, known=reading(runs=True)).outcome == "met"
    assert find("handover", values, choices, known=reading()).outcome == "met"
    assert find("handover", values, choices | {"left": "off"}, known=reading(runs=False)).outcome == "met"
    ran = course(changed(LOOKED, check="as_it_was", outcome="met"))  # by now the clamps may be off
    assert find("handover", values, choices, known=reading(runs=False), standing=ran).outcome == "cannot_tell"


def test_probes_are_not_off_while_one_of_them_reads_pressure() -> None:
    values, choices, _ = WHOLE["probes_off"]
    presses = told("probes_off", values, choices, known=reading(suction_pressure=(130 * PSI, 3 * PSI)))
    assert presses[0] == "not_met"
    assert "The probe at the suction port still reads" in presses[1]
    high = replace(reading(suction_pressure=(95e3, 3e3)), site_pa=84_307.0)  # 5,000 ft: ISO 2533
    assert told("probes_off", values, choices, known=high)[0] == "not_met"
    assert told("probes_off", values, choices, known=replace(high, site_pa=101_325.0))[0] == "met"
    for port in ("liquid_pressure", "discharge_pressure"):
        with case(port):
            assert told("probes_off", values, choices, known=reading(**{port: (350 * PSI, 3 * PSI)}))[0] == "not_met"
    assert told("probes_off", values, choices, known=reading(suction_pressure=(17 * PSI, 3 * PSI)))[0] == "met"
    assert told("probes_off", values, choices, known=reading(liquid_pressure=(11 * PSI, 1 * PSI)))[0] == "met"


def test_what_the_probes_read_is_of_their_own_circuit_alone() -> None:
    values, choices, _ = WHOLE["probes_off"]
    known = reading(suction_pressure=(130 * PSI, 3 * PSI))
    for circuit, outcome in (("1", "not_met"), ("2", "met")):
        placed = Placed("m1", TIME_S, "Sam", "technician", on="1", channels=("suction_pressure",))
        found = told("probes_off", values, choices, known=known, standing=course(placed), circuit=circuit)
        assert (found[0], circuit) == (outcome, circuit)


def test_it_runs_on_its_own_call_only_where_the_rig_or_a_photograph_sees_it() -> None:
    values, choices, _ = WHOLE["as_it_was"]
    assert told("as_it_was", values, choices, known=reading(runs=True))[0] == "met"
    rests = told("as_it_was", values, choices, known=reading(runs=False))
    assert rests == ("not_met", "The compressor does not run, by what the rig reads.")
    assert find("as_it_was", values, choices, known=reading(runs=True)).outcome == "met"
    unseen = find("as_it_was", values, choices)
    label = next(it.label for it in guided()["as_it_was"].check.choices if it.name == "runs")
    assert unseen.outcome == "cannot_tell"
    assert unseen.says is not None
    assert unseen.says.us == f"Still missing: {label}, seen by a linked clamp or in a photograph."


def test_no_call_of_its_own_is_met_while_something_asks_for_a_stop_whenever_it_was_seen_to_run() -> None:
    values, choices, _ = WHOLE["as_it_was"]
    alarm = AlarmMessage("head pressure", Wording("-", "-"), Wording("-", "-"), "-")
    stopped = replace(reading(runs=True), advice=Advice(TIME_S, Wording("Stop.", "Stop."), [], [], {}, alarms=[alarm]))
    what = ProposedFinding("as_it_was", values=values, choices=choices)
    seen = Proposed("p1", TIME_S, what=what, from_s=TIME_S, to_s=TIME_S, says=Wording("It runs.", "It runs."))
    told_to = Advice(TIME_S, Wording("Switch it off.", "Switch it off."), [], [], {}, state="stop")
    pumps_not = replace(reading(runs=True), advice=told_to)  # it was led on to, with nothing but this to stop it
    for known, outcome in ((reading(runs=True), "met"), (stopped, "not_met"), (pumps_not, "not_met")):
        kept = DECISIONS[KeepAsk](KeepAsk("k1", "Sam", of="p1"), HEAD, course(seen), known)
        assert isinstance(kept, Finding)
        assert kept.outcome == outcome
    assert told("as_it_was", values, choices, known=stopped)[0] == "not_met"


def test_no_air_condition_is_met_where_nothing_is_pumped() -> None:
    values, choices, _ = WHOLE["air"]
    sound = {"suction_pressure": (130 * PSI, PSI), "liquid_pressure": (350 * PSI, PSI)}
    looked = {"standing": course(changed(LOOKED, id="l1"))}
    assert told("air", values, choices, known=reading(runs=True, **sound), **looked)[0] == "met"
    assert told("air", values, choices, known=reading(runs=False), **looked)[0] == "not_met"
    alike = {"suction_pressure": (200 * PSI, PSI), "liquid_pressure": (201 * PSI, PSI)}
    pumps = told("air", values, choices, known=reading(runs=True, **alike), **looked)
    assert pumps[0] == "not_met"
    assert "runs and pumps nothing" in pumps[1]
    assert told("air", values, choices, known=reading(**alike), **looked)[0] == "met"  # nothing tells that it runs
    for name in alike:
        with case(name):  # one probe alone
            assert told("air", values, choices, known=reading(runs=True, **{name: alike[name]}), **looked)[0] == "met"


def test_air_is_known_no_better_than_who_says_that_its_condition_is_met() -> None:
    values, choices, _ = WHOLE["air"]
    known = reading(runs=True, outdoor_air_temperature=(303.0, 0.1))
    asked = {"grade": "measured", "known": known, "standing": course(changed(LOOKED, id="l1"))}
    assert find("air", values, choices, **asked).grade == "said"
    by_word = {"condition", "dampers", "stages", "coil"}  # no instrument tells any of these
    without = {name: it for name, it in choices.items() if name not in by_word}
    assert find("air", values, without, **asked).grade == "measured"
    for name in by_word:
        with case(name):
            assert find("air", values, without | {name: choices[name]}, **asked).grade == "said"


def test_several_answers_are_all_quoted() -> None:
    _, choices, _ = WHOLE["probes_off"]
    _, says = told("probes_off", {}, choices)
    assert says == "Hoses: Shut and emptied; Each core: Checked by bubbles: tight; Each cap: On, with its seal."
    _, wrong = told("probes_off", {}, choices | {"caps": "missing"})
    assert wrong == "Each cap: Missing."


NEVER_USUAL = {
    ("probes_on", "field_checks"), ("probes_off", "cores"), ("as_it_was", "leak_detector"), ("discharge", "no_spark"),
    ("moving", "panel_closed"), ("isolate", "other_feeds"),
}  # fmt: skip
BY_NO_EYE = {"complaint", "power_back", "probes_on", "air", "readings_after"}
"""Checks with usual answers that are no looking: what was read or chosen, or what the rig itself tells against."""


def test_what_is_usual_is_so_beside_a_photograph_or_is_no_looking() -> None:
    for word, one in guided().items():
        usual = {it.name for it in one.check.choices if it.usual}
        if usual and not one.check.photographs:
            assert word in BY_NO_EYE, word
        assert not {(word, name) for name in usual} & NEVER_USUAL
    for word in ("isolate", "panels"):
        assert any(isinstance(rule, Photographed) for rule in guided()[word].rules)


def test_hands_in_the_panel_are_next_only_once_it_is_dead_and_are_asked_about_before() -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it."""
    dead = [kept("i1", "isolate"), kept("d1", "prove_dead"), kept("d2", "discharge")]
    hands = {word for word in guided() if needs_hands(word)}
    assert not hands & {*course().findings.next()}
    assert not hands & {*course(*dead[:2]).findings.next()}
    assert "connections" in course(*dead).findings.next()
    none = kept("d2", "discharge", "skipped", reason="not_fitted")
    assert "connections" in course(*dead[:2], none).findings.next()
    powered = course(*dead, kept("s1", "supply"))
    assert not hands & {*powered.findings.next()}
    ask = FindingAsk("f1", "Sam", check="connections", grade="said", choices={"found": "tight"})
    with pytest.raises(DoubtfulError, match="these do not stand as met: Isolate and lock, Prove dead, Discharge"):
        finding(ask, HEAD, powered, facts())
    with pytest.raises(DoubtfulError, match="met: Discharge"):
        finding(ask, HEAD, course(*dead[:2]), facts())
    assert finding(ask, HEAD, course(*dead), facts()).check == "connections"
    assert finding(changed(ask, confirmed=True), HEAD, powered, facts()).check == "connections"
    skipped = changed(ask, outcome="skipped", reason="not_reachable", choices={})
    assert finding(skipped, HEAD, powered, facts()).outcome == "skipped"


def test_a_panel_is_closed_as_in_a_photograph_that_nobody_took_only_where_somebody_says_so() -> None:
    """On the wire as on the page: whoever asks."""
    wiring = kept("w1", "wiring_photograph", photographs=["p1"])
    values, choices, _ = WHOLE["close_panel"]
    ask = FindingAsk("f1", "Sam", check="close_panel", grade="said", values=values, choices=choices)
    dead = [kept("i1", "isolate"), kept("d1", "prove_dead"), kept("d2", "discharge")]
    for before in ([], [changed(wiring, photographs=[])], [changed(wiring, outcome="not_met")]):
        with pytest.raises(DoubtfulError, match="Photograph of the wiring was not taken before the first lead was off"):
            finding(ask, HEAD, course(*dead, *before), facts())
        assert finding(changed(ask, confirmed=True), HEAD, course(*dead, *before), facts()).outcome == "met"
    assert finding(ask, HEAD, course(*dead, wiring), facts()).outcome == "met"
    circuit = kept("c1", "complaint", choices={"work": "circuit"})  # of a unit whose panel nobody opens for work
    never_off = changed(ask, values={}, choices={"cover": "never_off"})
    assert finding(never_off, HEAD, course(circuit), facts()).outcome == "met"
    off = changed(ask, choices={**choices, "cover": "off"})
    assert finding(off, HEAD, course(), facts()).outcome == "not_met"


def kept(name: str, check: str, outcome: Any = "met", **fields: Any) -> Finding:
    return Finding(name, TIME_S, "Sam", "technician", check=check, grade="said", outcome=outcome, **fields)
