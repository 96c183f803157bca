"""Answers of SCPI meters: the forms of IEEE 488.2, and the three non-numbers of SCPI-99 volume 1, 7.2.1."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.scpi import decode_scpi
from ingest.frames import Frame, FrameError, Stamp, Unreadable
from tests.fuzzing import fuzz


def decode(answer: bytes) -> object:
    return decode_scpi(Frame(answer, Stamp(0, 0), "compressor"))["compressor"]


@pytest.mark.parametrize(
    ("answer", "value"),
    [
        (b"18", 18.0),  # NR1
        (b"-18.42", -18.42),  # NR2
        (b".5", 0.5),
        (b"+1.84200000E+01\r", 18.42),  # NR3
        (b" 1.842e1 ", 18.42),
        (b"0", 0.0),
    ],
)
def test_number(answer: bytes, value: float) -> None:
    assert decode(answer) == value


@pytest.mark.parametrize("answer", [b"+9.90000000E+37", b"-9.9E37", b"9.91E+37", b"9.91E37\r"])
def test_non_numbers_of_the_standard_are_overloads(answer: bytes) -> None:
    assert decode(answer) is Unreadable.OVERLOAD


@pytest.mark.parametrize("answer", [b"", b"OL", b"nan", b"inf", b"1,2", b"1_0", b"18 A", b"\xff\xfe", b"1E", b"1" * 65])
def test_refused(answer: bytes) -> None:
    with pytest.raises(FrameError):
        decode(answer)


@fuzz
@given(st.one_of(st.binary(max_size=80), st.from_regex(rb"[-+0-9.eE ]{0,20}", fullmatch=True)))
def test_any_bytes_give_a_finite_number_or_a_frame_error(answer: bytes) -> None:
    try:
        value = decode(answer)
    except FrameError:
        return
    assert value is Unreadable.OVERLOAD or (isinstance(value, float) and math.isfinite(value))


@fuzz
@given(st.floats(min_value=-1e30, max_value=1e30))
def test_every_number_in_form_nr3_comes_back(number: float) -> None:
    assert decode(f"{number:+.16E}".encode()) == number
