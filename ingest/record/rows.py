"""Rows of a record that can no longer be read: each is left out and told, and the others stay what they are."""

import logging
import zlib
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

import msgspec

from ingest.wire.messages import MessageError

logger = logging.getLogger(__name__)

Found = TypeVar("Found")
Name = TypeVar("Name")
Data = TypeVar("Data")

DAMAGE = (zlib.error, MessageError, msgspec.MsgspecError, ValueError, LookupError, StopIteration)
"""What our decoders make of bytes that were changed on the disk; a chunk may unpack into columns that do not match."""


def read_rows(
    rows: Iterable[tuple[Name, Data]], decode: Callable[[Data], Found], *, what: str
) -> Iterator[tuple[Name, Found]]:
    """Decode rows, each with its name and bytes. what: they are, for the log."""
    for name, data in rows:
        try:
            found = decode(data)
        except DAMAGE as error:
            logger.warning("%s %s of the record cannot be read and is left out: %s", what, name, error)
            continue
        yield name, found
