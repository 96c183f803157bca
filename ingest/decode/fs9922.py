r"""The frame of the multimeter chips FS9922-DMM3 and FS9922-DMM4: text and flags, 2400 baud.

    +1842 2 . . . . . \r \n
    |    || | | | | |
    |    || | | | | bar graph: sign and 7 bits; left alone, the digits say more
    |    || | | | units: V A ohm hFE Hz F degC degF, from bit 7
    |    || | | prefixes: u m k M beeper diode % (maker's)
    |    || | (maker's) (maker's) MAX MIN auto-off battery-low n (maker's)
    |    || 0 0 AUTO DC AC REL HOLD bar-graph
    |    |the point: '0' none, '1' after the first digit, '2' the second, '4' the third
    |    a blank
    sign and four digits; "?0:?" is an overload

The flags may hold any byte, a newline as well: frames are found by their length and their fixed bytes.

Source: the comments of libsigrok's reader of the chip, after the data sheet FS9922-DMM4-DS-13 (page 31). They say that
the sheet prints '3' for the point after the third digit where the chip sends '4'; '3' is refused.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType

from ingest.decode.meter_display import read_display
from ingest.frames import Frame, FrameError, Value

LENGTH = 14

_FRAME = re.compile(rb"([+-])(\d{4}|\?0:\?) ([0124])(.{4}).\r\n", re.DOTALL)
_DECIMALS: Mapping[bytes, int] = MappingProxyType({b"0": 0, b"1": 3, b"2": 2, b"4": 1})
_SIGNS = (
    ("bar graph", "HOLD", "REL", "AC", "DC", "AUTO"),
    ("symbol 3", "n", "BATTERY", "auto-off", "MIN", "MAX", "symbol 2", "symbol 1"),
    ("symbol 4", "%", "DIODE", "BEEPER", "M", "k", "m", "u"),
    ("degF", "degC", "F", "Hz", "hFE", "ohm", "A", "V"),
)
"""By flag byte, from bit 0."""


def is_fs9922(frame: bytes) -> bool:
    """Say whether the fixed bytes are where they must be."""
    return _FRAME.fullmatch(frame) is not None


def decode_fs9922(frame: Frame) -> Mapping[str, Value]:
    r"""Read one frame, under the fields of `meter_display`.

    >>> from ingest.frames import Stamp
    >>> decode_fs9922(Frame(b"+1842 2\x29\x00\x00\x40\x12\r\n", Stamp(0, 0)))["ac_current"]
    18.42

    Raises:
        FrameError: another form, or signs that exclude each other.

    """
    found = _FRAME.fullmatch(frame.payload)
    if not found:
        raise FrameError(f"not sign, digits, point, flags and line end in {LENGTH} bytes")
    minus, digits, point, flags, *_ = found.groups()
    signs = frozenset(
        name for byte, names in zip(flags, _SIGNS, strict=True) for bit, name in enumerate(names) if byte & 1 << bit
    )
    if flags[0] >> 6:
        raise FrameError("the upper two bits of the first flags are not 0")
    number = None if digits == b"?0:?" else int(minus + digits)
    return read_display(number, _DECIMALS[point], signs)
