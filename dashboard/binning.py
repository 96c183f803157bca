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
    """Bin columns that share a `time_s` in rising order; every column must hold at least one row."""
    time_s = rows["time_s"]
    size = max(1, -(-len(time_s) // largest_bin_count))
    starts = np.arange(0, len(time_s), size)
    ends = np.minimum(starts + size, len(time_s)) - 1
    gaps = _gaps(time_s, starts, ends)
    names = [name for name in rows if name != "time_s" and not np.all(np.isnan(rows[name]))]
    return Binned(
        time_s=np.insert((time_s[starts] + time_s[ends]) / 2, gaps, np.nan),
        low={name: np.insert(np.fmin.reduceat(rows[name], starts), gaps, np.nan) for name in names},
        high={name: np.insert(np.fmax.reduceat(rows[name], starts), gaps, np.nan) for name in names},
    )


def _gaps(time_s: Column, starts: Indices, ends: Indices) -> Indices:
    """Find the bins before which the record was silent for much longer than between two packs."""
    if len(time_s) < 2:
        return np.array([], int)
    usual_s = float(np.median(np.diff(time_s)))
    silence_s = time_s[starts[1:]] - time_s[ends[:-1]]
    return np.flatnonzero(silence_s > max(SMALLEST_GAP_S, 4 * usual_s)) + 1
