"""Several questions put to a person at once."""

from collections.abc import Sequence

from ingest.wire.wording import Wording


def as_one(asked: Sequence[Wording]) -> Wording:
    """Put them into one; a program finds the first as its kind and parts."""
    first = asked[0]
    us, si = (" ".join(getattr(each, system) for each in asked) for system in ("us", "si"))
    return Wording(us=us, si=si, kind=first.kind, parts=first.parts)
