"""Keys beside what the readings point at: what somebody saw who looked there, kept by the check of it."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from dashboard.sentences import say

Json = dict[str, Any]

_CAUSES: Mapping[str, str] = MappingProxyType(
    {
        "low evaporator airflow": "airflow",
        "condenser fouling or low outdoor airflow": "rejection",
        "liquid-line restriction": "restriction",
        "compressor valve leakage": "valves",
        "expansion valve that feeds too much": "feed",
    }
)
"""By the judge's word for a cause, what the check calls it. Others have a check of their own, or nothing to look at."""


def looked_for(fault: str) -> list[Json]:
    """Lay out a key for each thing that may be seen of a cause; none of what no look tells."""
    cause = _CAUSES.get(fault)
    seen = {
        "nothing": say("looked_for.nothing"),
        "mended": say("looked_for.mended"),
        "found": say("looked_for.found"),
    }
    return [] if cause is None else [_key(says, cause, what) for what, says in seen.items()]


def _key(says: str, cause: str, seen: str) -> Json:
    choices = {"cause": cause, "seen": seen}
    return {"says": says, "body": {"fields": {"check": "looked_for", "grade": "said", "choices": choices}}}
