"""Lines of text from probes: common practice, no source, but for JSON (RFC 8259)."""

import functools
import json
import math
import operator
import re
from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.line_splitter import LineSplitter
from ingest.decode.lines import LineDecoder
from ingest.frames import Frame, FrameError, Stamp, Unreadable, Value
from tests.fuzzing import fuzz

LONGEST_LINE_BYTES = 4096
"""A probe's line is some hundred bytes: common practice, no source."""


def frame(line: bytes) -> Frame:
    return Frame(line, Stamp(0, 0))


def decode_under(header: bytes, line: bytes) -> Mapping[str, Value]:
    decode = LineDecoder()
    assert decode(frame(header)) == {}
    return decode(frame(line))


def test_a_row_is_named_by_the_newest_header() -> None:
    decode = LineDecoder()
    decode(frame(b"# pressure,temperature\r"))
    assert decode(frame(b"118.2, -5.4e1\r")) == {"pressure": 118.2, "temperature": -54.0}
    decode(frame(b"#temperature, pressure"))
    assert decode(frame(b"-54,118.2")) == {"pressure": 118.2, "temperature": -54.0}


def test_decoders_share_no_header() -> None:
    LineDecoder()(frame(b"# pressure"))
    with pytest.raises(FrameError, match="before the header"):
        LineDecoder()(frame(b"118.2"))


@pytest.mark.parametrize("place", [b"OL", b"ol", b"-OL", b"", b"  "])
def test_overload_is_no_number(place: bytes) -> None:
    values = decode_under(b"# pressure,temperature", b"118.2," + place)
    assert values == {"pressure": 118.2, "temperature": Unreadable.OVERLOAD}


def test_json_object() -> None:
    line = b' {"pressure": 814.5, "temperature": "OL", "battery": null, "count": 3, "text": "1.5"}\r'
    assert LineDecoder()(frame(line)) == {
        "pressure": 814.5,
        "temperature": Unreadable.OVERLOAD,
        "battery": Unreadable.UNKNOWN,
        "count": 3.0,
        "text": 1.5,
    }


def test_blank_line_holds_no_values() -> None:
    assert LineDecoder()(frame(b"\r")) == {}


@pytest.mark.parametrize(
    ("line", "check"),
    [
        # the exclusive or by hand: '1' 31 ^ '2' 32 = 03; '1' 31 ^ '.' 2E ^ '5' 35 = 2A; '{' 7B ^ '}' 7D = 06
        (b"12", b"03"),
        (b"1.5", b"2A"),
        (b"1.5", b"2a"),
        (b"{}", b"06"),
    ],
)
def test_check_is_the_exclusive_or_of_all_bytes_before_it(line: bytes, check: bytes) -> None:
    decode_under(b"# pressure", line + b"*" + check + b"\r")
    with pytest.raises(FrameError, match="check says"):
        decode_under(b"# pressure", line + b"*04")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"118.2", "1 values under 2"),
        (b"118.2,50.4,1", "3 values under 2"),
        (b"118.2,5O.4", "not a number"),
        (b"118.2,nan", "not a number"),
        (b"118.2,inf", "not a number"),
        (b"118.2,1_0", "not a number"),
        (b"118.2,0x10", "not a number"),
        ("118.2,١٢".encode(), "not a number"),  # digits, but not ASCII ones
        (b"118.2,1e999", "beyond all bounds"),
        (b"118.2,\xff", "not UTF-8"),
        (b'{"pressure": 118.2', "not an object"),
        (b'{"pressure": true}', "not an object"),
        (b'{"pressure": NaN}', "not an object"),
        (b'{"pressure": "high"}', "not an object of numbers"),
        (b'{"pressure": 1e999}', "not an object"),
        (b'{"pressure": ' + b"9" * 400 + b"}", "not an object|beyond"),
        (b'{"a":' * 600, "not an object"),
        (b"# pressure,", "empty or repeated"),
        (b"# pressure,pressure", "empty or repeated"),
        (b"#", "empty or repeated"),
        (b"1" * (LONGEST_LINE_BYTES + 1), "more than"),
    ],
)
def test_refused_whole(line: bytes, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        decode_under(b"# pressure,temperature", line)


def test_one_odd_member_leaves_the_others_alone() -> None:
    line = b'{"id": "probe 7", "ok": true, "pressure": 118.2, "raw": [1, 2], "temperature": "OL"}'
    assert LineDecoder()(Frame(line, Stamp(0, 0))) == {
        "id": Unreadable.UNKNOWN,
        "ok": Unreadable.UNKNOWN,
        "pressure": 118.2,
        "raw": Unreadable.UNKNOWN,
        "/raw/0": 1.0,
        "/raw/1": 2.0,
        "temperature": Unreadable.OVERLOAD,
    }


@pytest.mark.parametrize(
    "damaged", [b"# tempera,*00", b"# temperature,", b"#\xff", b"118.2,5# temperature,pressure*46", b"#" * 5000]
)
def test_after_a_damaged_header_rows_are_refused_until_a_good_one(damaged: bytes) -> None:
    decode = LineDecoder()
    decode(frame(b"# pressure"))
    with pytest.raises(FrameError):
        decode(frame(damaged))
    with pytest.raises(FrameError, match="before the header"):
        decode(frame(b"118.2"))
    decode(frame(b"# temperature"))
    assert decode(frame(b"118.2")) == {"temperature": 118.2}


def checked(line: bytes) -> bytes:
    return line + b"*%02X" % functools.reduce(operator.xor, line, 0)


@pytest.mark.parametrize("lost", range(1, 8))
def test_a_checked_row_that_lost_its_end_gives_nothing(lost: int) -> None:
    decode = LineDecoder()
    decode(frame(checked(b"# pressure,temperature")))
    row = checked(b"118.2,52.4")
    assert decode(frame(row)) == {"pressure": 118.2, "temperature": 52.4}
    with pytest.raises(FrameError):
        decode(frame(row[:-lost] + b"\r"))
    assert decode(frame(row)) == {"pressure": 118.2, "temperature": 52.4}


def test_a_checked_object_that_lost_its_check_gives_nothing() -> None:
    decode = LineDecoder()
    decode(frame(checked(b'{"pressure":118.2}')))
    with pytest.raises(FrameError, match="without its check"):
        decode(frame(b'{"pressure":118.2}'))
    assert decode(frame(b"\r")) == {}


def test_a_wrong_check_alone_does_not_make_checks_the_rule() -> None:
    """Noise may look like a check; only one that is right shows that the probe sends them."""
    decode = LineDecoder()
    decode(frame(b"# pressure"))
    with pytest.raises(FrameError, match="check says"):
        decode(frame(b"118*00"))
    assert decode(frame(b"118.2")) == {"pressure": 118.2}


def test_with_its_connection_header_and_checks_are_forgotten() -> None:
    decode = LineDecoder()
    decode(frame(checked(b"# pressure")))
    decode.forget()
    with pytest.raises(FrameError, match="before the header"):
        decode(frame(b"118.2"))
    decode(frame(b"# temperature"))
    assert decode(frame(b"52.4")) == {"temperature": 52.4}


likely_bytes = st.lists(
    st.one_of(
        st.binary(max_size=6),
        st.sampled_from([b"#", b",", b"OL", b"*", b"00", b"1.5", b"-", b'{"p":', b"}", b'"', b"null", b"1e308", b"9"]),
    ),
    max_size=30,
).map(b"".join)


@fuzz
@given(st.lists(likely_bytes, max_size=4))
def test_any_lines_give_finite_numbers_or_a_frame_error(lines: list[bytes]) -> None:
    decode = LineDecoder()
    for line in lines:
        try:
            values = decode(frame(line))
        except FrameError:
            continue
        assert all(isinstance(value, Unreadable) or math.isfinite(value) for value in values.values())


numbers = st.floats(min_value=-1e9, max_value=1e9).map(lambda number: round(number, 3))
names = st.text(st.characters(codec="utf-8", exclude_characters="\r\n\0"), min_size=1, max_size=8)


@fuzz
@given(st.dictionaries(names, numbers, min_size=1, max_size=6))
def test_what_json_wrote_is_read(values: dict[str, float]) -> None:
    assert LineDecoder()(frame(json.dumps(values).encode())) == values


@fuzz
@given(st.binary(max_size=400), st.lists(st.integers(1, 40), min_size=1, max_size=20))
def test_lines_do_not_depend_on_how_their_bytes_arrive(stream: bytes, cuts: list[int]) -> None:
    whole = LineSplitter().feed(stream)
    pieces, splitter = [], LineSplitter()
    start = 0
    while start < len(stream):
        size = cuts[start % len(cuts)]
        pieces += splitter.feed(stream[start : start + size])
        start += size
    begun = re.split(rb"[\r\n]", stream)[1:-1]  # CR, LF or both end a line, and none is empty
    assert pieces == whole == [line for line in begun if line]


def test_a_key_given_twice_has_no_value() -> None:
    values = LineDecoder()(frame(b'{"d": 20.5, "e": 7, "d": 60}'))
    assert values == {"d": Unreadable.UNKNOWN, "e": 7.0}
    with pytest.raises(FrameError, match="none of its members"):
        LineDecoder()(frame(b'{"d": 20.5, "d": 20.5}'))


def test_a_line_without_end_is_delivered_once_and_cut() -> None:
    splitter = LineSplitter()
    splitter.feed(b"\n")
    delivered = [line for _ in range(100) for line in splitter.feed(b"x" * 1000)]
    assert [len(line) for line in delivered] == [LONGEST_LINE_BYTES + 1]
    assert splitter.feed(b"tail\n118.2\n") == [b"118.2"]


def test_the_longest_line_passes_whole() -> None:
    splitter = LineSplitter()
    line = b"x" * LONGEST_LINE_BYTES
    assert splitter.feed(b"\n" + line) == []
    assert splitter.feed(b"\n") == [line]
