"""The fake BlueZ in tests, with real clients on it."""

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest

from simulators.device import fake_bluez
from simulators.device.fake_bluez import FakeBluez

_missing = fake_bluez.available()
needs_fake_bluez = pytest.mark.skipif(_missing is not None, reason=_missing or "")

AIR_PROBE = {"return air": "2a6e", "supply air": "2a6e", "outdoor air": "2a6e", "return air humidity": "2a6f"}
ADDRESS = "C0:00:5E:00:53:01"


@asynccontextmanager
async def reached(bluez: FakeBluez) -> AsyncIterator[FakeBluez]:
    """Run a fake BlueZ, and let clients in this process find it where they look for the real one."""
    before = os.environ.get("DBUS_SYSTEM_BUS_ADDRESS")
    async with bluez:
        os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = bluez.bus_address
        try:
            yield bluez
        finally:
            os.environ.pop("DBUS_SYSTEM_BUS_ADDRESS")
            if before is not None:
                os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = before
