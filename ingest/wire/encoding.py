"""Messages as bytes: JSON, of bounded size, refused by one kind of error."""

import json
from typing import TypeVar

import msgspec

LARGEST_MESSAGE_BYTES = 64 * 1024
"""A larger message is refused before it is decoded: nothing we publish comes near it."""


class MessageError(ValueError):
    """A message that does not say what its topic promises. Count it and go on."""


T = TypeVar("T")
_encoder = msgspec.json.Encoder()


def check_size(payload: bytes) -> None:
    """Refuse a message that is larger than any of ours.

    Raises:
        MessageError: it is.

    """
    if len(payload) > LARGEST_MESSAGE_BYTES:
        raise MessageError(f"{len(payload)} bytes; at most {LARGEST_MESSAGE_BYTES} are accepted")


def check_names(payload: bytes) -> None:
    """Refuse a JSON text in which a name comes twice in one object.

    Which of the two counts is nowhere said (RFC 8259, section 4: "the behavior ... is unpredictable"), so neither does.

    Raises:
        MessageError: one does, or it is no JSON.

    """
    try:
        json.loads(payload, object_pairs_hook=_named_once)
    except (ValueError, RecursionError) as error:
        raise MessageError(str(error)) from error


def _named_once(pairs: list[tuple[str, object]]) -> None:
    names = set()
    for name, _ in pairs:
        if name in names:
            raise MessageError(f"{name!r} is given twice")
        names.add(name)


def encode(message: msgspec.Struct) -> bytes:
    """Encode any message but a pack, as JSON."""
    return _encoder.encode(message)


def decode(payload: bytes, kind: type[T]) -> T:
    """Decode a JSON message.

    Raises:
        MessageError: too large, not UTF-8, not JSON, or not of this kind.

    """
    check_size(payload)
    try:
        return msgspec.json.decode(payload, type=kind)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise MessageError(str(error)) from error
