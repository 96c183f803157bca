"""JSON texts, in which a name that comes twice in one object has no value.

Which of the two counts is nowhere said (RFC 8259, section 4: "the behavior ... is unpredictable"), so neither does.
"""

import json
from enum import Enum

import msgspec

from ingest.frames import FrameError


class Repeated(Enum):
    """What stands for the values of a name that came more than once."""

    TWICE = "given twice"


def read_json(text: str | bytes) -> object:
    """Read a document.

    >>> read_json('{"d": 1, "e": 2, "d": 3}')
    {'d': <Repeated.TWICE: 'given twice'>, 'e': 2}

    Raises:
        FrameError: it is none, or nested too deeply.

    """
    try:
        msgspec.json.decode(text)  # is stricter: no NaN, nothing but UTF-8
        document: object = json.loads(text, object_pairs_hook=_members, parse_int=_whole)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        raise FrameError(f"not a JSON document: {error}") from error
    return document


def _whole(digits: str) -> int | float:
    """Read a whole number of any length; one of thousands of digits is beyond all bounds."""
    return int(digits) if len(digits) < 400 else float(digits)


def _members(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members: dict[str, object] = {}
    for name, value in pairs:
        members[name] = Repeated.TWICE if name in members else value
    return members
