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


def says_all_of(text: bytes, document: object) -> bool:
    """Say whether a document that was read from a text, written again, has as many colons: none of its names was lost.

    A colon that is written as an escape could make up for it; where there are escapes, the answer is no.
    """
    return b"\\" not in text and text.count(b":") == msgspec.json.encode(document).count(b":")


def read_json(text: bytes) -> object:
    """Read a document.

    >>> read_json(b'{"d": 1, "e": 2, "d": 3}')
    {'d': <Repeated.TWICE: 'given twice'>, 'e': 2}

    Raises:
        FrameError: it is none, or nested too deeply.

    """
    try:
        document: object = msgspec.json.decode(text)  # is stricter than json: no NaN, nothing but UTF-8
        if not says_all_of(text, document):
            document = json.loads(text, object_pairs_hook=_named_once)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        raise FrameError(f"not a JSON document: {error}") from error
    return document


def _named_once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members: dict[str, object] = {}
    for name, value in pairs:
        members[name] = Repeated.TWICE if name in members else value
    return members
