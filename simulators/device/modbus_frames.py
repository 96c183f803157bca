"""Modbus requests and answers, by hand from the MODBUS Application Protocol Specification V1.1b3.

request   03 006B 0003                  function 3 (holding) or 4 (input), first address, how many: 6.3, 6.4
answer    03 06 022B 0000 0064          function, bytes, words
refusal   83 02                         function with its high bit, exception code: 7

RTU       11 (PDU) CRC                  device; the check, low byte first (MODBUS over Serial Line V1.02, 6.2.2)
TCP       0001 0000 0006 11 (PDU)       transaction, protocol, length, device
"""

import math
import struct
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

ILLEGAL_FUNCTION = 1
ILLEGAL_ADDRESS = 2
ILLEGAL_VALUE = 3
BUSY = 6

MOST_WORDS = 125
TCP_HEADER = struct.Struct(">HHHB")
_FUNCTIONS: Mapping[int, str] = {3: "holding", 4: "input"}
_OVERLOAD_STEPS, _UNKNOWN_STEPS = 0x7FFF, -0x8000


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedRegister:
    """Where a device keeps a value: an f32 in two registers, or signed steps of its unit in one.

    A value beyond all bounds goes out as infinity or as 7FFF, one that the device cannot tell as an f32 that is not a
    number or as 8000. order: how the bytes of an f32 leave, A the highest.
    """

    address: int
    table: Literal["holding", "input"] = "holding"
    steps_per_unit: float | None = None
    order: str = "ABCD"

    def words(self, value: float) -> Iterator[tuple[tuple[str, int], int]]:
        """Give the value's words by table and address."""
        if self.steps_per_unit is None:
            highest_first = dict(zip("ABCD", struct.pack(">f", value), strict=True))
            raw = bytes(highest_first[letter] for letter in self.order)
        else:
            raw = struct.pack(">h", _steps(value, self.steps_per_unit))
        for offset in range(0, len(raw), 2):
            yield (self.table, self.address + offset // 2), int.from_bytes(raw[offset : offset + 2], "big")


def _steps(value: float, steps_per_unit: float) -> int:
    if math.isnan(value):
        return _UNKNOWN_STEPS
    return _OVERLOAD_STEPS if math.isinf(value) else round(value * steps_per_unit)


def place_of(request: bytes) -> tuple[str, int]:
    """Tell which table a request means, empty for none, and the address at which it begins."""
    return _FUNCTIONS.get(request[0], ""), int.from_bytes(request[1:3], "big")


def answer(request: bytes, words: Mapping[tuple[str, int], int]) -> bytes:
    """Answer a request. words: everything that the device has."""
    function = request[0]
    if function not in _FUNCTIONS:
        return refuse(function, ILLEGAL_FUNCTION)
    first, count = struct.unpack(">HH", request[1:5])
    if not 1 <= count <= MOST_WORDS:
        return refuse(function, ILLEGAL_VALUE)
    wanted = [(_FUNCTIONS[function], address) for address in range(first, first + count)]
    if any(place not in words for place in wanted):
        return refuse(function, ILLEGAL_ADDRESS)
    data = b"".join(words[place].to_bytes(2, "big") for place in wanted)
    return bytes([function, len(data)]) + data


def refuse(function: int, exception: int) -> bytes:
    """Refuse a request."""
    return bytes([function | 0x80, exception])


def crc(frame: Iterable[int]) -> bytes:
    """Compute the check of an RTU frame: MODBUS over Serial Line V1.02, appendix B.

    >>> crc(bytes.fromhex("1103006B0003")).hex()
    '7687'
    """
    register = 0xFFFF
    for byte in frame:
        register ^= byte
        for _ in range(8):
            register = register >> 1 ^ (0xA001 if register & 1 else 0)
    return register.to_bytes(2, "little")
