"""What BlueZ shows of an adapter and of a device on D-Bus: object paths, interfaces and their properties.

By the documentation of BlueZ (github.com/bluez/bluez, doc/org.bluez.*.rst).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from dbus_fast import Variant

ADAPTER = "org.bluez.Adapter1"
DEVICE = "org.bluez.Device1"
SERVICE = "org.bluez.GattService1"
CHARACTERISTIC = "org.bluez.GattCharacteristic1"
DESCRIPTOR = "org.bluez.GattDescriptor1"

ADAPTER_PATH = "/org/bluez/hci0"
SERVICE_HANDLE = 0x10
HANDLES = 8
"""How many each characteristic has: three of its own, and five for what describes it."""

GENERIC_ATTRIBUTE = "1801"
ENVIRONMENTAL_SENSING = "181a"
USER_DESCRIPTION = "2901"

Interfaces = dict[str, dict[str, Variant]]
"""Of one object: its properties by name, by interface."""

YES = Variant("b", True)  # noqa: FBT003 - a D-Bus value, not a flag
NO = Variant("b", False)  # noqa: FBT003 - a D-Bus value, not a flag


def full_uuid(assigned: str) -> str:
    """Extend an assigned number to a whole UUID (Bluetooth Core specification, volume 3, part B, 2.5.1)."""
    if len(assigned) > 4:
        return assigned
    return f"0000{assigned}-0000-1000-8000-00805f9b34fb"


@dataclass(frozen=True, slots=True)
class Characteristic:
    """A characteristic of a device. descriptors: by assigned number, besides the description (0x2901)."""

    assigned: str
    description: str = ""
    flags: tuple[str, ...] = ("read", "notify")
    descriptors: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def all_descriptors(self) -> Mapping[str, bytes]:
        """Everything that describes it, by assigned number."""
        described = {USER_DESCRIPTION: self.description.encode()} if self.description else {}
        return described | dict(self.descriptors)


@dataclass(frozen=True, slots=True)
class Peripheral:
    """A device with one service."""

    address: str
    name: str
    characteristics: tuple[Characteristic, ...] = ()

    @property
    def path(self) -> str:
        """The path of the device."""
        return f"{ADAPTER_PATH}/dev_{self.address.replace(':', '_')}"

    @property
    def service_path(self) -> str:
        """The path of its service."""
        return f"{self.path}/service{SERVICE_HANDLE:04x}"

    def characteristic_path(self, index: int) -> str:
        """Give the path of a characteristic: handles for declaration, value, configuration, descriptors."""
        return f"{self.service_path}/char{SERVICE_HANDLE + 1 + HANDLES * index:04x}"

    def descriptor_path(self, index: int, number: int) -> str:
        """Give the path of a descriptor of a characteristic."""
        return f"{self.characteristic_path(index)}/desc{SERVICE_HANDLE + 4 + HANDLES * index + number:04x}"


def adapter(*, powered: bool) -> Interfaces:
    """Show the one adapter of the machine."""
    properties = {
        "Address": Variant("s", "00:00:5E:00:53:00"),  # from the range for documentation, RFC 7042
        "Name": Variant("s", "simulated"),
        "Alias": Variant("s", "simulated"),
        "Powered": YES if powered else NO,
        "Roles": Variant("as", ["central"]),
    }
    return {ADAPTER: properties}


def device(peripheral: Peripheral) -> Interfaces:
    """Show a device that advertises and is not connected."""
    uuids = [full_uuid(GENERIC_ATTRIBUTE), full_uuid(ENVIRONMENTAL_SENSING)]
    properties = {
        "Adapter": Variant("o", ADAPTER_PATH),
        "Address": Variant("s", peripheral.address),
        "AddressType": Variant("s", "random"),
        "Name": Variant("s", peripheral.name),
        "Alias": Variant("s", peripheral.name),
        "UUIDs": Variant("as", uuids),
        "RSSI": Variant("n", -60),
        "Paired": NO,
        "Connected": NO,
        "ServicesResolved": NO,
    }
    return {DEVICE: properties}


def services(peripheral: Peripheral) -> Iterator[tuple[str, Interfaces]]:
    """Show what a connected device has, by path: its service, the characteristics and their descriptions."""
    yield (
        peripheral.service_path,
        {
            SERVICE: {
                "UUID": Variant("s", full_uuid(ENVIRONMENTAL_SENSING)),
                "Device": Variant("o", peripheral.path),
                "Primary": YES,
            }
        },
    )
    for index, characteristic in enumerate(peripheral.characteristics):
        path = peripheral.characteristic_path(index)
        yield (
            path,
            {
                CHARACTERISTIC: {
                    "UUID": Variant("s", full_uuid(characteristic.assigned)),
                    "Service": Variant("o", peripheral.service_path),
                    "Flags": Variant("as", list(characteristic.flags)),
                    "Notifying": NO,
                    "Value": Variant("ay", b""),
                }
            },
        )
        for number, (assigned, value) in enumerate(characteristic.all_descriptors.items()):
            yield (
                peripheral.descriptor_path(index, number),
                {
                    DESCRIPTOR: {
                        "UUID": Variant("s", full_uuid(assigned)),
                        "Characteristic": Variant("o", path),
                        "Value": Variant("ay", value),
                    }
                },
            )
