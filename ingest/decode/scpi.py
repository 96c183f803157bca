r"""The answer of a SCPI meter to one query.

    +1.84200000E+01\r        one number in IEEE 488.2 form NR1 (18), NR2 (18.42) or NR3 (1.842E+01)

SCPI-99 volume 1, 7.2.1, gives three numbers that are none: 9.9E37 infinity, -9.9E37 its
negative, 9.91E37 not a number. Meters send either kind when a range is exceeded, so both read as an overload.
"""

import re
from collections.abc import Mapping

from ingest.frames import Frame, FrameError, Unreadable, Value

LONGEST_ANSWER_BYTES = 64
NO_NUMBER = 9.89e37
"""Just below the least of the three; no electrical quantity comes near it."""

_NUMBER = re.compile(rb"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?")


def decode_scpi(frame: Frame) -> Mapping[str, Value]:
    """Read an answer, under the name of its query.

    >>> from ingest.frames import Stamp
    >>> decode_scpi(Frame(b"+1.84200000E+01", Stamp(0, 0), "compressor"))
    {'compressor': 18.42}

    Raises:
        FrameError: the answer is not one number.

    """
    if len(frame.payload) > LONGEST_ANSWER_BYTES:
        raise FrameError(f"an answer of {len(frame.payload)} bytes is not one number")
    answer = frame.payload.strip()
    if not _NUMBER.fullmatch(answer):
        raise FrameError(f"{answer!r} is not a number")
    number = float(answer)
    return {frame.source: Unreadable.OVERLOAD if abs(number) >= NO_NUMBER else number}
