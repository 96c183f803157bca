"""What was looked at, and from where: behind a panel only dead, and each place of a leak for itself.

29 CFR 1910.333(a)(1), as an OSHA citation quotes it, for what is behind a panel. The rest: common practice, no source.
"""

from typing import Any

import pytest

from calc.estimate import Estimate
from ingest.visit.checklist import guided
from ingest.visit.leading import Now
from ingest.visit.rule_rig import are_both_pressed
from ingest.wire.messages import Finding, Placed
from tests.ingest.visit.checks import TIME_S, course, exact, find
from tests.ingest.visit.test_every_check import WHOLE
from tests.ingest.visit.test_rules import OPENED, PSI, TESTED


def kept(name: str, check: str, outcome: Any = "met", **choices: str) -> Finding:
    return Finding(name, TIME_S, "Sam", "technician", check=check, grade="said", outcome=outcome, choices=choices)


FROM_OUTSIDE = kept("a3", "look_first", found="nothing", bypassed="outside")
BEFORE = [kept("a1", "complaint"), kept("a2", "which_unit"), FROM_OUTSIDE, kept("a4", "what_is_in_it")]
DEAD = [kept("b1", "isolate"), kept("b2", "prove_dead"), kept("b3", "discharge")]


def following(*marks: Any) -> list[str]:
    return list(course(*marks).message().next)


def test_what_is_behind_a_panel_is_looked_for_again_once_it_is_open_and_dead() -> None:
    assert find("look_first", {}, {"found": "nothing", "bypassed": "outside"}).outcome == "met"
    for number in range(len(DEAD)):
        assert "look_first" not in following(*BEFORE, *DEAD[:number])
    assert following(*BEFORE, *DEAD)[0] == "look_first"
    seen = kept("a5", "look_first", found="nothing", bypassed="none")
    assert "look_first" not in following(*BEFORE, *DEAD, seen)
    no_further = kept("a6", "look_first", found="nothing", bypassed="outside")  # said at the open panel: asked no more
    assert "look_first" not in following(*BEFORE, *DEAD, no_further)
    inside = [*BEFORE[:2], seen, BEFORE[3]]  # seen with it open at the first look: nothing is asked again
    assert "look_first" not in following(*inside, *DEAD)


def test_nobody_is_sent_to_look_behind_a_panel_that_has_power_or_is_closed() -> None:
    assert "look_first" not in following(*BEFORE, *DEAD, kept("d1", "power_back"))
    assert "look_first" not in following(*BEFORE, *DEAD, kept("c1", "close_panel", cover="on"))
    runs = course(*BEFORE, *DEAD)
    runs.judged("", TIME_S, now=Now(powered=True))
    assert "look_first" not in runs.message().next
    half = [BEFORE[0], BEFORE[1], kept("a3", "look_first", "cannot_tell", bypassed="outside"), BEFORE[3]]
    assert "look_first" not in following(*half, *DEAD[:2])


TIGHT = {"oil": "none", "joints": "tight", "coil_ends": "tight", "by": "bubbles", "read_again": "in 30 days"}


def test_a_core_under_a_probe_is_looked_at_as_that_comes_off() -> None:
    def told(cores: str, *marks: Finding) -> Finding:
        return find("leaks", {}, {**TIGHT, "caps_and_cores": cores}, standing=course(*marks))

    on = kept("e0", "probes_on")
    assert told("as_they_come_off", on).outcome == "met"
    under = told("tight", on)
    assert (under.outcome, under.says and under.says.kind) == ("cannot_tell", "finding.cores_under_probes")
    assert told("tight", on, kept("f1", "probes_off")).outcome == "met"
    assert told("tight").outcome == told("tight", kept("e0", "probes_on", "skipped")).outcome == "met"
    assert told("leak", on).outcome == "not_met"


AIR_PA = 101325.0
SUCTION, LIQUID, DISCHARGE = "suction_pressure", "liquid_pressure", "discharge_pressure"


def put(on: str, *channels: str) -> Placed:
    return Placed("p1", TIME_S, on=on, channels=channels)


@pytest.mark.parametrize(
    ("both", "marks", "are_under"),
    [
        (True, [], True),
        (True, [put("2", SUCTION, LIQUID)], True),
        (False, [], False),
        (False, [kept("e0", "probes_on")], False),  # they were on, and what they read now does not tell it
        (True, [put("", LIQUID)], False),
        (True, [put("2", SUCTION), put("1", LIQUID), put("2", SUCTION)], False),
    ],
)
def test_cores_are_known_to_be_under_probes_only_where_both_read_pressure_of_the_circuit_in_view(
    both: bool, marks: list[Any], are_under: bool
) -> None:
    standing = course(*marks)
    standing.judged("", TIME_S, now=Now(both_pressed=both))
    assert ("cores_under_probes" in standing.message().facts) is are_under


@pytest.mark.parametrize(
    ("read", "both"),
    [
        ({SUCTION: 9e5, LIQUID: 2e6}, True),
        ({SUCTION: 9e5, DISCHARGE: 2e6}, True),
        ({SUCTION: 9e5}, False),  # a core that no probe is on can be looked at
        ({LIQUID: 2e6, DISCHARGE: 2e6}, False),
        ({SUCTION: 9e5, LIQUID: AIR_PA}, False),
        ({SUCTION: AIR_PA + 1.9e3, LIQUID: 2e6}, False),  # within its ± of 2 kPa, no probe tells it from open air
        ({SUCTION: AIR_PA + 2.1e3, LIQUID: 2e6}, True),
    ],
)
def test_a_probe_in_open_air_is_on_no_port(read: dict[str, float], both: bool) -> None:
    assert are_both_pressed({name: Estimate(it, 1e3) for name, it in read.items()}, AIR_PA) is both


def test_of_the_places_of_a_leak_only_what_nobody_can_see_yet_is_known_and_it_is_no_look() -> None:
    known = {it.name: dict(it.known_by) for it in guided()["leaks"].check.choices if it.known_by or it.usual}
    assert known == {"caps_and_cores": {"cores_under_probes": "as_they_come_off"}}


@pytest.mark.parametrize("place", ["oil", "caps_and_cores", "joints", "coil_ends"])
def test_each_place_of_a_leak_has_an_answer_of_its_own(place: str) -> None:
    _, choices, _ = WHOLE["leaks"]
    rest = {name: said for name, said in choices.items() if name != place}
    assert find("leaks", {}, rest).outcome == "cannot_tell"
    shots = guided()["leaks"].check.shots
    assert [shot.answers for shot in shots] == [{"oil": "none"}]  # no picture shows bubbles that are not there


def test_an_opened_circuit_is_not_met_by_a_test_made_before_its_last_joint() -> None:
    values = TESTED | {"nitrogen.end": 146.9 * PSI + 101325.0}
    before = find("opened", values, OPENED | {"tested": "before"}, accuracies=exact(values))
    assert before.outcome == "not_met"
    assert before.says is not None
    assert "Before a joint that was made later" in before.says.us
    unsaid = {name: said for name, said in OPENED.items() if name != "tested"}
    assert find("opened", values, unsaid, accuracies=exact(values)).outcome == "cannot_tell"


def test_a_load_side_that_is_dead_proves_no_line_side_and_one_that_is_live_is_live() -> None:
    dead, choices, _ = WHOLE["prove_dead"]
    with_load = find("prove_dead", dead | {"load_side": 0.2}, choices)
    assert with_load.outcome == find("prove_dead", dead, choices).outcome == "met"
    load_alone = {name: value for name, value in dead.items() if not name.startswith("volts")} | {"load_side": 0.2}
    only = find("prove_dead", load_alone, choices)
    assert (only.outcome, "0 of 3 pairs" in (only.says.us if only.says else "")) == ("cannot_tell", True)
    assert find("prove_dead", dead | {"load_side": 118.0}, choices).outcome == "not_met"
    assert find("prove_dead", dead | {"load_side": 20.0}, choices).outcome == "cannot_tell"
