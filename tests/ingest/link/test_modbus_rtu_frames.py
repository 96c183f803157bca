"""RTU frames, against the examples in the standard.

The requests and answers of MODBUS Application Protocol Specification V1.1b3, 6.1 to 6.4, from device 17; those of 6.1
and 6.2 are written from memory. The check of 02 07 is 4112 as it travels: MODBUS over Serial Line V1.02, appendix B.
The checks of the other frames come from pymodbus, which computes them by a table.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.framer import FramerRTU

from ingest.link.modbus_request import RefusedError, Request
from ingest.link.modbus_rtu_frames import LONGEST_FRAME_BYTES, answer_in, crc, request_frame
from tests.fuzzing import fuzz

HOLDING = Request(17, "holding", 107, 3)
INPUT = Request(17, "input", 8, 1)
COILS = Request(17, "coils", 19, 19)
DISCRETE = Request(17, "discrete", 196, 22)


def checked(frame: str) -> bytes:
    data = bytes.fromhex(frame)
    return data + FramerRTU.compute_CRC(data).to_bytes(2, "big")


def test_the_check_as_in_the_standard() -> None:
    assert crc(bytes.fromhex("0207")).to_bytes(2, "little") == bytes.fromhex("4112")


@given(st.binary(max_size=256))
def test_the_check_as_pymodbus_has_it(frame: bytes) -> None:
    assert crc(frame).to_bytes(2, "little") == FramerRTU.compute_CRC(frame).to_bytes(2, "big")


@pytest.mark.parametrize(
    ("request_", "sent", "answer", "data"),
    [
        (HOLDING, "11 03 006B 0003", "11 03 06 022B 0000 0064", "022B 0000 0064"),
        (INPUT, "11 04 0008 0001", "11 04 02 000A", "000A"),
        (COILS, "11 01 0013 0013", "11 01 03 CD 6B 05", "CD 6B 05"),
        (DISCRETE, "11 02 00C4 0016", "11 02 03 AC DB 35", "AC DB 35"),
    ],
)
def test_as_in_the_standard(request_: Request, sent: str, answer: str, data: str) -> None:
    assert request_frame(request_) == checked(sent)
    assert answer_in(checked(answer), request_) == bytes.fromhex(data)


@pytest.mark.parametrize(("coils", "data"), [(1, "01"), (8, "FF"), (9, "FF 01"), (16, "FF FF"), (17, "FF FF 01")])
def test_eight_coils_go_into_a_byte_and_what_is_left_over_into_one_more(coils: int, data: str) -> None:
    """As in 6.1: N = how many / 8, and one more where something is left over."""
    length = len(bytes.fromhex(data))
    assert answer_in(checked(f"11 01 {length:02X} {data}"), Request(17, "coils", 0, coils)) == bytes.fromhex(data)


def test_an_answer_is_found_one_byte_behind_what_looks_like_one() -> None:
    """01 01 01: of device 1, coils (1), one byte."""
    assert answer_in(b"\x01" + checked("01 01 01 05"), Request(1, "coils", 0, 3)) == b"\x05"


def test_no_frame_is_longer_than_the_standard_allows() -> None:
    """MODBUS over Serial Line V1.02, 2.5.1: 256 bytes."""
    assert LONGEST_FRAME_BYTES == 256


@pytest.mark.parametrize("cut", range(11))
def test_it_is_waited_for_until_it_is_whole(cut: int) -> None:
    assert answer_in(checked("11 03 06 022B 0000 0064")[:cut], HOLDING) is None


@pytest.mark.parametrize(
    "before",
    [
        b"",
        b"\x00\xff",
        b"\x11",
        b"\x11\x03\x06",
        request_frame(HOLDING),  # some adapters echo what is sent
        checked("12 03 06 0001 0002 0003"),  # another device
        checked("11 04 06 0001 0002 0003"),  # another function
        checked("11 03 02 0001"),  # another length
        bytes.fromhex("1103060001000200030000"),  # damaged
    ],
)
def test_what_is_not_the_answer_is_passed_over(before: bytes) -> None:
    assert answer_in(before, HOLDING) is None
    assert answer_in(before + checked("11 03 06 022B 0000 0064"), HOLDING) == bytes.fromhex("022B00000064")


@pytest.mark.parametrize(("request_", "answer"), [(HOLDING, "11 83 02"), (INPUT, "11 84 02")])
def test_a_refusal(request_: Request, answer: str) -> None:
    with pytest.raises(RefusedError) as refused:
        answer_in(checked(answer), request_)
    assert refused.value.exception == 2


@fuzz
@given(received=st.binary(max_size=300), words=st.integers(1, 125))
def test_any_bytes_are_no_answer(received: bytes, words: int) -> None:
    """Chance passes the check of 16 bits once in 65,536 frames that begin right."""
    request = Request(17, "holding", 0, words)
    assert answer_in(b"\x11\x03" + bytes([2 * words]) + received[: 2 * words + 1], request) is None


@fuzz
@given(data=st.data(), words=st.integers(1, 125))
def test_one_bit_that_is_wrong_is_noticed(data: st.DataObject, words: int) -> None:
    """A CRC of 16 bits finds every single wrong bit."""
    request = Request(17, "holding", 0, words)
    frame = bytearray(checked("11 03" + bytes([2 * words]).hex() + "5A" * 2 * words))
    frame[data.draw(st.integers(0, len(frame) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    assert answer_in(bytes(frame), request) is None
