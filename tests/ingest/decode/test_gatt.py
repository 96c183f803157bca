"""Standard characteristics, against the GATT Specification Supplement of the Bluetooth SIG.

Layouts, ranges and special values below are copied from the Supplement's YAML, as published with the
Assigned Numbers. Values marked "worked" are worked examples made from those layouts.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.gatt import CHARACTERISTICS, GattDecoder
from ingest.frames import Frame, FrameError, Stamp, Unreadable
from tests.fuzzing import fuzz

STAMP = Stamp(0, 0)


def decode(uuid: str, payload: str) -> object:
    return GattDecoder()(Frame(bytes.fromhex(payload), STAMP, f"{uuid}:it"))["it"]


@pytest.mark.parametrize(
    ("uuid", "payload", "value"),
    [
        ("2a6e", "2909", 23.45),  # worked
        ("2aee", "3207", 18.42),  # worked
        ("2a6f", "6e14", 52.3),  # worked
        ("2a6e", "4d95", -273.15),  # lowest: -273.15
        ("2a6e", "ff7f", 327.67),  # highest: 327.67
        ("2a6e", "ffff", -0.01),
        ("2a6f", "0000", 0.0),
        ("2a6f", "1027", 100.0),  # highest: 100.00
        ("2a6d", "02760f00", 101325.0),
        ("2a6d", "ffffffff", 429496729.5),
        ("2aee", "feff", 655.34),  # highest: 655.34
        ("2b18", "80ff", 1022.0),  # highest: 1022.0
        ("2b18", "0100", 0.015625),  # 1/64 V
        ("2be0", "feffff", 262143.96875),  # highest: 262143.97
        ("2be0", "803e00", 250.0),
        ("2b05", "fdffff", 1677721.3),  # highest: 1677721.3
        ("2a19", "64", 100.0),
        ("2b1b", "feff", 65.534),
    ],
)
def test_value(uuid: str, payload: str, value: float) -> None:
    assert decode(uuid, payload) == value


@pytest.mark.parametrize(
    ("uuid", "payload", "meaning"),
    [
        ("2a6e", "0080", Unreadable.UNKNOWN),
        ("2a6f", "ffff", Unreadable.UNKNOWN),
        ("2aee", "ffff", Unreadable.UNKNOWN),
        ("2b18", "ffff", Unreadable.UNKNOWN),
        ("2be0", "ffffff", Unreadable.UNKNOWN),
        ("2b05", "ffffff", Unreadable.UNKNOWN),
        ("2b05", "feffff", Unreadable.SENSOR_FAULT),  # "value is not valid"
        ("2b1b", "ffff", Unreadable.UNKNOWN),
    ],
)
def test_special_value(uuid: str, payload: str, meaning: Unreadable) -> None:
    assert decode(uuid, payload) is meaning


@pytest.mark.parametrize(
    ("uuid", "payload", "says"),
    [
        ("2a6e", "29", "1 bytes, not 2"),
        ("2a6e", "290900", "3 bytes, not 2"),
        ("2a6d", "", "0 bytes, not 4"),
        ("2a6e", "4c95", "beyond"),  # one step below absolute zero
        ("2a6f", "1127", "beyond"),  # 100.01 %RH
        ("2b18", "81ff", "beyond"),
        ("2a19", "65", "beyond"),
        ("2a37", "0040", "'2a37' is not one"),  # heart rate: standard, but not ours
        ("", "0040", "is not one"),
    ],
)
def test_refused(uuid: str, payload: str, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        decode(uuid, payload)


def test_the_field_is_what_follows_the_number() -> None:
    frame = Frame(bytes.fromhex("2909"), STAMP, "2a6e:air: return, 2nd")
    assert GattDecoder()(frame) == {"air: return, 2nd": 23.45}


OWN = "0000aa01-f000-4000-8000-00805f9b34fb"


def described(presentation_format: str, payload: str) -> object:
    """What a maker's own characteristic holds, by its presentation format."""
    decode = GattDecoder()
    assert decode(Frame(bytes.fromhex(presentation_format), STAMP, "2904:it")) == {}
    [(name, value)] = decode(Frame(bytes.fromhex(payload), STAMP, f"{OWN}:it")).items()
    return name, value


@pytest.mark.parametrize(
    ("presentation_format", "payload", "field", "value"),
    [
        ("0EFE2F27010000", "2909", "it [degC]", 23.45),  # sint16, exponent -2
        ("0402002700 0000", "17", "it []", 2300.0),  # the example of the Core specification: 23 with 2 is 2300
        ("06FDA527010000", "340F", "it [psi]", 3.892),  # and 3892 with -3 is 3.892
        ("05FF2827010000", "E8F3", "it [V]", 100.0),  # uint12: 3E8, the other bits are ignored
        ("0DFF2F27010000", "FF0F", "it [degC]", -0.1),  # sint12
        ("0C000427010000", "FB", "it [A]", -5.0),
        ("0F002427010000", "FFFFFF", "it [Pa]", -1.0),
        ("11002427010000", "FEFFFFFFFFFF", "it [Pa]", -2.0),
        ("0BF42927010000", "2D" + "00" * 15, "it [F]", 4.5e-11),  # uint128
        ("14002F27010000", "0000BC41", "it [degC]", 23.5),  # IEEE 754: 1.46875 x 2^4
        ("15002F27010000", "0000000000803740", "it [degC]", 23.5),
        ("14002F27010000", "0000C07F", "it [degC]", Unreadable.UNKNOWN),  # not a number
        ("14002F27010000", "000080FF", "it [degC]", Unreadable.OVERLOAD),  # minus infinity
        ("16002F27010000", "EBF0", "it [degC]", 23.5),  # IEEE 11073: 0EB = 235, F = -1
        ("16002F27010000", "FF07", "it [degC]", Unreadable.UNKNOWN),
        ("16002F27010000", "0008", "it [degC]", Unreadable.UNKNOWN),  # not at this resolution
        ("16002F27010000", "FE07", "it [degC]", Unreadable.OVERLOAD),
        ("16002F27010000", "0208", "it [degC]", Unreadable.OVERLOAD),
        ("1700AC27010000", "6C0100FF", "it [degF]", 36.4),  # 364 x 10^-1
        ("1700AC27010000", "FFFF7F00", "it [degF]", Unreadable.UNKNOWN),
    ],
)
def test_a_characteristic_that_describes_itself(
    presentation_format: str, payload: str, field: str, value: object
) -> None:
    """Format types and units of the Assigned Numbers; IEEE 11073's special values from memory; worked by hand."""
    assert described(presentation_format, payload) == (field, value)


@pytest.mark.parametrize(
    ("presentation_format", "payload", "says"),
    [
        ("0EFE2F270100", "2909", "6 bytes, not 7"),
        ("19002F27010000", "2909", "format 19 that is no number"),  # text
        ("01002F27010000", "01", "format 01 that is no number"),
        ("0EFE6527010000", "2909", "unit 2765 that no channel has"),  # seconds of arc
        ("0EFE2F27010000", "29", "1 bytes, not 2"),
        ("16002F27010000", "0108", "reserved"),
    ],
)
def test_a_description_that_does_not_hold(presentation_format: str, payload: str, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        described(presentation_format, payload)


def test_a_standard_layout_holds_whatever_the_format_says() -> None:
    decode = GattDecoder()
    decode(Frame(bytes.fromhex("0EFFAC27010000"), STAMP, "2904:it"))
    assert decode(Frame(bytes.fromhex("2909"), STAMP, "2a6e:it")) == {"it": 23.45}


@pytest.mark.parametrize(
    ("valid_range", "payload", "outcome"),
    [
        ("60F0 3421", "2909", 23.45),  # -40.00 to 85.00
        ("60F0 3421", "60F0", -40.0),
        ("60F0 3421", "3421", 85.0),
        ("60F0 3421", "0080", Unreadable.UNKNOWN),
        ("60F0 3421", "3521", "85.01 is outside -40 to 85"),
        ("60F0 3421", "5FF0", "-40.01 is outside"),
        ("60F0", "2909", "0 bytes, not 2"),
        ("60F0 342100", "2909", "3 bytes, not 2"),
        ("0080 3421", "2909", "no numbers"),
    ],
)
def test_valid_range(valid_range: str, payload: str, outcome: object) -> None:
    """GATT Specification Supplement, Valid Range: both ends belong to it (from memory); worked by hand."""
    decode = GattDecoder()
    assert decode(Frame(bytes.fromhex(valid_range), STAMP, "2906:it")) == {}
    frame = Frame(bytes.fromhex(payload), STAMP, "2a6e:it")
    if isinstance(outcome, str):
        with pytest.raises(FrameError, match=outcome):
            decode(frame)
    else:
        assert decode(frame) == {"it": outcome}


def test_another_field_keeps_its_own_range() -> None:
    decode = GattDecoder()
    decode(Frame(bytes.fromhex("60F03421"), STAMP, "2906:it"))
    assert decode(Frame(bytes.fromhex("3521"), STAMP, "2a6e:another")) == {"another": 85.01}


@fuzz
@given(descriptor=st.binary(max_size=9), valid_range=st.binary(max_size=9), payload=st.binary(max_size=17))
def test_any_description_gives_a_value_or_a_frame_error(descriptor: bytes, valid_range: bytes, payload: bytes) -> None:
    decode = GattDecoder()
    for source, data in (("2904:it", descriptor), ("2906:it", valid_range), (f"{OWN}:it", payload)):
        try:
            values = decode(Frame(data, STAMP, source))
        except FrameError:
            continue
        assert all(isinstance(value, float | Unreadable) for value in values.values())


@fuzz
@given(
    number=st.sampled_from([*range(0x04, 0x18)]),
    exponent=st.integers(0, 255),
    payload=st.binary(max_size=17),
)
def test_any_value_in_a_sound_format(number: int, exponent: int, payload: bytes) -> None:
    decode = GattDecoder()
    decode(Frame(bytes([number, exponent]) + bytes.fromhex("2F27010000"), STAMP, "2904:it"))
    try:
        values = decode(Frame(payload, STAMP, f"{OWN}:it"))
    except FrameError:
        return
    assert all(isinstance(value, Unreadable) or math.isfinite(value) for value in values.values())


@fuzz
@given(uuid=st.sampled_from([*CHARACTERISTICS, "2a37", ""]), payload=st.binary(max_size=8))
def test_any_bytes_give_a_value_in_range_or_a_frame_error(uuid: str, payload: bytes) -> None:
    try:
        values = GattDecoder()(Frame(payload, STAMP, f"{uuid}:it"))
    except FrameError:
        return
    value = values["it"]
    layout = CHARACTERISTICS[uuid]
    assert isinstance(value, Unreadable) or layout.lowest <= value * layout.steps_per_unit <= layout.highest


def test_what_a_device_said_of_itself_is_forgotten_with_its_connection() -> None:
    decode = GattDecoder()
    decode(Frame(bytes.fromhex("0EFFAC27010000"), STAMP, "2904:it"))
    decode(Frame(bytes.fromhex("60F03421"), STAMP, "2906:it"))
    decode.forget()
    with pytest.raises(FrameError, match="is not one that we decode"):
        decode(Frame(bytes.fromhex("0040"), STAMP, f"{OWN}:it"))
    assert decode(Frame(bytes.fromhex("2935"), STAMP, "2a6e:it")) == {"it": 136.09}  # beyond that range
