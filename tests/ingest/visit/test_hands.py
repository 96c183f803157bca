"""Hands go behind a panel only where it is locked, proved dead and discharged: else they are asked about first.

29 CFR 1910.333(b)(2), from memory: locked and tagged, and proved dead, before work on it. What a lock, a core and an
opened circuit come to otherwise: common practice, no source.
"""

import pytest

from calc.sentences import Sentence, say
from ingest.visit.checklist import guided
from ingest.visit.deciding import DoubtfulError, Facts
from ingest.visit.finding import finding
from ingest.visit.standing import Standing
from ingest.wire.messages import ChargeLeft, Finding, FindingAsk, Reading
from tests.ingest.visit.checks import HEAD, TIME_S, course, facts, find
from tests.ingest.visit.test_cover import close
from tests.ingest.visit.test_every_check import OPENED, WHOLE
from tests.ingest.visit.test_places_looked_at import DEAD, TIGHT, kept

BEHIND = {"found": "nothing", "bypassed": "none"}


@pytest.mark.parametrize("isolated", [[], [kept("b1", "isolate", "not_met", disconnect_state="open")]])
@pytest.mark.parametrize("check", ["conductor", "contactor"])
def test_hands_are_asked_about_where_no_lock_is_on(check: str, isolated: list[Finding]) -> None:
    ask = FindingAsk("f1", "Sam", check=check, grade="said", choices=WHOLE[check][1])
    with pytest.raises(DoubtfulError, match=r"these do not stand as met: Isolate and lock\. Lock it, prove it dead"):
        finding(ask, HEAD, course(*isolated, *DEAD[1:]), facts())
    assert finding(ask, HEAD, course(*DEAD), facts()).check == check
    assert check not in course(*isolated, *DEAD[1:]).message().next


def test_nobody_has_looked_behind_a_panel_that_is_not_dead_without_being_asked() -> None:
    ask = FindingAsk("f1", "Sam", check="look_first", grade="said", choices=BEHIND)
    live = Facts(
        facts().unit, {"line_voltage_ab": Reading(238.0, TIME_S, standard_uncertainty=1.0)}, frozenset(), frozenset()
    )
    for standing, known in ((Standing("v1"), facts()), (course(*DEAD), live)):
        with pytest.raises(DoubtfulError, match="do not stand as met: Isolate and lock, Prove dead, Discharge"):
            finding(ask, HEAD, standing, known)
    assert finding(ask, HEAD, course(*DEAD), facts()).outcome == "met"
    outside = FindingAsk("f1", "Sam", check="look_first", grade="said", choices=BEHIND | {"bypassed": "outside"})
    assert finding(outside, HEAD, Standing("v1"), live).outcome == "met"


def test_a_look_behind_the_panel_had_its_cover_off() -> None:
    looked = course(kept("a1", "look_first", found="nothing", bypassed="none"))
    assert looked.findings.cover_was_off == "Look first"
    assert looked.findings.is_cover_off
    with pytest.raises(Exception, match="cover is said to be never off, and by Look first it was off"):
        close(looked, {"cover": "never_off", "earthed": "yes"})
    choice = next(it for it in guided()["look_first"].check.choices if it.name == "bypassed")
    assert choice.offered_when == {"none": "panel_dead"}


def test_the_drier_and_the_nitrogen_that_flows_come_before_the_test_that_counts() -> None:
    check = guided()["opened"].check
    names = [it.name for it in check.choices]
    assert names.index("purged") < names.index("flowing") < names.index("drier") < names.index("tested")
    assert check.met.index("drier renewed") < check.met.index("the pressure test that counts")
    said = WHOLE["opened"][1]
    for name in ("purged", "flowing"):
        assert find("opened", OPENED, {it: said[it] for it in said if it != name}).outcome == "cannot_tell"
        assert find("opened", OPENED, said | {name: "no"}).outcome == "not_met"


def test_each_that_failed_of_an_opened_circuit_is_named() -> None:
    values = OPENED | {"isolated_for": 300.0, "weighed_in": 2.0}
    choices = WHOLE["opened"][1] | {"level_verified": "no", "tested": "before", "drier": "old"}
    says = find("opened", values, choices).says
    assert says is not None
    for what in ("Level verified before opening", "Before a joint", "Drier: The old one", "isolated for", "Weighed in"):
        assert what in says.us
    assert "None" not in says.us


@pytest.mark.parametrize(("outcome", "stands"), [("cannot_tell", False), ("not_met", False), ("skipped", True)])
@pytest.mark.parametrize("named", ["", "2"])
def test_a_charge_that_was_left_is_left_no_more_once_its_circuit_was_opened(
    outcome: str, stands: bool, named: str
) -> None:
    left = ChargeLeft("l1", TIME_S, "Sam", "technician", reason="owner", advised="add", advised_kg=0.2)
    opened = Finding("e5", TIME_S, "Sam", "technician", check="opened", grade="said", outcome=outcome, circuit=named)
    assert (course(left, opened).charges_left.of("") is not None) is (stands or named == "2")
    assert course(opened, left).charges_left.of("") is not None


@pytest.mark.parametrize(("state", "locks"), [("open", ()), ("closed", ()), ("locked_by_me", ("Sam",))])
def test_a_name_alone_makes_no_lock(state: str, locks: tuple[str, ...]) -> None:
    assert course(kept("b1", "isolate", "not_met", disconnect_state=state, locked_by="Sam")).findings.locks == locks


def test_a_core_under_a_probe_that_reads_pressure_is_not_looked_at_yet() -> None:
    known = Facts(
        facts().unit, {"suction_pressure": Reading(900e3, TIME_S, standard_uncertainty=3e3)}, frozenset(), frozenset()
    )
    under = find("leaks", {}, {**TIGHT, "caps_and_cores": "tight", "by": "detector"}, known=known)
    assert (under.outcome, under.says and under.says.kind) == ("cannot_tell", "finding.cores_under_probes")


def test_a_start_is_tried_below_the_lock_its_name_and_its_photograph() -> None:
    last = [it.name for it in guided()["isolate"].check.choices if it.last]
    assert last == ["tried"]


@pytest.mark.parametrize("kind", ["alarm.compressor_current", "finding.single_phasing"])
def test_what_is_to_be_looked_at_in_the_panel_is_said_in_one_voice(kind: str) -> None:
    assert "Lock out, prove dead and discharge before a hand goes in" in say(Sentence(kind), "us")


RUNNING = [
    ("motor_amps", {"amps.a": 8.0}, {"motor": "compressor"}),
    ("joint_drop", {"drop.a": 0.03, "amps": 8.0}, {}),
    ("start", {}, {"course": "ran", "motor": "compressor"}),
    ("contactor_live", {"drop.pole_1": 0.02}, {"when_called": "in"}),
]


@pytest.mark.parametrize(("check", "values", "choices"), RUNNING)
def test_what_only_one_that_runs_shows_is_asked_about_while_the_rig_reads_that_it_stands(
    check: str, values: dict[str, float], choices: dict[str, str]
) -> None:
    ask = FindingAsk("f1", "Sam", check=check, grade="said", values=values, choices=choices)
    for amps, runs in ((0.0, None), (0.0, False), (None, False)):
        read = {} if amps is None else {"compressor_current": Reading(amps, TIME_S, standard_uncertainty=0.05)}
        known = Facts(facts().unit, read, frozenset(), frozenset(), runs=runs)
        with pytest.raises(DoubtfulError, match="Is this what was read while it ran"):
            finding(ask, HEAD, course(*DEAD), known)
    drawn = {"compressor_current": Reading(8.0, TIME_S, standard_uncertainty=0.05)}
    assert finding(ask, HEAD, course(), Facts(facts().unit, drawn, frozenset(), frozenset())).check == check
