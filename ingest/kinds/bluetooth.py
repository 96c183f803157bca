"""A Bluetooth LE instrument with characteristics."""

from pathlib import Path

import msgspec

from ingest.checking.check import Check
from ingest.decode.gatt import GattDecoder
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind


class BluetoothConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="bluetooth", tag_field="kind"
):
    """A Bluetooth LE instrument with standard characteristics. address: or else the name it advertises."""

    address: str = ""
    device_name: str = ""


def check_named(check: Check, key: str, address: str, device_name: str) -> None:
    """Note an instrument that is not named."""
    if not address and not device_name:
        check.wrong(key, None, "names no instrument; address or device_name was expected")


def _check(check: Check, key: str, link: BluetoothConfig, _: Path) -> None:
    check_named(check, key, link.address, link.device_name)


def _build(link: BluetoothConfig, interval_s: float, around: Around) -> tuple[Link, Decode]:
    from ingest.link.bluetooth import BluetoothInstrument

    instrument = BluetoothInstrument(link.address, link.device_name, poll_s=interval_s, scan=around.scan)
    return instrument, GattDecoder()


KIND = Kind(config=BluetoothConfig, word="Bluetooth", check=_check, build=_build)
