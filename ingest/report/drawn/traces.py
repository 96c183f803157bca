"""The geometry of a trace, for paper and for the screen: courses in panels, scales with round figures, and moments.

Everything is in shares: along the time from 0 to 1, and up from 0 at the lower edge of a panel to 1 at the upper.
"""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

import msgspec
import numpy as np
from numpy.typing import NDArray

from ingest.report.document import At, Line, Trace

_FEWEST_TICKS = 3
_ROUND_TIMES_S = (
    10,
    20,
    30,
    *(60 * minutes for minutes in (1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 240, 360, 720, 1440)),
)
_MOST_TIMES = 8
_A_DAY_S = 86_400.0
_A_MINUTE_S = 60.0
_SHORTEST_S = 60.0
_MARGIN = 0.06
"""Of a panel, above and below what is drawn in it."""
_BEFORE = 0.02
"""Of the time, before the first moment and after the last, so that nothing is drawn on the frame."""

Point = tuple[float, float]


class Tick(msgspec.Struct, frozen=True):
    """A round figure at its place on a scale, as a share."""

    at: float
    says: str


class Drawn(msgspec.Struct, frozen=True):
    """A course as it is drawn: in pieces, between which nothing is known."""

    name: str
    pieces: Sequence[Sequence[Point]]


class Panel(msgspec.Struct, frozen=True):
    """Courses of one unit above one scale."""

    unit: str
    ticks: Sequence[Tick]
    lines: Sequence[Drawn]


class Course(msgspec.Struct, frozen=True):
    """A trace as it is drawn. moments: their places, in the order in which they are told; says: it in words."""

    panels: Sequence[Panel]
    times: Sequence[Tick]
    moments: Sequence[float]
    says: str


def course(trace: Trace, zone: str, *, columns: int) -> Course | None:
    """Lay a trace out; None where it has nothing to draw.

    zone: in which its times are told (IANA). columns: of so many along, each keeps its extremes and ends.
    """
    if not is_drawn(trace):
        return None
    times_s = [time_s for line in trace.lines for time_s in line.times_s] + [it.time_s for it in trace.moments]
    start_s, end_s = _span(min(times_s), max(times_s))
    names = ", ".join(line.name for line in trace.lines)
    local = ZoneInfo(zone)
    clocks = [datetime.fromtimestamp(each, local).strftime("%H:%M") for each in (min(times_s), max(times_s))]
    return Course(
        panels=[_panel(lines, start_s, end_s, columns) for lines in panels_of(trace)],
        times=list(_time_ticks(start_s, end_s, local)),
        moments=[_share(it.time_s, start_s, end_s) for it in in_order(trace)],
        says=f"Trace of {names} from {clocks[0]} to {clocks[1]}",
    )


def in_order(trace: Trace) -> Sequence[At]:
    """Give the moments of a trace by their time: by that they are numbered."""
    return sorted(trace.moments, key=lambda it: it.time_s)


def is_drawn(trace: Trace) -> bool:
    """Tell whether a trace has anything to draw."""
    return any(value is not None for line in trace.lines for value in line.values)


def thinned(
    times_s: NDArray[np.float64], values: NDArray[np.float64], *, columns: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Keep of each column in time the first, last, least and greatest value: no peak is lost, and NaN stays a gap."""
    if len(times_s) <= 4 * columns:
        return times_s, values
    edges = np.searchsorted(times_s, np.linspace(times_s[0], times_s[-1], columns + 1)[1:-1])
    kept: set[int] = set()
    for part in np.split(np.arange(len(times_s)), edges):
        if len(part):
            kept |= {int(part[0]), int(part[-1])}
            known = part[~np.isnan(values[part])]
            gaps = part[np.isnan(values[part])]
            if len(known):
                kept |= {int(known[np.argmin(values[known])]), int(known[np.argmax(values[known])])}
            kept |= {int(gap) for gap in gaps[:1]}
    chosen = sorted(kept)
    return times_s[chosen], values[chosen]


def arrays(line: Line) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give a line as arrays of times and values, what is not known as NaN."""
    values = [math.nan if value is None else value for value in line.values]
    return np.asarray(line.times_s, dtype=np.float64), np.asarray(values, dtype=np.float64)


_LEAST_SPAN = {"°F": 5.0, "K": 3.0, "psig": 10.0, "kPa": 70.0, "bar": 0.7, "A": 2.0}
"""Of a scale, by its unit: on a smaller one what instruments are off by looks like a course. Common practice, no
source."""


def scale(lines: Sequence[Line]) -> tuple[float, float]:
    """Give the ends of the scale of some lines of one unit: what is drawn, room beside it, at least the least span."""
    known = [value for line in lines for value in line.values if value is not None]
    low, high = (min(known), max(known)) if known else (0.0, 1.0)
    room = _MARGIN * (high - low) or max(abs(high) * _MARGIN, 0.5)
    room = max(room, (_LEAST_SPAN.get(lines[0].unit, 0.0) - (high - low)) / 2)
    return low - room, high + room


def panels_of(trace: Trace) -> Sequence[Sequence[Line]]:
    """Give the lines of a trace by panels: neighbours of one unit share one."""
    return [list(lines) for _, lines in groupby(trace.lines, key=lambda line: line.unit)]


def _span(first_s: float, last_s: float) -> tuple[float, float]:
    beside_s = _BEFORE * max(last_s - first_s, _SHORTEST_S)
    return first_s - beside_s, last_s + beside_s


def _share(value: float, low: float, high: float) -> float:
    return round((value - low) / (high - low), 4)


def _panel(lines: Sequence[Line], start_s: float, end_s: float, columns: int) -> Panel:
    thin = [(line.name, *thinned(*arrays(line), columns=columns)) for line in lines]
    low, high = scale(lines)
    drawn = [
        Drawn(
            name,
            [
                [(_share(time_s, start_s, end_s), _share(value, low, high)) for time_s, value in piece]
                for piece in _pieces(times_s, values)
            ],
        )
        for name, times_s, values in thin
    ]
    return Panel(lines[0].unit, list(_ticks(low, high)), drawn)


def _pieces(times_s: NDArray[np.float64], values: NDArray[np.float64]) -> Iterator[list[Point]]:
    """Part a course where nothing is known; a value between two gaps is drawn as a point."""
    piece: list[Point] = []
    for time_s, value in zip(times_s.tolist(), values.tolist(), strict=True):
        if math.isnan(value):
            if piece:
                yield piece
            piece = []
        else:
            piece.append((time_s, value))
    if piece:
        yield piece


def _ticks(low: float, high: float) -> Iterator[Tick]:
    """Give three to seven round figures between the ends of a scale: by the widest step with so many."""
    power = math.floor(math.log10(high - low))
    steps = [(leading, exponent) for exponent in (power, power - 1) for leading in (5, 2, 1)]
    for leading, exponent in steps:
        step = leading * 10.0**exponent
        numbers = range(math.ceil(low / step), math.floor(high / step) + 1)
        if len(numbers) >= _FEWEST_TICKS:
            break
    for number in numbers:
        says = f"{number * step:.{max(0, -exponent)}f}".replace("-", "−")
        yield Tick(_share(number * step, low, high), says)


def _time_ticks(start_s: float, end_s: float, zone: ZoneInfo) -> Iterator[Tick]:
    """Give round times by the clock of a zone, counted from the midnight before the start."""
    span_s = end_s - start_s
    days = math.ceil(span_s / (_MOST_TIMES * _A_DAY_S))
    step_s = next((each for each in _ROUND_TIMES_S if span_s / each <= _MOST_TIMES), _A_DAY_S * days)
    midnight = datetime.fromtimestamp(start_s, zone).replace(hour=0, minute=0, second=0, microsecond=0)
    form = "%H:%M:%S" if step_s < _A_MINUTE_S else "%H:%M" if step_s < _A_DAY_S else "%d %B"
    count = math.ceil((start_s - midnight.timestamp()) / step_s)
    while (at := midnight.timestamp() + count * step_s) <= end_s:
        says = (midnight.astimezone(ZoneInfo("UTC")) + timedelta(seconds=count * step_s)).astimezone(zone)
        yield Tick(_share(at, start_s, end_s), says.strftime(form))
        count += 1
