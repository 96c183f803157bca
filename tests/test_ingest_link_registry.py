"""The registry of links: each kind of configuration gives its link and a decoder of its own."""

import sys
from subprocess import run

import msgspec
import pytest

from ingest.config_structs import InstrumentConfig
from ingest.decode_gatt import GattDecoder
from ingest.decode_lines import LineDecoder
from ingest.decode_scpi import decode_scpi
from ingest.frames import Frame, FrameError, Stamp
from ingest.link_ble import BluetoothInstrument
from ingest.link_scpi import ScpiMeter
from ingest.link_serial import SerialLines
from ingest.links import build


def instrument(link: str) -> InstrumentConfig:
    text = f'name = "it"\nlink = {link}\nchannel = []'
    return msgspec.toml.decode(text.encode(), type=InstrumentConfig)


def test_serial_lines() -> None:
    link, decode = build(instrument('{ kind = "serial_lines", port = "/dev/ttyUSB0", baud = 19200 }'))
    assert link == SerialLines("/dev/ttyUSB0", 19200)
    assert isinstance(decode, LineDecoder)


def test_scpi() -> None:
    queries = 'queries = { amps = "MEAS:CURR:AC?" }'
    text = f'{{ kind = "scpi", port = "P", {queries}, setup = ["*RST"], poll = "250 ms" }}'
    link, decode = build(instrument(text))
    assert link == ScpiMeter("P", 9600, {"amps": "MEAS:CURR:AC?"}, ["*RST"], poll_s=0.25)
    assert decode is decode_scpi


def test_bluetooth() -> None:
    link, decode = build(instrument('{ kind = "bluetooth", device_name = "air probe" }'))
    assert link == BluetoothInstrument(device_name="air probe")
    assert isinstance(decode, GattDecoder)


def test_two_probes_do_not_share_their_headers() -> None:
    config = instrument('{ kind = "serial_lines", port = "P" }')
    (_, first), (_, second) = build(config), build(config)
    first(Frame(b"# pressure", Stamp(0, 0)))
    with pytest.raises(FrameError):
        second(Frame(b"118.2", Stamp(0, 0)))


@pytest.mark.parametrize("library", ["serial", "bleak", "dbus_fast"])
def test_no_link_library_is_loaded_before_an_instrument_needs_it(library: str) -> None:
    code = f"import sys, ingest.links; sys.exit({library!r} in sys.modules)"
    assert run([sys.executable, "-c", code], check=False).returncode == 0
