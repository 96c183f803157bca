"""The frame of the multimeter chip FS9721 (FS9721_LP3, FS9721B): the segments of its display, 2400 baud.

    byte  high  bit 3    bit 2  bit 1  bit 0
     0     1    AC       DC     AUTO   RS232      RS232 is lit in every frame
     1     2    minus    1a     1b     1c         four digits of seven segments each
     2     3    1d       1e     1f     1g
     3     4    point    2a     2b     2c         the point after digit 1
     4     5    2d       2e     2f     2g                c
     5     6    point    3a     3b     3c               ---
     6     7    3d       3e     3f     3g            b |   | g
     7     8    point    4a     4b     4c               -f-
     8     9    4d       4e     4f     4g            a |   | e
     9     A    u        n      k      diode            ---
    10     B    m        %      M      beeper            d
    11     C    F        ohm    REL    HOLD
    12     D    A        V      Hz     battery low
    13     E    four symbols that each maker chooses; left alone

The high half of each byte counts from 1 to E, and there is no other check. An overload shows blank, 0, L, blank. The
segments are what the display shows, so HOLD freezes the frames as well.

Source: the page "Multimeter ICs" of the sigrok wiki, after the data sheet FS9721_LP3-DS-21; digits and overload as
libsigrok's reader of the chip tells them, and as recorded frames show.
"""

from collections.abc import Mapping
from types import MappingProxyType

from ingest.decode.meter_display import read_display
from ingest.frames import Frame, FrameError, Value

LENGTH = 14

_DIGITS: Mapping[int, str] = MappingProxyType(
    {
        0b111_1101: "0",
        0b000_0101: "1",
        0b101_1011: "2",
        0b001_1111: "3",
        0b010_0111: "4",
        0b011_1110: "5",
        0b111_1110: "6",
        0b001_0101: "7",
        0b111_1111: "8",
        0b011_1111: "9",
        0b000_0000: " ",
        0b110_1000: "L",
    }
)
"""Segments a to g, from the highest bit."""

_OVERLOAD = " 0L "
_POINT = 0b1000

_SIGNS: Mapping[int, tuple[str, ...]] = MappingProxyType(
    {
        0: ("RS232", "AUTO", "DC", "AC"),
        9: ("DIODE", "k", "n", "u"),
        10: ("BEEPER", "M", "%", "m"),
        11: ("HOLD", "REL", "ohm", "F"),
        12: ("BATTERY", "Hz", "V", "A"),
    }
)
"""By byte, from bit 0."""


def is_fs9721(frame: bytes) -> bool:
    """Say whether the high halves count as they must."""
    return len(frame) == LENGTH and all(byte >> 4 == place for place, byte in enumerate(frame, 1))


def decode_fs9721(frame: Frame) -> Mapping[str, Value]:
    """Read one frame, under the fields of `meter_display`.

    >>> from ingest.frames import Stamp
    >>> decode_fs9721(Frame(bytes.fromhex("172835455b697f8095a0b0c0d4e8"), Stamp(0, 0)))["dc_voltage"]
    -12.31

    Raises:
        FrameError: another length or count, segments that are no digit, or signs that exclude each other.

    """
    if not is_fs9721(frame.payload):
        raise FrameError(f"not {LENGTH} bytes that count from 1 to E")
    lit = [byte & 0x0F for byte in frame.payload]
    signs = frozenset(
        name for place, names in _SIGNS.items() for bit, name in enumerate(names) if lit[place] & 1 << bit
    )
    if "RS232" not in signs:
        raise FrameError("RS232 is not lit, as it is in every frame")
    return read_display(_digits(lit), _decimals(lit), signs)


def _digits(lit: list[int]) -> int | None:
    segments = [(lit[place] & ~_POINT) << 4 | lit[place + 1] for place in (1, 3, 5, 7)]
    try:
        shown = "".join(_DIGITS[digit] for digit in segments)
    except KeyError as error:
        raise FrameError(f"segments {error.args[0]:07b} are no digit") from error
    if shown == _OVERLOAD:
        return None
    number = shown.lstrip()
    if not number.isdecimal():
        raise FrameError(f"{shown!r} is no number")
    return -int(number) if lit[1] & _POINT else int(number)


def _decimals(lit: list[int]) -> int:
    decimals = [decimals for decimals, place in ((3, 3), (2, 5), (1, 7)) if lit[place] & _POINT]
    if len(decimals) > 1:
        raise FrameError("two decimal points are lit at once")
    return sum(decimals)
