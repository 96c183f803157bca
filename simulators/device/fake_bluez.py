"""The Bluetooth service of Linux, `org.bluez`, without a radio: on a private bus, for unmodified clients.

A client reaches it when DBUS_SYSTEM_BUS_ADDRESS is `bus_address` in its environment; nothing else differs. It
answers what a central asks. As with BlueZ, a device that is connected does not advertise, its services come
and go with the connection, and a client that dies leaves it connected; a client has one search at a time, and
an advert that repeats itself is told only to those who asked for duplicates.
"""

import asyncio
import logging
from collections.abc import Mapping
from contextlib import AsyncExitStack, suppress
from types import TracebackType
from typing import Any, Self

from dbus_fast import DBusError, Message, MessageType, Variant
from dbus_fast.aio import MessageBus

from simulators.device import private_bus
from simulators.device.bluez_objects import (
    ADAPTER,
    ADAPTER_PATH,
    CHARACTERISTIC,
    DESCRIPTOR,
    DEVICE,
    NO,
    YES,
    Interfaces,
    Peripheral,
    adapter,
    device,
    full_uuid,
    services,
)
from simulators.errors import SimulatorError

logger = logging.getLogger(__name__)

OBJECT_MANAGER = "org.freedesktop.DBus.ObjectManager"

ADVERTISE_EVERY_S = 0.1
"""Often, because a client that looks for a device misses single advertisements."""


STRENGTH_DBM = -60


def available() -> str | None:
    """Say why there can be no fake on this machine; None where there can."""
    return private_bus.available()


class FakeBluez:
    """An `org.bluez` on a bus of its own, from entering the context to leaving it.

    with_adapter: whether the machine has Bluetooth at all. powered: whether it is switched on. hangs: it takes what is
    asked from now on, and answers nothing.
    """

    def __init__(self, *, with_adapter: bool = True, powered: bool = True) -> None:
        self.bus_address = ""
        self.hangs = False
        self._objects: dict[str, Interfaces] = {ADAPTER_PATH: adapter(powered=powered)} if with_adapter else {}
        self._peripherals: dict[str, Peripheral] = {}
        self._values: dict[str, bytes] = {}
        self._filters: dict[str, dict[str, Any]] = {}
        self._searching: set[str] = set()
        self._bus: MessageBus | None = None
        self._is_lost = False
        self._opened = AsyncExitStack()

    async def __aenter__(self) -> Self:
        async with AsyncExitStack() as opening:
            self.bus_address = await opening.enter_async_context(private_bus.private_bus())
            self._bus = await MessageBus(bus_address=self.bus_address).connect()
            opening.callback(self._bus.disconnect)
            self._bus.add_message_handler(self._answer)
            await self._bus.request_name("org.bluez")
            advertising = asyncio.create_task(self._advertise(), name="fake BlueZ: advertisements")
            opening.push_async_callback(_cancel, advertising)
            self._opened = opening.pop_all()
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self._opened.aclose()

    def switch_on(self) -> None:
        """Give the adapter power."""
        self._change(ADAPTER_PATH, ADAPTER, {"Powered": YES})

    def appear(self, peripheral: Peripheral) -> None:
        """Bring a device into reach: it advertises from now on."""
        if peripheral.path not in self._peripherals:
            self._peripherals[peripheral.path] = peripheral
            self._add(peripheral.path, device(peripheral))

    def vanish(self, peripheral: Peripheral) -> None:
        """Take a device out of reach."""
        if peripheral.path in self._peripherals:
            self.drop(peripheral)
            del self._peripherals[peripheral.path]
            self._remove(peripheral.path)

    def drop(self, peripheral: Peripheral) -> None:
        """Break the connection to a device that stays in reach."""
        if self._is(peripheral.path, DEVICE, "Connected"):
            self._change(peripheral.path, DEVICE, {"Connected": NO, "ServicesResolved": NO})
            for path in [path for path in self._objects if path.startswith(f"{peripheral.path}/")]:
                self._remove(path)

    def notify(self, peripheral: Peripheral, index: int, value: bytes) -> None:
        """Send a value of one characteristic, if somebody subscribed to it."""
        path = peripheral.characteristic_path(index)
        if path in self._objects and self._is(path, CHARACTERISTIC, "Notifying"):
            self._change(path, CHARACTERISTIC, {"Value": Variant("ay", value)})

    def set_value(self, peripheral: Peripheral, index: int, value: bytes) -> None:
        """Hold a value of one characteristic ready for whoever reads it."""
        self._values[peripheral.characteristic_path(index)] = value

    def advertise(self, peripheral: Peripheral, service_data: Mapping[str, bytes]) -> None:
        """Send an advert with data of services, by assigned number."""
        if peripheral.path not in self._peripherals or not self._searching:
            return
        data = {full_uuid(assigned): Variant("ay", value) for assigned, value in service_data.items()}
        known = self._objects[peripheral.path][DEVICE]
        repeats = "ServiceData" in known and known["ServiceData"].value == data
        if not repeats or any(self._filters.get(client, {}).get("DuplicateData") for client in self._searching):
            strength = Variant("n", STRENGTH_DBM)
            self._change(peripheral.path, DEVICE, {"RSSI": strength, "ServiceData": Variant("a{sv}", data)})

    async def _advertise(self) -> None:
        strengths_dbm = STRENGTH_DBM, STRENGTH_DBM - 1  # in turn, for a property that stays the same is not announced
        while True:
            for strength_dbm in strengths_dbm:
                await asyncio.sleep(ADVERTISE_EVERY_S)
                for path in self._peripherals if self._searching else ():
                    by_itself = "ServiceData" in self._objects[path][DEVICE]
                    if not by_itself and not self._is(path, DEVICE, "Connected"):
                        self._change(path, DEVICE, {"RSSI": Variant("n", strength_dbm)})

    # --- the tree of objects, and the signals that tell of its changes

    def _is(self, path: str, interface: str, flag: str) -> bool:
        return bool(self._objects[path][interface][flag].value)

    def _add(self, path: str, interfaces: Interfaces) -> None:
        self._objects[path] = interfaces
        self._signal("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", [path, interfaces])

    def _remove(self, path: str) -> None:
        interfaces = list(self._objects.pop(path))
        self._signal("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", [path, interfaces])

    def _change(self, path: str, interface: str, properties: dict[str, Variant]) -> None:
        self._objects[path][interface].update(properties)
        body = [interface, properties, []]
        self._signal(path, "org.freedesktop.DBus.Properties", "PropertiesChanged", "sa{sv}as", body)

    def _signal(self, path: str, interface: str, member: str, signature: str, body: list[Any]) -> None:
        if self._bus is None:
            raise SimulatorError("enter the context of the fake BlueZ before a device uses it")
        if not self._bus.connected:
            if not self._is_lost:
                logger.error(
                    "the bench's own message bus has ended: its Bluetooth instruments are gone until it restarts"
                )
            self._is_lost = True
            return
        self._bus.send(Message.new_signal(path, interface, member, signature, body))

    # --- what a client asks for

    def _answer(self, call: Message) -> Message | bool | None:
        path = call.path or ""
        if call.message_type is not MessageType.METHOD_CALL:
            return None
        if self.hangs:
            return True  # as if it were answered
        if call.interface != OBJECT_MANAGER and call.interface not in self._objects.get(path, {}):
            raise DBusError("org.freedesktop.DBus.Error.UnknownObject", f"there is no {path}")
        signature, results = self._obey(call, path, call.sender or "")
        return Message.new_method_return(call, signature, results)

    def _obey(self, call: Message, path: str, client: str) -> tuple[str, list[Any]]:
        """Do what a call asks; returns the signature of its results, and the results."""
        match call.interface, call.member:
            case _, "GetManagedObjects":
                return "a{oa{sa{sv}}}", [self._objects]
            case "org.bluez.GattDescriptor1", "ReadValue":
                return "ay", [self._objects[path][DESCRIPTOR]["Value"].value]
            case "org.bluez.GattCharacteristic1", "ReadValue":
                return "ay", [self._read(path)]
            case _, "StartDiscovery":
                self._search(client)
            case _, "StopDiscovery":
                self._searching.discard(client)
            case _, "Connect":
                self._connect(self._peripherals[path])
            case _, "Disconnect":
                self.drop(self._peripherals[path])
            case _, "StartNotify" | "StopNotify":
                self._change(path, CHARACTERISTIC, {"Notifying": YES if call.member == "StartNotify" else NO})
            case _, "SetDiscoveryFilter":
                self._filters[client] = {name: value.value for name, value in call.body[0].items()}
            case _:
                raise DBusError("org.freedesktop.DBus.Error.UnknownMethod", f"no {call.member} of {call.interface}")
        return "", []

    def _search(self, client: str) -> None:
        if client in self._searching:  # start_discovery() in BlueZ's src/adapter.c
            raise DBusError("org.bluez.Error.InProgress", "Operation already in progress")
        self._searching.add(client)

    def _read(self, path: str) -> bytes:
        if "read" not in self._objects[path][CHARACTERISTIC]["Flags"].value:
            raise DBusError("org.bluez.Error.NotPermitted", "Read not permitted")
        return self._values.get(path, b"")

    def _connect(self, peripheral: Peripheral) -> None:
        if not self._is(peripheral.path, DEVICE, "Connected"):
            self._change(peripheral.path, DEVICE, {"Connected": YES})
            for path, interfaces in services(peripheral):
                self._add(path, interfaces)
            self._change(peripheral.path, DEVICE, {"ServicesResolved": YES})


async def _cancel(task: asyncio.Task[None]) -> None:
    task.cancel()
    with suppress(asyncio.CancelledError):
        await task
