"""Signatures as they are drawn on a screen: within their field, and so small that they travel in one message."""

import math
from typing import Any

from ingest.visit.deciding import RefusedError
from ingest.wire.messages import SignAsk
from ingest.wire.progress import Strokes
from ingest.wire.texts import LONGEST_TEXT, fault

MOST_STROKES, MOST_POINTS = 60, 1200
"""Of one signature: two of them fill half a message (common practice, no source)."""
_DECIMALS = 4


def check_signature(ask: SignAsk) -> None:
    """See that what is signed with can be kept.

    Raises:
        RefusedError: a text is too long or holds what nobody sees; a signature has too many points, or one outside.

    """
    for name in ("company", "certificate", "owner"):
        if wrong := fault(getattr(ask, name), LONGEST_TEXT, several_lines=True):
            raise RefusedError(f"{name}: {wrong}")
    for name in ("strokes", "owner_strokes"):
        _check_strokes(name, getattr(ask, name))
    if ask.owner_strokes and not ask.owner.strip():
        raise RefusedError("owner is empty: whose signature owner_strokes is was expected")


def _check_strokes(name: str, strokes: Strokes) -> None:
    points = [point for stroke in strokes for point in stroke]
    if len(strokes) > MOST_STROKES or len(points) > MOST_POINTS:
        raise RefusedError(
            f"{name} has {len(strokes)} strokes of {len(points)} points; at most {MOST_STROKES} of {MOST_POINTS} are "
            "kept: leave out points that lie on a line"
        )
    if any(not math.isfinite(value) or not 0.0 <= value <= 1.0 for point in points for value in point):
        raise RefusedError(f"{name}: a point lies outside: each of x and y was expected from 0 to 1 of the field")


def as_kept(ask: SignAsk) -> dict[str, Any]:
    """Give what is signed with as it is recorded: without spaces around words, and strokes no finer than is seen."""
    words = {name: getattr(ask, name).strip() for name in ("name", "company", "certificate", "owner")}
    return words | {name: drawn(getattr(ask, name)) for name in ("strokes", "owner_strokes")}


def drawn(strokes: Strokes) -> Strokes:
    """Give strokes as they are recorded; one without a point is none."""
    return tuple(tuple((round(x, _DECIMALS), round(y, _DECIMALS)) for x, y in stroke) for stroke in strokes if stroke)
