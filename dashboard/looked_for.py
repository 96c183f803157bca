"""Keys beside what the readings point at: what somebody saw who looked there, kept by the check of it."""

from typing import Any

from calc.looks import LOOKED_FOR
from dashboard.sentences import say

Json = dict[str, Any]


def looked_for(fault: str) -> list[Json]:
    """Lay out a key for each thing that may be seen of a cause; none of what no look tells."""
    cause = next((word for word, of in LOOKED_FOR.items() if of == fault), None)
    seen = {
        "nothing": say("looked_for.nothing"),
        "mended": say("looked_for.mended"),
        "found": say("looked_for.found"),
    }
    return [] if cause is None else [_key(says, cause, what) for what, says in seen.items()]


def _key(says: str, cause: str, seen: str) -> Json:
    choices = {"cause": cause, "seen": seen}
    return {"says": says, "body": {"fields": {"check": "looked_for", "grade": "said", "choices": choices}}}
