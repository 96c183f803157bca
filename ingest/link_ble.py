"""A Bluetooth LE instrument with standard characteristics, by notification.

Every connection gets a new client, since a used one keeps what it knew of a device that may have changed.
Subscriptions go by handle and are named by the description (0x2901): one device may have several of the same
characteristic, and a look-up by assigned number would fail on the second. What is subscribed to is not polled
as well.
"""

import asyncio
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from bleak import BleakAdapter, BleakClient, BleakScanner
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakError,
)
from bleak.uuids import normalize_uuid_str

from ingest.decode_gatt import CHARACTERISTICS
from ingest.frames import Frame, LinkError, LinkSetupError, Stamp

SEARCH_S = 15.0
CONNECT_TIMEOUT_S = 20.0
"""Through a roof a connection can take over 10 s; a shorter limit gives up on one about to succeed."""

_USER_DESCRIPTION = normalize_uuid_str("2901")
_ASSIGNED = {normalize_uuid_str(assigned): assigned for assigned in CHARACTERISTICS}
_NOT_ON_THIS_MACHINE = (
    BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE,
    BleakBluetoothNotAvailableReason.DENIED_BY_USER,
    BleakBluetoothNotAvailableReason.DENIED_BY_SYSTEM,
)


@dataclass(frozen=True, slots=True)
class BluetoothInstrument:
    """A link to the device with this address, or else with this advertised name.

    `Frame.source` is the assigned number of the characteristic and its field, such as `2a6e:return air`.
    """

    address: str = ""
    device_name: str = ""
    search_s: float = SEARCH_S

    async def run(self, deliver: Callable[[Frame], None], connected: Callable[[], None]) -> None:
        """See Link.run."""
        lost = asyncio.Event()
        try:
            device = await self._find()
            client = BleakClient(device, disconnected_callback=lambda _: lost.set(), timeout=CONNECT_TIMEOUT_S)
            async with client:
                sources = await _sources(client)
                if not sources:
                    raise LinkSetupError(f"{self._called}: it notifies of no characteristic that we decode")
                connected()
                for handle, source in sources.items():
                    await client.start_notify(handle, _deliver_from(source, deliver))
                await lost.wait()
        except BleakBluetoothNotAvailableError as error:
            kind = LinkSetupError if error.reason in _NOT_ON_THIS_MACHINE else LinkError
            raise kind(f"{self._called}: {error.args[0]}") from error
        except (BleakError, OSError, EOFError) as error:
            raise LinkError(f"{self._called}: {_explain(error)}") from error
        raise LinkError(f"{self._called}: the Bluetooth connection was lost; is it in reach, and charged?")

    @property
    def _called(self) -> str:
        return self.device_name or self.address

    async def _find(self) -> BLEDevice:
        for device in await _still_connected():
            if self._is_ours(device):
                return device
        found = await BleakScanner.find_device_by_filter(lambda device, _: self._is_ours(device), timeout=self.search_s)
        if found is None:
            raise LinkError(f"{self._called}: not heard for {self.search_s:g} s; is it on, in reach, and free?")
        return found

    def _is_ours(self, device: BLEDevice) -> bool:
        if self.address:
            return device.address.lower() == self.address.lower()
        return device.name == self.device_name


async def _still_connected() -> list[BLEDevice]:
    """Find what the system still holds a connection to, left by a killed process: it does not advertise."""
    try:
        adapter = await BleakAdapter.get()
    except NotImplementedError:
        return []
    return await adapter.get_connected_devices()


async def _sources(client: BleakClient) -> dict[int, str]:
    """Find the characteristics to subscribe to, by handle, and what their frames are called."""
    wanted = {
        handle: characteristic
        for handle, characteristic in sorted(client.services.characteristics.items())
        if characteristic.uuid in _ASSIGNED and {"notify", "indicate"} & set(characteristic.properties)
    }
    numbers = [_ASSIGNED[characteristic.uuid] for characteristic in wanted.values()]
    descriptions = [await _description(client, characteristic) for characteristic in wanted.values()]
    names = _numbered(
        [text or CHARACTERISTICS[number].name for number, text in zip(numbers, descriptions, strict=True)]
    )
    return {handle: f"{number}:{name}" for handle, number, name in zip(wanted, numbers, names, strict=True)}


async def _description(client: BleakClient, characteristic: BleakGATTCharacteristic) -> str:
    for descriptor in characteristic.descriptors:
        if descriptor.uuid == _USER_DESCRIPTION:
            text = await client.read_gatt_descriptor(descriptor)
            return text.decode("utf-8", "replace").strip(" \0")
    return ""


def _numbered(names: list[str]) -> list[str]:
    """Names that occur more than once get their number: Temperature 1, Temperature 2.

    >>> _numbered(["Temperature", "Humidity", "Temperature"])
    ['Temperature 1', 'Humidity', 'Temperature 2']
    """
    total, seen = Counter(names), Counter[str]()
    numbered = []
    for name in names:
        seen[name] += 1
        numbered.append(f"{name} {seen[name]}" if total[name] > 1 else name)
    return numbered


def _deliver_from(
    source: str, deliver: Callable[[Frame], None]
) -> Callable[[BleakGATTCharacteristic, bytearray], None]:
    return lambda _, value: deliver(Frame(bytes(value), Stamp.now(), source))


def _explain(error: Exception) -> str:
    if isinstance(error, BleakDBusError) and error.dbus_error == "org.freedesktop.DBus.Error.ServiceUnknown":
        return "the Bluetooth service of this machine does not run; start `bluetooth` (BlueZ)"
    if isinstance(error, FileNotFoundError | ConnectionRefusedError):
        return "this machine has no system D-Bus, which BlueZ needs; install and start dbus and bluez"
    if isinstance(error, TimeoutError):
        return f"no connection within {CONNECT_TIMEOUT_S:g} s; is it in reach?"
    return str(error) or type(error).__name__
