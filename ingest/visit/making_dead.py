"""Which checks make dead: those before every hand in the panel, by their place in the checklist."""

from ingest.visit.checklist import guided
from ingest.wire.messages import Proposed, ProposedFinding

MAKING_DEAD = "B"
"""Where they stand."""


def place_of_check(word: str) -> str:
    """Give the place of a check; empty for one that the record has and this version of the checklist has not."""
    one = guided().get(word)
    return "" if one is None else one.check.place


def makes_dead(word: str) -> bool:
    """Tell whether a check is one of those that make dead."""
    return place_of_check(word).startswith(MAKING_DEAD)


def is_of_making_dead(proposed: Proposed) -> bool:
    """Tell whether a proposal is of such a check."""
    return isinstance(proposed.what, ProposedFinding) and makes_dead(proposed.what.check)
