"""How a Bluetooth characteristic says itself what it holds: the descriptor 0x2904, Characteristic Presentation Format.

    0E FE 2F27 01 0000
    |  |  |    |  |
    |  |  |    |  description, within the name space
    |  |  |    name space: 01 Bluetooth SIG
    |  |  unit 0x272F: degree Celsius
    |  exponent, signed: -2; the value is the integer times 10^-2
    format: signed 16-bit integer

Integers count with the exponent, floating-point numbers carry their own. The floats of IEEE 11073-20601 have a mantissa
in the lower bits and an exponent of ten in the upper, both signed, and mantissas that are no number.

Source: Bluetooth Core specification, volume 3, part G, 3.3.3.5; format types and units from the Assigned Numbers.
"""

import math
import struct
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ingest.frames import FrameError, Unreadable, Value

_INTEGERS: Mapping[int, tuple[int, bool]] = MappingProxyType(
    {
        number: (bits, signed)
        for first, signed in ((0x04, False), (0x0C, True))
        for number, bits in enumerate((8, 12, 16, 24, 32, 48, 64, 128), first)
    }
)
"""By format: how many bits, and whether signed."""

UNITS: Mapping[int, str] = MappingProxyType(
    {
        0x2700: "",
        0x2702: "kg",
        0x2704: "A",
        0x2705: "K",
        0x2722: "Hz",
        0x2724: "Pa",
        0x2726: "W",
        0x2728: "V",
        0x2729: "F",
        0x272A: "ohm",
        0x272F: "degC",
        0x2780: "bar",
        0x27A5: "psi",
        0x27AC: "degF",
        0x27AD: "%",
        0x27B8: "lb",
    }
)


@dataclass(frozen=True, slots=True)
class PresentationFormat:
    """The size of a value in bytes, how to read it, and its unit."""

    size: int
    convert: Callable[[bytes], Value]
    unit: str

    def read(self, payload: bytes) -> Value:
        """Read a value in its unit.

        Raises:
            FrameError: another size, or a float that stands for nothing.

        """
        if len(payload) != self.size:
            raise FrameError(f"a value of {len(payload)} bytes, not {self.size} as its format says")
        return self.convert(payload)


def read_presentation_format(descriptor: bytes) -> PresentationFormat:
    """Read the descriptor.

    >>> read_presentation_format(bytes.fromhex("0EFE2F27010000")).read(bytes.fromhex("2909"))
    23.45

    Raises:
        FrameError: not seven bytes, a format that is no number, or a unit that none of our channels has.

    """
    if len(descriptor) != 7:
        raise FrameError(f"a presentation format of {len(descriptor)} bytes, not 7")
    number, exponent, unit = struct.unpack("<BbH", descriptor[:4])
    if unit not in UNITS:
        raise FrameError(f"a unit {unit:04X} that no channel has")
    if number in _INTEGERS:
        bits, signed = _INTEGERS[number]
        return PresentationFormat(-(-bits // 8), _integer(bits, exponent, signed=signed), UNITS[unit])
    if number in _FLOATS:
        size, convert = _FLOATS[number]
        return PresentationFormat(size, convert, UNITS[unit])
    raise FrameError(f"a format {number:02X} that is no number")


def _integer(bits: int, exponent: int, *, signed: bool) -> Callable[[bytes], Value]:
    def convert(payload: bytes) -> Value:
        number = int.from_bytes(payload, "little") & (1 << bits) - 1
        return float(f"{_with_sign(number, bits) if signed else number}e{exponent}")

    return convert


def _with_sign(number: int, bits: int) -> int:
    return number - (1 << bits) if number >> bits - 1 else number


def _ieee_754(form: str) -> Callable[[bytes], Value]:
    def convert(payload: bytes) -> Value:
        [number] = struct.unpack(form, payload)
        if math.isnan(number):
            return Unreadable.UNKNOWN
        return Unreadable.OVERLOAD if math.isinf(number) else float(number)

    return convert


def _ieee_11073(mantissa_bits: int, exponent_bits: int) -> Callable[[bytes], Value]:
    half = 1 << mantissa_bits - 1
    special = {
        half - 1: Unreadable.UNKNOWN,  # not a number
        half: Unreadable.UNKNOWN,  # not at this resolution
        half - 2: Unreadable.OVERLOAD,  # infinity
        half + 2: Unreadable.OVERLOAD,  # its negative
    }

    def convert(payload: bytes) -> Value:
        number = int.from_bytes(payload, "little")
        mantissa, exponent = number & (1 << mantissa_bits) - 1, number >> mantissa_bits
        if exponent == 0 and mantissa in special:
            return special[mantissa]
        if exponent == 0 and mantissa == half + 1:
            raise FrameError("a float that is reserved")
        return float(f"{_with_sign(mantissa, mantissa_bits)}e{_with_sign(exponent, exponent_bits)}")

    return convert


_FLOATS: Mapping[int, tuple[int, Callable[[bytes], Value]]] = MappingProxyType(
    {
        0x14: (4, _ieee_754("<f")),
        0x15: (8, _ieee_754("<d")),
        0x16: (2, _ieee_11073(12, 4)),
        0x17: (4, _ieee_11073(24, 8)),
    }
)
"""By format: how many bytes, and how they are read."""
