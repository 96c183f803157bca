"""What can be wrong with a device besides its plug: with what it measures, and with what it sends.

Between a device's measuring and its sending lie two steps, the same for every kind of device: `measured` takes the
values on their way to the encoder, `sent` the bytes on their way to the wire.
"""

import math
import random
from collections.abc import Callable, Mapping
from enum import StrEnum

from simulators.errors import SimulatorError


class DeviceFault(StrEnum):
    """What to ask for; its size is a share of the messages, for a delay seconds, and means nothing to the others."""

    DROP = "drop"
    DELAY = "delay"
    GARBAGE = "garbage"
    BIT_FLIPS = "bit_flips"
    OUT_OF_ORDER = "out_of_order"
    FROZEN = "frozen"
    OVERLOAD = "overload"
    LOW_BATTERY = "low_battery"
    WRONG_UNIT = "wrong_unit"
    REBOOT = "reboot"


LONGEST_DELAY_S = 60.0
_DROPPED_BY_LOW_BATTERY = 0.9
"""A sagging supply that cannot say so loses most of what it sends: common practice, no source."""

_USUAL_SIZE = {DeviceFault.DELAY: 1.0}


class DeviceFaults:
    """The faults of one device at present.

    other_units: by name of a value, what it becomes when the device is set to its other unit.
    tells_low_battery: whether the device has a sign for it; the device then shows that itself.
    by_radio: whether its packets carry a check that drops a damaged one (Bluetooth Core 5.4, vol 6 part B, 3.1.1; from
    memory): then it is lost.
    """

    def __init__(self, seed: str, *, tells_low_battery: bool = False, by_radio: bool = False) -> None:
        self.other_units: Mapping[str, Callable[[float], float]] = {}
        self._tells_low_battery = tells_low_battery
        self._by_radio = by_radio
        self._random = random.Random(seed)  # noqa: S311 - mishaps, not secrets
        self._sizes: dict[DeviceFault, float] = {}
        self._held_values: Mapping[str, float] | None = None
        self._held_back: dict[int, bytes] = {}

    def set(self, fault: DeviceFault, size: float | None = None) -> None:
        """Begin a fault, or change its size.

        Raises:
            SimulatorError: no such size.

        """
        largest = LONGEST_DELAY_S if fault is DeviceFault.DELAY else 1.0
        size = _USUAL_SIZE.get(fault, largest) if size is None else size
        if not 0.0 < size <= largest:
            raise SimulatorError(f"{fault} of {size:g}: more than 0, at most {largest:g}, was expected")
        self._sizes[fault] = size

    def clear(self) -> None:
        """Mend everything."""
        self._sizes.clear()
        self._held_values = None
        self._held_back.clear()

    def __contains__(self, fault: DeviceFault) -> bool:
        return fault in self._sizes

    def measured(self, values: Mapping[str, float]) -> Mapping[str, float]:
        """Give what the device takes for the present values."""
        if DeviceFault.FROZEN in self:
            self._held_values = values = self._held_values or values
        if DeviceFault.OVERLOAD in self:
            return dict.fromkeys(values, math.inf)
        if DeviceFault.WRONG_UNIT in self:
            return {name: self.other_units.get(name, float)(value) for name, value in values.items()}
        return values

    def sent(self, message: bytes, way: int = 0) -> list[tuple[float, bytes]]:
        """Give what goes out instead of a message: pieces, each with the time to wait before it [s].

        way: by which of several it goes; what is held back goes by its own.
        """
        if self._happens(DeviceFault.DROP) or self._fails_for_power():
            return []
        arrived = self._damaged(message)
        if self._by_radio and arrived != message:
            return []
        message = arrived
        delay_s = self._sizes.get(DeviceFault.DELAY, 0.0)
        if way in self._held_back:
            return [(delay_s, message), (delay_s, self._held_back.pop(way))]
        if self._happens(DeviceFault.OUT_OF_ORDER):
            self._held_back[way] = message
            return []
        return [(delay_s, message)]

    def _damaged(self, message: bytes) -> bytes:
        if message and self._happens(DeviceFault.GARBAGE):
            message = self._random.randbytes(len(message) - 1) + message[-1:]  # a line still ends
        if message and self._happens(DeviceFault.BIT_FLIPS):
            bit = self._random.randrange(8 * len(message))
            message = (int.from_bytes(message) ^ 1 << bit).to_bytes(len(message))
        return message

    def _fails_for_power(self) -> bool:
        unsaid = DeviceFault.LOW_BATTERY in self and not self._tells_low_battery
        return unsaid and self._random.random() < _DROPPED_BY_LOW_BATTERY

    def _happens(self, fault: DeviceFault) -> bool:
        return self._random.random() < self._sizes.get(fault, 0.0)
