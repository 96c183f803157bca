"""What every ask has, and what every mark has. The kinds stand in asks.py and marks.py, or in a file of their topic."""

from collections.abc import Sequence
from typing import cast

import msgspec


class Ask(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind"):
    """What every ask has. by: the name of the person, for the mark.

    visit: the id of the one that its maker saw; empty where they saw none.
    """

    id: str
    by: str
    visit: str = ""

    @property
    def kind(self) -> str:
        """The tag of its JSON."""
        return word_of(type(self))


class Confirmable(Ask, frozen=True, omit_defaults=True, kw_only=True):
    """An ask of which the rig may ask back first. confirmed: the person was asked, and it is so.

    confirms: what they were asked, as the answer named it in `asks`. A yes covers these alone: of what came up since,
    or where it names nothing, the rig asks anew.
    """

    confirmed: bool = False
    confirms: Sequence[str] = ()


class MarkBase(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind"):
    """What every mark has. by, role: who made it; empty where the rig itself did. text: in words, if there are any."""

    id: str
    time_s: float
    by: str = ""
    role: str = ""
    text: str = ""

    @property
    def kind(self) -> str:
        """The tag of its JSON."""
        return word_of(type(self))


def word_of(kind: type[Ask] | type[MarkBase]) -> str:
    """Give the word for a kind: the tag of its JSON, and of an ask the last part of its topic."""
    return cast(str, kind.__struct_config__.tag)
