"""A Bluetooth LE instrument with characteristics: those that notify are subscribed to, the others read in turn.

Every connection gets a new client, since a used one keeps what it knew of a device that may have changed. Everything
goes by handle and is named by the description (0x2901): one device may have several of the same characteristic, and a
look-up by assigned number would fail on the second. What a characteristic says of itself (0x2904, 0x2906) is delivered
ahead of its values. What notifies is not polled as well.
"""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bleak import BleakAdapter, BleakClient
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.uuids import normalize_uuid_str

from ingest.decode.gatt import CHARACTERISTICS, PRESENTATION_FORMAT, VALID_RANGE
from ingest.decode.numbered import numbered
from ingest.frames import Connected, Deliver, Frame, LinkError, LinkSetupError, Stamp
from ingest.link.bluetooth_errors import BLUETOOTH_ERRORS, as_link_error
from ingest.link.bluetooth_scan import SharedScan, is_named
from ingest.link.ending import end

SEARCH_S = 15.0
CONNECT_TIMEOUT_S = 20.0
"""Through a roof a connection can take over 10 s; a shorter limit gives up on one about to succeed."""

SILENT_S = 1.0
"""Who was not heard for so long was away: common practice, no source."""

_USER_DESCRIPTION = normalize_uuid_str("2901")
_DESCRIPTORS = {normalize_uuid_str(assigned): assigned for assigned in (PRESENTATION_FORMAT, VALID_RANGE)}
_ASSIGNED = {normalize_uuid_str(assigned): assigned for assigned in CHARACTERISTICS}


@dataclass(frozen=True, slots=True)
class BluetoothInstrument:
    """A link to the device with this address, or else with this advertised name.

    `Frame.source` is the assigned number of the characteristic and its field, such as `2a6e:return air`; of one that
    has none, its whole UUID. poll_s: how often what does not notify is read [s].
    """

    address: str = ""
    device_name: str = ""
    search_s: float = SEARCH_S
    poll_s: float = 1.0
    scan: SharedScan = field(default_factory=SharedScan, compare=False)

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        lost = asyncio.Event()
        try:
            device = await self._find()
            client = BleakClient(device, disconnected_callback=lambda _: lost.set(), timeout=CONNECT_TIMEOUT_S)
            async with client:
                outputs = await _outputs(client)
                if not outputs:
                    raise LinkSetupError(f"{self._called}: it has no characteristic that we decode")
                connected()
                await _deliver_descriptors(client, outputs, deliver)
                for output in outputs:
                    if output.notifies:
                        await client.start_notify(output.handle, _deliver_from(output.source, deliver))
                await self._poll(client, [output for output in outputs if not output.notifies], deliver, lost)
        except BLUETOOTH_ERRORS as error:
            raise as_link_error(self._called, error, CONNECT_TIMEOUT_S) from error
        raise LinkError(f"{self._called}: the Bluetooth connection was lost; is it in reach, and charged?")

    async def seen_again(self) -> None:
        """See Link.seen_again: it is heard, after SILENT_S in which it was not."""
        heard_s = asyncio.get_running_loop().time()
        heard = asyncio.Event()

        def hear(device: BLEDevice, _: AdvertisementData) -> None:
            nonlocal heard_s
            if is_named(device, self.address, self.device_name):
                now_s = asyncio.get_running_loop().time()
                if now_s - heard_s >= SILENT_S:
                    heard.set()
                heard_s = now_s

        async with self.scan.heard_by(hear) as scan:
            waiting = asyncio.create_task(heard.wait())
            try:
                await asyncio.wait([waiting, scan], return_when=asyncio.FIRST_COMPLETED)
            finally:
                await end(waiting)
            if scan.done():
                scan.result()

    @property
    def _called(self) -> str:
        return self.device_name or self.address

    async def _find(self) -> BLEDevice:
        for device in await _still_connected():
            if is_named(device, self.address, self.device_name):
                return device
        found: asyncio.Future[BLEDevice] = asyncio.get_running_loop().create_future()

        def hear(device: BLEDevice, _: AdvertisementData) -> None:
            if is_named(device, self.address, self.device_name) and not found.done():
                found.set_result(device)

        async with self.scan.heard_by(hear) as scan:
            either: tuple[asyncio.Future[Any], ...] = found, scan
            await asyncio.wait(either, timeout=self.search_s, return_when=asyncio.FIRST_COMPLETED)
            if found.done():
                return found.result()
            if scan.done():
                scan.result()
        raise LinkError(f"{self._called}: not heard for {self.search_s:g} s; is it on, in reach, and free?")

    async def _poll(self, client: BleakClient, outputs: list["_Output"], deliver: Deliver, lost: asyncio.Event) -> None:
        """Read in turn what does not notify, until the connection is lost."""
        while not lost.is_set():
            for output in outputs:
                value = await client.read_gatt_char(output.handle)
                deliver(Frame(bytes(value), Stamp.now(), output.source))
            try:
                async with asyncio.timeout(self.poll_s if outputs else None):
                    await lost.wait()
            except TimeoutError:
                continue


@dataclass(frozen=True, slots=True)
class _Output:
    """A characteristic that holds a value."""

    characteristic: BleakGATTCharacteristic
    name: str

    @property
    def handle(self) -> int:
        return self.characteristic.handle

    @property
    def notifies(self) -> bool:
        return _notifies(self.characteristic)

    @property
    def source(self) -> str:
        uuid = self.characteristic.uuid
        return f"{_ASSIGNED.get(uuid, uuid)}:{self.name}"


async def _still_connected() -> list[BLEDevice]:
    """Find what the system still holds a connection to, left by a killed process: it does not advertise."""
    try:
        adapter = await BleakAdapter.get()
    except NotImplementedError:  # bleak knows adapters on Linux alone, and only there does a connection outlive us
        return []
    return await adapter.get_connected_devices()


def _notifies(characteristic: BleakGATTCharacteristic) -> bool:
    return not {"notify", "indicate"}.isdisjoint(characteristic.properties)


async def _outputs(client: BleakClient) -> list[_Output]:
    """Find what holds a value that we decode, in the order of the handles."""
    wanted = [
        characteristic
        for _, characteristic in sorted(client.services.characteristics.items())
        if _notifies(characteristic) or "read" in characteristic.properties
        if characteristic.uuid in _ASSIGNED or _describes_itself(characteristic)
    ]
    names = [await _description(client, characteristic) or _kind(characteristic) for characteristic in wanted]
    return [_Output(*output) for output in zip(wanted, numbered(names), strict=True)]


def _describes_itself(characteristic: BleakGATTCharacteristic) -> bool:
    return any(_DESCRIPTORS.get(descriptor.uuid) == PRESENTATION_FORMAT for descriptor in characteristic.descriptors)


def _kind(characteristic: BleakGATTCharacteristic) -> str:
    assigned = _ASSIGNED.get(characteristic.uuid)
    return CHARACTERISTICS[assigned].name if assigned else characteristic.uuid


async def _description(client: BleakClient, characteristic: BleakGATTCharacteristic) -> str:
    for descriptor in characteristic.descriptors:
        if descriptor.uuid == _USER_DESCRIPTION:
            text = await client.read_gatt_descriptor(descriptor)
            return text.decode("utf-8", "replace").strip(" \0")
    return ""


async def _deliver_descriptors(client: BleakClient, outputs: list[_Output], deliver: Deliver) -> None:
    for output in outputs:
        for descriptor in sorted(output.characteristic.descriptors, key=lambda descriptor: descriptor.handle):
            if descriptor.uuid in _DESCRIPTORS:
                value = await client.read_gatt_descriptor(descriptor)
                deliver(Frame(bytes(value), Stamp.now(), f"{_DESCRIPTORS[descriptor.uuid]}:{output.name}"))


def _deliver_from(source: str, deliver: Deliver) -> Callable[[BleakGATTCharacteristic, bytearray], None]:
    return lambda _, value: deliver(Frame(bytes(value), Stamp.now(), source))
