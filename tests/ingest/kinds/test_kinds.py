"""The kinds of link: each kind of configuration gives its link and a decoder of its own."""

import sys
from pathlib import Path
from subprocess import run

import msgspec
import pytest

from ingest.config.structs import InstrumentConfig
from ingest.decode.es51922 import decode_es51922, is_es51922
from ingest.decode.frame_finder import IsFrame
from ingest.decode.fs9721 import decode_fs9721, is_fs9721
from ingest.decode.fs9922 import decode_fs9922, is_fs9922
from ingest.decode.gatt import GattDecoder
from ingest.decode.lines import LineDecoder
from ingest.decode.register_map import Register, blocks
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Frame, FrameError, LinkSetupError, Stamp
from ingest.link.adverts import AdvertisingProbe
from ingest.link.bluetooth import BluetoothInstrument
from ingest.link.bluetooth_scan import SharedScan
from ingest.link.modbus_rtu import ModbusRtu
from ingest.link.modbus_tcp import ModbusTcp
from ingest.link.mqtt import MqttTopics
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_frames import SerialFrames
from ingest.link.serial_lines import SerialLines
from ingest.wire.messages import BrokerAddress
from tests.kinds import build


def instrument(link: str) -> InstrumentConfig:
    text = f'name = "it"\nlink = {link}\nchannel = []'
    return msgspec.toml.decode(text.encode(), type=InstrumentConfig)


def test_serial_lines() -> None:
    link, decode = build(instrument('{ kind = "serial_lines", port = "/dev/ttyUSB0", baud = 19200 }'))
    assert link == SerialLines(PortSettings("/dev/ttyUSB0", 19200))
    assert isinstance(decode, LineDecoder)


def test_how_a_port_is_set() -> None:
    said = 'port = "P", parity = "odd", data_bits = 7, stop_bits = 2, rts = false, dtr = false'
    settings = PortSettings("P", 9600, "odd", data_bits=7, stop_bits=2, rts=False, dtr=False)
    lines, _ = build(instrument(f'{{ kind = "serial_lines", {said} }}'))
    meter, _ = build(instrument(f'{{ kind = "scpi", queries = {{}}, setup = ["*RST"], {said} }}'))
    assert lines == SerialLines(settings)
    assert meter == ScpiMeter(settings, {}, ["*RST"])


def test_scpi() -> None:
    queries = 'queries = { amps = "MEAS:CURR:AC?" }'
    text = f'{{ kind = "scpi", port = "P", {queries}, setup = ["*RST"], poll = "250 ms", timeout = "3 s" }}'
    link, decode = build(instrument(text))
    assert link == ScpiMeter(PortSettings("P", 9600), {"amps": "MEAS:CURR:AC?"}, ["*RST"], 0.25, answer_timeout_s=3.0)
    assert decode is decode_scpi


def test_bluetooth() -> None:
    link, decode = build(instrument('{ kind = "bluetooth", device_name = "air probe" }'))
    assert link == BluetoothInstrument(device_name="air probe")
    assert isinstance(decode, GattDecoder)


@pytest.mark.parametrize(
    ("chip", "baud", "is_frame", "decoder"),
    [
        ("fs9721", 2400, is_fs9721, decode_fs9721),
        ("fs9922", 2400, is_fs9922, decode_fs9922),
        ("es51922", 19200, is_es51922, decode_es51922),
    ],
)
def test_serial_meter(chip: str, baud: int, is_frame: IsFrame, decoder: Decode) -> None:
    link, decode = build(instrument(f'{{ kind = "serial_meter", port = "P", chip = "{chip}" }}'))
    assert link == SerialFrames(PortSettings("P", baud), 14, is_frame)
    assert decode is decoder


def test_bluetooth_instruments_of_a_rig_share_a_scan() -> None:
    scan = SharedScan()
    probe, decode = build(instrument('{ kind = "bluetooth_adverts", device_name = "air probe" }'), scan)
    device, _ = build(instrument('{ kind = "bluetooth", device_name = "air probe" }'), scan)
    assert isinstance(probe, AdvertisingProbe)
    assert isinstance(device, BluetoothInstrument)
    assert probe == AdvertisingProbe(device_name="air probe")
    assert probe.scan is scan
    assert device.scan is scan
    assert decode(Frame(bytes.fromhex("4002CA09"), Stamp(0, 0))) == {"temperature": 25.06}


def test_the_key_of_a_probe_comes_from_its_file(tmp_path: Path) -> None:
    """The example of bthome.io/encryption."""
    (tmp_path / "key").write_text("231d39c1d7cc1ab1aee224cd096db932\n")
    _, decode = build(instrument(f'{{ kind = "bluetooth_adverts", device_name = "it", key_file = "{tmp_path}/key" }}'))
    frame = Frame(bytes.fromhex("41e445f3c9962b332211006c7c4519"), Stamp(0, 0), "54:48:E6:8F:80:A5")
    assert decode(frame) == {"temperature": 25.06, "humidity": 50.55}


@pytest.mark.parametrize("key", ["231d39", "secret", "231d39c1d7cc1ab1aee224cd096db932231d39c1d7cc1ab1", None])
def test_a_key_that_is_none_stops_the_probe(tmp_path: Path, key: str | None) -> None:
    if key is not None:
        (tmp_path / "key").write_text(key)
    with pytest.raises(LinkSetupError, match="no key of 32 hexadecimal digits"):
        build(instrument(f'{{ kind = "bluetooth_adverts", device_name = "it", key_file = "{tmp_path}/key" }}'))


def test_without_cryptography_a_key_cannot_be_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(sys.modules, "ingest.decode.bthome_encryption", raising=False)
    monkeypatch.setitem(sys.modules, "cryptography.exceptions", None)
    with pytest.raises(LinkSetupError, match="needs the package cryptography"):
        build(instrument('{ kind = "bluetooth_adverts", device_name = "it", key_file = "key" }'))


REGISTERS = 'registers = { suction = { address = 4, type = "f32", order = "CDAB", device = 9, invalid = [0x8000] } }'


def test_modbus() -> None:
    register = Register(
        field="suction",
        device=9,
        table="holding",
        address=4,
        number_type="f32",
        order="CDAB",
        invalid=frozenset({0x8000}),
    )
    rtu, decode = build(instrument(f'{{ kind = "modbus_rtu", port = "P", parity = "odd", rts = false, {REGISTERS} }}'))
    tcp, _ = build(instrument(f'{{ kind = "modbus_tcp", host = "192.0.2.7", timeout = "4 s", {REGISTERS} }}'))
    assert rtu == ModbusRtu(PortSettings("P", 19200, "odd", rts=False), blocks([register]), poll_s=0.5)
    assert tcp == ModbusTcp("192.0.2.7", 502, blocks([register]), 0.5, answer_timeout_s=4.0)
    # 118.25 = 1.1101100100 (binary) x 2^6: sign 0, exponent 133, so 42EC8000
    assert decode(Frame(bytes.fromhex("800042ec"), Stamp(0, 0), "9 holding 4")) == {"suction": 118.25}


def test_mqtt(tmp_path: Path) -> None:
    (tmp_path / "password").write_text("secret\n")
    values = 'values = { air = { topic = "roof/state", pointer = "/air" }, low = { topic = "roof/low" } }'
    link, decode = build(
        instrument(
            f'{{ kind = "mqtt", url = "mqtts://sam@192.0.2.7", password_file = "{tmp_path / "password"}", {values} }}'
        )
    )
    address = BrokerAddress("192.0.2.7", 8883, tls=True, user="sam", password="secret")
    assert link == MqttTopics(address, ["roof/low", "roof/state"])
    assert decode(Frame(b'{"air": 23.5}', Stamp(0, 0), "roof/state")) == {"air": 23.5}


def test_a_password_file_that_has_gone_is_told(tmp_path: Path) -> None:
    gone = f'{{ kind = "mqtt", url = "mqtt://192.0.2.7", password_file = "{tmp_path / "gone"}", values = {{}} }}'
    with pytest.raises(LinkSetupError, match="cannot be read"):
        build(instrument(gone))


def test_two_probes_do_not_share_their_headers() -> None:
    config = instrument('{ kind = "serial_lines", port = "P" }')
    (_, first), (_, second) = build(config), build(config)
    first(Frame(b"# pressure", Stamp(0, 0)))
    with pytest.raises(FrameError):
        second(Frame(b"118.2", Stamp(0, 0)))


@pytest.mark.parametrize("library", ["serial", "bleak", "dbus_fast", "cryptography", "pymodbus", "aiomqtt"])
def test_no_link_library_is_loaded_before_an_instrument_needs_it(library: str) -> None:
    code = f"import sys, ingest.kinds.table; sys.exit({library!r} in sys.modules)"
    assert run([sys.executable, "-c", code], check=False).returncode == 0


def test_mqtt_without_a_url_reads_from_the_rigs_own_broker() -> None:
    config = instrument('{ kind = "mqtt", values = { air = { topic = "roof-probe/air" } } }')
    own = BrokerAddress("127.0.0.1", 18830, user="dewline-daemon", password="secret")
    link, _ = build(config, broker=own)
    assert link == MqttTopics(own, ["roof-probe/air"])
    with pytest.raises(LinkSetupError, match="only while the daemon runs"):
        build(config)
