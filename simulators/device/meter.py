"""A multimeter on a pseudo-terminal; with the chip FS9721, unless told otherwise: the segments of its display.

Its bytes are made by the table on the page "Multimeter ICs" of the sigrok wiki, after the chip's data sheet: the high
half of each counts from 1 to 14, the low half lights four segments or signs.
"""

import math
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from simulators.device.device import Read, SimulatedDevice
from simulators.device.faults import DeviceFault
from simulators.device.pty_port import PtyPort

COUNTS = 4000
"""The display goes to 3999; beyond it shows an overload, 0L."""

_SEGMENTS: Mapping[str, int] = MappingProxyType(
    {"0": 0x7D, "1": 0x05, "2": 0x5B, "3": 0x1F, "4": 0x27, "5": 0x3E, "6": 0x7E, "7": 0x15, "8": 0x7F, "9": 0x3F}
    | {"L": 0x68, " ": 0x00}
)
"""a b c in the low half of a byte, d e f g in that of the next."""

_SIGNS: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"AC": (0, 8), "DC": (0, 4), "AUTO": (0, 2), "RS232": (0, 1), "HOLD": (11, 1), "BATTERY": (12, 1)}
    | {"A": (12, 8), "V": (12, 4), "Hz": (12, 2), "ohm": (11, 4), "F": (11, 8)}
    | {"u": (9, 8), "n": (9, 4), "k": (9, 2), "m": (10, 8), "M": (10, 2)}
)
"""Byte and bit of each sign."""

FUNCTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "ac_current": ("A", "AC"),
        "dc_current": ("A", "DC"),
        "ac_voltage": ("V", "AC"),
        "dc_voltage": ("V", "DC"),
        "resistance": ("ohm",),
        "insulation": ("ohm",),
        "frequency": ("Hz",),
        "capacitance": ("F",),
    }
)
"""What the dial can be set to, with the signs that it lights."""


_RANGES: Mapping[str, tuple[tuple[float, str, float], ...]] = MappingProxyType(
    {
        "resistance": ((4e3, "", 1.0), (4e6, "k", 1e3), (4e7, "M", 1e6)),
        "insulation": ((4e6, "k", 1e3), (4e9, "M", 1e6)),
        "ac_voltage": ((0.4, "m", 1e-3), (math.inf, "", 1.0)),
        "dc_voltage": ((0.4, "m", 1e-3), (math.inf, "", 1.0)),
        "capacitance": ((4e-7, "n", 1e-9), (4e-3, "u", 1e-6)),
    }
)
"""Of each function with ranges: below what, which prefix is lit, and what it stands for."""

MakeFrame = Callable[[float, set[str]], bytes]


class MeterDevice(SimulatedDevice):
    """A multimeter that sends the value named by its dial, in A, V, ohm or Hz.

    address: the symbolic link at which its port appears. make_frame: what its chip makes of a number and the signs that
    are lit. Out of range it shows an overload; what it cannot tell it does not send.
    """

    def __init__(
        self,
        read: Read,
        *,
        address: Path,
        function: str,
        interval_s: float = 0.5,
        make_frame: MakeFrame | None = None,
    ) -> None:
        super().__init__(read, interval_s, tells_low_battery=True)
        self._make_frame = make_frame or frame
        self._port = PtyPort(address)
        self.function = function
        self.lit: set[str] = set()
        self._held: float | None = None

    @property
    def address(self) -> str:
        """The path of its port."""
        return str(self._port.address)

    def unplug(self) -> None:
        """Pull the plug."""
        self._port.unplug()

    def replug(self) -> None:
        """Plug it in again."""
        self._port.plug()

    @property
    def is_held(self) -> bool:
        """Whether its display is frozen."""
        return self._held is not None

    def press_hold(self) -> None:
        """Freeze the display, or release it."""
        self._held = self._measured()[1] if self._held is None else None

    def send(self, data: bytes) -> None:
        """Send these bytes as they are."""
        self._port.write(data)

    def _sample(self) -> None:
        function, value = self._measured()
        value = value if self._held is None else self._held
        hold = set() if self._held is None else {"HOLD"}
        battery = {"BATTERY"} if DeviceFault.LOW_BATTERY in self.faults else set()
        if not math.isnan(value):
            shown, prefix = ranged(value, function)
            signs = {"AUTO", "RS232", *FUNCTIONS[function], *prefix, *hold, *battery, *self.lit}
            self._emit(self.send, self._make_frame(shown, signs))

    def _measured(self) -> tuple[str, float]:
        """Tell what is measured, and its value: a tester of insulation shows volts where there are any."""
        read = self._read()
        if self.function != "insulation":
            return self.function, read[self.function]
        volts = read["ac_voltage"]
        return ("insulation", read["resistance"]) if math.isnan(volts) else ("ac_voltage", volts)


def ranged(value: float, function: str) -> tuple[float, set[str]]:
    """Choose the range in which a meter shows a value: its number there, and the prefix that is lit.

    >>> ranged(45.2e-6, "capacitance"), ranged(5.2e6, "resistance"), ranged(230.0, "ac_voltage")
    ((45.2, {'u'}), (5.2, {'M'}), (230.0, set()))
    """
    for below, sign, size in _RANGES.get(function, ((math.inf, "", 1.0),)):
        if abs(value) < below:
            return round(value / size, 6), {sign} - {""}
    return math.inf, set()


def frame(value: float, signs: set[str]) -> bytes:
    """Make the frame of a display that shows this number with these signs.

    >>> frame(-12.31, {"V", "DC", "AUTO", "RS232"}).hex()
    '172835455b697f8095a0b0c0d4e0'
    """
    low = [0] * 14
    for sign in signs:
        place, bit = _SIGNS[sign]
        low[place] |= bit
    digits, decimals = _shown(abs(value))
    for digit, shown in enumerate(digits):
        low[1 + 2 * digit] |= _SEGMENTS[shown] >> 4
        low[2 + 2 * digit] |= _SEGMENTS[shown] & 0x0F
    low[1] |= 8 if value < 0 else 0
    if decimals:
        low[2 * (4 - decimals) + 1] |= 8
    return bytes(place << 4 | bits for place, bits in enumerate(low, 1))


def _shown(magnitude: float) -> tuple[str, int]:
    """Give the four digits, and how many of them are behind the point."""
    for decimals in (3, 2, 1, 0):
        if magnitude < math.inf and (number := round(magnitude * 10**decimals)) < COUNTS:
            return f"{number:04d}", decimals
    return " 0L ", 0
