"""The frames of three multimeter chips.

FS9721: frames recorded from a meter with the chip, published with their readings by the open project python-fs9721
(github.com/coddingtonbear/python-fs9721, output.csv). FS9922: the frames of a unit test of libsigrok's reader of the
chip (github.com/knarfS/libsigrok, tests/dmm_fs9922.c), which leave out the byte of the units; ohm is put in here.
ES51922: the table of ranges in its data sheet, as docs/ut61e/serial-protocol.md of the project wifidmm has it; recorded
frames are among the captures.

Frames marked "by hand" are made from the layouts that the decoders draw and name the sources of.
"""

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.es51922 import decode_es51922, is_es51922
from ingest.decode.fs9721 import decode_fs9721, is_fs9721
from ingest.decode.fs9922 import decode_fs9922, is_fs9922
from ingest.decode.meter_display import FIELDS, read_display
from ingest.frames import Decode, Frame, FrameError, Stamp, Unreadable, Value
from tests.fuzzing import fuzz


def shown(decode: Decode, payload: bytes) -> dict[str, Value]:
    """What the meter is set to measure; that the other fields say so is checked on the way."""
    values = decode(Frame(payload, Stamp(0, 0)))
    assert set(values) == set(FIELDS)
    return {field: value for field, value in values.items() if value is not Unreadable.OTHER_FUNCTION}


@pytest.mark.parametrize(
    ("recorded", "field", "value"),
    [
        ("Fy89R11gdYmfoLjA1Og=", "dc_voltage", -0.0013),
        ("Fyc9R11le42boLjA1Og=", "dc_voltage", 0.0022),
        ("Fyc9R11nfomVoLjA1Og=", "dc_voltage", 0.0067),
        ("Fyk/S15id4CVoLDA1Og=", "dc_voltage", -3.541),
        ("Fyk/R15nfYueoLjA1Og=", "dc_voltage", -0.3605),
        ("Fyg1RVtpf4CVoLDA1Og=", "dc_voltage", -12.31),
        ("EyE/T11hdYWboLLE0Og=", "resistance", 3072000.0),
        ("EyA1T19le4OfoLLE0Og=", "resistance", 1829000.0),
        ("EyA1QFVqd4KXoLLE0Og=", "resistance", 11440000.0),
        ("ESc9T19jfoKXobDA1Og=", "diode_voltage", 0.854),
        ("Eyc9QFVvfYOepLDI0Og=", "capacitance", 1.05e-9),
        ("Fyc9QFVid4iVqLDA2Og=", "dc_current", 14.1e-6),
        ("FyE/R15le4mVqLDA2Og=", "dc_current", 362.7e-6),
        ("FyA1R19id4eeqLDA2Og=", "dc_current", 1846e-6),
        ("Fy89R11gdYufqLDA2Og=", "dc_current", -1.9e-6),
    ],
)
def test_fs9721_as_recorded(recorded: str, field: str, value: float) -> None:
    assert shown(decode_fs9721, base64.b64decode(recorded)) == {field: pytest.approx(value, rel=1e-15)}


def test_fs9721_a_function_that_only_a_makers_symbol_tells_has_no_field() -> None:
    """Recorded at 24.7 degC: the degree sign is one of the four symbols that each maker chooses."""
    assert shown(decode_fs9721, base64.b64decode("Eyc9RVtid4mVoLDA0OQ=")) == {}


def fs9721(**changed: int) -> bytes:
    """18.42 A AC, AUTO, by hand; changed: byte numbers such as b11 to their low halves."""
    low = [0xB, 0x0, 0x5, 0x7, 0xF, 0xA, 0x7, 0x5, 0xB, 0x0, 0x0, 0x0, 0x8, 0x0]
    for name, bits in changed.items():
        low[int(name[1:])] = bits
    return bytes(place << 4 | bits for place, bits in enumerate(low, 1))


def test_fs9721_ac_current() -> None:
    assert shown(decode_fs9721, fs9721()) == {"ac_current": 18.42}


def test_an_ac_channel_never_gets_a_dc_reading() -> None:
    values = decode_fs9721(Frame(fs9721(b0=0x7), Stamp(0, 0)))
    assert values["ac_current"] is Unreadable.OTHER_FUNCTION
    assert values["dc_current"] == 18.42


@pytest.mark.parametrize(
    ("changed", "value"),
    [
        ({"b11": 0x1}, Unreadable.HELD),  # HOLD
        ({"b11": 0x2}, Unreadable.NOT_LIVE),  # REL
        ({"b12": 0x9}, Unreadable.LOW_BATTERY),
        ({"b12": 0x9, "b11": 0x1}, Unreadable.LOW_BATTERY),
        ({"b1": 0, "b2": 0, "b3": 7, "b4": 0xD, "b5": 6, "b6": 8, "b7": 0, "b8": 0}, Unreadable.OVERLOAD),  # 0L
        ({"b1": 0, "b2": 0, "b3": 7, "b4": 0xD, "b5": 0xE, "b6": 8, "b7": 0, "b8": 0}, Unreadable.OVERLOAD),  # 0.L
        ({"b1": 0, "b2": 0}, 8.42),  # a leading blank
        ({"b1": 0x8}, -18.42),
        ({"b10": 0x8}, 0.01842),  # mA
    ],
)
def test_fs9721_signs(changed: dict[str, int], value: Value) -> None:
    assert shown(decode_fs9721, fs9721(**changed)) == {"ac_current": value}


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        (b"", "not 14 bytes"),
        (fs9721()[:13], "not 14 bytes"),
        (fs9721() + b"\x10", "not 14 bytes"),
        (fs9721()[1:] + fs9721()[:1], "not 14 bytes"),
        (fs9721(b0=0xA), "RS232"),
        (fs9721(b0=0xF), "AC and DC"),
        (fs9721(b0=0x3), "neither AC nor DC"),
        (fs9721(b1=0x4), "1000101 are no digit"),
        (fs9721(b8=0x0), "1010000 are no digit"),
        (fs9721(b7=0x0, b8=0x0), "'184 ' is no number"),
        (fs9721(b7=0x6, b8=0x8), "'184L' is no number"),
        (fs9721(b3=0xF), "two decimal points"),
        (fs9721(b12=0xC), "two units are lit at once: A, V"),
        (fs9721(b9=0x8, b10=0x8), "two prefixes"),
    ],
)
def test_fs9721_refused(payload: bytes, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        decode_fs9721(Frame(payload, Stamp(0, 0)))


def fs9922(digits: bytes = b"+4635", point: bytes = b"0", flags: str = "2100002E", tail: bytes = b"\x12\r\n") -> bytes:
    """Put a frame together; 21 is AUTO and bar graph."""
    return digits + b" " + point + bytes.fromhex(flags) + tail


@pytest.mark.parametrize(("point", "decimals"), [(b"0", 0), (b"4", 1), (b"2", 2), (b"1", 3)])
@pytest.mark.parametrize(
    ("prefix_flags", "exponent"),
    [("0010", 6), ("0020", 3), ("0000", 0), ("0040", -3), ("0080", -6), ("0200", -9)],
)
def test_fs9922_as_in_libsigrok(point: bytes, decimals: int, prefix_flags: str, exponent: int) -> None:
    """Its 24 frames show 4635 with every point and prefix, the bar graph at 46 (2E)."""
    frame = fs9922(point=point, flags=f"21{prefix_flags}20", tail=b"\x2e\r\n")
    assert shown(decode_fs9922, frame) == {"resistance": pytest.approx(4635 * 10.0 ** (exponent - decimals), rel=1e-15)}


@pytest.mark.parametrize(
    ("frame", "expected"),
    [
        (fs9922(b"+1842", b"2", "29000040"), {"ac_current": 18.42}),  # 28: AUTO AC
        (fs9922(b"-0005", b"1", "31004080"), {"dc_voltage": -5e-6}),
        (fs9922(b"+2301", b"4", "28000080"), {"ac_voltage": 230.1}),
        (fs9922(b"+0400", b"4", "20028004", b"\x00\r\n"), None),  # two prefixes at once: n and u
        (fs9922(b"+0400", b"4", "20008004"), {"capacitance": 40e-6}),
        (fs9922(b"+0600", b"4", "28000008"), {"frequency": 60.0}),
        (fs9922(b"+0247", b"4", "20000002"), {"temperature_degc": 24.7}),
        (fs9922(b"+0765", b"4", "20000001"), {"temperature_degf": 76.5}),
        (fs9922(b"+0500", b"4", "20000200"), {"duty_cycle": 50.0}),
        (fs9922(b"+0631", b"1", "20000480"), {"diode_voltage": 0.631}),
        (fs9922(b"+0120", b"0", "00000010"), {}),  # hFE
        (fs9922(b"+?0:?", b"4", "28000040"), {"ac_current": Unreadable.OVERLOAD}),
        (fs9922(b"+1842", b"2", "0A000040"), {"ac_current": Unreadable.HELD}),  # HOLD; the flags are a newline
        (fs9922(b"+1842", b"2", "0C000040"), {"ac_current": Unreadable.NOT_LIVE}),  # REL
        (fs9922(b"+1842", b"2", "08200040"), {"ac_current": Unreadable.NOT_LIVE}),  # MAX
        (fs9922(b"+1842", b"2", "08100040"), {"ac_current": Unreadable.NOT_LIVE}),  # MIN
        (fs9922(b"+1842", b"2", "08040040"), {"ac_current": Unreadable.LOW_BATTERY}),
        (fs9922(b"+1842", b"2", "08080040"), {"ac_current": 18.42}),  # switches itself off: of no concern
    ],
)
def test_fs9922_by_hand(frame: bytes, expected: dict[str, Value] | None) -> None:
    if expected is None:
        with pytest.raises(FrameError, match="two prefixes"):
            decode_fs9922(Frame(frame, Stamp(0, 0)))
    else:
        assert shown(decode_fs9922, frame) == expected


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        (b"", "not sign"),
        (fs9922(b" 4635"), "not sign"),
        (fs9922(b"+46 5"), "not sign"),
        (fs9922(point=b"3"), "not sign"),
        (fs9922(tail=b"\r\n"), "not sign"),
        (fs9922(tail=b"\x12\n\r"), "not sign"),
        (fs9922(flags="61000040"), "upper two bits"),
        (fs9922(flags="39000040"), "AC and DC"),
        (fs9922(flags="21000040"), "neither AC nor DC"),
        (fs9922(flags="2100002E"), "two units are lit at once: F, Hz, degC, ohm"),
    ],
)
def test_fs9922_refused(payload: bytes, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        decode_fs9922(Frame(payload, Stamp(0, 0)))


def es51922(text: bytes, tail: bytes = b"\r\n") -> bytes:
    """Put the parity bit in."""
    return bytes(byte if byte.bit_count() % 2 else byte | 0x80 for byte in text + tail)


FULL_SCALES = {
    b";4": ("dc_voltage", [2.2, 22.0, 220.0, 2200.0, 0.22]),
    b"94": ("dc_current", [2.2, 22.0, 220.0, 2200.0, 22000.0]),
    b"04": ("dc_current", [22.0]),
    b"=4": ("dc_current", [220e-6, 2200e-6]),
    b"?4": ("dc_current", [22e-3, 220e-3]),
    b"30": ("resistance", [220.0, 2.2e3, 22e3, 220e3, 2.2e6, 22e6, 220e6]),
    b"50": ("resistance", [220.0]),
    b"10": ("diode_voltage", [2.2]),
    b"60": ("capacitance", [22e-9, 220e-9, 2.2e-6, 22e-6, 220e-6, 2.2e-3, 22e-3, 220e-3]),
    b"20": ("frequency", [220.0, 2200.0, None, 22e3, 220e3, 2.2e6, 22e6, 220e6]),
}
"""By function, with the flag of DC where it has one: the number 22000 on each of its ranges.

The lowest two of frequency have four digits, 22.00 and 220.0 Hz. Microamps and milliamps are not in the data sheet's
table: libsigrok has them.
"""


@pytest.mark.parametrize(
    ("function", "place", "field", "value"),
    [
        (function, place, field, value)
        for function, (field, values) in FULL_SCALES.items()
        for place, value in enumerate([*values, *[None] * (8 - len(values))])
    ],
)
def test_es51922_ranges(function: bytes, place: int, field: str, value: float | None) -> None:
    flags = b"8" if function[1:] == b"4" else b"0"
    payload = es51922(b"%d22000%s000%s0" % (place, function[:1], flags))
    if value is None:
        with pytest.raises(FrameError, match="no range of this function"):
            decode_es51922(Frame(payload, Stamp(0, 0)))
    else:
        assert shown(decode_es51922, payload) == {field: pytest.approx(value, rel=1e-15)}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (b"201842900040", {"ac_current": 18.42}),
        (b"201842940040", {"ac_current": -18.42}),
        (b"201842920040", {"ac_current": Unreadable.LOW_BATTERY}),
        (b"201842910040", {"ac_current": Unreadable.OVERLOAD}),
        (b"201842910840", {"ac_current": Unreadable.OVERLOAD}),  # both UL and OL
        (b"201842900042", {"ac_current": Unreadable.HELD}),  # HOLD
        (b"201842902040", {"ac_current": Unreadable.NOT_LIVE}),  # REL
        (b"201842908040", {"ac_current": Unreadable.NOT_LIVE}),  # MAX
        (b"201842904040", {"ac_current": Unreadable.NOT_LIVE}),  # MIN
        (b"201842901040", {"ac_current": 18.42}),  # RMR, which no source explains
        (b"201842900041", {"ac_current": 18.42}),  # low-pass filter
        (b"106000=00050", {"frequency": 600.0}),  # VAHZ
        (b"000500=80050", {"duty_cycle": 50.0}),
        (b"001842=00044", {}),  # VBAR: a clamp adapter
        (b"001842?00044", {}),
        (b"100600=00054", {"frequency": 60.0}),  # VBAR does not matter to a frequency
        (b"002471480000", {}),  # temperature
        (b"000247480000", {}),
        (b"000247>00000", {}),  # another adapter
    ],
)
def test_es51922_by_hand(text: bytes, expected: dict[str, Value]) -> None:
    assert shown(decode_es51922, es51922(text)) == expected


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        (b"", "not 14 bytes"),
        (es51922(b"201842900040")[:13], "not 14 bytes"),
        (es51922(b"201842900040") + b"\xb0", "not 14 bytes"),
        (es51922(b"201842900040", b"\n\r"), "not 14 bytes"),
        (b"201842900040\r\n", "odd parity"),
        (es51922(b"A01842900040"), "upper bits"),
        (es51922(b"20184:900040"), "no number"),
        (es51922(b"201842700040"), "'7' is no function"),
        (es51922(b"2018429000@0"), "upper bits"),
        (es51922(b"201842900140"), "never is"),
        (es51922(b"201842900048"), "never is"),
        (es51922(b"2018429000<0"), "AC and DC"),
        (es51922(b"201842900000"), "neither AC nor DC"),
        (es51922(b"901842900040"), "'9' is no range"),
    ],
)
def test_es51922_refused(payload: bytes, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        decode_es51922(Frame(payload, Stamp(0, 0)))


def test_a_number_is_rounded_once() -> None:
    """4635 x 10^-3 x 10^-6 in binary is not 4.635e-6."""
    assert read_display(4635, 3, frozenset({"u", "A", "DC"}))["dc_current"] == 4.635e-6


low_halves = st.lists(st.integers(0, 15), min_size=14, max_size=14)
segments = low_halves.map(lambda low: bytes(place << 4 | bits for place, bits in enumerate(low, 1)))


@fuzz
@given(payload=st.binary(max_size=20) | segments)
def test_fs9721_any_bytes(payload: bytes) -> None:
    try:
        values = decode_fs9721(Frame(payload, Stamp(0, 0)))
    except FrameError:
        return
    assert is_fs9721(payload)
    assert set(values) == set(FIELDS)


@fuzz
@given(
    payload=st.binary(max_size=20)
    | st.tuples(st.sampled_from([b"+1234 2", b"-?0:? 0"]), st.binary(min_size=5, max_size=5), st.just(b"\r\n")).map(
        b"".join
    )
)
def test_fs9922_any_bytes(payload: bytes) -> None:
    try:
        values = decode_fs9922(Frame(payload, Stamp(0, 0)))
    except FrameError:
        return
    assert is_fs9922(payload)
    assert set(values) == set(FIELDS)


@fuzz
@given(
    payload=st.binary(max_size=20)
    | st.binary(min_size=12, max_size=12).map(lambda text: es51922(bytes(byte & 0x0F | 0x30 for byte in text)))
)
def test_es51922_any_bytes(payload: bytes) -> None:
    try:
        values = decode_es51922(Frame(payload, Stamp(0, 0)))
    except FrameError:
        return
    assert is_es51922(payload)
    assert set(values) == set(FIELDS)


@given(place=st.integers(0, 13), bit=st.integers(0, 7))
def test_es51922_one_wrong_bit_is_noticed(place: int, bit: int) -> None:
    damaged = bytearray(es51922(b"201842900040"))
    damaged[place] ^= 1 << bit
    assert not is_es51922(bytes(damaged))
