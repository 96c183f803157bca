"""Chunks: whatever was published comes back to the byte."""

import zlib

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.record.chunks import can_share_a_chunk, from_chunk, nearest_in_chunk, to_chunk
from ingest.wire.messages import Pack, decode_pack, encode_pack
from tests.ingest.wire.test_messages import readings
from tests.rigs import make_pack

NAMES = ("suction_pressure", "liquid_line_temperature", "capacitance_fan", "superheat", "compressor_load_ratio")


@st.composite
def runs_of_packs(draw: st.DrawFn) -> list[Pack]:
    names = draw(st.lists(st.sampled_from(NAMES), unique=True))
    moments = draw(st.lists(st.tuples(st.floats(0, 1e8), st.floats(1e9, 2e9)), min_size=1, max_size=8))
    first = draw(st.integers(1, 2**50))
    return [
        Pack(
            rig="bench",
            sequence=first + index,
            session=3,
            epoch=draw(st.integers(0, 5)),
            monotonic_s=monotonic_s,
            time_s=time_s,
            readings={name: draw(readings(name)) for name in names},
            unsaved_packs=draw(st.integers(0, 100)),
        )
        for index, (monotonic_s, time_s) in enumerate(moments)
    ]


@given(runs_of_packs())
def test_what_was_published_comes_back_to_the_byte(packs: list[Pack]) -> None:
    published = [encode_pack(pack) for pack in packs]
    assert [encode_pack(pack) for pack in from_chunk(to_chunk([decode_pack(it) for it in published]))] == published


WRITTEN = (
    b'["bench",7,3,[[3,0]],[[2,0],[1,1]],[1000000000,250,250],[1700000000000,250,250],[["suction_pressure",'
    b'[[2,true],[1,false]],[9149060,10],[1700000000000,250,250],[[2,"ok"],[1,"stale"]],[[2,""],[1,"silent"]],'
    b"[[3,null]]]]]"
)
"""Three packs as chunks have been written from the first on. In a record they stay for ever."""


def test_what_was_written_long_ago_is_read_as_it_was() -> None:
    packs = from_chunk(zlib.compress(WRITTEN))
    assert [(pack.rig, pack.sequence, pack.session, pack.epoch, pack.unsaved_packs) for pack in packs] == [
        ("bench", 7, 3, 0, 0),
        ("bench", 8, 3, 0, 0),
        ("bench", 9, 3, 0, 1),
    ]
    assert [pack.time_s for pack in packs] == [1_700_000_000.0, 1_700_000_000.25, 1_700_000_000.5]
    assert [pack.monotonic_s for pack in packs] == [1_000_000.0, 1_000_000.25, 1_000_000.5]
    readings = [pack.readings["suction_pressure"] for pack in packs]
    assert [(it.value, it.quality, it.reason) for it in readings] == [
        (914_906.0, "ok", ""),
        (914_907.0, "ok", ""),
        (None, "stale", "silent"),
    ]
    assert zlib.decompress(to_chunk(packs)) == WRITTEN


@pytest.mark.parametrize(
    ("whole", "short"),
    [
        (b"[[3,0]]", b"[[2,0]]"),
        (b"[[2,0],[1,1]]", b"[[2,0]]"),
        (b"[1000000000,250,250]", b"[1000000000,250]"),
        (b'[[2,"ok"],[1,"stale"]]', b'[[2,"ok"]]'),
        (b"[[3,null]]", b"[[2,null]]"),
    ],
)
def test_a_chunk_that_lacks_something_is_not_read_as_a_shorter_one(whole: bytes, short: bytes) -> None:
    assert whole in WRITTEN
    with pytest.raises(ValueError, match="zip"):
        from_chunk(zlib.compress(WRITTEN.replace(whole, short)))


def test_only_packs_of_the_same_columns_share_a_chunk() -> None:
    pack = make_pack(superheat=5.0, subcooling=6.0)
    assert can_share_a_chunk(pack, make_pack(superheat=7.0, subcooling=6.0))
    assert not can_share_a_chunk(pack, make_pack(subcooling=6.0, superheat=5.0))
    assert not can_share_a_chunk(pack, msgspec.structs.replace(pack, session=2))


@given(runs_of_packs(), st.data())
def test_the_nearest_pack_of_a_chunk_is_one_of_its_packs(packs: list[Pack], data: st.DataObject) -> None:
    known = [decode_pack(encode_pack(pack)) for pack in packs]
    time_s = data.draw(st.sampled_from([pack.time_s for pack in known]) | st.floats(1e9, 2e9))
    found = nearest_in_chunk(to_chunk(known), time_s)
    assert found in known
    assert abs(found.time_s - time_s) <= min(abs(pack.time_s - time_s) for pack in known) + 1e-3
