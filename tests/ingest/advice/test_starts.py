"""Whether the newest start stalled: by the starts that were diagnosed, until it runs."""

from typing import Any

import pytest

from ingest.advice.advisor import Advisor
from ingest.advice.memory import Earlier
from ingest.advice.starts import Stalled
from ingest.rig import Rig
from ingest.wire.messages import Finding, Mark, Outcome, Proposed, ProposedFinding, Wording
from tests.ingest.advice.test_advisor import T0_S, follow

SAYS = Wording("It stalled.", "It stalled.")


def start(course: str, check: str = "start", at_s: float = T0_S + 30.0) -> Proposed:
    what = ProposedFinding(check, choices={"motor": "compressor", "course": course})
    return Proposed(f"{check} {course}", at_s + 5.0, what=what, from_s=at_s, to_s=at_s + 5.0, says=SAYS)


def exchanged(
    outcome: Outcome = "met",
    check: str = "replacement",
    part: str = "run capacitor",
    at_s: float = T0_S + 60.0,
    builds_on: str = "",
    **read: Any,
) -> Finding:
    name = f"{check} {outcome} {at_s:g}"
    return Finding(name, at_s, check=check, grade="said", outcome=outcome, part=part, builds_on=builds_on, **read)


def said(course: str, outcome: Outcome = "not_met", motor: str = "compressor", proposal: str = "") -> Finding:
    choices = {"motor": motor, "course": course}
    name, at_s = f"said {course}", T0_S + 40.0
    return Finding(name, at_s, check="start", grade="said", outcome=outcome, choices=choices, proposal=proposal)


@pytest.mark.parametrize(
    ("marks", "at_s"),
    [
        ((), None),
        ((start("stalled"),), T0_S + 30.0),
        ((start("stalled"), start("ran")), None),
        ((start("ran"), start("stalled")), T0_S + 30.0),
        ((start("stalled"), start("ran", "motor_amps")), T0_S + 30.0),
        ((start("stalled"), exchanged()), None),
        ((start("stalled"), exchanged("cannot_tell")), None),
        ((start("stalled"), exchanged("skipped")), T0_S + 30.0),
        ((start("stalled"), exchanged("not_met", "capacitor_measured")), T0_S + 30.0),  # found, and still in
        ((start("stalled"), exchanged(), start("stalled", at_s=T0_S + 90.0)), T0_S + 90.0),
    ],
)
def test_the_newest_start_counts_with_the_parts_that_are_in(marks: tuple[Mark, ...], at_s: float | None) -> None:
    assert Stalled(marks).at_s == at_s


@pytest.mark.parametrize(
    ("part", "read", "explains"),
    [
        ("", {}, True),  # the check is of a capacitor
        ("run capacitor", {}, True),
        ("Compressor", {}, True),
        ("compressor and fan contactor", {}, True),
        ("potential relay", {}, True),
        ("wires at the contactor", {}, True),
        ("condenser fan", {}, False),
        ("fan capacitor", {}, False),
        ("blower", {}, False),
        ("filter drier", {}, False),
        ("startup label", {}, False),
        ("C1", {"values": {"new_label.herm": 45e-6}}, True),
        ("C1", {"plated": {"old_label.herm": 45e-6, "old_label.fan": 5e-6}}, True),  # a dual one, by its sheet
        ("C2", {"recalled": {"old_label.fan": 5e-6}}, False),
        ("capacitor", {"values": {"rated_volts.new": 440.0, "measured.fan": 5e-6}}, False),
    ],
)
def test_only_a_part_that_a_compressor_turns_by_may_explain_why_it_stalled(
    part: str, read: dict[str, dict[str, float]], explains: bool
) -> None:
    """Common practice, no source."""
    for outcome in ("met", "cannot_tell"):
        found = Stalled((start("stalled"), exchanged(outcome, part=part, **read)))
        assert found.at_s == (None if explains else T0_S + 30.0)


def test_what_was_exchanged_before_it_stalled_again_explains_nothing_whatever_is_added_later() -> None:
    first = exchanged("cannot_tell", at_s=T0_S + 20.0)
    more = exchanged("met", at_s=T0_S + 60.0, builds_on=first.id)
    more_still = exchanged("met", at_s=T0_S + 70.0, builds_on=more.id)
    assert Stalled((first, start("stalled"))).at_s == T0_S + 30.0
    assert Stalled((start("stalled"), first)).at_s == T0_S + 30.0  # told late, as a start is
    assert Stalled((first, start("stalled"), more, more_still)).at_s == T0_S + 30.0
    assert Stalled((first, start("stalled"), more, exchanged(at_s=T0_S + 80.0))).at_s is None


def test_what_stalled_is_told_while_it_rests_and_forgotten_once_it_has_run(rig: Rig) -> None:
    advisor = Advisor(1.0, None)
    advisor.take(start("stalled"), 0.0)
    stalled = follow(advisor, rig, range(100), 1.5e6, 1.5e6)
    assert stalled.sentence.kind == "headline.stalled"
    assert "1 min ago" in stalled.sentence.us
    follow(advisor, rig, range(100, 130), 0.9e6, 2.5e6)  # no longer than an overload takes to trip
    assert follow(advisor, rig, range(130, 190), 1.5e6, 1.5e6).sentence.kind == "headline.stalled"
    follow(advisor, rig, range(190, 270), 0.9e6, 2.5e6)
    assert follow(advisor, rig, range(270, 330), 1.5e6, 1.5e6).sentence.kind == "headline.at_rest"


def test_where_a_part_was_exchanged_it_rests_as_any_unit_does(rig: Rig) -> None:
    advisor = Advisor(1.0, None)
    advisor.take(start("stalled"), 0.0)
    assert follow(advisor, rig, range(100), 1.5e6, 1.5e6).sentence.kind == "headline.stalled"
    advisor.take(exchanged(), 0.0)
    assert follow(advisor, rig, range(100, 160), 1.5e6, 1.5e6).sentence.kind == "headline.at_rest"


@pytest.mark.parametrize(
    ("marks", "stalled_s", "pumped_not_s"),
    [
        ((start("backwards"),), None, T0_S + 30.0),
        ((said("backwards"),), None, T0_S + 40.0),
        ((said("stalled"),), T0_S + 40.0, None),
        ((start("stalled"), start("backwards")), None, T0_S + 30.0),
        ((start("backwards"), start("ran")), None, None),
        ((said("backwards"), said("ran")), None, None),
        ((said("backwards"), said("ran", motor="blower")), None, T0_S + 40.0),
        ((start("backwards"), said("backwards", proposal="start backwards")), None, T0_S + 30.0),  # kept later
        ((said("backwards", outcome="skipped"),), None, None),
        ((start("backwards"), exchanged()), None, T0_S + 30.0),  # a capacitor turns no scroll round
    ],
)
def test_what_drew_current_and_did_not_pump_counts_likewise(
    marks: tuple[Mark, ...], stalled_s: float | None, pumped_not_s: float | None
) -> None:
    found = Stalled(marks)
    assert (found.at_s, found.pumped_not_s) == (stalled_s, pumped_not_s)


def test_what_turned_backwards_is_remembered_over_a_start_of_the_daemon_and_until_it_has_pumped(rig: Rig) -> None:
    """It was recorded as not met, and once switched off it was told how to start it."""
    advisor, mark = Advisor(1.0, None), said("backwards")
    advisor.go_on(Earlier(marks=[mark], changes_kg={mark.id: 0.0}), rig, 101_325.0)
    assert follow(advisor, rig, range(60), 1.5e6, 1.5e6).sentence.kind == "headline.pumped_not"
    follow(advisor, rig, range(60, 140), 0.9e6, 2.5e6)
    assert follow(advisor, rig, range(140, 200), 1.5e6, 1.5e6).sentence.kind == "headline.at_rest"


def test_a_stall_outlives_a_start_of_the_daemon(rig: Rig) -> None:
    advisor, mark = Advisor(1.0, None), start("stalled")
    advisor.go_on(Earlier(marks=[mark], changes_kg={mark.id: 0.0}), rig, 101_325.0)
    assert follow(advisor, rig, range(60), 1.5e6, 1.5e6).sentence.kind == "headline.stalled"
