"""Questions that are put to a person: several at once, and the name by which a yes answers one."""

import hashlib
from collections.abc import Sequence

from calc.quantities import Quantity
from calc.sentences import Part
from ingest.wire.wording import Wording


def as_one(asked: Sequence[Wording]) -> Wording:
    """Put them into one; a program finds the first as its kind and parts."""
    first = asked[0]
    us, si = (" ".join(getattr(each, system) for each in asked) for system in ("us", "si"))
    return Wording(us=us, si=si, kind=first.kind, parts=first.parts)


def name_of(asked: Wording) -> str:
    """Name a question by its kind, and by a digest of the names and masses in it.

    What is read anew at any moment, such as minutes or a pressure, does not count: a yes to it stays one.
    """
    lasting = [f"{part.place} {part.terms} {part.value:.6f}" for part in asked.parts if _is_lasting(part)]
    digest = hashlib.sha256("; ".join(lasting).encode()).hexdigest()[:_DIGITS]
    return f"{asked.kind}:{digest}" if lasting else asked.kind


def _is_lasting(part: Part) -> bool:
    return part.what in ("text", "weighed") or (part.what == "quantity" and part.quantity == Quantity.MASS.name)


_DIGITS = 12
