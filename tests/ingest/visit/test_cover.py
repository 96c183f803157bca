"""A cover that is off: nothing is done at it before it is dead, whatever the visit is for; one never off needs no hand.

29 CFR 1910.333(a)(1), as an OSHA citation quotes it: what is live is made dead before anybody works on or near it.
"""

from typing import Any

import pytest
from msgspec.structs import replace

from ingest.visit.circumstances import Place
from ingest.visit.cover import CoverFold
from ingest.visit.deciding import DoubtfulError, RefusedError
from ingest.visit.finding import finding
from ingest.visit.leading import Now
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding, FindingAsk, Proposed, ProposedFinding, Wording
from tests.ingest.visit.checks import HEAD, TIME_S, course, facts, taken

MAKING_DEAD = ["isolate", "prove_dead", "discharge"]
BURNS = facts(refrigerant="R-454B", safety_class="A2L")
ON = {"cover": "on", "inside": "nothing", "screws_back": "all"}


def kept(name: str, check: str, outcome: Any = "met", **choices: str) -> Finding:
    return Finding(name, TIME_S, "Sam", "technician", check=check, grade="said", outcome=outcome, choices=choices)


BEGUN = [
    kept("a1", "complaint", work="circuit"), kept("a2", "which_unit"), kept("a3", "look_first"),
    kept("a4", "what_is_in_it", safety_class="A2L"),
]  # fmt: skip
OFF = kept("c1", "close_panel", "not_met", cover="off")
DEAD = [kept(f"b{number}", word) for number, word in enumerate(MAKING_DEAD)]


def following(*marks: Any, place: Place | None = None) -> list[str]:
    standing = course(*marks)
    standing.findings.at(place or Place())
    return list(standing.message().next)


def close(standing: Standing, choices: dict[str, str], *, confirmed: bool = False, **more: Any) -> Finding:
    ask = FindingAsk("f1", "Sam", check="close_panel", grade="said", choices=choices, confirmed=confirmed, **more)
    return finding(ask, HEAD, standing, BURNS)


def test_a_cover_found_off_at_a_visit_to_the_circuit_alone_is_made_dead_for_before_it_is_closed() -> None:
    assert following(*BEGUN)[0] == "close_panel"
    assert following(*BEGUN, OFF)[:4] == [*MAKING_DEAD, "close_panel"]
    asked = following(*BEGUN, OFF, *DEAD)
    assert asked[:2] == ["close_panel", "power_back"]
    assert not {"wiring_photograph", "capacitor_by_eye", "connections", "contactor"} & {*asked}  # nobody works in it
    closed = following(*BEGUN, OFF, *DEAD, kept("c2", "close_panel", **ON))
    assert closed[0] == "power_back"
    assert not {*MAKING_DEAD} & {
        *following(*BEGUN, OFF, *DEAD, kept("c2", "close_panel", **ON), kept("d1", "power_back"))
    }


def test_it_is_so_of_a_unit_of_which_nothing_burns_too_and_however_it_was_said() -> None:
    for off in (OFF, kept("c1", "close_panel", "not_met"), kept("c1", "close_panel", **ON)):
        assert following(*BEGUN[:3], off)[:3] != MAKING_DEAD  # what is in it comes first
        asked = following(*BEGUN[:3], kept("a4", "what_is_in_it", safety_class="A1"), off)
        assert asked[:3] == MAKING_DEAD


def test_once_there_was_power_a_cover_that_is_still_off_is_made_dead_for_again() -> None:
    live = [*BEGUN, OFF, *DEAD, kept("d1", "power_back")]
    asked = following(*live)
    assert asked.index("isolate") < asked.index("prove_dead") < asked.index("discharge") < asked.index("close_panel")


def test_that_it_is_on_again_is_asked_about_before_it_is_dead() -> None:
    for marks in ([], [OFF], [OFF, DEAD[0]]):
        with pytest.raises(DoubtfulError, match=r"these do not stand as met: .*Prove dead, Discharge"):
            close(course(*BEGUN, *marks), {**ON, "earthed": "yes"})
    assert close(course(*BEGUN, OFF, *DEAD), {**ON, "earthed": "yes"}).outcome == "met"
    assert close(course(*BEGUN, OFF), {"cover": "off", "earthed": "yes"}).outcome == "not_met"
    again = course(*BEGUN, OFF, *DEAD, kept("c2", "close_panel", **ON), kept("d1", "power_back"))
    assert close(again, {**ON, "earthed": "yes"}).outcome == "met"  # no hand was in it since
    live = [kept("c2", "close_panel", **ON), kept("d1", "power_back"), kept("x1", "contactor_live")]
    measured = course(*BEGUN, OFF, *DEAD, *live)
    assert close(measured, {**ON, "earthed": "yes"}).outcome == "met"  # under load, by leads placed while it was dead


def test_a_cover_that_was_never_off_is_met_by_a_touch_or_from_outside_and_needs_nothing_inside() -> None:
    said = {"cover": "never_off"}  # the ground is measured behind a cover: no truthful answer where it stayed on
    assert close(course(*BEGUN), said).outcome == "met"
    standing = course(*BEGUN, taken("p1", check="close_panel", shot="outside"))
    seen = close(standing, said, by_photograph={"cover": "p1"}, photographs=("p1",))
    assert (seen.outcome, seen.by_photograph) == ("met", {"cover": "p1"})
    assert close(course(*BEGUN), {**said, "earthed": "no"}).outcome == "not_met"  # measured all the same
    assert close(course(*BEGUN, OFF, *DEAD), ON).outcome == "cannot_tell"  # after a hand was in it, it is asked for
    for lacks in ({"cover": "on", "screws_back": "all"}, {"cover": "on", "inside": "nothing"}):
        assert close(course(*BEGUN), {**lacks, "earthed": "yes"}, confirmed=True).outcome == "cannot_tell"
    left = {**ON, "inside": "something", "earthed": "yes"}
    assert close(course(*BEGUN), left, confirmed=True).outcome == "not_met"


@pytest.mark.parametrize(
    "was_off",
    [OFF, kept("x1", "close_panel", **ON), *(kept("x1", it) for it in ("prove_dead", "discharge", "contactor"))],
)
def test_never_off_is_refused_once_it_was_off_or_somebody_worked_in_the_panel(was_off: Finding) -> None:
    with pytest.raises(RefusedError, match="was off at this visit: say whether it is on again"):
        close(course(*BEGUN, was_off), {"cover": "never_off", "earthed": "yes"}, confirmed=True)
    skipped = kept("x1", was_off.check, "skipped")
    assert close(course(*BEGUN, skipped), {"cover": "never_off", "earthed": "yes"}).outcome == "met"


def test_what_was_said_to_be_never_off_is_not_gone_on_with_after_a_hand_was_in_it() -> None:
    half = Finding(
        "f0", TIME_S, "Sam", "technician", check="close_panel", grade="said", outcome="cannot_tell",
        choices={"cover": "never_off"},
    )  # fmt: skip
    assert close(course(*BEGUN, half), {"earthed": "yes"}, builds_on="f0").outcome == "met"
    with pytest.raises(RefusedError, match="by Contactor it was off"):
        close(course(*BEGUN, half, kept("x1", "contactor")), {"earthed": "yes"}, builds_on="f0")


def test_the_inside_is_photographed_only_dead_and_the_outside_only_as_it_was_found() -> None:
    def so(*marks: Any, powered: bool = False) -> set[str]:
        standing = course(*BEGUN, *marks)
        standing.judged("", TIME_S, now=Now(powered=powered))
        return {*standing.message().facts} & {"cover_as_found", "cover_was_off", "panel_dead"}

    assert so() == {"cover_as_found"}
    assert so(OFF) == {"cover_was_off"}
    assert so(OFF, *DEAD) == {"cover_was_off", "panel_dead"}
    assert so(OFF, *DEAD, powered=True) == {"cover_was_off"}
    assert so(OFF, *DEAD, kept("d1", "power_back")) == {"cover_was_off"}
    assert so(OFF, *DEAD, kept("c2", "close_panel", **ON)) == {"cover_was_off"}


def test_a_cover_never_off_is_closed_before_a_move() -> None:
    def folded(found: Finding) -> str:
        fold = CoverFold()
        fold.take(found)
        return fold.now

    assert folded(kept("c1", "close_panel", cover="never_off")) == "closed"
    assert folded(kept("c1", "close_panel", "not_met", cover="never_off", earthed="no")) == "unknown"
    assert folded(OFF) == "open"


IN_IT = [kept("a4", "what_is_in_it", safety_class="A2L"), kept("c0", "wiring_photograph")]
SEEN = Proposed(
    "p1", TIME_S, from_s=TIME_S, to_s=TIME_S, says=Wording("45 µF", "45 µF"), what=ProposedFinding("capacitor_measured")
)
KEPT = replace(kept("c3", "capacitor_measured"), grade="measured", proposal="p1")
CLOSED, LIVE = kept("c2", "close_panel", **ON), kept("d1", "power_back", lock_removed_by="Sam")


@pytest.mark.parametrize(
    ("marks", "is_closed"),
    [
        ([SEEN, CLOSED, LIVE, KEPT], True),  # seen while it was open and dead, and kept once it runs
        ([SEEN, CLOSED, LIVE, KEPT, kept("c9", "cause", "cannot_tell", cause="unknown")], True),  # no hand says why
        ([CLOSED, SEEN, KEPT], False),  # seen since: a hand was in it again
        ([SEEN, CLOSED, replace(KEPT, proposal="")], False),  # nothing tells that it was before
        ([SEEN, CLOSED, LIVE, KEPT, replace(KEPT, id="c4", proposal="")], False),
    ],
)
def test_what_was_seen_before_a_cover_was_closed_and_is_kept_after_it_opens_it_no_more(
    marks: list[Any], is_closed: bool
) -> None:
    fold, before = CoverFold(), [*BEGUN[:3], *IN_IT, *DEAD]
    for mark in (*before, *marks):
        fold.take(mark)
    assert (fold.now == "closed") is is_closed
    standing = course(*before, *marks)
    assert ("cover_closed" in standing.message().facts) is is_closed
    assert ("close_panel" not in standing.message().next) is is_closed
    if marks == [SEEN, CLOSED, LIVE, KEPT]:
        assert following(*before, SEEN, KEPT, CLOSED, LIVE) == following(*before, *marks)


def test_of_a_unit_that_burns_the_cover_is_asked_about_where_its_circuit_is_worked_at_and_by_no_look_alone() -> None:
    """Nobody who only looks has a reason to touch it: common practice, no source."""
    for work, is_asked in (("circuit", True), ("only_look", False)):
        visit = course(kept("a1", "complaint", work=work), *BEGUN[1:])
        assert ("flammable" in visit.message().facts, "close_panel" in visit.message().next) == (True, is_asked)


def test_a_ground_that_is_missing_does_not_say_that_a_cover_was_off_that_never_was() -> None:
    visit = course(*BEGUN, kept("c1", "close_panel", "not_met", cover="never_off", earthed="no"))
    assert "cover_as_found" in visit.message().facts
    assert visit.message().next[0] == "close_panel"
    assert close(visit, {"cover": "never_off", "earthed": "yes"}).outcome == "met"
