"""What is offered beside a question that asks to look for leaks: a finding of the check that exists for it."""

from datetime import date
from typing import Any

import msgspec
import pytest

from calc.sentences import Sentence, within
from dashboard import ids
from dashboard.charge.callbacks.amount import offered
from dashboard.looked import looked
from ingest.visit.checklist import checklists
from ingest.visit.leaks import Leaks
from ingest.wire.messages import Finding, FindingStands, Outcome, Wording
from ingest.wire.wording import worded
from tests.ingest.visit.checks import course, find

DAY = date(2026, 11, 30)


def asked() -> Wording:
    """What the rig asks where the advice is to look for leaks first."""
    return worded(Sentence("question.all_the_same", (within("said", "guard.leaks_first"),)))


TIGHT = {"oil": "none", "caps_and_cores": "tight", "joints": "tight", "coil_ends": "tight"}


def stands(choices: dict[str, str], circuit: str = "2", outcome: Outcome = "cannot_tell") -> dict[str, Any]:
    """How a visit stands in which somebody found this of a circuit, with another one in view."""
    found = Finding("l1", 1.7e9, check="leaks", grade="said", outcome=outcome, choices=choices, circuit=circuit)
    in_it = FindingStands("leaks", outcome, "said", found.time_s, found.id, circuit=circuit)
    return {
        "visit": msgspec.structs.replace(course().message(), circuit="1", findings=[in_it]),
        "marks": {found.id: found},
    }


def test_no_key_vouches_for_a_place_that_nobody_answered() -> None:
    """One look for each place: common practice, no source."""
    (only,) = looked(asked(), checklists(), "2", DAY)
    assert "body" not in only
    for label in ("E4 · Leak evidence", "Oil", "Caps and cores", "Joints", "Coil ends"):
        assert label in only["says"]


def test_each_key_says_all_that_it_keeps_and_what_it_keeps_is_met_and_counts_as_looked_for() -> None:
    each_place = stands({**TIGHT, "caps_and_cores": "as_they_come_off"})
    _, *offers = looked(asked(), checklists(), "2", DAY, **each_place)
    assert [it["body"]["fields"]["choices"]["by"] for it in offers] == ["detector", "bubbles"]
    for offer in offers:
        more = {name: it for name, it in offer["body"]["fields"].items() if name != "check"}
        standing = course(*each_place["marks"].values())
        kept = find("leaks", **more, standing=standing, head=("l2", 1.7e9 + 9.0, "Sam", "technician"))
        assert (kept.outcome, kept.circuit, kept.choices["read_again"]) == ("met", "2", "2026-12-30")
        leaks = Leaks()
        leaks.take(kept, "1")
        assert leaks.sought == {"2"}
        for label in ("Oil: None seen", "Caps and cores: Under the probes", "Joints: Nothing found", "Coil ends: No"):
            assert label in offer["says"]
        assert offer["says"].endswith("in 30 days")
    assert "Looked for by: Bubbles" in offers[1]["says"]


@pytest.mark.parametrize("kind", ["guard.too_soon", "guard.leak_open", "guard.heats"])
def test_beside_any_other_question_nothing_is_offered(kind: str) -> None:
    question = Wording("Really?", "Really?", "question.all_the_same", (within("said", kind),))
    assert looked(question, checklists(), "", DAY) == []
    both = msgspec.structs.replace(question, parts=(within("said", kind, "guard.added_before"),))
    assert len(looked(both, checklists(), "", DAY)) == 1
    assert looked(both, [], "", DAY) == []


@pytest.mark.parametrize(
    ("choices", "told"),
    [
        ({**TIGHT, "oil": "seen", "places": "under the liquid valve"}, ("Oil: Seen", "none found: under the liquid")),
        ({**TIGHT, "caps_and_cores": "not_looked", "by": "detector"}, ("Caps and cores: Not looked", "Detector")),
        ({**TIGHT, "by": "seen"}, ("Looked for by: Eyes", "Oil: None seen")),
        ({"oil": "none", "by": "bubbles"}, ("Oil: None seen", "Bubbles")),
    ],
)
def test_no_key_says_otherwise_than_was_said_of_this_circuit_or_what_nobody_said(
    choices: dict[str, str], told: tuple[str, ...]
) -> None:
    said, *more = looked(asked(), checklists(), "2", DAY, **stands(choices))
    assert not any("body" in it for it in (said, *more))
    for label in ("Said already of this circuit", *told):
        assert label in said["says"]
    assert bool(more) is ("joints" not in choices)
    if more:
        assert "Joints" not in said["says"]


def test_what_was_said_stays_and_a_key_adds_only_how_and_when_again() -> None:
    of_way = looked(asked(), checklists(), "2", DAY, **stands({**TIGHT, "by": "bubbles"}))
    assert [it.get("body") for it in of_way[1:]] == [{"fields": {
        "check": "leaks", "grade": "said", "circuit": "2", "builds_on": "l1", "choices": {"read_again": "2026-12-30"},
    }}]  # fmt: skip
    assert "Looked for by: Bubbles" in of_way[1]["says"]
    dated = stands({**TIGHT, "read_again": "2027-01-15"})
    said, *keys = looked(asked(), checklists(), "2", DAY, **dated)
    assert "2027-01-15" in said["says"]
    assert [it["body"]["fields"]["choices"] for it in keys] == [{"by": "detector"}, {"by": "bubbles"}]
    for key in keys:
        assert "2027-01-15" in key["says"]
        standing = course(*dated["marks"].values())
        more = {name: it for name, it in key["body"]["fields"].items() if name != "check"}
        kept = find("leaks", **more, standing=standing, head=("l2", 1.7e9 + 9.0, "Sam", "technician"))
        assert (kept.outcome, kept.choices) == ("met", {**TIGHT, "read_again": "2027-01-15", **more["choices"]})


def test_what_was_said_of_another_circuit_or_put_aside_is_none_of_this_one() -> None:
    oil = {**TIGHT, "oil": "seen"}
    for elsewhere in (stands(oil, "1"), stands({}, outcome="skipped"), stands({})):
        (only,) = looked(asked(), checklists(), "2", DAY, **elsewhere)
        assert "answer each place" in only["says"]
    in_view = looked(asked(), checklists(), "", DAY, **stands(oil, "1"))
    assert ["body" in it for it in in_view] == [False]
    unread = {**stands(oil), "marks": {}}
    assert looked(asked(), checklists(), "2", DAY, **unread) == []


@pytest.mark.parametrize("said", [None, {"oil": "none"}, TIGHT])
def test_whatever_is_offered_can_be_drawn_beside_an_amount_a_key_where_it_keeps_something(
    said: dict[str, str] | None,
) -> None:
    offers = looked(asked(), checklists(), "2", DAY, **(stands(said) if said else {}))
    drawn = offered(ids.ADDED, offers, {"visit": "v1"})
    assert [it.children for it in drawn] == [it["says"] for it in offers]
    assert [hasattr(it, "data-finding") for it in drawn] == ["body" in it for it in offers]
