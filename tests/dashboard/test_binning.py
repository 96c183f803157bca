"""Bins of a chart: no peak lost, and nothing drawn where nothing was measured."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from dashboard.binning import Binned, bin_extremes
from dashboard.ring import Column

LARGEST_BIN_COUNT = 1200
"""More than a wide screen has pixels for."""
SMALLEST_GAP_S = 5.0
"""What is shorter shows no hole on a chart: common practice, no source."""
PACK_S = 0.25
Hole = tuple[float, float]

values = st.lists(st.one_of(st.just(float("nan")), st.floats(-1e3, 1e3)), min_size=1, max_size=5000)
holes = st.lists(st.tuples(st.floats(1.0, 14_000.0), st.floats(5.5, 900.0)), min_size=1, max_size=5)
"""Where each begins, and how long it lasts [s]."""


@given(values)
def test_binning_keeps_the_lowest_and_the_highest_of_all(column: list[float]) -> None:
    given_column = np.array(column)
    binned = bin_extremes({"time_s": np.arange(len(column)) / 4, "superheat": given_column}, 50)
    silences = len(column) // 20  # of more than 5 s, at most: each ends one bin and begins another
    assert len(binned.time_s) <= 50 + 2 * silences + 2
    if np.all(np.isnan(given_column)):
        assert "superheat" not in binned.low
    else:
        assert np.nanmin(binned.low["superheat"]) == np.nanmin(given_column)
        assert np.nanmax(binned.high["superheat"]) == np.nanmax(given_column)


def test_an_inrush_of_one_sample_survives_four_hours() -> None:
    amps = np.full(57_600, 7.6)
    amps[31_337] = 62.0
    binned = bin_extremes({"time_s": np.arange(57_600) / 4, "compressor_current": amps})
    assert len(binned.time_s) <= LARGEST_BIN_COUNT
    assert binned.high["compressor_current"].max() == 62.0


@given(holes, st.integers(4000, 57_600))
def test_no_line_is_drawn_into_or_through_a_hole_in_the_record(silent: list[Hole], packs: int) -> None:
    every_s = np.arange(packs) * PACK_S
    time_s = every_s[~_within_any(every_s, silent)]
    if len(time_s) < 2:
        return
    _assert_that_silences_stay_empty(bin_extremes({"time_s": time_s, "superheat": np.ones(len(time_s))}), time_s)


@given(holes, st.integers(4000, 57_600))
def test_no_line_is_drawn_into_or_through_the_silence_of_one_channel(silent: list[Hole], packs: int) -> None:
    time_s = np.arange(packs) * PACK_S
    superheat = np.where(_within_any(time_s, silent), np.nan, 11.0)
    heard_s = time_s[~np.isnan(superheat)]
    if len(heard_s) < 2:
        return
    binned = bin_extremes({"time_s": time_s, "superheat": superheat, "subcooling": np.ones(packs)})
    _assert_that_silences_stay_empty(binned, heard_s)


def test_a_line_ends_where_its_channel_stopped() -> None:
    time_s = np.arange(57_600) * PACK_S  # bins of 12 s: the flat line would run on to the middle of its last
    superheat = np.where(time_s <= 601.0, 11.0, np.nan)
    binned = bin_extremes({"time_s": time_s, "superheat": superheat})
    assert binned.time_s[~np.isnan(binned.low["superheat"])].max() <= 601.0


def _within_any(time_s: Column, silent: list[Hole]) -> Column:
    inside = np.zeros(len(time_s), bool)
    for start_s, length_s in silent:
        inside |= (time_s > start_s) & (time_s < start_s + length_s)
    return inside


def _assert_that_silences_stay_empty(binned: Binned, heard_s: Column) -> None:
    """Between two packs that are far apart there is no point, and the line is broken."""
    known = ~np.isnan(binned.low["superheat"])
    drawn_s = binned.time_s[known]
    assert not np.isnan(drawn_s).any()
    for row in np.flatnonzero(np.diff(heard_s) > SMALLEST_GAP_S):
        assert not np.any((drawn_s > heard_s[row]) & (drawn_s < heard_s[row + 1]))
        last = np.flatnonzero(known & (binned.time_s <= heard_s[row]))[-1]
        first = np.flatnonzero(known & (binned.time_s >= heard_s[row + 1]))[0]
        assert first > last + 1, "a line joins the two sides"
