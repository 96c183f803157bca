"""What a motor's current over time tells: how it starts, whether it starts at all, and whether it short-cycles."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.elementwise import within
from calc.errors import SeriesError

Array = NDArray[np.float64]

_RUNNING_SHARE = 0.1  # of the rated current: a motor that draws less is off
_STALLED_SHARE = 2.0  # of the rated current: a motor that still draws more has not come up to speed
LONGEST_START_S = 3.0  # common practice, no source: compressors take some tenths of a second, blowers some seconds
_INRUSH_SHARE = 1.5  # of the running current: with less of a peak, the inrush fell between two samples
_GREATEST_CURRENT_A = 1e5
_GREATEST_TIME_S = 1e12
_GREATEST_GAP_S = 1e6


@dataclass(frozen=True, slots=True)
class Run:
    """A time in which the motor ran; None where the trace does not show its beginning or its end [s]."""

    began_s: float | None
    ended_s: float | None


@dataclass(frozen=True, slots=True)
class Started:
    """It came up to speed.

    Attributes:
        peak_a: the greatest current seen; a clamp's own averaging lowers it [A].
        running_a: what it draws when it has come up to speed [A].
        start_time_s: from the first current to halfway between the two [s].
        resolution_s: the sampling interval there, within which that time is known [s].

    """

    peak_a: float
    running_a: float
    start_time_s: float
    resolution_s: float


@dataclass(frozen=True, slots=True)
class Stalled:
    """It drew its starting current and did not come up to speed: a locked rotor or no start winding or capacitor."""

    peak_a: float
    lasted_s: float


@dataclass(frozen=True, slots=True)
class NoStart:
    """The trace shows no start that could be judged, and why; whether it is for an inrush that fell between samples."""

    reason: str
    missed_inrush: bool = False


@dataclass(frozen=True, slots=True)
class CycleLimits:
    """How short a run and a rest may be, and how many short ones make a habit (common practice, no source)."""

    shortest_run_s: float = 300.0
    shortest_rest_s: float = 180.0
    habit: int = 2


@dataclass(frozen=True, slots=True)
class Cycling:
    """How a motor cycled.

    Attributes:
        starts: how many were seen.
        short_runs_s: runs seen whole that were too short [s].
        short_rests_s: rests likewise [s].
        is_short_cycling: there are enough of either.

    """

    starts: int
    short_runs_s: tuple[float, ...]
    short_rests_s: tuple[float, ...]
    is_short_cycling: bool


CYCLE_LIMITS = CycleLimits()


def runs(times_s: ArrayLike, currents_a: ArrayLike, *, rated_current_a: float, gap_s: float = 30.0) -> tuple[Run, ...]:
    """Find the times in which a motor ran: its current above a tenth of the rated one.

    Args:
        times_s: rising [s].
        currents_a: at those times [A].
        rated_current_a: RLA or FLA of the nameplate, 0.01 to 1e4 [A].
        gap_s: with no sample for longer, what happened is not known, and a run is open at that end [s].

    Raises:
        SeriesError: times and currents differ in length, times do not rise, or one is not a sound number.
        CalcRangeError: the rated current or the gap lies beyond its limits.

    >>> runs([0.0, 1.0, 2.0, 3.0], [0.0, 9.0, 9.0, 0.0], rated_current_a=10.0)
    (Run(began_s=1.0, ended_s=3.0),)

    """
    times, currents = _checked(times_s, currents_a)
    within("rated_current_a", rated_current_a, 0.01, 1e4, "A")
    within("gap_s", gap_s, 1e-3, _GREATEST_GAP_S, "s")
    found: list[Run] = []
    for piece in np.split(np.arange(times.size), np.flatnonzero(np.diff(times) > gap_s) + 1):
        found += _runs_of_piece(times[piece], currents[piece] > _RUNNING_SHARE * rated_current_a)
    return tuple(found)


def motor_start(times_s: ArrayLike, currents_a: ArrayLike, *, rated_current_a: float) -> Started | Stalled | NoStart:
    """Judge the first start that a trace shows.

    Args:
        times_s: rising; every 50 ms or less, to see an inrush of some tenths of a second [s].
        currents_a: RMS, at those times [A].
        rated_current_a: RLA or FLA of the nameplate [A].

    Raises:
        SeriesError: as for `runs`.
        CalcRangeError: likewise.

    >>> trace_a = [0.0, 60.0, 58.0, 55.0, 20.0, 10.0, 10.0, 10.0, 10.0, 10.0]  # made up: sampled every 0.1 s
    >>> started = motor_start([0.1 * i for i in range(10)], trace_a, rated_current_a=12.0)
    >>> started.peak_a, started.running_a, round(started.start_time_s, 3)
    (60.0, 10.0, 0.257)

    """
    times, currents = _checked(times_s, currents_a)
    found = runs(times, currents, rated_current_a=rated_current_a, gap_s=_GREATEST_GAP_S)
    seen = [run for run in found if run.began_s is not None]
    if not seen:
        return NoStart("the trace shows no start: begin it before the motor is switched on")
    first, end = (times[-1] if edge is None else edge for edge in (seen[0].began_s, seen[0].ended_s))
    inside = (times >= first) & ((times < end) if seen[0].ended_s is not None else (times <= end))
    return _judge(times[inside], currents[inside], rated_current_a, float(end), ended=seen[0].ended_s is not None)


def short_cycling(
    times_s: ArrayLike,
    currents_a: ArrayLike,
    *,
    rated_current_a: float,
    limits: CycleLimits = CYCLE_LIMITS,
    gap_s: float = 30.0,
) -> Cycling:
    """Tell whether a motor starts and stops too often; limits are `CycleLimits`, other arguments and errors as `runs`.

    A run or a rest counts only if the trace shows both its ends. One short run is no habit: a thermostat or a
    technician may have ended it.

    >>> trace_a = [0.0, 9.0, 9.0, 0.0, 9.0, 9.0, 0.0]  # made up: every 20 s
    >>> seen = short_cycling([20.0 * i for i in range(7)], trace_a, rated_current_a=10.0)
    >>> seen.is_short_cycling, seen.short_runs_s, seen.short_rests_s
    (True, (40.0, 40.0), (20.0,))

    """
    found = runs(times_s, currents_a, rated_current_a=rated_current_a, gap_s=gap_s)
    ran_s = _lengths([(run.began_s, run.ended_s) for run in found])
    rested_s = _lengths([(before.ended_s, after.began_s) for before, after in pairwise(found)])
    short_runs_s = tuple(length for length in ran_s if length < limits.shortest_run_s)
    short_rests_s = tuple(length for length in rested_s if length < limits.shortest_rest_s)
    starts = sum(run.began_s is not None for run in found)
    return Cycling(starts, short_runs_s, short_rests_s, max(len(short_runs_s), len(short_rests_s)) >= limits.habit)


def _checked(times_s: ArrayLike, currents_a: ArrayLike) -> tuple[Array, Array]:
    times, currents = np.asarray(times_s, np.float64), np.asarray(currents_a, np.float64)
    if times.ndim != 1 or times.shape != currents.shape or not times.size:
        raise SeriesError(f"times and currents must be two rows of one length: {times.shape}, {currents.shape}")
    if not (np.abs(times) <= _GREATEST_TIME_S).all() or not (np.abs(currents) <= _GREATEST_CURRENT_A).all():
        raise SeriesError("a time or a current is no sound number: leave such samples out")
    if not (np.diff(times) > 0).all():
        raise SeriesError("times must rise from sample to sample")
    return times, currents


def _runs_of_piece(times: Array, running: NDArray[np.bool_]) -> list[Run]:
    edges = np.flatnonzero(np.diff(running.astype(np.int8))) + 1
    bounds: list[float | None] = [float(times[edge]) for edge in edges]
    if running[0]:
        bounds.insert(0, None)
    if running[-1]:
        bounds.append(None)
    return [Run(began_s, ended_s) for began_s, ended_s in zip(bounds[::2], bounds[1::2], strict=True)]


def _lengths(spans: Sequence[tuple[float | None, float | None]]) -> list[float]:
    return [end - begin for begin, end in spans if begin is not None and end is not None]


def _judge(
    times: Array, currents: Array, rated_current_a: float, end_s: float, *, ended: bool
) -> Started | Stalled | NoStart:
    peak = int(currents.argmax())
    peak_a, lasted_s = float(currents[peak]), end_s - float(times[0])
    running_a = float(np.median(currents[times >= (times[0] + times[-1]) / 2]))
    halfway_a = (peak_a + running_a) / 2
    if running_a > _STALLED_SHARE * rated_current_a and (ended or lasted_s > LONGEST_START_S):
        return Stalled(peak_a, lasted_s)
    if running_a > _STALLED_SHARE * rated_current_a or currents[-1] > halfway_a:
        return NoStart("the trace ends before the motor has come up to speed: watch it for longer")
    if peak_a < _INRUSH_SHARE * running_a:
        reason = f"no inrush was caught: {peak_a:.1f} A at most against {running_a:.1f} A; sample faster"
        return NoStart(reason, missed_inrush=True)
    low = peak + int(np.flatnonzero(currents[peak:] <= halfway_a)[0])
    start_time_s = np.interp(halfway_a, currents[[low, low - 1]], times[[low, low - 1]]) - times[0]
    return Started(peak_a, running_a, float(start_time_s), float(times[low] - times[low - 1]))
