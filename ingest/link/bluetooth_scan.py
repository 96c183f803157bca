"""One scan for all Bluetooth instruments of a process.

BlueZ gives a process one scan, and refuses a second while the first goes on (`org.bluez.Error.InProgress`). So whoever
listens for adverts shares it; it starts with the first and ends with the last. It asks for adverts that repeat
themselves as well, since a probe that measures the same twice says so twice.

A scan can fall asleep in silence. When nothing at all was heard for QUIET_S, it is started anew; if that fails, all who
share it are told. The Bluetooth library is loaded with the first scan, not before.
"""

import asyncio
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from ingest.link.ending import end

if TYPE_CHECKING:
    from bleak.backends.device import BLEDevice
    from bleak.backends.scanner import AdvertisementData

logger = logging.getLogger(__name__)

QUIET_S = 30.0
STOPPING_S = 1.0
"""How long a service may take to end a scan."""

Hear = Callable[["BLEDevice", "AdvertisementData"], None]


class SharedScan:
    """The scan. Make one for all instruments; it belongs to the event loop that uses it."""

    def __init__(self, quiet_s: float = QUIET_S) -> None:
        self._quiet_s = quiet_s
        self._hearers: list[Hear] = []
        self._scan: asyncio.Task[None] | None = None
        self._one_at_a_time = asyncio.Lock()
        self._heard = asyncio.Event()

    @asynccontextmanager
    async def heard_by(self, hear: Hear) -> AsyncIterator[asyncio.Task[None]]:
        """Call `hear` for each advert until the block ends. Gives the scan, a task that ends only by failing."""
        self._hearers.append(hear)
        if self._scan is None or self._scan.done():
            self._scan = asyncio.create_task(self._run(), name="Bluetooth scan")
        try:
            yield self._scan
        finally:
            self._hearers.remove(hear)
            if not self._hearers:
                await self._stop(self._scan)

    async def _stop(self, scan: asyncio.Task[None]) -> None:
        """End the scan; one that hangs on its service is left, and the next one does not wait for it."""
        if not await end(scan, grace_s=STOPPING_S):
            logger.error("the Bluetooth service does not answer, and the scan cannot be ended")
            self._one_at_a_time = asyncio.Lock()
        elif not scan.cancelled():
            scan.exception()  # those who shared it have told of it

    async def _run(self) -> None:
        from bleak import BleakScanner

        async with self._one_at_a_time:
            while True:
                async with BleakScanner(self._hear, bluez={"filters": {"DuplicateData": True}}):
                    await self._until_quiet()

    async def _until_quiet(self) -> None:
        while True:
            self._heard.clear()
            try:
                async with asyncio.timeout(self._quiet_s):
                    await self._heard.wait()
            except TimeoutError:
                return

    def _hear(self, device: "BLEDevice", advert: "AdvertisementData") -> None:
        self._heard.set()
        for hear in tuple(self._hearers):
            hear(device, advert)


def is_named(device: "BLEDevice", address: str, name: str) -> bool:
    """Say whether this is the device with that address, or where it is empty with that advertised name."""
    if address:
        return device.address.lower() == address.lower()
    return device.name == name
