"""Fewer points for a chart, with every peak kept: the lowest and the highest value of each bin."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dashboard.ring import SMALLEST_GAP_S, Column

LARGEST_BIN_COUNT = 1200
"""More than a wide screen has pixels; beyond it the browser only gets slower."""

Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Binned:
    """Bins in order of time; NaN separates stretches between which nothing was recorded.

    time_s: the middle of each bin [s since 1970]. low, high: by name, the extremes in each bin.
    """

    time_s: Column
    low: Mapping[str, Column]
    high: Mapping[str, Column]


def bin_extremes(rows: Mapping[str, Column], largest_bin_count: int = LARGEST_BIN_COUNT) -> Binned:
    """Bin columns that share a `time_s` in rising order; every column must hold at least one row.

    A bin ends where a column falls silent and where it is heard again, however many bins that makes beside the
    largest count: a bin's middle in a hole would draw a line through what nobody measured.
    """
    time_s = rows["time_s"]
    limit_s = _longest_pause_s(time_s)
    size = max(1, -(-len(time_s) // largest_bin_count))
    starts = np.arange(0, len(time_s), size)
    for column in rows.values():
        starts = np.union1d(starts, _edges_of_silences(time_s, column, limit_s))
    ends = np.append(starts[1:], len(time_s)) - 1
    gaps = np.flatnonzero(time_s[starts[1:]] - time_s[ends[:-1]] > limit_s) + 1
    names = [name for name in rows if name != "time_s" and not np.all(np.isnan(rows[name]))]
    return Binned(
        time_s=np.insert((time_s[starts] + time_s[ends]) / 2, gaps, np.nan),
        low={name: np.insert(np.fmin.reduceat(rows[name], starts), gaps, np.nan) for name in names},
        high={name: np.insert(np.fmax.reduceat(rows[name], starts), gaps, np.nan) for name in names},
    )


def _longest_pause_s(time_s: Column) -> float:
    """Give the longest pause that is no silence: not much longer than is usual between two packs."""
    return max(SMALLEST_GAP_S, 4 * float(np.median(np.diff(time_s)))) if len(time_s) > 1 else SMALLEST_GAP_S


def _edges_of_silences(time_s: Column, column: Column, limit_s: float) -> Indices:
    """Find the rows with which a silence of a column begins, and those with which it is heard again."""
    known = np.flatnonzero(~np.isnan(column))
    before, after = np.append(-1, known), np.append(known, len(time_s))
    silence_s = time_s[np.minimum(after, len(time_s) - 1)] - time_s[np.maximum(before, 0)]
    silent = silence_s > limit_s
    edges = np.concatenate([before[silent] + 1, after[silent]])
    return edges[edges < len(time_s)]
