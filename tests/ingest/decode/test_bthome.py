"""BTHome v2 adverts, against the examples of bthome.io and against the packages bthome_ble and bluetooth_data_tools."""

import random
from collections.abc import Callable

import pytest
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bluetooth_data_tools import parse_advertisement_data_bytes
from bthome_ble.const import MEAS_TYPES
from bthome_ble.parser import BTHomeBluetoothDeviceData
from habluetooth import BluetoothServiceInfoBleak
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.bthome import QUANTITIES, BTHomeDecoder
from ingest.decode.bthome_encryption import AdvertCipher
from ingest.frames import Frame, FrameError, Stamp
from ingest.link.adverts import BTHOME
from simulators.device.adverts import encrypt
from tests.fuzzing import fuzz

ADDRESS = "54:48:E6:8F:80:A5"
KEY = bytes.fromhex("231d39c1d7cc1ab1aee224cd096db932")
AIR = {"temperature": 25.06, "humidity": 50.55}


def frame(payload: bytes | str, source: str = ADDRESS) -> Frame:
    return Frame(bytes.fromhex(payload) if isinstance(payload, str) else payload, Stamp(0, 0), source)


def with_key() -> BTHomeDecoder:
    return BTHomeDecoder(AdvertCipher(KEY))


@pytest.mark.parametrize(
    ("payload", "values"),
    [
        ("4002CA0903BF13", AIR),
        ("4004138A01", {"pressure": 1008.83}),
        ("40434E34", {"current": 13.39}),
        ("405D02EA", {"current": -5.63}),
        ("400B021B00", {"power": 69.14}),
        ("400161", {"battery": 97.0}),
        ("40001B016402C808036C1A", {"packet id": 27.0, "battery": 100.0, "temperature": 22.48, "humidity": 67.64}),
        ("4008CA06", {"dew point": 17.38}),
        ("403D0960", {"count": 24585.0}),
        ("403E2A2C0960", {"count": 1611213866.0}),
        ("40400C00", {"distance mm": 12.0}),
        ("40414E00", {"distance m": 7.8}),
        ("40424E3400", {"duration": 13.39}),
        ("400A138A14", {"energy": 1346.067}),
        ("404D12138A14", {"energy": 344593.17}),
        ("402E23", {"humidity": 35.0}),
        ("40065E1F", {"mass kg": 80.3}),
        ("40073E1D", {"mass lb": 74.86}),
        ("4012E204", {"co2": 1250.0}),
        ("40451101", {"temperature": 27.3}),
        ("4058EA", {"temperature": -7.7}),
    ],
)
def test_examples_of_the_format(payload: str, values: dict[str, float]) -> None:
    """The column "example" of the tables at bthome.io/format."""
    assert BTHomeDecoder()(frame(payload)) == values


@pytest.mark.parametrize(
    "payload",
    [
        "41e445f3c9962b332211006c7c4519",  # bthome.io/encryption
        "41a47266c95f730011223378237214",  # tests of bthome_ble: counter 0x33221100
    ],
)
def test_encrypted_example(payload: str) -> None:
    assert with_key()(frame(payload)) == AIR


def test_an_address_in_the_advert_is_the_one_that_counts() -> None:
    assert BTHomeDecoder()(frame("42A5808FE6485402CA0903BF13", source="")) == AIR
    encrypted = "43a5808fe64854f196c06ffb4900112233f08ecbde"  # tests of bthome_ble
    assert with_key()(frame(encrypted, source="")) == AIR


def test_several_of_one_kind_are_numbered() -> None:
    assert BTHomeDecoder()(frame("4002CA0902E80345 1101 2E23")) == {
        "temperature 1": 25.06,
        "temperature 2": 10.0,
        "temperature 3": 27.3,
        "humidity": 35.0,
    }


def test_what_has_no_value_is_passed_over_and_an_unknown_object_ends_the_advert() -> None:
    text = "530C48656C6C6F20576F726C6421"  # "Hello World!", bthome.io/format
    assert BTHomeDecoder()(frame(f"400F01 2D01 3A00 3C0303 505D396164 {text} F00100 2E23")) == {"humidity": 35.0}
    assert BTHomeDecoder()(frame("402E23 EE 02CA09")) == {"humidity": 35.0}


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        ("", "not BTHome version 2"),
        ("2002CA09", "not BTHome version 2"),
        ("4002CA", "cut short within object 02"),
        ("40530548", "cut short within object 53"),
        ("4053", "cut short within object 53"),
        ("42A5808FE648", "cut short within the address"),
        ("41a47266c95f730011223378237214", "give the key"),
    ],
)
def test_refused(payload: str, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        BTHomeDecoder()(frame(payload))


@pytest.mark.parametrize(
    ("payload", "source", "says"),
    [
        ("4002CA0903BF13", ADDRESS, "not encrypted, though"),
        ("41a47266c95f730011223378237215", ADDRESS, "altered"),
        ("41a47266c95f730011223378237214", "54:48:E6:8F:80:A6", "altered"),
        ("41a47266c95f730011223378237214", "A8-0DEF", "no address to decrypt"),
        ("410011223378", ADDRESS, "cut short within counter"),
    ],
)
def test_refused_with_a_key(payload: str, source: str, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        with_key()(frame(payload, source))


def test_a_counter_that_goes_back_is_refused_and_one_that_stays_brings_nothing() -> None:
    decode = with_key()
    first, second = (
        frame(encrypt(bytes.fromhex("02CA09"), key=KEY, address=ADDRESS, counter=counter)) for counter in (7, 8)
    )
    assert decode(first) == {"temperature": 25.06}
    assert decode(first) == {}
    assert decode(second) == {"temperature": 25.06}
    with pytest.raises(FrameError, match="counter 7 is before 8"):
        decode(first)


def test_an_altered_advert_does_not_move_the_counter() -> None:
    decode = with_key()
    with pytest.raises(FrameError, match="altered"):
        decode(frame("4100000000ffffffff00000000"))
    assert decode(frame("41e445f3c9962b332211006c7c4519")) == AIR


def test_a_key_has_16_bytes() -> None:
    with pytest.raises(ValueError, match="24 bytes, not 16"):
        AdvertCipher(bytes(24))


# --- the oracles


def told_by_bthome_ble(service_data: bytes, key: bytes | None = None) -> list[tuple[str, float]]:
    """What the reference package reads: name and value of each sensor, in the order of the advert."""
    parser = BTHomeBluetoothDeviceData(key)
    advert = AdvertisementData(
        local_name="probe", manufacturer_data={}, service_data={BTHOME: service_data}, service_uuids=[BTHOME],
        rssi=-60, tx_power=None, platform_data=(),
    )  # fmt: skip
    told = parser.update(
        BluetoothServiceInfoBleak.from_scan("", BLEDevice(ADDRESS, "probe", {}), advert, 0.0, connectable=False)
    )
    return [
        (key.key, float(value.native_value))
        for key, value in told.entity_values.items()
        if key.key != "signal_strength" and isinstance(value.native_value, int | float)
    ]


@pytest.mark.parametrize("number", QUANTITIES, ids=lambda number: f"{number:02X}")
def test_every_object_is_laid_out_as_in_bthome_ble(number: int) -> None:
    """Size, sign and step of each, on 50 values spread over its whole range."""
    reference, ours = MEAS_TYPES[number], QUANTITIES[number]
    assert (reference.data_length, reference.data_format) == (
        ours.size,
        "signed_integer" if ours.signed else "unsigned_integer",
    )
    generator = random.Random(number)
    for data in (bytes(ours.size), b"\xff" * ours.size, *(generator.randbytes(ours.size) for _ in range(50))):
        service_data = bytes([0x40, number]) + data
        [(_, value)] = told_by_bthome_ble(service_data)
        rounding = 0.051 if number == 0x58 else 1e-9  # its step is 0.35, and bthome_ble rounds to 0.1
        assert list(BTHomeDecoder()(frame(service_data)).values()) == [pytest.approx(value, rel=1e-12, abs=rounding)]


def random_objects(generator: random.Random) -> bytes:
    """Up to eight objects in their order, of those that bthome_ble names and rounds as we do."""
    numbers = sorted(QUANTITIES.keys() - {0x00, 0x06, 0x07, 0x40, 0x41, 0x47, 0x48, 0x4E, 0x58})
    chosen = sorted(generator.choices(numbers, k=generator.randrange(1, 9)))
    return b"".join(bytes([number]) + generator.randbytes(QUANTITIES[number].size) for number in chosen)


@pytest.mark.parametrize("encrypted", [False, True], ids=["plain", "encrypted"])
def test_many_adverts_as_bthome_ble_reads_them(encrypted: bool) -> None:
    generator = random.Random(20)
    for counter in range(100, 600):
        objects = random_objects(generator)
        if encrypted:
            service_data = encrypt(objects, key=KEY, address=ADDRESS, counter=counter)
            values = with_key()(frame(service_data))
            told = told_by_bthome_ble(service_data, KEY)
        else:
            service_data = b"\x40" + objects
            values = BTHomeDecoder()(frame(service_data))
            told = told_by_bthome_ble(service_data)
        assert sorted(values.values()) == pytest.approx(sorted(value for _, value in told), rel=1e-12, abs=1e-9)
        numbered = {name for name, _ in told if name[-1].isdecimal() and name not in ("pm25", "pm10")}
        assert len([name for name in values if " " in name and name.split()[-1].isdecimal()]) == len(numbered)


def test_the_whole_advert_of_the_format_through_bluetooth_data_tools() -> None:
    """bthome.io/format: flags, the name "DIY-sensor", and service data with 25.00 degC and 50.55 %."""
    advert = bytes.fromhex("020106 0B094449592D73656E736F72 0A16D2FC4002C40903BF13")
    [name, _, service_data, *_] = parse_advertisement_data_bytes(advert)
    assert name == "DIY-sensor"
    assert BTHomeDecoder()(frame(service_data[BTHOME])) == {"temperature": 25.0, "humidity": 50.55}


@fuzz
@given(payload=st.binary(max_size=40), make=st.sampled_from([BTHomeDecoder, with_key]))
def test_any_bytes_give_values_or_a_frame_error(payload: bytes, make: Callable[[], BTHomeDecoder]) -> None:
    for start in (b"", b"\x40", b"\x41", b"\x43"):
        try:
            values = make()(frame(start + payload))
        except FrameError:
            continue
        assert all(isinstance(value, float) for value in values.values())
