"""Standard Bluetooth LE characteristics, by the GATT Specification Supplement of the Bluetooth SIG.

Each value is one unsigned or signed integer, least significant byte first, in fixed steps of its unit:

    uuid  name              bytes     step        no value
    2A6E  Temperature       s s       0.01 degC   8000 not known
    2A6F  Humidity          u u       0.01 %RH    FFFF not known
    2A6D  Pressure          u u u u   0.1 Pa      none; says neither gauge nor absolute
    2AEE  Electric Current  u u       0.01 A      FFFF not known; says neither AC, DC nor RMS
    2B18  Voltage           u u       1/64 V      FFFF not known
    2BE0  High Voltage      u u u     1/64 V      FFFFFF not known
    2B05  Power             u u u     0.1 W       FFFFFE not valid, FFFFFF not known
    2A19  Battery Level     u         1 %         none
    2B1B  Volume Flow       u u       0.001 L/s   FFFF not known

The values come in those units. Temperature 29 09 is 0x0929 = 2345 steps = 23.45 degC.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from ingest.frames import Frame, FrameError, Unreadable, Value


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """How one characteristic is laid out. lowest and highest count steps, as the integer does."""

    name: str
    size: int
    steps_per_unit: int
    signed: bool = False
    lowest: int = 0
    highest: int
    special: Mapping[int, Unreadable] = field(default_factory=dict)


_NOT_KNOWN_2 = {0xFFFF: Unreadable.UNKNOWN}
_NOT_KNOWN_3 = {0xFFFFFF: Unreadable.UNKNOWN}

CHARACTERISTICS: Mapping[str, Characteristic] = MappingProxyType(
    {
        "2a6e": Characteristic(
            name="Temperature",
            size=2,
            steps_per_unit=100,
            signed=True,
            lowest=-27315,
            highest=32767,
            special={-0x8000: Unreadable.UNKNOWN},
        ),
        "2a6f": Characteristic(name="Humidity", size=2, steps_per_unit=100, highest=10000, special=_NOT_KNOWN_2),
        "2a6d": Characteristic(name="Pressure", size=4, steps_per_unit=10, highest=0xFFFFFFFF),
        "2aee": Characteristic(
            name="Electric Current", size=2, steps_per_unit=100, highest=65534, special=_NOT_KNOWN_2
        ),
        "2b18": Characteristic(name="Voltage", size=2, steps_per_unit=64, highest=1022 * 64, special=_NOT_KNOWN_2),
        "2be0": Characteristic(name="High Voltage", size=3, steps_per_unit=64, highest=0xFFFFFE, special=_NOT_KNOWN_3),
        "2b05": Characteristic(
            name="Power",
            size=3,
            steps_per_unit=10,
            highest=0xFFFFFD,
            special=_NOT_KNOWN_3 | {0xFFFFFE: Unreadable.SENSOR_FAULT},
        ),
        "2a19": Characteristic(name="Battery Level", size=1, steps_per_unit=1, highest=100),
        "2b1b": Characteristic(name="Volume Flow", size=2, steps_per_unit=1000, highest=65534, special=_NOT_KNOWN_2),
    }
)
"""By the four hexadecimal digits of the assigned number."""


def decode_gatt(frame: Frame) -> Mapping[str, Value]:
    """Read one notification, under the field that its source names: `2a6e:return air`.

    >>> from ingest.frames import Stamp
    >>> decode_gatt(Frame(bytes.fromhex("2909"), Stamp(0, 0), "2a6e:return air"))
    {'return air': 23.45}

    Raises:
        FrameError: another characteristic, the wrong number of bytes, or beyond what the standard allows.

    """
    uuid, _, field_name = frame.source.partition(":")
    layout = CHARACTERISTICS.get(uuid)
    if layout is None:
        raise FrameError(f"characteristic {uuid!r} is not one that we decode")
    if len(frame.payload) != layout.size:
        raise FrameError(f"{layout.name} of {len(frame.payload)} bytes, not {layout.size}")
    steps = int.from_bytes(frame.payload, "little", signed=layout.signed)
    if steps in layout.special:
        return {field_name: layout.special[steps]}
    if not layout.lowest <= steps <= layout.highest:
        raise FrameError(f"{layout.name} {steps / layout.steps_per_unit:g} is beyond what the standard allows")
    return {field_name: steps / layout.steps_per_unit}
