"""Sentences that carry their figures in either system of units."""

from collections.abc import Callable

from calc.units import System
from ingest.wire.messages import Wording


def same(text: str) -> Wording:
    """Word what has no figure in it."""
    return Wording(us=text, si=text)


def in_both(say: Callable[[System], str]) -> Wording:
    """Word a sentence twice."""
    return Wording(us=say("us"), si=say("si"))


def sentence(text: str) -> str:
    """Begin with a capital and end with a full stop."""
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."
