"""A number as instruments write it in text."""

import math
import re

from ingest.frames import FrameError, Unreadable, Value

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_OVERLOAD = re.compile(r"[+-]?OL|", re.IGNORECASE)


def read_number(text: str) -> Value:
    """Read a decimal, ASCII number with an optional exponent. `OL`, -OL and an empty text are an overload.

    Raises:
        FrameError: it is anything else.

    """
    text = text.strip()
    if _OVERLOAD.fullmatch(text):
        return Unreadable.OVERLOAD
    if not _NUMBER.fullmatch(text):
        raise FrameError(f"{text!r} is not a number")
    return finite(float(text))


def finite(number: float) -> float:
    """Let a number pass that is one.

    Raises:
        FrameError: it is infinite or not a number.

    """
    if not math.isfinite(number):
        raise FrameError("a number beyond all bounds")
    return number
