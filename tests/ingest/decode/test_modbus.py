"""Modbus registers: against pymodbus for the orders it knows, and the standard library for the other two."""

import math
import struct
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.client.mixin import ModbusClientMixin

from ingest.decode.modbus import ModbusDecoder, plausible_orders
from ingest.decode.register_map import WORDS, NumberType, Order, Register, blocks
from ingest.frames import Frame, FrameError, Stamp, Unreadable, Value
from tests.fuzzing import fuzz

MOST_WORDS = 125
"""In one answer: MODBUS Application Protocol Specification V1.1b3, 6.3 and 6.4."""

ORDERS: Sequence[Order] = ("ABCD", "CDAB", "BADC", "DCBA")
ORACLE = ModbusClientMixin.DATATYPE
ORACLE_TYPES: Sequence[tuple[NumberType, ORACLE]] = (
    ("f32", ORACLE.FLOAT32),
    ("i32", ORACLE.INT32),
    ("u32", ORACLE.UINT32),
    ("i16", ORACLE.INT16),
    ("u16", ORACLE.UINT16),
)

words = st.integers(0, 0xFFFF)


def in_bytes(words: Sequence[int]) -> bytes:
    return b"".join(word.to_bytes(2, "big") for word in words)


def decode(words: Sequence[int], number_type: NumberType, order: Order = "ABCD") -> Value:
    register = Register(field="it", device=1, table="holding", address=0, number_type=number_type, order=order)
    decoder = ModbusDecoder(blocks([register]))
    return decoder(Frame(in_bytes(words), Stamp(0, 0), "1 holding 0"))["it"]


def expect(number: float) -> Value:
    if math.isnan(number):
        return Unreadable.UNKNOWN
    return Unreadable.OVERLOAD if math.isinf(number) else number


@pytest.mark.parametrize(("number_type", "oracle_type"), ORACLE_TYPES)
@pytest.mark.parametrize(("order", "word_order"), [("ABCD", "big"), ("CDAB", "little")])
@fuzz
@given(st.data())
def test_pymodbus_reads_the_same(
    number_type: NumberType, oracle_type: ORACLE, order: Order, word_order: str, data: st.DataObject
) -> None:
    arrived = data.draw(st.lists(words, min_size=WORDS[number_type], max_size=WORDS[number_type]))
    number = ModbusClientMixin.convert_from_registers(arrived, oracle_type, word_order=word_order)  # type: ignore[arg-type]
    assert decode(arrived, number_type, order) == expect(number)  # type: ignore[arg-type]


@fuzz
@given(words, words)
def test_the_lowest_byte_first_is_what_little_endian_means(first: int, second: int) -> None:
    """DCBA is a little-endian number of four bytes, and BADC two little-endian words of a big-endian pair."""
    raw = in_bytes([first, second])
    assert decode([first, second], "f32", "DCBA") == expect(struct.unpack("<f", raw)[0])
    high, low = struct.unpack("<HH", raw)
    assert decode([first, second], "u32", "BADC") == high << 16 | low


@pytest.mark.parametrize("order", ORDERS)
@fuzz
@given(number=st.floats(1, 2000, width=32))
def test_a_pressure_or_temperature_tells_its_order(order: Order, number: float) -> None:
    """Every order is an involution, so laying out a number reads as reading it."""
    raw = struct.pack(">f", number)
    arrived = struct.unpack(">HH", bytes(raw["ABCD".index(letter)] for letter in order))
    found = plausible_orders(arrived, 1, 2000)
    assert order in found


def test_most_wrong_orders_are_implausible() -> None:
    """Of 1000 pressures from 50 to 500 psi with two decimals, a wrong order is plausible for few."""
    numbers = [50 + 0.45 * step + 0.01 for step in range(1000)]
    wrong = sum(len(plausible_orders(struct.unpack(">HH", struct.pack(">f", n)), 50, 500)) - 1 for n in numbers)
    assert wrong < 30


@pytest.mark.parametrize("arrived", [[], [1], [1, 2, 3], [1, 0x10000], [-1, 1]])
def test_an_order_is_told_from_two_words_only(arrived: list[int]) -> None:
    with pytest.raises(ValueError, match="two numbers of 0 to 65535"):
        plausible_orders(arrived, 0, 1)


def registers(*addresses: int, table: str = "holding", device: int = 1) -> list[Register]:
    return [
        Register(field=str(address), device=device, table=table, address=address, number_type="f32")  # type: ignore[arg-type]
        for address in addresses
    ]


def test_only_registers_that_touch_are_read_together() -> None:
    wanted = registers(2, 0, 4, 7) + registers(9, table="input") + registers(11, device=2)
    assert [(block.name, block.words) for block in blocks(wanted)] == [
        ("1 holding 0", 6),
        ("1 holding 7", 2),
        ("1 input 9", 2),
        ("2 holding 11", 2),
    ]


def test_registers_that_overlap_are_read_once() -> None:
    (block,) = blocks([*registers(0, 1), Register(field="w", device=1, table="holding", address=1, number_type="u16")])
    assert (block.words, len(block.registers)) == (3, 3)


def test_no_answer_is_asked_to_hold_more_than_the_standard_allows() -> None:
    found = blocks(registers(*range(0, 300, 2)))
    assert [block.words for block in found] == [124, 124, 52]
    assert max(block.words for block in found) <= MOST_WORDS


@fuzz
@given(st.lists(st.tuples(st.sampled_from(list(WORDS)), st.integers(0, 400)), min_size=1, max_size=60))
def test_every_register_is_in_one_block_whole(wanted: list[tuple[NumberType, int]]) -> None:
    numbered = [
        Register(field=str(index), device=1, table="input", address=address, number_type=number_type)
        for index, (number_type, address) in enumerate(wanted)
    ]
    found = blocks(numbered)
    assert sorted(register.field for block in found for register in block.registers) == sorted(
        register.field for register in numbered
    )
    for block in found:
        assert block.words <= MOST_WORDS
        assert all(block.address <= register.address for register in block.registers)
    names = [block.name for block in found]
    assert len(set(names)) == len(names), "frames are told apart by the name of their block"


@fuzz
@given(st.binary(max_size=40), st.sampled_from(["1 input 0", "1 input 90", "", "2 input 0"]))
def test_any_bytes_give_finite_numbers_or_a_frame_error(payload: bytes, source: str) -> None:
    kinds: list[tuple[NumberType, Order]] = [("f32", "ABCD"), ("i32", "CDAB"), ("u32", "BADC"), ("f32", "DCBA")]
    wanted = [
        Register(field=order, device=1, table="input", address=2 * index, number_type=kind, order=order)
        for index, (kind, order) in enumerate(kinds)
    ]
    huge = Register(field="huge", device=1, table="input", address=90, number_type="f32", scale=1e300, offset=-1e300)
    try:
        values = ModbusDecoder(blocks([*wanted, huge]))(Frame(payload, Stamp(0, 0), source))
    except FrameError:
        return
    assert all(isinstance(value, Unreadable) or math.isfinite(value) for value in values.values())
