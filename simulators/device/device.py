"""What every simulated device has in common: it is alive within `async with`, and can be unplugged meanwhile.

What is wrong with a device is in its `faults`: every kind of device measures and sends through them.

A device asks `read` for the true present values by name, in the units that it sends. Infinity stands for a
quantity beyond the device's range, and not-a-number for one that it cannot tell; each device says so in its
own way.
"""

import asyncio
import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from contextlib import suppress
from types import TracebackType
from typing import Self

from simulators.device.faults import DeviceFault, DeviceFaults

Read = Callable[[], Mapping[str, float]]

REBOOT_S = 2.0


class SimulatedDevice(ABC):
    """A device that sends or answers by itself from entering the context to leaving it.

    read: the true values; if it fails the device falls silent, and the error comes out on leaving.
    interval_s: from one sample to the next [s].
    """

    def __init__(
        self, read: Read, interval_s: float, *, tells_low_battery: bool = False, by_radio: bool = False
    ) -> None:
        self.faults = DeviceFaults(type(self).__name__, tells_low_battery=tells_low_battery, by_radio=by_radio)
        self.samples_by_itself = True
        self._true_values = read
        self._interval_s = interval_s
        self._sampling: asyncio.Task[None] | None = None
        self._rebooting: asyncio.TimerHandle | None = None
        self._busy_until_s = 0.0

    @property
    @abstractmethod
    def address(self) -> str:
        """Where a link finds it, always the same: the path of a port, or a Bluetooth address."""

    @abstractmethod
    def unplug(self) -> None:
        """Vanish, as if the plug were pulled or the battery empty."""

    @abstractmethod
    def replug(self) -> None:
        """Come back at the same address."""

    @property
    def interval_s(self) -> float:
        """The time from one sample to the next."""
        return self._interval_s

    def sample(self) -> None:
        """Take a sample now, for whoever has told it not to `samples_by_itself`."""
        self._sample()

    @abstractmethod
    def _sample(self) -> None:
        """Take and send one sample. Called every interval, plugged in or not."""

    def misbehave(self, fault: DeviceFault, size: float | None = None) -> None:
        """Begin a fault; a reboot is over by itself.

        Raises:
            SimulatorError: no such size.

        """
        if fault is DeviceFault.REBOOT:
            self.unplug()
            self._rebooting = asyncio.get_running_loop().call_later(REBOOT_S, self.replug)
        else:
            self.faults.set(fault, size)

    def _read(self) -> Mapping[str, float]:
        """Give the present values as this device takes them to be."""
        return self.faults.measured(self._true_values())

    def _emit(self, send: Callable[[bytes], None], message: bytes, way: int = 0) -> None:
        """Send a message as this device does. way: by which of several."""
        for delay_s, piece in self.faults.sent(message, way):
            if delay_s:
                asyncio.get_running_loop().call_later(delay_s, send, piece)
            else:
                send(piece)

    def _answer_after(self, delay_s: float, send: Callable[[bytes], None], answer: bytes) -> None:
        """Send an answer that takes so long [s]: a device works on one request after the other.

        Each has a moment of its own: the event loop keeps no order among calls at one moment.
        """
        loop = asyncio.get_running_loop()
        self._busy_until_s = max(math.nextafter(self._busy_until_s, math.inf), loop.time()) + delay_s
        loop.call_at(self._busy_until_s, self._emit, send, answer)

    async def __aenter__(self) -> Self:
        self.replug()
        if self.samples_by_itself:
            self._sampling = asyncio.create_task(self._run(), name=f"device at {self.address}")
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._rebooting:
            self._rebooting.cancel()
        self.unplug()
        if self._sampling:
            self._sampling.cancel()
            with suppress(asyncio.CancelledError):
                await self._sampling

    async def _run(self) -> None:
        clock = asyncio.get_running_loop().time
        due_s = clock()
        while True:
            self._sample()
            due_s = max(due_s + self._interval_s, clock())
            await asyncio.sleep(due_s - clock())
