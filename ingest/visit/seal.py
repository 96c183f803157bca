"""The digest of a journal: of every mark in order, each chained to those before it.

One changed, missing or exchanged mark gives another digest: SHA-256 of the digest before and the mark's bytes.
"""

import hashlib
from collections.abc import Iterable
from functools import reduce

from ingest.wire.messages import Mark, encode


def digest(marks: Iterable[Mark]) -> str:
    """Give the digest of a journal with these marks, in hexadecimal."""
    return reduce(_chained, marks, hashlib.sha256(b"").digest()).hex()


def _chained(before: bytes, mark: Mark) -> bytes:
    return hashlib.sha256(before + encode(mark)).digest()
