"""A Bluetooth LE probe that notifies of standard characteristics, on the fake BlueZ.

Its bytes are made by the GATT Specification Supplement of the Bluetooth SIG: one integer, least significant
byte first.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from simulators.device.bluez_objects import Characteristic, Peripheral
from simulators.device.device import Read, SimulatedDevice
from simulators.device.fake_bluez import FakeBluez


@dataclass(frozen=True, slots=True)
class _Layout:
    """bytes: how many. not_known: what they hold when there is no value, if the standard has such a thing."""

    bytes: int
    steps_per_unit: int
    not_known: int | None
    signed: bool = False


_LAYOUTS = {
    "2a6e": _Layout(2, 100, -0x8000, signed=True),  # Temperature [degC]
    "2a6f": _Layout(2, 100, 0xFFFF),  # Humidity [%RH]
    "2a6d": _Layout(4, 10, None),  # Pressure [Pa]
    "2aee": _Layout(2, 100, 0xFFFF),  # Electric Current [A]
    "2b18": _Layout(2, 64, 0xFFFF),  # Voltage [V]
    "2be0": _Layout(3, 64, 0xFFFFFF),  # High Voltage [V]
    "2b05": _Layout(3, 10, 0xFFFFFF),  # Power [W]
    "2a19": _Layout(1, 1, None),  # Battery Level [%]
    "2b1b": _Layout(2, 1000, 0xFFFF),  # Volume Flow [L/s]
}


class BluetoothDevice(SimulatedDevice):
    """A probe in reach of a fake BlueZ, which must be entered before it.

    characteristics: by description (also the name of the value in `read`, in the unit of the standard) the
    assigned number, such as {"return air": "2a6e"}. It sends one notification of each every interval. What it
    cannot tell, or is out of range, goes out as "not known", or not at all where the standard has no such
    value.
    """

    def __init__(
        self,
        read: Read,
        *,
        bluez: FakeBluez,
        address: str,
        name: str,
        characteristics: Mapping[str, str],
        interval_s: float = 0.5,
    ) -> None:
        super().__init__(read, interval_s, by_radio=True)
        self._bluez = bluez
        self._characteristics = dict(characteristics)
        self._peripheral = Peripheral(
            address, name, tuple(Characteristic(assigned, text) for text, assigned in characteristics.items())
        )

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

    def drop(self) -> None:
        """Lose the connection, and stay in reach."""
        self._bluez.drop(self._peripheral)

    def send(self, index: int, data: bytes) -> None:
        """Notify of these bytes as they are, whether or not the standard allows them."""
        self._bluez.notify(self._peripheral, index, data)

    def _sample(self) -> None:
        values = self._read()
        for index, (name, assigned) in enumerate(self._characteristics.items()):
            data = encode(assigned, values[name])
            if data is not None:
                self._emit(partial(self.send, index), data, index)


def encode(assigned: str, value: float) -> bytes | None:
    """Make the bytes of a characteristic; None where it has none for this value.

    >>> encode("2a6e", 23.45).hex()
    '2909'
    """
    layout = _LAYOUTS[assigned]
    steps = round(value * layout.steps_per_unit) if math.isfinite(value) else layout.not_known
    for number in (steps, layout.not_known):
        if number is not None:
            try:
                return number.to_bytes(layout.bytes, "little", signed=layout.signed)
            except OverflowError:
                continue
    return None
