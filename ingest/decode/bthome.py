"""Bluetooth adverts in BTHome v2: the service data under the assigned number 0xFCD2.

    40 02 CA09 03 BF13
    |  |  |    |  |
    |  |  |    |  value: 0x13BF = 5055 steps of 0.01 % = 50.55 %
    |  |  |    object: humidity
    |  |  value, least significant byte first: 0x09CA = 2506 steps of 0.01 degC = 25.06 degC
    |  object: temperature
    information: bit 0 encrypted, bit 1 address included, bit 2 sends when something happens, bits 5 to 7 version 2

    42 <address, 6 bytes, last first> <objects>
    41 <objects, encrypted> <counter, 4 bytes> <check, 4 bytes>      see bthome_encryption

An object is its number and as many bytes as that number has; a text has its length before it. The format orders objects
by number, and a receiver that does not know one cannot tell where the next begins: what follows is left. Objects of the
same name are numbered, `temperature 1` and `temperature 2`. The name carries the unit where the format has several for
one quantity. Texts, times, events and what the device says of itself are no values and are passed over.

Source: bthome.io/format, version 2.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ingest.decode.numbered import numbered
from ingest.frames import Frame, FrameError, Value

_ENCRYPTED, _WITH_ADDRESS, _VERSION_SHIFT, _VERSION = 0x01, 0x02, 5, 2
_ADDRESS_BYTES = 6

Decrypt = Callable[[int, bytes, bytes], bytes | None]
"""From the information byte, the address and what follows to the plain objects; None if they came before.

Raises FrameError.
"""


@dataclass(frozen=True, slots=True)
class Quantity:
    """How the value of an object is laid out: its bytes, and what its integer is divided by."""

    name: str
    size: int
    divisor: int = 1
    signed: bool = False
    multiplier: int = 1


QUANTITIES: Mapping[int, Quantity] = MappingProxyType(
    {
        0x00: Quantity("packet id", 1),
        0x01: Quantity("battery", 1),
        0x02: Quantity("temperature", 2, 100, signed=True),
        0x03: Quantity("humidity", 2, 100),
        0x04: Quantity("pressure", 3, 100),
        0x05: Quantity("illuminance", 3, 100),
        0x06: Quantity("mass kg", 2, 100),
        0x07: Quantity("mass lb", 2, 100),
        0x08: Quantity("dew point", 2, 100, signed=True),
        0x09: Quantity("count", 1),
        0x0A: Quantity("energy", 3, 1000),
        0x0B: Quantity("power", 3, 100),
        0x0C: Quantity("voltage", 2, 1000),
        0x0D: Quantity("pm2.5", 2),
        0x0E: Quantity("pm10", 2),
        0x12: Quantity("co2", 2),
        0x13: Quantity("tvoc", 2),
        0x14: Quantity("moisture", 2, 100),
        0x2E: Quantity("humidity", 1),
        0x2F: Quantity("moisture", 1),
        0x3D: Quantity("count", 2),
        0x3E: Quantity("count", 4),
        0x3F: Quantity("rotation", 2, 10, signed=True),
        0x40: Quantity("distance mm", 2),
        0x41: Quantity("distance m", 2, 10),
        0x42: Quantity("duration", 3, 1000),
        0x43: Quantity("current", 2, 1000),
        0x44: Quantity("speed", 2, 100),
        0x45: Quantity("temperature", 2, 10, signed=True),
        0x46: Quantity("uv index", 1, 10),
        0x47: Quantity("volume L", 2, 10),
        0x48: Quantity("volume mL", 2),
        0x49: Quantity("volume flow", 2, 1000),
        0x4A: Quantity("voltage", 2, 10),
        0x4B: Quantity("gas", 3, 1000),
        0x4C: Quantity("gas", 4, 1000),
        0x4D: Quantity("energy", 4, 1000),
        0x4E: Quantity("volume L", 4, 1000),
        0x4F: Quantity("water", 4, 1000),
        0x51: Quantity("acceleration", 2, 1000),
        0x52: Quantity("gyroscope", 2, 1000),
        0x55: Quantity("volume storage", 4, 1000),
        0x56: Quantity("conductivity", 2),
        0x57: Quantity("temperature", 1, signed=True),
        0x58: Quantity("temperature", 1, 100, signed=True, multiplier=35),
        0x59: Quantity("count", 1, signed=True),
        0x5A: Quantity("count", 2, signed=True),
        0x5B: Quantity("count", 4, signed=True),
        0x5C: Quantity("power", 4, 100, signed=True),
        0x5D: Quantity("current", 2, 1000, signed=True),
        0x5E: Quantity("direction", 2, 100),
        0x5F: Quantity("precipitation", 2, 10),
        0x60: Quantity("channel", 1),
        0x61: Quantity("rotational speed", 2),
        0x62: Quantity("speed", 4, 1_000_000, signed=True),
        0x63: Quantity("acceleration", 4, 1_000_000, signed=True),
    }
)
"""Objects with a value, by number.

Units: battery, humidity, moisture %; temperature, dew point degC; pressure hPa; illuminance lux; energy kWh; power W;
voltage V; current A; particles, tvoc ug/m3; co2 ppm; rotation, direction deg; duration s; speed m/s; volume flow m3/h;
gas m3; water, volume storage L; acceleration m/s2; gyroscope deg/s; conductivity uS/cm; precipitation mm; rotational
speed rpm.
"""

_PASSED_OVER: Mapping[int, int] = MappingProxyType(
    dict.fromkeys((*range(0x0F, 0x12), *range(0x15, 0x2E), 0x3A, 0x64, 0x65), 1)
    | {0x3C: 2, 0x50: 4, 0xF0: 2, 0xF1: 4, 0xF2: 3}
)
"""Objects without a value to their sizes: yes or no, events, time, what the device says of itself."""

_TEXTS = (0x53, 0x54)


class BTHomeDecoder:
    """A decoder of adverts. decrypt: where the probe has a key; then nothing that is not encrypted is believed.

    `Frame.source` is the address of the advertiser.

    >>> from ingest.frames import Frame, Stamp
    >>> BTHomeDecoder()(Frame(bytes.fromhex("4002CA0903BF13"), Stamp(0, 0)))
    {'temperature': 25.06, 'humidity': 50.55}
    """

    def __init__(self, decrypt: Decrypt | None = None) -> None:
        self._decrypt = decrypt

    def __call__(self, frame: Frame) -> Mapping[str, Value]:
        """Read one advert. One that repeats an encrypted one holds no values: it may be a recording.

        Raises:
            FrameError: another version, cut short, or encrypted where it should not be, or the reverse.

        """
        if not frame.payload or frame.payload[0] >> _VERSION_SHIFT != _VERSION:
            raise FrameError(f"not BTHome version {_VERSION}")
        objects = self._plain_objects(frame)
        if objects is None:
            return {}
        found = list(_values(objects))
        names = numbered([name for name, _ in found])
        return {name: value for name, (_, value) in zip(names, found, strict=True)}

    def _plain_objects(self, frame: Frame) -> bytes | None:
        information, rest = frame.payload[0], frame.payload[1:]
        address = b""
        if information & _WITH_ADDRESS:
            address, rest = rest[:_ADDRESS_BYTES][::-1], rest[_ADDRESS_BYTES:]
            if len(address) < _ADDRESS_BYTES:
                raise FrameError("cut short within the address")
        if not information & _ENCRYPTED:
            if self._decrypt:
                raise FrameError("not encrypted, though the probe has a key")
            return rest
        if not self._decrypt:
            raise FrameError("encrypted; give the key of the probe in `key_file`")
        return self._decrypt(information, address or _address(frame.source), rest)


def _address(text: str) -> bytes:
    try:
        address = bytes.fromhex(text.replace(":", ""))
    except ValueError:
        address = b""
    if len(address) != _ADDRESS_BYTES:
        raise FrameError(f"encrypted, and {text!r} is no address to decrypt it with")
    return address


def _values(objects: bytes) -> Iterator[tuple[str, float]]:
    at = 0
    while at < len(objects):
        number = objects[at]
        quantity = QUANTITIES.get(number)
        size = quantity.size if quantity else _size_without_value(objects, at)
        if size is None:
            return
        data = objects[at + 1 : at + 1 + size]
        if len(data) < size:
            raise FrameError(f"cut short within object {number:02X}")
        if quantity:
            steps = int.from_bytes(data, "little", signed=quantity.signed)
            yield quantity.name, steps * quantity.multiplier / quantity.divisor
        at += 1 + size


def _size_without_value(objects: bytes, at: int) -> int | None:
    if objects[at] in _TEXTS:
        return 1 + objects[at + 1] if at + 1 < len(objects) else 1
    return _PASSED_OVER.get(objects[at])
