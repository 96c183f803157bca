"""A Bluetooth LE probe that only advertises: BTHome v2, by the shared scan.

Silence is not absence: adverts get lost in the air, and some probes are quiet for minutes. So this link never ends
because nothing comes, only if the radio fails; how old a reading is, its channel tells.
"""

import asyncio
from dataclasses import dataclass, field

from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.uuids import normalize_uuid_str

from ingest.frames import Connected, Deliver, Frame, Stamp
from ingest.link.bluetooth_errors import BLUETOOTH_ERRORS, as_link_error
from ingest.link.bluetooth_scan import SharedScan, is_named

BTHOME = normalize_uuid_str("fcd2")

_STRENGTH_OF_NOTHING_HEARD_DBM = -127


@dataclass(frozen=True, slots=True)
class AdvertisingProbe:
    """A link to the probe with this address, or else with this advertised name. `Frame.source` is its address.

    It is connected with its first advert.
    """

    address: str = ""
    device_name: str = ""
    scan: SharedScan = field(default_factory=SharedScan, compare=False)

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        announced = False

        def hear(device: BLEDevice, advert: AdvertisementData) -> None:
            nonlocal announced
            stamp = Stamp.now()
            payload = advert.service_data.get(BTHOME)
            if payload is None or not is_named(device, self.address, self.device_name) or is_remembered(advert):
                return
            if not announced:
                announced = True
                connected()
            deliver(Frame(payload, stamp, device.address))

        try:
            async with self.scan.heard_by(hear) as scan:
                await asyncio.wait([scan])
                scan.result()
        except BLUETOOTH_ERRORS as error:
            raise as_link_error(self.device_name or self.address, error) from error

    async def seen_again(self) -> None:
        """See Link.seen_again. It listens as long as the radio works, and has nothing to wait for."""
        await asyncio.Event().wait()


def is_remembered(advert: AdvertisementData) -> bool:
    """Say whether BlueZ told of what it knew before: only what the radio hears has a strength."""
    return advert.rssi == _STRENGTH_OF_NOTHING_HEARD_DBM
