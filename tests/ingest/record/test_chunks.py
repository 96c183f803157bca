"""Chunks: whatever was published comes back to the byte."""

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from ingest.record.chunks import can_share_a_chunk, from_chunk, to_chunk
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


def test_only_packs_of_the_same_columns_share_a_chunk() -> None:
    pack = make_pack(superheat=5.0, subcooling=6.0)
    assert can_share_a_chunk(pack, make_pack(superheat=7.0, subcooling=6.0))
    assert not can_share_a_chunk(pack, make_pack(subcooling=6.0, superheat=5.0))
    assert not can_share_a_chunk(pack, msgspec.structs.replace(pack, session=2))
