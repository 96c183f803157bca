"""Who looks at a rig from elsewhere, so that the people at the unit know of it.

The page by which they look says so again and again; one that says nothing any more, whether it was closed or lost its
way here, is forgotten. Nothing is retained: what a page that was killed had said would stand for good.
"""

from collections.abc import Sequence

import msgspec

TOLD_EVERY_S = 10.0
GONE_AFTER_S = 25.0
"""Two in a row may be lost on the way."""
MOST_TOLD = 100
"""Names in one list: more leads than look at anything."""


class Watching(msgspec.Struct, frozen=True, omit_defaults=True):
    """The leads who look, by their names. opened: at this rig; among: at all rigs together. Nobody: both are empty."""

    opened: Sequence[str] = ()
    among: Sequence[str] = ()
