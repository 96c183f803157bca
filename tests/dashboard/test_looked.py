"""What is offered beside a question that asks to look for leaks: a finding of the check that exists for it."""

from datetime import date

import msgspec
import pytest

from calc.sentences import Sentence, within
from dashboard.looked import looked
from ingest.visit.checklist import checklists
from ingest.visit.leaks import Leaks
from ingest.wire.messages import Wording
from ingest.wire.wording import worded
from tests.ingest.visit.checks import find

DAY = date(2026, 11, 30)


def asked() -> Wording:
    """What the rig asks where the advice is to look for leaks first."""
    return worded(Sentence("question.all_the_same", (within("said", "guard.leaks_first"),)))


def test_each_key_says_all_that_it_keeps_and_what_it_keeps_is_met_and_counts_as_looked_for() -> None:
    offers = looked(asked(), checklists(), "2", DAY)
    assert [it["body"]["fields"]["choices"]["by"] for it in offers] == ["detector", "bubbles"]
    for offer in offers:
        kept = find("leaks", **{name: it for name, it in offer["body"]["fields"].items() if name != "check"})
        assert (kept.outcome, kept.circuit, kept.choices["read_again"]) == ("met", "2", "2026-12-30")
        leaks = Leaks()
        leaks.take(kept, "1")
        assert leaks.sought == {"2"}
        for label in ("Oil: None seen", "Caps and cores: Nothing found", "Joints: Nothing found", "Coil ends: Nothing"):
            assert label in offer["says"]
        assert offer["says"].endswith("in 30 days")
    assert "Looked for by: Bubbles" in offers[1]["says"]


@pytest.mark.parametrize("kind", ["guard.too_soon", "guard.leak_open", "guard.heats"])
def test_beside_any_other_question_nothing_is_offered(kind: str) -> None:
    question = Wording("Really?", "Really?", "question.all_the_same", (within("said", kind),))
    assert looked(question, checklists(), "", DAY) == []
    both = msgspec.structs.replace(question, parts=(within("said", kind, "guard.added_before"),))
    assert len(looked(both, checklists(), "", DAY)) == 2
    assert looked(both, [], "", DAY) == []
