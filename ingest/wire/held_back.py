"""What is told of advice in a blind exercise: nothing that would name what is wrong, before the verdict."""

from ingest.wire.judging import Advice
from ingest.wire.wording import Wording

_YOUR_TURN = "You judge."
_HELD_BACK = "This is an exercise: what the rig advises is held back until the verdict."


def held_back(advice: Advice) -> Advice:
    """Keep of the advice whether the figures have settled and what to beware of. An alarm is never held back."""
    said, details = (advice.sentence, advice.details) if advice.alarms else (_same(_YOUR_TURN), [_same(_HELD_BACK)])
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


def _same(text: str) -> Wording:
    return Wording(text, text)
