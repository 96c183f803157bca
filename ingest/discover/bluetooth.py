"""Looking for Bluetooth LE instruments: hear who advertises, and connect to those that say that they measure.

Nothing is connected to that does not offer the service Environmental Sensing, or was not named: a stranger's device is
none of our business.
"""

import asyncio
from collections.abc import Collection
from dataclasses import dataclass, field

from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.uuids import normalize_uuid_str

from ingest.decode.bthome import BTHomeDecoder
from ingest.decode.gatt import GattDecoder
from ingest.discover.guess import Output, advertised_output, described_output, interval_s
from ingest.discover.propose import Found
from ingest.frames import Delivered, Frame, FrameError, LinkError, LinkSetupError, Notice, Stamp
from ingest.kinds.bluetooth import BluetoothConfig
from ingest.kinds.bluetooth_adverts import BluetoothAdvertsConfig
from ingest.link.adverts import BTHOME, is_remembered
from ingest.link.bluetooth import BluetoothInstrument
from ingest.link.bluetooth_errors import BLUETOOTH_ERRORS, as_link_error
from ingest.link.bluetooth_scan import SharedScan
from ingest.link.ending import end

ENVIRONMENTAL_SENSING = normalize_uuid_str("181a")


@dataclass
class _Heard:
    """What was heard of one device."""

    device: BLEDevice
    services: set[str] = field(default_factory=set)
    adverts: list[Frame] = field(default_factory=list)

    @property
    def name(self) -> str:
        return self.device.name or ""

    @property
    def where(self) -> str:
        return f"Bluetooth {self.device.address}" + (f' "{self.name}"' if self.name else "")


async def find_bluetooth(seconds: float, connect: Collection[str]) -> list[Found]:
    """Listen for adverts, then read for as long again from each device that measures.

    connect: devices to read from besides, by name or address.
    """
    scan = SharedScan()
    try:
        heard = await _hear(scan, seconds)
    except BLUETOOTH_ERRORS as error:
        return [Found("Bluetooth", (str(as_link_error("no search", error)),))]
    return list(await asyncio.gather(*(_examine(it, scan, seconds, connect) for it in heard)))


async def _hear(scan: SharedScan, seconds: float) -> list[_Heard]:
    heard: dict[str, _Heard] = {}

    def hear(device: BLEDevice, advert: AdvertisementData) -> None:
        if is_remembered(advert):
            return
        it = heard.setdefault(device.address, _Heard(device))
        it.services |= set(advert.service_uuids)
        payload = advert.service_data.get(BTHOME)
        if payload is not None:
            it.adverts.append(Frame(payload, Stamp.now(), device.address))

    async with scan.heard_by(hear) as searching:
        await asyncio.wait([searching], timeout=seconds)
        if searching.done():
            searching.result()
    return [heard[address] for address in sorted(heard)]


async def _examine(heard: _Heard, scan: SharedScan, seconds: float, connect: Collection[str]) -> Found:
    if heard.adverts:
        return _advertising(heard)
    named = {heard.name, heard.device.address.lower()} & {name for given in connect for name in (given, given.lower())}
    if not named and ENVIRONMENTAL_SENSING not in heard.services:
        hint = f"--connect {heard.device.address} looks into it"
        return Found(heard.where, (f"left alone: it does not say that it measures; {hint}",))
    return await _connected(heard, scan, seconds)


def _advertising(heard: _Heard) -> Found:
    """Read adverts; of those under a key nothing can be read here."""
    decode = BTHomeDecoder()
    outputs: dict[str, Output] = {}
    refusal = ""
    for advert in heard.adverts:
        try:
            outputs |= {name: advertised_output(name, value) for name, value in decode(advert).items()}
        except FrameError as error:
            refusal = str(error)
    if not outputs:
        return Found(heard.where, (f"adverts in BTHome that cannot be read: {refusal or 'they hold no values'}",))
    times_s = [advert.stamp.monotonic_ns / 1e9 for advert in heard.adverts]
    return Found(
        heard.where,
        ("adverts in BTHome; sent nothing",),
        heard.name or heard.device.address,
        BluetoothAdvertsConfig(address=heard.device.address),
        interval_s(times_s),
        tuple(outputs.values()),
    )


async def _connected(heard: _Heard, scan: SharedScan, seconds: float) -> Found:
    """Connect, and read what notifies and what can be read."""
    decode = GattDecoder()
    outputs: dict[str, Output] = {}
    times_s: dict[str, list[float]] = {}
    connected = asyncio.Event()

    def deliver(delivered: Delivered) -> None:
        if isinstance(delivered, Notice):
            return
        frame = delivered
        try:
            values = decode(frame)
        except FrameError:
            return
        for name, value in values.items():
            outputs[name] = described_output(frame.source, name, value)
            times_s.setdefault(name, []).append(frame.stamp.monotonic_ns / 1e9)

    instrument = BluetoothInstrument(address=heard.device.address, scan=scan)
    running = asyncio.create_task(instrument.run(deliver, connected.set))
    waiting = asyncio.create_task(connected.wait())
    try:
        await asyncio.wait([running, waiting], return_when=asyncio.FIRST_COMPLETED)
        await asyncio.wait([running], timeout=seconds)
    finally:
        await end(running, waiting)
    error = None if running.cancelled() else running.exception()
    if isinstance(error, LinkError | LinkSetupError):
        return Found(heard.where, (str(error),))
    if error is not None:
        raise error
    return Found(
        heard.where,
        ("connected to, subscribed to what it notifies of, read the rest",),
        heard.name or heard.device.address,
        BluetoothConfig(address=heard.device.address) if outputs else None,
        max(map(interval_s, times_s.values()), default=1.0),
        tuple(outputs.values()),
    )
