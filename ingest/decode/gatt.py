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

A frame names the attribute and the field, `2a6e:return air`. Two descriptors come ahead of the values, like the header
of a table:

    2904  presentation format: how to read a characteristic that is none of the above. Its field then carries the unit,
          `pipe [degC]`, so that a device that changes it is not misread. The layouts above hold whatever it says.
    2906  valid range: the least and the greatest valid value, laid out as the value is. What is outside is refused.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from ingest.decode.presentation_format import PresentationFormat, read_presentation_format
from ingest.frames import Frame, FrameError, NoNumber, Unreadable, Value

PRESENTATION_FORMAT = "2904"
VALID_RANGE = "2906"


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

    def read(self, payload: bytes) -> Value:
        """Read a value in the unit of the standard.

        Raises:
            FrameError: the wrong number of bytes, or beyond what the standard allows.

        """
        if len(payload) != self.size:
            raise FrameError(f"{self.name} of {len(payload)} bytes, not {self.size}")
        steps = int.from_bytes(payload, "little", signed=self.signed)
        if steps in self.special:
            return self.special[steps]
        if not self.lowest <= steps <= self.highest:
            raise FrameError(f"{self.name} {steps / self.steps_per_unit:g} is beyond what the standard allows")
        return steps / self.steps_per_unit


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


class GattDecoder:
    """A decoder of one device. Its only state is what the descriptors of its characteristics said in this connection.

    >>> from ingest.frames import Stamp
    >>> GattDecoder()(Frame(bytes.fromhex("2909"), Stamp(0, 0), "2a6e:return air"))
    {'return air': 23.45}
    """

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """See Forgetful."""
        self._formats: dict[str, PresentationFormat] = {}
        self._ranges: dict[str, bytes] = {}

    def __call__(self, frame: Frame) -> Mapping[str, Value]:
        """Read a value, or a descriptor, which holds none.

        Raises:
            FrameError: a characteristic that nothing describes, the wrong number of bytes, or beyond what the standard
                or the device itself allows.

        """
        attribute, _, name = frame.source.partition(":")
        if attribute == PRESENTATION_FORMAT:
            self._formats[name] = read_presentation_format(frame.payload)
            return {}
        if attribute == VALID_RANGE:
            self._ranges[name] = frame.payload
            return {}
        layout = CHARACTERISTICS.get(attribute) or self._formats.get(name)
        if layout is None:
            raise FrameError(f"characteristic {attribute!r} is not one that we decode")
        value = layout.read(frame.payload)
        if name in self._ranges:
            _check_range(value, layout, self._ranges[name])
        return {f"{name} [{layout.unit}]" if isinstance(layout, PresentationFormat) else name: value}


def _check_range(value: Value, layout: Characteristic | PresentationFormat, limits: bytes) -> None:
    low, high = layout.read(limits[: layout.size]), layout.read(limits[layout.size :])
    if isinstance(low, NoNumber) or isinstance(high, NoNumber):
        raise FrameError("a valid range whose ends are no numbers")
    if not isinstance(value, NoNumber) and not low <= value <= high:
        raise FrameError(f"{value:g} is outside {low:g} to {high:g}, which the device gives as valid")
