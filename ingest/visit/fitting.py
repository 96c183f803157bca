"""How much of a long list travels: the first that fit, so that `visit` stays one message whatever people write."""

from collections.abc import Iterable
from typing import TypeVar

import msgspec

from ingest.wire.messages import encode

Listed = TypeVar("Listed", bound=msgspec.Struct)


def fitting(listed: Iterable[Listed], room_bytes: float) -> list[Listed]:
    """Give the first of them that fit into so many bytes, each with what parts it from the next."""
    fit = []
    for it in listed:
        room_bytes -= len(encode(it)) + 1
        if room_bytes < 0:
            break
        fit.append(it)
    return fit
