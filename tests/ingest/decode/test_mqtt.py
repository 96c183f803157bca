"""What instruments publish: plain numbers, JSON documents (RFC 8259, RFC 6901) and SenML packs (RFC 8428).

The examples of the standards are in tests/captures/mqtt.
"""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.mqtt import MqttDecoder, MqttValue
from ingest.decode.senml import read_senml
from ingest.frames import Earlier, Frame, FrameError, InUnit, Malformed, Stamp, Unreadable, Value
from tests.fuzzing import fuzz

LARGEST_MESSAGE_BYTES = 64 * 1024
"""64 KiB: what docs/asyncapi.yaml promises."""

NOW_S = 1_700_000_000.0


def frame(payload: bytes, topic: str = "it") -> Frame:
    return Frame(payload, Stamp(0, round(NOW_S * 1e9)), topic)


def plain(payload: bytes) -> Value:
    return MqttDecoder({"it": MqttValue("it")})(frame(payload))["it"]


def at(pointer: str, payload: bytes) -> Value:
    return MqttDecoder({"it": MqttValue("it", pointer=pointer)})(frame(payload))["it"]


def senml(payload: bytes, name: str = "roof/air", unit: str = "Cel") -> object:
    return MqttDecoder({"it": MqttValue("it", senml=name, unit=unit)})(frame(payload)).get("it")


@pytest.mark.parametrize(("payload", "value"), [(b"118.2", 118.2), (b" -5.4e1\r\n", -54.0), (b".5", 0.5)])
def test_plain_number(payload: bytes, value: float) -> None:
    assert plain(payload) == value


@pytest.mark.parametrize("payload", [b"nan", b"unavailable", b"unknown", b'{"t": "unavailable"}'])
def test_what_a_hub_says_of_a_value_that_is_not_there_is_no_reading(payload: bytes) -> None:
    """What home-automation hubs and firmwares publish in the place of a number: from memory."""
    value = MqttValue("it", pointer="/t" if payload.startswith(b"{") else None)
    assert MqttDecoder({"it": value})(frame(payload)) == {"it": Unreadable.UNKNOWN}


def test_a_number_with_its_unit_is_in_that() -> None:
    found = plain(b"118.2 psi")
    assert isinstance(found, InUnit)
    assert (float(found), found.unit) == (118.2, "psi")


def test_plain_overload() -> None:
    assert plain(b"OL") is Unreadable.OVERLOAD


@pytest.mark.parametrize("payload", [b"", b" ", b"118,2", b"\xff", b'"1"', b"1e999", b"on"])
def test_plain_refused(payload: bytes) -> None:
    with pytest.raises(FrameError):
        plain(payload)


@pytest.mark.parametrize(
    ("payload", "value"),
    [
        (b'{"a": [7, {"b": 23.5}]}', 23.5),
        (b'{"a": [7, {"b": "23.5"}]}', 23.5),
        (b'{"a": [7, {"b": "OL"}]}', Unreadable.OVERLOAD),
        (b'{"a": [7, {"b": null}]}', Unreadable.UNKNOWN),
    ],
)
def test_json_number(payload: bytes, value: Value) -> None:
    assert at("/a/1/b", payload) == value


def test_the_whole_document_is_the_empty_pointer() -> None:
    assert at("", b"23.5") == 23.5


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        (b"{}", "nothing at /a/1"),
        (b'{"a": {"01": 5}}', "nothing at /a/1"),
        (b'{"a": [5]}', "nothing at /a/1"),
        (b'{"a": 5}', "nothing at /a/1"),
        (b'{"a": [5, true]}', "not a number"),
        (b'{"a": [5, {}]}', "not a number"),
        (b'{"a": [5, "high"]}', "not a number"),
        (b'{"a": [5, 1e999]}', "JSON|beyond"),
        (b'{"a": [5, ' + b"9" * 400 + b"]}", "JSON|beyond"),
        (b'{"a": [5, NaN]}', "not a JSON document"),
        (b"\xff", "not a JSON document"),
        (b"[" * 5000, "not a JSON document"),
        (b" " * (LARGEST_MESSAGE_BYTES + 1), "at most"),
    ],
)
def test_json_refused(payload: bytes, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        at("/a/1", payload)


@pytest.mark.parametrize("index", ["01", "-", "-1", "1.0", "+1", "١"])
def test_an_index_is_digits_without_a_leading_zero(index: str) -> None:
    """RFC 6901, section 4."""
    with pytest.raises(FrameError, match="nothing at"):
        at(f"/{index}", b"[5, 6]")


def test_a_key_given_twice_has_no_value() -> None:
    assert at("/e", b'{"d": 20.5, "e": 7, "d": 60}') == 7.0
    with pytest.raises(FrameError, match="the document gives 'd' of /d twice"):
        at("/d", b'{"d": 20.5, "e": 7, "d": 60}')
    with pytest.raises(FrameError, match="gives 'a' of /a/d twice"):
        at("/a/d", b'{"a": {"d": 1}, "a": {"d": 2}}')
    with pytest.raises(FrameError, match="a record gives 'v' twice"):
        senml(b'[{"n": "roof/air", "u": "Cel", "v": 12.0, "v": 13.0}]')


def test_one_odd_value_of_a_payload_is_told_by_name_and_leaves_the_others_alone() -> None:
    decode = MqttDecoder({name: MqttValue("it", pointer=f"/{name}") for name in ("t", "h")})
    assert decode(frame(b'{"t": 23.5, "h": 52}')) == {"t": 23.5, "h": 52.0}
    assert decode(frame(b'{"t": 23.5}')) == {"t": 23.5, "h": Malformed("the document has nothing at /h")}
    assert decode(frame(b'{"t": true, "h": 52}')) == {"t": Malformed("True is not a number"), "h": 52.0}
    assert decode(frame(b'{"t": "high", "h": null}')) == {
        "t": Malformed("'high' is not a number"),
        "h": Unreadable.UNKNOWN,
    }
    with pytest.raises(FrameError, match="nothing at /t"):
        decode(frame(b'{"other": 7}'))


def test_one_senml_record_in_another_unit_leaves_the_others_alone() -> None:
    decode = MqttDecoder({name: MqttValue("it", senml=name, unit="Cel") for name in ("a", "b", "c")})
    pack = b'[{"bu": "Cel", "n": "a", "v": 12.0}, {"n": "b", "u": "K", "v": 285.15}]'
    assert decode(frame(pack)) == {"a": 12.0, "b": Malformed("b comes in 'K', not in 'Cel'")}
    assert len(str(decode(frame(b'[{"bu": "Cel", "n": "a", "v": 1}, {"n": "b", "u": "%s"}]' % (b"x" * 900))))) < 200


def test_another_topic_is_refused() -> None:
    with pytest.raises(FrameError, match="not one that we read"):
        MqttDecoder({"it": MqttValue("it")})(frame(b"5", "other"))


@pytest.mark.parametrize(
    ("pack", "value"),
    [
        ('[{"n": "roof/air", "u": "Cel", "v": 23.5}]', 23.5),
        ('[{"bn": "roof/", "bu": "Cel"}, {"n": "air", "v": 23.5}]', 23.5),
        ('[{"bn": "roof/", "bv": 20, "bu": "Cel", "n": "air", "v": 3.5}]', 23.5),
        ('[{"bn": "roof/air", "bv": 20, "bu": "Cel"}]', 20.0),
        ('[{"n": "roof/air", "u": "Cel", "v": 1, "t": -3}, {"n": "roof/air", "u": "Cel", "v": 2, "t": -4}]', 1.0),
        ('[{"n": "roof/air", "u": "Cel", "v": 23.5, "hint": {"a_": [1]}}]', 23.5),
        ('[{"n": "roof/other", "u": "Cel", "v": 23.5}]', None),
        ("[]", None),
    ],
)
def test_senml_record(pack: str, value: float | None) -> None:
    assert senml(pack.encode()) == value


@pytest.mark.parametrize(
    ("pack", "says"),
    [
        ('[{"n": "roof/air", "u": "K", "v": 296.65}]', "comes in 'K', not in 'Cel'"),
        ('[{"n": "roof/air", "v": 23.5}]', "comes in '', not in 'Cel'"),
        ('[{"n": "roof/air", "u": "Cel", "vs": "warm"}]', "without a number"),
        ('[{"n": "roof/air", "u": "Cel", "bv": 5, "vb": true}]', "without a number"),
        ('[{"n": "roof/air", "u": "Cel", "s": 5}]', "without a number"),
        ('[{"n": "roof/air", "u": "Cel", "v": 5, "t": -60}]', "60 s old"),
        ('[{"n": "roof/air", "u": "Cel", "v": 5, "t": 1699999000}]', "1000 s old"),
        ('[{"n": "roof/air", "u": "Cel", "v": 5, "t": 1700000060}]', "-60 s old"),
        ('[{"n": "roof/air", "u": "Cel", "v": 5, "vs": "warm"}]', "more than one value"),
        ('[{"n": "roof/air", "u": "Cel", "v": 1e308, "bv": 1e308}]', "beyond all bounds"),
        ('[{"n": "roof/air", "u": "Cel", "v": 5, "t": 1e308, "bt": 1e308}]', "beyond all bounds"),
        ('[{"u": "Cel", "v": 5}]', "not a name"),
        ('[{"n": "/roof", "u": "Cel", "v": 5}]', "not a name"),
        ('[{"n": "roof air", "u": "Cel", "v": 5}]', "not a name"),
        ('[{"bver": 11, "n": "roof/air", "u": "Cel", "v": 5}]', "version 11"),
        ('[{"n": "roof/air", "u": "Cel", "v": 5, "critical_": 1}]', "'critical_' must be understood"),
        ('{"n": "roof/air", "u": "Cel", "v": 5}', "not a SenML pack"),
        ('[{"n": "roof/air", "u": "Cel", "v": "5"}]', "not a SenML pack"),
        ('[{"n": "roof/air", "u": "Cel", "v": NaN}]', "not a SenML pack"),
    ],
)
def test_senml_refused(pack: str, says: str) -> None:
    with pytest.raises(FrameError, match=says):
        senml(pack.encode())


@pytest.mark.parametrize(
    ("own", "by_s"), [("", None), (', "t": -3', 3.0), (', "bt": 1699999995, "t": 1', 4.0), (', "t": 3', None)]
)
def test_a_record_with_an_earlier_time_of_its_own_was_measured_then(own: str, by_s: float | None) -> None:
    """RFC 8428, 4.1 and 4.2: `bt` and `t` say when it was measured, not when it was sent."""
    value = senml(f'[{{"n": "roof/air", "u": "Cel", "v": 23.5{own}}}]'.encode())
    assert value == 23.5
    assert (value.by_s if isinstance(value, Earlier) else None) == by_s


def test_a_time_is_relative_below_two_to_the_28() -> None:
    """RFC 8428, 4.5.3."""
    pack = b'[{"n": "a", "v": 1, "t": 268435455}, {"n": "b", "v": 1, "t": 268435456}]'
    assert [reading.time_s for reading in read_senml(pack, NOW_S)] == [NOW_S + 268435455, 268435456]


def test_a_pack_that_is_too_large_is_refused_before_it_is_read() -> None:
    with pytest.raises(FrameError, match="at most"):
        read_senml(b" " * (LARGEST_MESSAGE_BYTES + 1), NOW_S)


DECODER = MqttDecoder(
    {
        "plain": MqttValue("plain"),
        "whole": MqttValue("document", pointer=""),
        "part": MqttValue("document", pointer="/a/0"),
        "record": MqttValue("pack", senml="a", unit=""),
        "both": MqttValue("mixed", senml="a", unit="Cel"),
        "forms": MqttValue("mixed", pointer="/0/v"),
    }
)
likely_json = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=3), st.sampled_from(["a", "OL"])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["a", "n", "bn", "v", "u", "t", "bt", "bv", "vs", "bver", "x_"]), inner),
    ),
    max_leaves=8,
).map(lambda document: json.dumps(document).encode())


@fuzz
@given(
    st.one_of(st.binary(max_size=60), likely_json, st.from_regex(rb"[-+0-9.eEOL ]{0,20}", fullmatch=True)),
    st.sampled_from(["plain", "document", "pack", "mixed", "other"]),
)
def test_any_payload_gives_finite_numbers_or_a_frame_error(payload: bytes, topic: str) -> None:
    try:
        values = DECODER(frame(payload, topic))
    except FrameError:
        return
    assert all(isinstance(value, Unreadable | Malformed) or math.isfinite(value) for value in values.values())
