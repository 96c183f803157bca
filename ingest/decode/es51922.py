r"""The frame of the multimeter chips ES51922 and ES51921: text and flags, 19200 baud.

    range digits     function status option 1 to 4 \r \n
    2     0 1 8 4 2  9        0      0 0 4 0       \r \n       18.42 A AC

    status    judge  minus  battery low  overload
    option 1  MAX    MIN    REL          (RMR)
    option 2  under  peak+  peak-        0
    option 3  DC     AC     AUTO         VAHZ
    option 4  0      VBAR   HOLD         (low-pass filter)

The upper bits of the first twelve bytes are 011. Each byte has 7 bits and a parity bit that makes the number of its
ones odd. That is as long as 8 bits without parity, and so we have the port: Linux would let a byte with the wrong
parity pass, and here it spoils its frame. There is no other check.

VAHZ: the frequency of the voltage or current. Judge: the duty cycle instead. Peaks are held, so they are no more live
than MAX and MIN. HOLD and REL are said to change the display only; a number that the display does not show is not
taken either.

Two functions have no field. The sources disagree by ten on the ranges of a clamp adapter (VBAR while microamps or
milliamps are chosen), and on where a temperature has its point.

Sources: the data sheet ES51922, as the page docs/ut61e/serial-protocol.md of the project wifidmm renders its tables;
libsigrok's reader of the chip, src/dmm/es519xx.c.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from ingest.decode.meter_display import read_display
from ingest.frames import Frame, FrameError, Value

LENGTH = 14
BAUD = 19200

_SEVEN_BITS = 0x7F
_UPPER_BITS, _UPPER = 0x70, 0x30
_DIGITS = slice(1, 6)
_FUNCTION = 6

_FLAGS: Mapping[int, tuple[str, ...]] = MappingProxyType(
    {
        7: ("overload", "BATTERY", "minus", "judge"),
        8: ("RMR", "REL", "MIN", "MAX"),
        9: ("0", "MIN", "MAX", "UNDER"),
        10: ("VAHZ", "AUTO", "AC", "DC"),
        11: ("low-pass filter", "HOLD", "VBAR", "0"),
    }
)
"""By byte, from bit 0."""

_Function = tuple[tuple[str, ...], Sequence[int | None]]
"""The signs that a function lights, and by range the power of ten that the last digit counts."""

_FREQUENCY: _Function = (("Hz",), (-2, -1, None, 0, 1, 2, 3, 4))
_DUTY_CYCLE: _Function = (("%",), (-1,) * 8)
_WITHOUT_FIELD: _Function = ((), (0,) * 8)

_FUNCTIONS: Mapping[int, _Function] = MappingProxyType(
    {
        ord("0"): (("A",), (-3,)),
        ord("1"): (("V", "DIODE"), (-4,)),
        ord("2"): _FREQUENCY,
        ord("3"): (("ohm",), (-2, -1, 0, 1, 2, 3, 4)),
        ord("4"): _WITHOUT_FIELD,  # temperature
        ord("5"): (("ohm", "BEEPER"), (-2,)),
        ord("6"): (("F",), (-12, -11, -10, -9, -8, -7, -6, -5)),
        ord("9"): (("A",), (-4, -3, -2, -1, 0)),
        ord(";"): (("V",), (-4, -3, -2, -1, -5)),
        ord("="): (("A",), (-8, -7)),  # microamps
        ord(">"): _WITHOUT_FIELD,  # an adapter that the maker chooses
        ord("?"): (("A",), (-6, -5)),  # milliamps
    }
)


def is_es51922(frame: bytes) -> bool:
    """Say whether the parity of every byte is odd, and the fixed bits are where they must be."""
    plain = bytes(byte & _SEVEN_BITS for byte in frame)
    return (
        len(frame) == LENGTH
        and plain.endswith(b"\r\n")
        and all(byte.bit_count() % 2 for byte in frame)
        and all(byte & _UPPER_BITS == _UPPER for byte in plain[:-2])
    )


def decode_es51922(frame: Frame) -> Mapping[str, Value]:
    """Read one frame, under the fields of `meter_display`.

    >>> from ingest.frames import Stamp
    >>> decode_es51922(Frame(bytes.fromhex("32b031383432b9b0b0b034b00d8a"), Stamp(0, 0)))["ac_current"]
    18.42

    Raises:
        FrameError: another form or parity, digits, function or range that are none, or signs that exclude each other.

    """
    if not is_es51922(frame.payload):
        raise FrameError(f"not {LENGTH} bytes of odd parity with their upper bits and line end")
    plain = bytes(byte & _SEVEN_BITS for byte in frame.payload)
    flags = frozenset(
        name for place, names in _FLAGS.items() for bit, name in enumerate(names) if plain[place] & 1 << bit
    )
    if "0" in flags:
        raise FrameError("a bit is set that never is")
    signs, exponents = _function(plain[_FUNCTION], flags)
    return read_display(_number(plain, flags), -_exponent(plain[0], exponents), flags.union(signs))


def _function(code: int, flags: frozenset[str]) -> _Function:
    if code not in _FUNCTIONS:
        raise FrameError(f"{chr(code)!r} is no function")
    function = _FREQUENCY if "VAHZ" in flags else _FUNCTIONS[code]
    if function is _FREQUENCY and "judge" in flags:
        return _DUTY_CYCLE
    if "VBAR" in flags and code in b"=?" and function is not _FREQUENCY:
        return _WITHOUT_FIELD
    return function


def _exponent(code: int, exponents: Sequence[int | None]) -> int:
    place = code - ord("0")
    exponent = exponents[place] if place < len(exponents) else None
    if exponent is None:
        raise FrameError(f"{chr(code)!r} is no range of this function")
    return exponent


def _number(plain: bytes, flags: frozenset[str]) -> int | None:
    digits = plain[_DIGITS]
    if not digits.isdigit():
        raise FrameError(f"{digits!r} is no number")
    if "overload" in flags:
        return None
    return -int(digits) if "minus" in flags else int(digits)
