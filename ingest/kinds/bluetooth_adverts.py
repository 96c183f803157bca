"""A probe that only advertises, in BTHome v2."""

from pathlib import Path

import msgspec

from ingest.checking.check import Check, check_file
from ingest.decode.bthome import BTHomeDecoder
from ingest.frames import Decode, Link, LinkSetupError
from ingest.kinds.bluetooth import check_named
from ingest.kinds.kind import Around, Kind
from ingest.whole_file import read_whole

_LARGEST_KEY_FILE_BYTES = 4096


class BluetoothAdvertsConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="bluetooth_adverts", tag_field="kind"
):
    """A probe that only advertises, in BTHome v2. address: or else its name. key_file: with its key, if it has one."""

    address: str = ""
    device_name: str = ""
    key_file: str = ""


def _check(check: Check, key: str, link: BluetoothAdvertsConfig, directory: Path) -> None:
    check_named(check, key, link.address, link.device_name)
    check_file(check, f"{key}.key_file", link.key_file, directory)


def _build(link: BluetoothAdvertsConfig, _interval_s: float, around: Around) -> tuple[Link, Decode]:
    from ingest.link.adverts import AdvertisingProbe

    return AdvertisingProbe(link.address, link.device_name, around.scan), _decoder(link.key_file)


def _decoder(key_file: str) -> BTHomeDecoder:
    if not key_file:
        return BTHomeDecoder()
    try:
        from ingest.decode.bthome_encryption import AdvertCipher
    except ModuleNotFoundError as error:
        raise LinkSetupError(
            "a probe with a key needs the package cryptography: in the folder of Dewline, "
            '.venv/bin/pip install ".[encrypted-adverts]"'
        ) from error
    try:
        text = read_whole(Path(key_file), _LARGEST_KEY_FILE_BYTES).decode("ascii")
        return BTHomeDecoder(AdvertCipher(bytes.fromhex(text)))
    except (OSError, ValueError) as error:
        raise LinkSetupError(f"{key_file} holds no key of 32 hexadecimal digits: {error}") from error


KIND = Kind(config=BluetoothAdvertsConfig, word="Bluetooth adverts", check=_check, build=_build)
