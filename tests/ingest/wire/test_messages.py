"""The wire: what goes out is SenML as RFC 8428 has it, and what comes in is refused unless it is."""

import json
import re
from functools import partial

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.quantities import QUANTITIES, Quantity
from ingest.wire.messages import (
    QUALITIES,
    Added,
    AddedAsk,
    Advice,
    BrokerAddress,
    LinkChanged,
    MessageError,
    Note,
    NoteAsk,
    Pack,
    Reading,
    Status,
    decode,
    decode_ask,
    decode_mark,
    decode_pack,
    encode,
    encode_ask,
    encode_pack,
    read_id,
    rig_and_kind,
    topic,
)
from tests.rigs import make_pack

LARGEST_MESSAGE_BYTES = 64 * 1024
"""64 KiB: what docs/asyncapi.yaml promises."""

REGISTERED_UNITS = {"Pa", "Cel", "K", "A", "V", "F", "Ohm", "%RH", "kg", "m3/s", "/", "s"}
"""Those we use, as registered in RFC 8428, section 12.1."""

RANGES = {
    Quantity.PRESSURE: (0, 1.5e7),
    Quantity.TEMPERATURE: (150, 550),
    Quantity.TEMPERATURE_DIFFERENCE: (-200, 200),
    Quantity.HUMIDITY: (0, 105),
    Quantity.CURRENT: (-2e3, 2e3),
    Quantity.VOLTAGE: (-2e3, 2e3),
    Quantity.CAPACITANCE: (0, 1e-2),
    Quantity.MASS: (-10, 1e3),
    Quantity.RATIO: (0, 10),
    Quantity.RESISTANCE: (0, 1e9),
    Quantity.AIR_PRESSURE: (-5e3, 5e3),
    Quantity.AIR_FLOW: (0, 100),
    Quantity.CONCENTRATION: (0, 1),
}


@st.composite
def readings(draw: st.DrawFn, name: str) -> Reading:
    low, high = RANGES[QUANTITIES[name]]
    value = draw(st.none() | st.floats(low, high))
    return Reading(
        value,
        draw(st.floats(1.6e9, 2.0e9)),
        draw(st.sampled_from(QUALITIES)),
        "" if value is not None else draw(st.text(max_size=40)),
        None if value is None else draw(st.none() | st.floats(0, high)),
    )


packs = st.builds(
    Pack,
    rig=st.from_regex(r"[A-Za-z0-9][A-Za-z0-9_-]{0,20}", fullmatch=True),
    sequence=st.none() | st.integers(1, 2**53),
    session=st.integers(1, 10**6),
    epoch=st.integers(0, 10**6),
    monotonic_s=st.floats(0, 1e8),
    time_s=st.floats(1.6e9, 2.0e9),
    readings=st.sets(st.sampled_from(sorted(QUANTITIES))).flatmap(
        lambda names: st.fixed_dictionaries({name: readings(name) for name in names})
    ),
    unsaved_packs=st.integers(0, 10**6),
)


@given(packs)
def test_a_pack_survives_the_wire(pack: Pack) -> None:
    payload = encode_pack(pack)
    again = decode_pack(payload)
    assert encode_pack(again) == payload
    assert (again.rig, again.sequence, again.session) == (pack.rig, pack.sequence, pack.session)
    assert again.unsaved_packs == pack.unsaved_packs
    assert again.saved == (pack.sequence is not None)
    for name, reading in pack.readings.items():
        found = again.readings[name]
        assert (found.value is None) == (reading.value is None)
        if reading.value is not None and found.value is not None:
            assert found.value == pytest.approx(reading.value, rel=1e-6, abs=0.06)
        assert found.time_s == pytest.approx(reading.time_s, abs=0.0011)
        assert (found.quality, found.reason) == (reading.quality, reading.reason)


@given(packs)
def test_no_number_on_the_wire_shows_more_than_is_measured(pack: Pack) -> None:
    for record in json.loads(encode_pack(pack)):
        for field in ("v", "t", "bt", "su"):
            digits = re.sub(r"e.*|\D", "", repr(record.get(field, 0)))
            assert len(digits.strip("0")) <= 16, record
        assert not re.fullmatch(r"-0\.?0*", repr(record.get("v", 1)))


def test_kelvin_become_degrees_celsius_without_a_tail() -> None:
    payload = encode_pack(make_pack(suction_line_temperature=310.0))
    assert b'"u":"Cel","v":36.85,' in payload


@given(packs)
def test_a_pack_is_senml(pack: Pack) -> None:
    # RFC 8428: section 4.2 (base and regular fields), 4.5.1 (names), 12.1 (units)
    records = json.loads(encode_pack(pack))
    base = records[0]["bn"]
    for record in records:
        name = base + record["n"]
        assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*", name)
        assert sum(field in record for field in ("v", "vs", "vb")) == 1
        assert record.get("u", "s") in REGISTERED_UNITS
        assert not any(field.endswith("_") for field in record)


def test_every_quantity_has_a_registered_unit() -> None:
    assert {quantity.senml_unit for quantity in Quantity} <= REGISTERED_UNITS


def test_fields_of_a_newer_version_are_left_out() -> None:
    # RFC 8428, section 4.4: unknown fields are ignored
    payload = encode_pack(make_pack()).replace(b'"u":"Pa"', b'"u":"Pa","novelty":[1]')
    payload = payload[:-1] + b',{"n":"oil_level","v":3}]'
    assert decode_pack(payload).readings.keys() == {"suction_pressure"}


GOOD = encode_pack(make_pack())


@pytest.mark.parametrize(
    ("payload", "complaint"),
    [
        (b"", "truncated"),
        (b"\xff\xfe", "malformed"),
        (b'[{"bn":"a\xff/"}]', "utf-8"),
        (b"[]", "no base name"),
        (b'{"bn":"bench/"}', "array"),
        (b'[{"n":"pack","v":1}]', "no base name"),
        (GOOD.replace(b'"v":1}', b'"v":NaN}'), "malformed"),
        (GOOD.replace(b'"n":"session","v":1', b'"n":"session","v":1.5'), "not a whole number"),
        (GOOD.replace(b'"n":"session","v":1', b'"n":"session","vs":"one"'), "no number for 'session'"),
        (GOOD.replace(b'"n":"epoch"', b'"n":"epoche"'), "no number for 'epoch'"),
        (GOOD.replace(b'"u":"Pa"', b'"u":"psi"'), "not in 'Pa'"),
        (GOOD.replace(b'"u":"Pa"', b'"u":"Pa","q":"splendid"'), "unknown quality"),
        (b'[{"bn":"bench/","novelty":' + b"[" * 60_000, "recursion"),
        (b" " * (LARGEST_MESSAGE_BYTES + 1), "at most 65536"),
        (re.sub(rb'"bt":[0-9.]+', b'"bt":1e308', GOOD), "which no calendar has"),
        (re.sub(rb'"bt":[0-9.]+', b'"bt":253402300800.0', GOOD), "which no calendar has"),
        (re.sub(rb'"bt":[0-9.]+', b'"bt":-62135596801.0', GOOD), "which no calendar has"),
    ],
)
def test_what_is_no_pack_is_refused(payload: bytes, complaint: str) -> None:
    with pytest.raises(MessageError, match=f"(?i){complaint}"):
        decode_pack(payload)


def test_the_largest_message_is_accepted() -> None:
    padded = GOOD + b" " * (LARGEST_MESSAGE_BYTES - len(GOOD))
    assert decode_pack(padded) == decode_pack(GOOD)


def test_the_largest_ask_is_accepted_and_a_larger_one_is_not_even_looked_into() -> None:
    ask = NoteAsk("a1", "Sam", text="Let it sit.")
    padded = encode(ask) + b" " * (LARGEST_MESSAGE_BYTES - len(encode(ask)))
    assert (decode_ask(padded), read_id(padded)) == (ask, "a1")
    with pytest.raises(MessageError, match="65537 bytes; at most 65536 are accepted"):
        decode_ask(padded + b" ")
    assert read_id(padded + b" ") == ""


def test_an_ask_that_nobody_would_read_is_not_written() -> None:
    around = len(encode(NoteAsk("a1", "Sam", text="")))
    largest = NoteAsk("a1", "Sam", text="x" * (LARGEST_MESSAGE_BYTES - around))
    assert decode_ask(encode_ask(largest)) == largest
    with pytest.raises(MessageError, match="65537 bytes"):
        encode_ask(msgspec.structs.replace(largest, text=largest.text + "x"))
    for other in ("", "a b", "a1\n", "a" * 65, "a/b", "ä"):
        with pytest.raises(MessageError, match="its id is not 1 to 64 letters, digits, - and _"):
            encode_ask(msgspec.structs.replace(largest, id=other, text="x"))


@given(st.binary(max_size=200))
def test_whatever_comes_only_a_message_error_goes_up(payload: bytes) -> None:
    for read in (decode_ask, decode_mark, decode_pack, partial(decode, kind=Status), partial(decode, kind=Advice)):
        try:
            read(payload)
        except MessageError:
            continue


def test_a_message_survives_the_wire() -> None:
    ask = AddedAsk(id="a1", by="Sam", mass_kg=0.113, phase="liquid")
    assert decode_ask(encode(ask)) == ask
    with pytest.raises(MessageError, match="kind"):
        decode_ask(encode(ask).replace(b"added", b"erase"))


def test_a_mark_of_an_earlier_record_is_still_read() -> None:
    """As they were written when one struct served every kind."""
    old = b'{"id":"a","kind":"added","time_s":1700000000.0,"by":"Sam","role":"technician","text":"cylinder 4",'
    old += b'"mass_kg":0.113,"phase":"liquid"}'
    assert decode_mark(old) == Added("a", 1.7e9, "Sam", "technician", "cylinder 4", mass_kg=0.113, phase="liquid")
    note = b'{"id":"n","kind":"note","time_s":1700000000.0,"by":"Robin","role":"lead","text":"Let it sit."}'
    assert decode_mark(note) == Note("n", 1.7e9, "Robin", "lead", "Let it sit.")
    link = b'{"id":"l","kind":"link","time_s":1700000000.0,"text":"probe: waiting"}'
    assert decode_mark(link) == LinkChanged("l", 1.7e9, text="probe: waiting")


def test_topics() -> None:
    assert topic("van-3", "readings") == "dewline/1/van-3/readings"
    assert rig_and_kind("dewline/1/van-3/ask/note") == ("van-3", "ask/note")
    for other in ("dewline/2/van-3/readings", "dewline/1/van-3", "elsewhere"):
        with pytest.raises(MessageError):
            rig_and_kind(other)


def test_a_broker_address() -> None:
    address = BrokerAddress.parse("mqtts://van%203@192.0.2.7", password="a b")
    assert (address.host, address.port, address.tls) == ("192.0.2.7", 8883, True)
    assert (address.user, address.password) == ("van 3", "a b")
    assert BrokerAddress.parse("mqtt://localhost:18830").client_arguments()["port"] == 18830
    assert "tls_context" in address.client_arguments()
    for url in ("http://192.0.2.7", "192.0.2.7:1883", "mqtt://"):
        with pytest.raises(MessageError, match="is not of the form"):
            BrokerAddress.parse(url)


def test_messages_are_frozen() -> None:
    with pytest.raises(AttributeError):
        make_pack().session = 2  # type: ignore[misc]
    assert msgspec.structs.replace(make_pack(), session=2).session == 2
