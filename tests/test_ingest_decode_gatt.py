"""Standard characteristics, against the GATT Specification Supplement of the Bluetooth SIG.

Layouts, ranges and special values below are copied from the Supplement's YAML, as published with the
Assigned Numbers. Values marked "worked" are worked examples made from those layouts.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode_gatt import CHARACTERISTICS, GattDecoder
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
