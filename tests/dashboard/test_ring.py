"""The past in memory and its bins: nothing twice, nothing unbounded, no peak lost."""

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.ring import Ring
from ingest.wire.messages import Pack, Reading

LARGEST_BIN_COUNT = 1200
"""More than a wide screen has pixels for."""

START_S = 1.7e9


def pack(sequence: int | None, superheat_dk: float | None = 5.0, *, at_s: float = 0.0, quality: str = "ok") -> Pack:
    reading = Reading(superheat_dk, START_S + at_s, quality)
    return Pack("bench", sequence, 1, 0, at_s, START_S + at_s, {"superheat": reading})


def filled(capacity: int, count: int) -> Ring:
    ring = Ring(capacity)
    for sequence in range(count):
        ring.append(pack(sequence, float(sequence), at_s=sequence))
    return ring


def test_the_oldest_gives_way() -> None:
    ring = filled(4, 10)
    assert len(ring) == 4
    assert ring.rows()["superheat"].tolist() == [6, 7, 8, 9]


def test_a_pack_delivered_twice_is_recognised_saved_or_not() -> None:
    ring = filled(8, 3)
    assert ring.holds(pack(2, at_s=2))
    assert not ring.holds(pack(3, at_s=3))
    ring.append(pack(None, at_s=4))
    assert ring.holds(pack(None, at_s=4))
    assert not ring.holds(pack(None, at_s=5))


@pytest.mark.parametrize("quality", ["stale", "sensor_fault", "out_of_range", "overload", "malformed"])
def test_what_is_not_to_be_trusted_breaks_the_line(quality: str) -> None:
    ring = filled(8, 2)
    ring.append(pack(2, 99.0, at_s=2, quality=quality))
    assert np.isnan(ring.rows()["superheat"][-1])


def test_packs_that_agree_in_all_but_one_of_their_numbers_are_two() -> None:
    """A new session may begin within the millisecond, and a clock that is set back gives a time again."""
    ring = Ring(8)
    ring.append(pack(2, at_s=2))
    assert ring.holds(pack(2, at_s=2))
    assert not ring.holds(pack(2, at_s=3))
    assert not ring.holds(pack(3, at_s=2))
    assert not ring.holds(msgspec.structs.replace(pack(2, at_s=2), session=2))


def test_a_place_that_is_used_again_keeps_nothing_of_what_was_there() -> None:
    """Or an instrument that was lost would go on with what it read four hours ago."""
    ring = filled(4, 4)
    ring.append(pack(4, None, at_s=4))
    superheat_dk = ring.rows()["superheat"]
    assert superheat_dk[:3].tolist() == [1, 2, 3]
    assert np.isnan(superheat_dk[3])


def test_a_stretch_has_its_first_and_its_last_pack() -> None:
    assert filled(8, 6).since(START_S + 1, START_S + 4)["superheat"].tolist() == [1, 2, 3, 4]


def test_four_hours_are_kept_at_four_packs_a_second() -> None:
    assert Ring().capacity == 57_600


def test_packs_out_of_order_come_out_in_order_of_time() -> None:
    ring = Ring(8)
    for sequence in (0, 3, 1, 2):
        ring.append(pack(sequence, float(sequence), at_s=sequence))
    rows = ring.since(START_S + 0.5, START_S + 10)
    assert rows["superheat"].tolist() == [1, 2, 3]


@given(capacity=st.integers(1, 12), recorded=st.integers(0, 12), heard=st.sets(st.integers(0, 20)))
def test_the_record_joins_what_was_heard_without_gap_or_double(capacity: int, recorded: int, heard: set[int]) -> None:
    past = filled(32, recorded)
    live = Ring(capacity)
    for sequence in sorted(heard):
        live.append(pack(sequence, float(sequence), at_s=sequence))
    kept = sorted(heard)[-capacity:]
    live.merge(past)
    rows = live.rows()
    assert rows["sequence"].tolist() == sorted({*range(recorded), *kept})[-capacity:]
    assert rows.get("superheat", rows["sequence"]).tolist() == rows["sequence"].tolist()


def test_only_what_the_record_has_and_this_page_has_not_is_missing() -> None:
    ring = Ring(64)
    seconds = {1: 0, 2: 1, 40: 61, 41: 62, 42: 122, 44: 123, 1042: 4000}  # by number; 3 to 39 came elsewhere
    for sequence, at_s in seconds.items():
        ring.append(pack(sequence, at_s=at_s))
    ring.append(pack(None, at_s=30))  # was not saved: the record has no more of it than this page
    assert ring.missing(START_S, START_S + 200) == [(START_S + 1, START_S + 61)]  # the rig was silent from 62 to 122
    assert ring.missing(START_S + 70, START_S + 5000) == [(START_S + 123, START_S + 4000)]
    assert Ring(4).missing(0.0, 1e10) == []


@pytest.mark.parametrize(("silent_s", "holes"), [(5.0, 0), (5.25, 1)])
def test_what_shows_no_hole_on_a_chart_is_not_looked_for(silent_s: float, holes: int) -> None:
    """Five seconds, common practice, no source: less than two pixels of four hours."""
    ring = Ring(8)
    for sequence, at_s in ((1, 0.0), (4, silent_s)):
        ring.append(pack(sequence, at_s=at_s))
    assert len(ring.missing(START_S, START_S + silent_s)) == holes


def test_one_pack_that_is_missing_is_looked_for() -> None:
    ring = Ring(8)
    for sequence, at_s in ((1, 0.0), (3, 60.0)):
        ring.append(pack(sequence, at_s=at_s))
    assert ring.missing(START_S, START_S + 60) == [(START_S, START_S + 60)]


def test_a_record_that_counts_from_one_again_is_no_hole() -> None:
    ring = Ring(8)
    for sequence, at_s in ((900, 0), (1, 60), (2, 61)):
        ring.append(pack(sequence, at_s=at_s))
    assert ring.missing(START_S, START_S + 100) == []


def test_between_a_pack_that_was_not_saved_and_the_next_nothing_is_looked_for() -> None:
    ring = Ring(8)
    ring.append(pack(None, at_s=0))
    ring.append(pack(900, at_s=60))
    assert ring.missing(START_S, START_S + 100) == []


def test_a_clock_that_was_set_and_set_back_leaves_no_hole() -> None:
    """The packs are here, stamped an hour later; only their stamps stand apart."""
    ring = Ring(16)
    for sequence, at_s in ((1, 0), (2, 1), (3, 3602), (4, 3603), (5, 4), (6, 5)):
        ring.append(pack(sequence, at_s=at_s))
    assert ring.missing(START_S, START_S + 5000) == []
