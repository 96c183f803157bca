"""The digest of a journal: of every mark in order, each chained to those before it.

One changed, missing or exchanged mark gives another digest: SHA-256 of the digest before and the mark's bytes.
"""

import hashlib

from ingest.wire.messages import Mark, encode

EMPTY = hashlib.sha256(b"").hexdigest()


def chained(digest: str, mark: Mark) -> str:
    """Give the digest of a journal that goes on with this mark."""
    return hashlib.sha256(bytes.fromhex(digest) + encode(mark)).hexdigest()
