"""What is kept of a finding in a blind exercise: what was found, and nothing of what its rule makes of it.

A mark stays in the record, and is published, as it was made; so it is kept without the verdict of the rule. What a
person says of it stands: judging is theirs. Told all the same is what hands depend on, what has to be stopped at once,
and what was not taken yet, which says nothing of the unit.
"""

from calc.sentences import Sentence
from ingest.visit.answers import Verdict
from ingest.visit.deciding import Facts
from ingest.wire.checklist import Check
from ingest.wire.messages import FindingAsk, Outcome

SAYS = Sentence("finding.until_verdict")

HANDS_DEPEND_ON = ("A1", "A2", "A4", "B", "C10", "F")
"""Places of the checks that are judged in an exercise as ever: who called, which unit, what burns, what is dead, what
is closed. None of them is of the fault."""

NEVER_HELD_BACK = frozenset(
    {
        "finding.live",
        "finding.rig_live",
        "finding.rig_draws",
        "finding.rig_runs",
        "finding.lock_of_another",
        "finding.do_not_run",
        "finding.far_above_rla",
        "finding.single_phasing",
        "finding.over_the_plate",
        "finding.missing",
    }
)
"""By their sentences: what hurts somebody or breaks the unit, as an alarm; and what is still to be taken."""


def is_held_back(check: Check, verdict: Verdict | None, known: Facts) -> bool:
    """Tell whether a verdict is to be kept from whoever has to find it."""
    if not known.is_blind or verdict is None or check.place.startswith(HANDS_DEPEND_ON):
        return False
    return verdict.says is None or verdict.says.kind not in NEVER_HELD_BACK


def said_by(ask: FindingAsk) -> Outcome:
    """Give the outcome that stands until the verdict: the person's own, if they gave one."""
    return ask.outcome or "unjudged"
