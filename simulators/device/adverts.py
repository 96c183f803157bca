"""A Bluetooth LE probe that only advertises, in BTHome v2, on the fake BlueZ.

Its bytes are made by bthome.io/format and bthome.io/encryption: an information byte, then objects, each its number and
an integer, least significant byte first.
"""

import math
from collections.abc import Mapping
from itertools import count
from types import MappingProxyType

from simulators.device.bluez_objects import Peripheral
from simulators.device.device import Read, SimulatedDevice
from simulators.device.fake_bluez import FakeBluez

SERVICE = "fcd2"
PLAIN, ENCRYPTED = 0x40, 0x41

_LAYOUTS: Mapping[int, tuple[int, int, bool]] = MappingProxyType(
    {
        0x01: (1, 1, False),  # battery [%]
        0x02: (2, 100, True),  # temperature [degC]
        0x03: (2, 100, False),  # humidity [%]
        0x04: (3, 100, False),  # pressure [hPa]
        0x0B: (3, 100, False),  # power [W]
        0x0C: (2, 1000, False),  # voltage [V]
        0x43: (2, 1000, False),  # current [A]
    }
)
"""By object number: bytes, steps per unit, signed."""


class AdvertisingDevice(SimulatedDevice):
    """A probe in reach of a fake BlueZ, which must be entered before it.

    objects: by name of the value in `read` its object number. key: 16 bytes, with which it encrypts. What it cannot
    tell, or is out of range, it leaves out, since the format has no value for it.
    """

    def __init__(
        self,
        read: Read,
        *,
        bluez: FakeBluez,
        address: str,
        name: str,
        objects: Mapping[str, int],
        key: bytes = b"",
        interval_s: float = 1.0,
    ) -> None:
        super().__init__(read, interval_s, by_radio=True)
        self._bluez = bluez
        self._peripheral = Peripheral(address, name)
        self._objects = sorted(objects.items(), key=lambda item: item[1])
        self._key = key
        self._counters = count()

    @property
    def address(self) -> str:
        """Its Bluetooth address."""
        return self._peripheral.address

    def unplug(self) -> None:
        """Go out of reach."""
        self._bluez.vanish(self._peripheral)

    def replug(self) -> None:
        """Come back into reach."""
        self._bluez.appear(self._peripheral)

    def send(self, service_data: bytes) -> None:
        """Send an advert with these bytes as they are."""
        self._bluez.advertise(self._peripheral, {SERVICE: service_data})

    def _sample(self) -> None:
        values = self._read()
        objects = b"".join(encode(number, values[name]) for name, number in self._objects)
        if self._key:
            sealed = encrypt(objects, key=self._key, address=self.address, counter=next(self._counters))
            self._emit(self.send, sealed)
        else:
            self._emit(self.send, bytes([PLAIN]) + objects)


def encode(number: int, value: float) -> bytes:
    """Make an object; empty for a value that it cannot hold.

    >>> encode(0x02, 25.06).hex()
    '02ca09'
    """
    size, steps_per_unit, signed = _LAYOUTS[number]
    if not math.isfinite(value):
        return b""
    try:
        return bytes([number]) + round(value * steps_per_unit).to_bytes(size, "little", signed=signed)
    except OverflowError:
        return b""


def encrypt(objects: bytes, *, key: bytes, address: str, counter: int) -> bytes:
    """Make encrypted service data; needs the package cryptography."""
    from cryptography.hazmat.primitives.ciphers.aead import AESCCM

    count_bytes = counter.to_bytes(4, "little")
    nonce = bytes.fromhex(address.replace(":", "")) + b"\xd2\xfc" + bytes([ENCRYPTED]) + count_bytes
    sealed = AESCCM(key, tag_length=4).encrypt(nonce, objects, None)
    return bytes([ENCRYPTED]) + sealed[:-4] + count_bytes + sealed[-4:]
