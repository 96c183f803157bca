"""What a multimeter with the chip ES51922 sends: range, five digits, function, status and four options as text.

Its bytes are made by the tables of the chip's data sheet, as docs/ut61e/serial-protocol.md of the project wifidmm has
them. Each byte has 7 bits and odd parity. A pseudo-terminal knows no parity, so the parity goes as the eighth bit:
on a real line nobody could tell the difference.
"""

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

COUNTS = 22_000
"""The display goes to 21999; beyond it shows an overload."""

_OVERLOAD = "22580"
"""The digits of a recorded overload: github.com/tuxmaster/QtDMM, docs/protocols/spec/cyrustek_es51922.yaml."""

_RANGES: Mapping[str, tuple[str, Sequence[int]]] = MappingProxyType(
    {
        "V": (";", (4, 3, 2, 1)),
        "A": ("9", (4, 3, 2, 1, 0)),
        "ohm": ("3", (2, 1, 0, -1, -2, -3, -4)),
        "Hz": ("2", (2, 1)),
    }
)
"""By unit the code of the function, and how many decimals each range has."""

_FLAGS: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"BATTERY": (7, 2), "AUTO": (10, 2), "AC": (10, 4), "DC": (10, 8), "HOLD": (11, 2)}
)
"""Byte and bit of each sign."""


def frame(value: float, signs: set[str]) -> bytes:
    r"""Make the frame of a display that shows this number with these signs.

    >>> bytes(byte & 0x7F for byte in frame(-0.0097, {"V", "DC", "AUTO"}))
    b'000097;400:0\r\n'
    """
    [unit] = _RANGES.keys() & signs
    function, ranges = _RANGES[unit]
    place, digits = _shown(abs(value), ranges)
    text = bytearray(f"{place}{digits}{function}00000\r\n".encode())
    text[7] |= (digits == _OVERLOAD) | (4 if value < 0 else 0)
    for sign in signs & _FLAGS.keys():
        byte, bit = _FLAGS[sign]
        text[byte] |= bit
    return bytes(byte if byte.bit_count() % 2 else byte | 0x80 for byte in text)


def _shown(magnitude: float, ranges: Sequence[int]) -> tuple[int, str]:
    """Give the range, and the five digits."""
    for place, decimals in enumerate(ranges):
        if magnitude < math.inf and (number := round(magnitude * 10.0**decimals)) < COUNTS:
            return place, f"{number:05d}"
    return len(ranges) - 1, _OVERLOAD
