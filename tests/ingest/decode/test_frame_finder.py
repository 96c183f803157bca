"""Frames of fixed length out of a stream: whole, in order, and everything else counted."""

from hypothesis import given
from hypothesis import strategies as st

from ingest.decode.frame_finder import FrameFinder
from tests.fuzzing import fuzz

LENGTH = 4


def is_frame(frame: bytes) -> bool:
    return frame[0] == 0x3C and frame[3] == 0x3E


def finder() -> FrameFinder:
    return FrameFinder(LENGTH, is_frame)


def test_the_frame_under_way_at_first_is_skipped_in_silence() -> None:
    assert finder().feed(b"ab><12><34>") == [b"<12>", b"<34>"]


def test_what_lies_between_frames_is_delivered_for_the_decoder_to_refuse() -> None:
    assert finder().feed(b"<12>xy<34>") == [b"<12>", b"xy", b"<34>"]


def test_a_stream_of_another_kind_comes_in_pieces_of_a_frames_length() -> None:
    """A wrong speed shows as refused frames, not as silence."""
    assert finder().feed(b"x" * 16) == [b"x", b"xxxx", b"xxxx"]


def test_a_frame_may_begin_within_what_looked_like_one() -> None:
    assert finder().feed(b"<1<23>") == [b"<23>"]


@fuzz
@given(st.lists(st.binary(min_size=2, max_size=2), min_size=1), st.lists(st.integers(1, 9)))
def test_frames_come_whole_however_they_are_cut(middles: list[bytes], cuts: list[int]) -> None:
    sent = [b"<" + middle + b">" for middle in middles]
    stream, frames, received = b"".join(sent), finder(), []
    for cut in [*cuts, len(stream)]:
        received += frames.feed(stream[:cut])
        stream = stream[cut:]
    assert received == sent


@fuzz
@given(st.lists(st.binary(max_size=30)))
def test_nothing_is_lost_or_kept_for_long(chunks: list[bytes]) -> None:
    frames = finder()
    received = [frame for chunk in chunks for frame in frames.feed(chunk)]
    stream = b"".join(chunks)
    assert all(0 < len(frame) <= LENGTH for frame in received)
    joined = b"".join(received)
    assert len(stream) - len(joined) <= (LENGTH - 1) + (2 * LENGTH - 2)
    assert joined in stream
