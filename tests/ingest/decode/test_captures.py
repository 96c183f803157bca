"""Every capture in tests/captures, decoded as an instrument configured like its `link` would be.

A capture is a pair of files in the folder of its kind of link. NAME.hex holds one frame a line in hexadecimal; what
follows `#` is a remark. NAME.json says where the frames are from (`source`: a standard with its section, a data
sheet, or a recording and what it was recorded from), gives the instrument's `link` as a configuration would, and for
each frame, in order, either the `values` that the source gives or what it is `refused` for. A frame may have a
`frame_source` and a `time_s` of arrival. Values that are no number are `overload`, `unknown` and the like: a value of
`Unreadable`.
"""

from pathlib import Path

import msgspec
import pytest

from ingest.config.structs import InstrumentConfig
from ingest.frames import Frame, FrameError, Stamp, Unreadable, Value
from ingest.kinds.table import LinkConfig
from tests.kinds import build

CAPTURES = Path(__file__).parents[2] / "captures"
NAMES = sorted(path.relative_to(CAPTURES).with_suffix("") for path in CAPTURES.glob("*/*.json"))


class ExpectedFrame(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    frame_source: str = ""
    time_s: float = 0.0
    values: dict[str, float | str] | None = None
    refused: str | None = None


class Capture(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    source: str
    link: LinkConfig
    frames: list[ExpectedFrame]


def read_frames(path: Path) -> list[bytes]:
    lines = (line.partition("#")[0].strip() for line in path.read_text(encoding="utf-8").splitlines())
    return [bytes.fromhex(line) for line in lines if line]


def told(value: Value) -> float | str:
    """As a capture tells it: a value to 12 digits, which is beyond any instrument."""
    return value.value if isinstance(value, Unreadable) else float(f"{value:.12g}")


@pytest.mark.parametrize("name", NAMES, ids=str)
def test_capture(name: Path) -> None:
    path = CAPTURES / name
    capture = msgspec.json.decode(path.with_suffix(".json").read_bytes(), type=Capture)
    assert capture.link.__struct_config__.tag == path.parent.name
    assert len(capture.source) > 10, "name the source of the frames"
    _, decode = build(InstrumentConfig(name="captured", link=capture.link, channels=[]))
    for payload, expected in zip(read_frames(path.with_suffix(".hex")), capture.frames, strict=True):
        frame = Frame(payload, Stamp(0, round(expected.time_s * 1e9)), expected.frame_source)
        if expected.refused is not None:
            assert expected.values is None
            with pytest.raises(FrameError, match=expected.refused):
                decode(frame)
        else:
            assert {field: told(value) for field, value in decode(frame).items()} == expected.values


def test_no_capture_lacks_its_other_half() -> None:
    assert sorted(path.relative_to(CAPTURES).with_suffix("") for path in CAPTURES.glob("*/*.hex")) == NAMES
    assert {name.parent.name for name in NAMES} >= {
        "bluetooth",
        "modbus_rtu",
        "modbus_tcp",
        "mqtt",
        "scpi",
        "serial_lines",
    }
