"""What is kept of a move of refrigerant beside its mass, and of what was told before it was noted."""

from collections.abc import Sequence
from typing import Literal

from ingest.wire.events import MarkBase
from ingest.wire.wording import Wording

Phase = Literal["liquid", "vapour", ""]
HowKnown = Literal["scale", "typed", "estimated", ""]
"""How a mass is known: the difference of a linked scale, read off a display and typed in, or a guess with its ±."""

Purpose = Literal["adjust", "weigh_in", "open", "new_installation", "retrofit", "seasonal", "scrap", ""]
"""What a move is for: small steps by a figure; all of it by weight; to open the circuit; the rest as the law has it:
what a new installation, a retrofit or the season takes counts for no leak rate (40 CFR 82.157, 84.106)."""


class Warned(MarkBase, frozen=True, omit_defaults=True, tag="warned", kw_only=True):
    """A technician was told what speaks against a move, or a signature, before it was noted. Noted once an ask.

    of: the id of the ask. whom: who asked. warnings: kinds of `calc.sentences`, the worst first. says: as it was told.
    refused: it was no question.
    """

    of: str
    whom: str
    warnings: Sequence[str]
    says: Wording
    refused: bool = False
