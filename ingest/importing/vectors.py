"""Readings of many lines at once, in arrays, and from them chunks of a record.

They are what `ingest.channels` and `ingest.derive` make of each line, to the last digit: test_vectors.py holds them so.
What is usual is worked out for all lines together: a sound number, new or not yet stale. Whatever else a reading may be
comes of the functions for one, line by line, so that nothing of what they decide stands here a second time.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.quantities import QUANTITIES, Quantity
from ingest.channels import CALIBRATION_HOLDS, SOONEST_STALE_S, STALE_INTERVALS, Barometer, Sample, absolute, read
from ingest.clock import Moment
from ingest.derive import Figure, evaluate, figures_of
from ingest.frames import Value
from ingest.importing.reader import Batch
from ingest.record.chunks import CHUNK_PACKS, Chunk, Column, differences, runs, scaled_value
from ingest.rig import ChannelSetup, Rig
from ingest.sample_course import LEARNED_GAPS
from ingest.wire.messages import CELSIUS_ZERO_K, DECIMALS, Reading, three_digits
from ingest.wire.plausible import bounds

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

_USUAL = ("ok", "uncalibrated")
_NEAR_A_TIE = 1e-4
"""So near to where rounding turns, Python's own is asked, which goes by the exact digits [of the last place]."""


def can_take(rig: Rig, dated_back_s: float) -> bool:
    """Tell whether a log can be read so: not where a barometer moves pressures, nor dated back by part of 1 ms."""
    is_whole = (1000.0 * dated_back_s).is_integer()
    return is_whole and all(setup.name != "barometric_pressure" for setup in rig.channels)


@dataclass(slots=True)
class Series:
    """The readings of a channel or figure, one a line.

    values, spreads: in the house's unit; times_ms: when each was measured [ms since 1970]; qualities: where in _USUAL.
    odd: by line those readings that are not usual, in place of what stands in the arrays.
    """

    name: str
    values: Floats
    spreads: Floats
    times_ms: Whole
    qualities: NDArray[np.int8]
    odd: dict[int, Reading] = field(default_factory=dict)

    def reading(self, line: int) -> Reading:
        """Give one of them."""
        if line in self.odd:
            return self.odd[line]
        time_s, quality = float(self.times_ms[line]) / 1000.0, _USUAL[self.qualities[line]]
        return Reading(float(self.values[line]), time_s, quality, "", float(self.spreads[line]))


@dataclass(slots=True)
class _Heard:
    """What a channel said last, and when [ms since the first]: as often as counts for its interval, and what counts."""

    said: Sequence[Value | None] = ()
    came_ms: Whole = field(default_factory=lambda: np.zeros(0, np.int64))


class Vectors:
    """Works out the readings of a log. columns: by channel; first_s: when its first line was [s since 1970]."""

    def __init__(self, rig: Rig, columns: Mapping[str, str], first_s: float) -> None:
        self._rig, self._columns, self._first_ms = rig, columns, round(first_s * 1000.0)
        self._barometer = Barometer(rig.barometric_pressure_pa, rig.barometric_standard_uncertainty_pa)
        self._heard = {setup.name: _Heard() for setup in rig.channels}
        self._figures = figures_of([setup.name for setup in rig.channels], rig.unit)

    def take(self, batch: Batch) -> "Readings":
        """Work out the readings of the lines that follow those before."""
        times_ms = np.rint(np.array(batch.times_s) * 1000.0).astype(np.int64)
        series: dict[str, Series] = {}
        for setup in self._rig.channels:
            series[setup.name] = self._channel(setup, batch, times_ms)
        for figure in self._figures:
            series[figure.name] = self._figure(figure, series, len(times_ms))
        return Readings(times_ms, times_ms - self._first_ms, list(series.values()))

    def _channel(self, setup: ChannelSetup, batch: Batch, times_ms: Whole) -> Series:
        """Give each line the newest of what the channel said; the first of what it said stands for nothing."""
        cells = batch.values[self._columns[setup.name]]
        heard, monotonic_ms = self._heard[setup.name], times_ms - self._first_ms
        is_said = np.array([cell is not None for cell in cells])
        said = [None, *heard.said, *(cell for cell in cells if cell is not None)]
        came_ms = np.concatenate([[0], heard.came_ms, monotonic_ms[is_said]])
        spoke = len(heard.came_ms) + np.cumsum(is_said)
        is_number = np.array([isinstance(it, float) for it in said])
        late_s = np.where(is_number, batch.dated_back_s, 0.0)
        at_s = came_ms / 1000.0 - late_s
        counts = _counting(is_number, at_s)
        keep = min(int(counts[-1]), max(1, len(said) - LEARNED_GAPS - 1)) or 1
        heard.said, heard.came_ms = said[keep:], came_ms[keep:]
        numbers: Any = np.array([it if isinstance(it, float) else np.nan for it in said])
        values: Any
        values, spread = absolute(setup, setup.corrected(numbers), self._barometer)
        low, high = bounds(setup.name, setup.quantity)
        is_usual = (values >= (0.0 if setup.quantity is Quantity.CURRENT else low)) & (values <= high)
        intervals_s = _intervals_s(came_ms, setup.interval_s)
        stale_s = np.maximum(SOONEST_STALE_S, STALE_INTERVALS * intervals_s)
        newest = counts[spoke]
        is_odd = ~is_usual[newest] | (monotonic_ms / 1000.0 - at_s[newest] > stale_s[spoke])
        late_ms = np.rint(1000.0 * late_s).astype(np.int64)
        series = Series(
            setup.name,
            values[newest],
            np.full(len(cells), spread),
            self._first_ms + came_ms[newest] - late_ms[newest],
            _out_of_calibration(setup, times_ms),
        )
        for line in np.flatnonzero(is_odd).tolist():
            moment = Moment(float(monotonic_ms[line]) / 1000.0, float(times_ms[line]) / 1000.0, 0)
            at, value = newest[line], said[newest[line]]
            time_s, late = (self._first_ms + float(came_ms[at])) / 1000.0, float(late_s[at])
            sample = None if value is None else Sample(value, float(at_s[at]), time_s - late, late)
            series.odd[line] = read(setup, sample, moment, self._barometer, float(intervals_s[spoke[line]]))
        return series

    def _figure(self, figure: Figure, series: Mapping[str, Series], count: int) -> Series:
        inputs = [series[name] for name in figure.inputs if name in series]
        odd = set[int]().union(*(it.odd for it in inputs)) if len(inputs) == len(figure.inputs) else set(range(count))
        usual = np.setdiff1d(np.arange(count), sorted(odd))
        found = Series(
            figure.name,
            np.zeros(count),
            np.zeros(count),
            np.min([it.times_ms for it in inputs], axis=0),
            np.max([it.qualities for it in inputs], axis=0),
        )
        try:
            if len(usual):
                result = figure.compute(*(Estimate(it.values[usual], it.spreads[usual]) for it in inputs))
                found.values[usual], found.spreads[usual] = result.value, result.standard_uncertainty
        except CalcRangeError:  # at one of the lines
            odd = set(range(count))
        for line in sorted(odd):
            found.odd[line] = evaluate(figure, {it.name: it.reading(line) for it in inputs}, self._rig.unit)
        return found


def _counting(is_number: NDArray[np.bool_], at_s: Floats) -> NDArray[np.intp]:
    """Tell after each sample which one counts: a number that is of a time before what is known does not."""
    is_known = ~is_number
    is_known[0] = False  # the first stands for nothing
    known_s = np.maximum.accumulate(np.where(is_known, at_s, -np.inf))
    return np.maximum.accumulate(np.where(is_number & (at_s < known_s), 0, np.arange(len(at_s))))


def _intervals_s(came_ms: Whole, configured_s: float) -> Floats:
    """Tell after each sample how long the channel is silent between two, as `ingest.sample_course` does."""
    found = np.full(len(came_ms), configured_s)
    gaps_s = np.diff(came_ms[1:] / 1000.0)  # before the first there is none
    if len(gaps_s) >= LEARNED_GAPS:
        longest = np.lib.stride_tricks.sliding_window_view(gaps_s, LEARNED_GAPS).max(axis=1)
        found[LEARNED_GAPS + 1 :] = np.minimum(configured_s, longest)
    return found


def _out_of_calibration(setup: ChannelSetup, times_ms: Whole) -> NDArray[np.int8]:
    """Tell at which lines the calibration is over."""
    if setup.calibrated_on is None:
        return np.zeros(len(times_ms), np.int8)
    calibrated = datetime(*setup.calibrated_on.timetuple()[:3], tzinfo=UTC)
    return (times_ms / 1000.0 > (calibrated + CALIBRATION_HOLDS).timestamp()).astype(np.int8)


class Readings:
    """The readings of some lines. monotonic_ms: since the first line of the log."""

    def __init__(self, times_ms: Whole, monotonic_ms: Whole, series: Sequence[Series]) -> None:
        self.times_ms, self.series = times_ms, series
        self._monotonic_ms = monotonic_ms
        self._scaled = [_scaled(it) for it in series]
        self._spreads = [_three_digits(it.spreads) for it in series]

    def chunks(self, rig: str, session: int, sequence: int) -> Iterator[Chunk]:
        """Lay them out as chunks. sequence: the number of the first."""
        for start in range(0, len(self.times_ms), CHUNK_PACKS):
            lines = slice(start, min(start + CHUNK_PACKS, len(self.times_ms)))
            yield Chunk(
                rig,
                sequence + start,
                session,
                [(lines.stop - start, 0)],
                [(lines.stop - start, 0)],
                differences(self._monotonic_ms[lines].tolist()),
                differences(self.times_ms[lines].tolist()),
                [_column(*one, lines) for one in zip(self.series, self._scaled, self._spreads, strict=True)],
            )


def _column(series: Series, scaled: Whole, spreads: Floats, lines: slice) -> Column:
    count = lines.stop - lines.start
    known, reasons = [True] * count, [""] * count
    values, times_ms = scaled[lines].tolist(), series.times_ms[lines].tolist()
    qualities = [_USUAL[it] for it in series.qualities[lines]]
    told: list[float | None] = spreads[lines].tolist()
    for line in range(lines.start, lines.stop) if series.odd else ():
        if line not in series.odd:
            continue
        reading, index = series.odd[line], line - lines.start
        known[index] = reading.value is not None
        if reading.value is not None:
            values[index] = scaled_value(series.name, reading.value)
        times_ms[index] = round(reading.time_s * 1000.0)
        qualities[index], reasons[index] = reading.quality, reading.reason if reading.value is None else ""
        told[index] = three_digits(reading.standard_uncertainty)
    return Column(
        series.name,
        runs(known),
        differences([value for value, is_known in zip(values, known, strict=True) if is_known]),
        differences(times_ms),
        runs(qualities),
        runs(reasons),
        runs(told),
    )


def _scaled(series: Series) -> Whole:
    """Give values as whole numbers of the last decimal that travels."""
    quantity = QUANTITIES[series.name]
    shifted = series.values - CELSIUS_ZERO_K if quantity is Quantity.TEMPERATURE else series.values
    exact = shifted * 10.0 ** DECIMALS[quantity]
    if series.odd:
        exact[list(series.odd)] = 0.0
    found = np.rint(exact).astype(np.int64)
    for line in np.flatnonzero(np.abs(np.abs(exact - found) - 0.5) < _NEAR_A_TIE).tolist():
        found[line] = scaled_value(series.name, float(series.values[line]))
    return found


def _three_digits(spreads: Floats) -> Floats:
    """Round to three digits, as `three_digits` does one."""
    places = 2.0 - np.floor(np.log10(np.maximum(spreads, 1e-12)))
    scales = 10.0**places
    exact = spreads * scales
    found = np.rint(exact) / scales
    is_unclear = (np.abs(np.abs(exact - np.rint(exact)) - 0.5) < _NEAR_A_TIE) | (exact < 100.5) | (exact > 998.5)
    for line in np.flatnonzero(is_unclear | (places < 0.0)).tolist():
        found[line] = float(f"{spreads[line]:.3g}")
    return found
