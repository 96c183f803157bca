"""Words that carry figures, in either system of units."""

import msgspec

from calc.sentences import Part, Sentence, say


class Wording(msgspec.Struct, frozen=True, omit_defaults=True):
    """One sentence, worded with its figures in each system of units. kind, parts: as in `calc.sentences`, if any.

    A program reads the kind and its parts; nothing reads the words.
    """

    us: str
    si: str
    kind: str = ""
    parts: tuple[Part, ...] = ()


def worded(said: Sentence) -> Wording:
    """Word a sentence in both systems of units, and keep what it says as kind and figures."""
    return Wording(us=say(said, "us"), si=say(said, "si"), kind=said.kind, parts=said.parts)
