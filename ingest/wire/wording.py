"""Words that carry figures, in either system of units."""

import msgspec

from calc.sentences import Part


class Wording(msgspec.Struct, frozen=True, omit_defaults=True):
    """One sentence, worded with its figures in each system of units. kind, parts: as in `calc.sentences`, if any.

    A program reads the kind and its parts; nothing reads the words.
    """

    us: str
    si: str
    kind: str = ""
    parts: tuple[Part, ...] = ()
