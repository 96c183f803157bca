"""How many readings each decoder reads in a second, on one core."""

import time
from collections.abc import Iterator, Sequence

from ingest.decode.bthome import BTHomeDecoder
from ingest.decode.es51922 import decode_es51922
from ingest.decode.fs9721 import decode_fs9721
from ingest.decode.fs9922 import decode_fs9922
from ingest.decode.gatt import GattDecoder
from ingest.decode.lines import LineDecoder
from ingest.decode.modbus import ModbusDecoder
from ingest.decode.mqtt import MqttDecoder, MqttValue
from ingest.decode.register_map import Register, blocks
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Frame, Stamp
from tests.figures import Figure

LONG_ENOUGH_S = 0.5
TARGET = "10,000 readings/s or more, for the whole way to the record"
NOW = Stamp(0, 0)

CSV = LineDecoder()
CSV(Frame(b"# pressure,temperature", NOW))

SUCTION = Register(field="suction", device=1, table="input", address=0, number_type="f32", order="CDAB")
LIQUID = Register(field="liquid", device=1, table="input", address=2, number_type="i16", scale=0.1)
MODBUS = ModbusDecoder(blocks([SUCTION, LIQUID]))

MQTT = MqttDecoder(
    {
        "plain": MqttValue("plain"),
        "temperature": MqttValue("json", pointer="/air/temperature"),
        "humidity": MqttValue("json", pointer="/air/humidity"),
        "supply": MqttValue("senml", senml="roof/supply", unit="Cel"),
        "return": MqttValue("senml", senml="roof/return", unit="Cel"),
    }
)
JSON_PAYLOAD = b'{"air":{"temperature":23.5,"humidity":52}}'
SENML_PAYLOAD = b'[{"bn":"roof/","bu":"Cel","n":"supply","v":12.25},{"n":"return","v":23.5}]'

CASES: Sequence[tuple[str, Decode, Frame]] = (
    ("text line, CSV, two values", CSV, Frame(b"118.25,50.40\r", NOW)),
    ("text line, CSV with check, two values", CSV, Frame(b"118.25,50.40*12\r", NOW)),
    ("text line, JSON, two values", LineDecoder(), Frame(b'{"pressure":814.50,"temperature":10.22}\r', NOW)),
    ("SCPI answer", decode_scpi, Frame(b"+1.84200000E+01", NOW, "compressor")),
    ("Bluetooth characteristic", GattDecoder(), Frame(bytes.fromhex("2909"), NOW, "2a6e:return air")),
    ("Bluetooth advert, two values", BTHomeDecoder(), Frame(bytes.fromhex("4002CA0903BF13"), NOW)),
    ("multimeter chip FS9721", decode_fs9721, Frame(bytes.fromhex("172835455b697f8095a0b0c0d4e8"), NOW)),
    ("multimeter chip FS9922", decode_fs9922, Frame(b"+1842 2\x29\x00\x00\x40\x12\r\n", NOW)),
    ("multimeter chip ES51922", decode_es51922, Frame(bytes.fromhex("32b031383432b9b0b0b034b00d8a"), NOW)),
    ("Modbus registers, two values", MODBUS, Frame(bytes.fromhex("800042ec0d4d"), NOW, "1 input 0")),
    ("MQTT, plain number", MQTT, Frame(b"118.25", NOW, "plain")),
    ("MQTT, JSON, two values", MQTT, Frame(JSON_PAYLOAD, NOW, "json")),
    ("MQTT, SenML, two values", MQTT, Frame(SENML_PAYLOAD, NOW, "senml")),
)


def measure() -> Iterator[Figure]:
    """Decode each case for half a second."""
    for what, decode, frame in CASES:
        yield Figure(f"decoding, {what}", f"{_rate(decode, frame):,.0f} readings/s", TARGET)


def _rate(decode: Decode, frame: Frame) -> float:
    readings, started_s = 0, time.perf_counter()
    while (taken_s := time.perf_counter() - started_s) < LONG_ENOUGH_S:
        for _ in range(1000):
            values = decode(frame)
        readings += 1000 * sum(isinstance(value, float) for value in values.values())
    return readings / taken_s
