"""Registers of Modbus devices, as blocks of 16-bit words.

    42F6 E979 012C             the words of an answer, in order, each with its high byte first: that much is the
    |         |                standard's (MODBUS Application Protocol Specification V1.1b3, 4.2)
    |         u16 or i16
    f32, i32 or u32: two words, in an order that is the maker's

    order  ABCD       CDAB       BADC       DCBA         the number 123.456 as f32, 42F6E979, in each of them
           42F6 E979  E979 42F6  F642 79E9  79E9 F642

A number that is one of the register's overload or invalid patterns is none; neither is an f32 that is infinite or
not a number (IEEE 754). A wrong order mostly gives numbers far from anything measured: see `plausible_orders`.
"""

import math
import struct
from collections.abc import Mapping, Sequence

from ingest.decode.register_map import WORDS, Block, Order, Register
from ingest.frames import Frame, FrameError, Unreadable, Value

_PLACES: Mapping[Order, tuple[int, int, int, int]] = {
    "ABCD": (0, 1, 2, 3),
    "CDAB": (2, 3, 0, 1),
    "BADC": (1, 0, 3, 2),
    "DCBA": (3, 2, 1, 0),
}
"""Where among the bytes that arrived the first, second, third and fourth of the number are."""

_FORMATS = {kind: struct.Struct(f">{code}") for kind, code in zip(WORDS, "hHiIf", strict=True)}


class ModbusDecoder:
    """A decoder of the blocks that a link reads.

    >>> from ingest.frames import Stamp
    >>> from ingest.decode.register_map import blocks
    >>> suction = Register(field="suction", device=1, table="input", address=0, number_type="f32", order="CDAB")
    >>> decode = ModbusDecoder(blocks([suction]))
    >>> values = decode(Frame(bytes.fromhex("E97942F6"), Stamp(0, 0), "1 input 0"))
    >>> round(values["suction"], 3)
    123.456
    """

    def __init__(self, blocks: Sequence[Block]) -> None:
        self._blocks = {block.name: block for block in blocks}

    def __call__(self, frame: Frame) -> Mapping[str, Value]:
        """Read every register of a block.

        Raises:
            FrameError: another block, or the wrong number of bytes.

        """
        block = self._blocks.get(frame.source)
        if block is None:
            raise FrameError(f"the registers {frame.source!r} are not ones that we read")
        if len(frame.payload) != 2 * block.words:
            raise FrameError(f"{len(frame.payload)} bytes for {block.words} registers")
        return {register.field: _value(frame.payload, register, block.address) for register in block.registers}


def plausible_orders(words: Sequence[int], low: float, high: float) -> list[Order]:
    """Tell in which orders two words make an f32 from `low` to `high`: for a device whose manual does not say.

    Mostly one is left; if more are, look again at another value.

    >>> plausible_orders([0xF642, 0x79E9], 50, 200)
    ['BADC']
    """
    if len(words) != 2 or not all(0 <= word <= 0xFFFF for word in words):
        raise ValueError(f"words = {list(words)}: two numbers of 0 to 65535 were expected")
    arrived = b"".join(word.to_bytes(2, "big") for word in words)
    return [order for order in _PLACES if low <= _FORMATS["f32"].unpack(_in_order(arrived, order))[0] <= high]


def _value(payload: bytes, register: Register, first_address: int) -> Value:
    start, end = 2 * (register.address - first_address), 2 * (register.end - first_address)
    raw = payload[start:end]
    if len(raw) == 4:
        raw = _in_order(raw, register.order)
    bits = int.from_bytes(raw, "big")
    if bits in register.overload:
        return Unreadable.OVERLOAD
    if bits in register.invalid:
        return Unreadable.UNKNOWN
    number: float = _FORMATS[register.number_type].unpack(raw)[0]
    if math.isnan(number):
        return Unreadable.UNKNOWN
    value = register.scale * number + register.offset
    return value if math.isfinite(value) else Unreadable.OVERLOAD


def _in_order(arrived: bytes, order: Order) -> bytes:
    return bytes(arrived[place] for place in _PLACES[order])
