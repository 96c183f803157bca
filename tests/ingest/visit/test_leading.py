"""The order does not lead past the charge, nor past what was found not met; common practice, no source."""

from dataclasses import replace
from typing import Any

import pytest

from ingest.visit.checklist import guided
from ingest.visit.deciding import DoubtfulError, RefusedError
from ingest.visit.finding import asks_of_charge
from ingest.visit.leading import Now
from ingest.visit.standing import Standing
from ingest.wire.messages import Acknowledged, Added, Advice, ByHold, Finding, Reading, Released, Stop, Wording
from tests.ingest.visit.checks import TIME_S, course, facts, find

AT_THE_CIRCUIT = [word for word, one in guided().items() if not one.check.place.startswith("F")]
VOLTS = {"nameplate.low": 230.0, "running.a_b": 228.0, "rest.a_b": 232.0}


def kept(name: str, check: str, outcome: Any = "met", **fields: Any) -> Finding:
    return Finding(name, TIME_S, "Sam", "technician", check=check, grade="said", outcome=outcome, **fields)


def at_the_end_of_the_circuit(*more: Any, charge_asked: bool = True) -> Standing:
    """All of it answered but closing, and what the judge says then."""
    standing = course(*(kept(f"k{word}", word) for word in AT_THE_CIRCUIT), *more)
    standing.judged("subcooling", TIME_S + 60.0, now=Now(runs=True, charge_asked=charge_asked))
    return standing


def test_nothing_is_closed_while_the_judge_asks_for_a_move() -> None:
    asked = at_the_end_of_the_circuit().message()
    assert "charge_asked" in asked.facts
    assert list(asked.next) == []
    quiet = at_the_end_of_the_circuit(charge_asked=False).message()
    assert "charge_asked" not in quiet.facts
    assert quiet.next[0] == "probes_off"


def test_while_a_lead_s_stop_stands_nothing_is_next_and_whoever_finds_a_hazard_records_it() -> None:
    stop = Stop("s", TIME_S, "Robin", "lead", text="Hands out of it.")
    standing = at_the_end_of_the_circuit(stop, charge_asked=False)
    standing.by_hold = ByHold("prove_dead", "", "", 1, 6)
    assert (standing.message().is_stopped, list(standing.message().next)) == (True, [])
    hazard = find("look_first", choices={"bypassed": "found"}, standing=standing)
    standing.take(hazard)
    assert standing.findings.newest("look_first") == hazard
    standing.take(Acknowledged("a", TIME_S + 1.0, "Sam", "technician", of="s"))
    assert (standing.message().is_stopped, list(standing.message().next)) == (True, [])
    standing.take(Released("r", TIME_S + 2.0, "Robin", "lead", of="s"))
    assert not standing.message().is_stopped
    assert standing.message().next


def test_who_leaves_the_charge_alone_is_led_on_and_the_judge_is_still_told() -> None:
    left = kept("left", "readings_before", choices={"settled": "yes", "then": "leave"})
    asked = at_the_end_of_the_circuit(left)
    assert (asked.message().next[0], "charge_asked" in asked.message().facts) == ("probes_off", True)
    moved = at_the_end_of_the_circuit(left, Added("a1", TIME_S, "Sam", "technician", mass_kg=0.2))
    assert list(moved.message().next) == []  # what was moved since is no charge that is left alone


def test_once_the_probes_are_off_nothing_is_asked_of_the_charge() -> None:
    off = at_the_end_of_the_circuit(kept("off", "probes_off")).message()
    assert ("charge_asked" in off.facts, off.next[0]) == (False, "as_it_was")


@pytest.mark.parametrize(
    ("state", "kind", "asks"),
    [
        ("move", "headline.add", True),
        ("look", "headline.some_cause", True),
        ("look", "headline.several", True),
        ("look", "headline.too_close", False),
        ("look", "headline.add_instrument", False),
        ("near enough", "headline.near_enough", False),
    ],
)
def test_a_move_is_asked_for_and_a_look_before_one(state: str, kind: str, *, asks: bool) -> None:
    advised = replace(facts(), advice=Advice(TIME_S, Wording("-", "-", kind), [], [], {}, state))
    assert asks_of_charge(advised) is asks
    assert not asks_of_charge(replace(advised, is_blind=True))


@pytest.mark.parametrize("check", ["readings_after", "probes_off"])
def test_what_was_found_not_met_at_the_end_stays_open(check: str) -> None:
    moved = Added("a1", TIME_S, "Sam", "technician", mass_kg=0.2)
    failed = at_the_end_of_the_circuit(moved, kept("f", check, "not_met"), charge_asked=False)
    assert failed.message().next[0] == check
    failed.take(kept("g", check))
    assert check not in failed.message().next


def test_the_volts_at_rest_are_not_what_the_link_shows_while_it_runs() -> None:
    live = Reading(230.0, TIME_S, standard_uncertainty=0.2)
    at_rest = replace(facts(), readings={"line_voltage_ab": live}, runs=False)
    runs = replace(at_rest, runs=True)
    measured = dict.fromkeys(("rest.a_b",), "measured")
    assert find("supply", VOLTS, known=at_rest, grades=measured).outcome == "met"
    with pytest.raises(RefusedError, match="is measured now, while it runs"):
        find("supply", VOLTS, known=runs, grades=measured)
    with pytest.raises(DoubtfulError, match="Volts at rest"):
        find("supply", VOLTS, known=runs, confirmed=False)
    assert find("supply", VOLTS, known=runs).outcome == "met"
    blower = replace(at_rest, readings={"blower_current": Reading(2.0, TIME_S, standard_uncertainty=0.05)}, runs=None)
    with pytest.raises(DoubtfulError, match="draws current"):
        find("supply", VOLTS, known=blower, confirmed=False)


def test_the_circuits_are_as_many_as_were_counted_at_the_unit() -> None:
    assert course().findings.circuits_counted == 0
    assert course(kept("w", "which_unit", values={"circuits": 2.0})).findings.circuits_counted == 2


def led(*more: Any, left: bool = False, **now: Any) -> list[str]:
    """Where the page leads once the readings before were taken, with the judge asking for refrigerant."""
    before = AT_THE_CIRCUIT[: AT_THE_CIRCUIT.index("moving")]
    then = {"settled": "yes", "then": "leave" if left else "move"}
    standing = course(*(kept(f"k{it}", it, choices=then if it == "readings_before" else {}) for it in before), *more)
    standing.judged("subcooling", TIME_S + 60.0, now=Now(runs=True, charge_asked=True, **now))
    return list(standing.message().next)


def test_where_leaks_are_to_be_looked_for_first_the_page_leads_there_before_a_move_and_until_somebody_looked() -> None:
    assert led()[0] == "moving"
    assert led(leaks_first=True)[:2] == ["leaks", "moving"]
    looked = kept("l1", "leaks", choices={"by": "bubbles", "joints": "tight"})
    assert led(looked, leaks_first=True)[0] == "moving"
    found = kept("l1", "leaks", "not_met", choices={"by": "bubbles", "joints": "leak"})
    assert led(found, leaks_first=True)[0] != "leaks"
    assert led(kept("l1", "leaks", "skipped", reason="not_reachable"), leaks_first=True)[0] == "moving"
    assert led(kept("l1", "leaks", "cannot_tell", choices={"by": "seen"}), leaks_first=True)[0] == "leaks"
    assert "leaks" not in led(left=True, leaks_first=True)  # who leaves the charge alone adds nothing
