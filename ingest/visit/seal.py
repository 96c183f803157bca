"""The digest of a journal: of every mark in order, each chained to those before it.

One changed, missing or exchanged mark gives another digest: SHA-256 of the digest before and the mark's bytes.
"""

import hashlib
from collections.abc import Iterable, Sequence
from functools import reduce

from ingest.wire.messages import Mark, Signed, encode


def digest(marks: Iterable[Mark]) -> str:
    """Give the digest of a journal with these marks, in hexadecimal."""
    return reduce(_chained, marks, hashlib.sha256(b"").digest()).hex()


def is_broken(marks: Sequence[Mark]) -> bool:
    """Tell whether marks before the first signature are not those that it sealed.

    The signature itself is sealed by nothing: only a report or a copy made since tells that it was changed.
    """
    at = next((number for number, mark in enumerate(marks) if isinstance(mark, Signed)), None)
    if at is None:
        return False
    signed = marks[at]
    return isinstance(signed, Signed) and signed.digest != digest(marks[:at])


def _chained(before: bytes, mark: Mark) -> bytes:
    return hashlib.sha256(before + encode(mark)).digest()
