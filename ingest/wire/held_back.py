"""What is told of advice in a blind exercise: nothing that would name what is wrong, before the verdict.

The rig publishes no more than that, and a page shows no more of what it hears.
"""

from calc.sentences import Sentence
from ingest.wire.judging import Advice
from ingest.wire.wording import worded

HANDS_DEPEND_ON = frozenset({"detail.live_under_lock"})
"""Details that tell of power, and of nothing that is wrong."""
LEAD_STOPPED = "headline.lead_stopped"
"""What is told while a lead's stop stands: nothing of the unit."""


def held_back(advice: Advice) -> Advice:
    """Keep of the advice whether the figures have settled and what to beware of.

    An alarm is never held back, nor is power under a lock, nor a lead's stop.
    """
    said, details = advice.sentence, advice.details
    if not advice.alarms and said.kind != LEAD_STOPPED:
        hands = [it for it in details if it.kind in HANDS_DEPEND_ON]
        said, details = worded(Sentence("headline.you_judge")), [*hands, worded(Sentence("detail.until_verdict"))]
    waiting = advice.state in ("starting", "settling")  # what else is awaited would tell what was made of the unit
    return Advice(
        advice.time_s,
        said,
        details,
        cautions=advice.cautions,
        cautions_once=advice.cautions_once,
        steadiness=advice.steadiness,
        alarms=advice.alarms,
        awaited=advice.awaited if waiting else None,
    )
