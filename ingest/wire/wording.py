"""Words that carry figures, in either system of units."""

import msgspec


class Wording(msgspec.Struct, frozen=True):
    """One sentence, worded in each system of units."""

    us: str
    si: str
