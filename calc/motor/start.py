"""What a record of a motor's current says of its start, and whether the record is fast enough to say it."""

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.elementwise import within
from calc.motor.current_trace import LONGEST_START_S, NoStart, Run, Stalled, Started, motor_start, runs

SAMPLES_IN_AN_INRUSH = 4
"""So many at least, to see its peak and its end: common practice, no source."""
USUAL_INRUSH_S = 0.2
"""Of a compressor: common practice, no source."""
NEAR_LOCKED_ROTOR_SHARE = 0.7
"""From here on a current is taken for that of a locked rotor at a sagging voltage: common practice, no source."""
LEAST_REST_S = 300.0
"""Between stop and start: makers of compressors ask for 5 min."""
_WITHOUT_GAPS_S = 1e6
_LONGEST_IN_SECONDS_S = 120.0
_ROUNDING = 1e-6

Array = NDArray[np.float64]


class Start(StrEnum):
    """How a motor started, worst first."""

    STALLED = "stalled"
    RESTARTED = "restarted"
    SLOW = "slow"
    CANNOT_TELL = "cannot tell"
    NO_START = "no start"
    STARTED = "started"


@dataclass(frozen=True, slots=True)
class StartDiagnosis:
    """What a record says of a start; None where it does not say.

    Attributes:
        start: how it started.
        reason: why, and what to do.
        starts: how many the record shows.
        needed_interval_s: that would see the inrush [s].
        peak_a: the greatest current seen [A].
        peak_is_least: the record is too slow for the peak: there was more.
        start_time_s: to speed [s].
        resolution_s: within which that is known [s].
        interval_s: between the samples at the start [s].

    """

    start: Start
    reason: str
    starts: int
    needed_interval_s: float
    peak_a: float | None = None
    peak_is_least: bool = False
    start_time_s: float | None = None
    resolution_s: float | None = None
    interval_s: float | None = None


@dataclass(frozen=True, slots=True)
class _Judged:
    """One start.

    Attributes:
        interval_s: the longer of the two intervals at its first sample [s].
        ran_a: the currents from there to its stop [A].
        found: what it is.

    """

    interval_s: float
    ran_a: Array
    found: Started | Stalled | NoStart

    def is_too_slow(self, needed_s: float) -> bool:
        """Tell whether the samples are farther apart than that; a last binary digit does not count."""
        return self.interval_s > needed_s * (1 + _ROUNDING)


def diagnose_start(
    times_s: ArrayLike,
    currents_a: ArrayLike,
    *,
    rated_current_a: float,
    locked_rotor_a: float | None = None,
    inrush_s: float = USUAL_INRUSH_S,
) -> StartDiagnosis:
    """Diagnose the starts that a record shows: up to speed once, within 3 s (common practice, no source), or what else.

    A stalled start leads, then one after too short a rest, then a slow one. Where no inrush was caught the record may
    be too slow for it, and what would do is told: a record that cannot see an inrush proves none.

    Args:
        times_s: rising [s].
        currents_a: RMS, at those times [A].
        rated_current_a: RLA or FLA of the nameplate, 0.01 to 1e4 [A].
        locked_rotor_a: LRA of the nameplate, 1 to 20 times the rated current; None where it says nothing [A].
        inrush_s: how long it is taken to last, 0.02 to 10 [s].

    Raises:
        SeriesError: as for `calc.motor.runs`.
        CalcRangeError: beyond these limits.

    >>> slow = diagnose_start([0.0, 0.25, 0.5, 0.75], [0.0, 10.0, 10.0, 10.0], rated_current_a=12.0)  # made up: 4 Hz
    >>> slow.start.value, slow.needed_interval_s
    ('cannot tell', 0.05)

    """
    within("inrush_s", inrush_s, 0.02, 10.0, "s")
    found = runs(times_s, currents_a, rated_current_a=rated_current_a, gap_s=_WITHOUT_GAPS_S)
    if locked_rotor_a is not None:
        within(
            "locked_rotor_a",
            locked_rotor_a,
            rated_current_a,
            20 * rated_current_a,
            "A",
            "from the rated current to 20 times it",
        )
    needed_s = inrush_s / SAMPLES_IN_AN_INRUSH
    times, currents = np.asarray(times_s, np.float64), np.asarray(currents_a, np.float64)
    starts = [_judged(times, currents, run, rated_current_a) for run in found if run.began_s is not None]
    if not starts:
        reason = "the record shows no start: begin it before the motor is switched on"
        return StartDiagnosis(Start.NO_START, reason, 0, needed_s)
    verdicts = [(_verdict(each, locked_rotor_a, inrush_s, needed_s), each) for each in starts]
    (start, reason), told = min(verdicts, key=lambda verdict: list(Start).index(verdict[0][0]))
    rest_s = min(
        (
            after.began_s - before.ended_s
            for before, after in pairwise(found)
            if after.began_s is not None and before.ended_s is not None
        ),
        default=LEAST_REST_S,
    )
    if start is not Start.STALLED and rest_s < LEAST_REST_S:
        start, reason = Start.RESTARTED, _restarted(len(starts), rest_s)
    return StartDiagnosis(
        start,
        reason,
        len(starts),
        needed_s,
        peak_a=max(float(each.ran_a.max()) for each in starts),
        peak_is_least=told.is_too_slow(needed_s),
        start_time_s=told.found.start_time_s if isinstance(told.found, Started) else None,
        resolution_s=told.found.resolution_s if isinstance(told.found, Started) else None,
        interval_s=told.interval_s,
    )


def _judged(times: Array, currents: Array, run: Run, rated_current_a: float) -> _Judged:
    first = int(np.searchsorted(times, cast("float", run.began_s)))
    last = len(times) if run.ended_s is None else int(np.searchsorted(times, run.ended_s))
    around = slice(first - 1, last + 1)
    found = motor_start(times[around], currents[around], rated_current_a=rated_current_a)
    return _Judged(float(np.diff(times[around])[:2].max()), currents[first:last], found)


def _verdict(judged: _Judged, locked_rotor_a: float | None, inrush_s: float, needed_s: float) -> tuple[Start, str]:
    found = judged.found
    if isinstance(found, Stalled):
        return Start.STALLED, _stalled(found, judged, locked_rotor_a)
    if isinstance(found, NoStart) and not found.missed_inrush:
        return Start.CANNOT_TELL, found.reason
    if isinstance(found, NoStart) and judged.is_too_slow(needed_s):
        return Start.CANNOT_TELL, (
            f"the record is too slow to see an inrush of {inrush_s:g} s: one sample every {judged.interval_s:.3g} s; "
            f"one every {needed_s:g} s ({1 / needed_s:.0f} a second), or a clamp that holds its peak, would see it"
        )
    if isinstance(found, NoStart):
        return (
            Start.STARTED,
            "no inrush in a record that would see it: a soft start, a drive, or it was turning already",
        )
    decimals = max(0, -math.floor(math.log10(found.resolution_s)))  # no finer than the samples are apart
    takes = f"it took {found.start_time_s:.{decimals}f} s to speed, known within {found.resolution_s:.2g} s"
    if found.start_time_s - found.resolution_s > LONGEST_START_S:
        return Start.SLOW, f"{takes}: look at the volts while it starts, the capacitor, and what it has to turn"
    if found.start_time_s + found.resolution_s > LONGEST_START_S:
        return (
            Start.CANNOT_TELL,
            f"{takes}: too near 3 s to tell; sample faster",
        )
    return Start.STARTED, takes


def _stalled(found: Stalled, judged: _Judged, locked_rotor_a: float | None) -> str:
    held_a = float(np.median(judged.ran_a[judged.ran_a.size // 2 :]))
    drew = f"switch it off: it drew {held_a:.0f} A for {found.lasted_s:.1f} s and did not come up to speed"
    if locked_rotor_a is None:
        return f"{drew}. Locked, or without its start winding or capacitor; the nameplate's LRA would tell more"
    share = f"{drew}. That is {100 * held_a / locked_rotor_a:.0f} % of its locked-rotor current"
    if held_a < NEAR_LOCKED_ROTOR_SHARE * locked_rotor_a:
        return f"{share}: low volts while it starts, or a phase or a winding is missing"
    return f"{share}: it is locked, or its start winding or capacitor does nothing"


def _restarted(starts: int, rest_s: float) -> str:
    rest = (
        f"{rest_s:.0f} s"
        if rest_s <= _LONGEST_IN_SECONDS_S
        else "{:.0f} min {:.0f} s".format(*divmod(round(rest_s), 60))
    )
    return (
        f"it started {starts} times, once after {rest} of rest: a compressor needs 5 min between starts. Find "
        "what stops it: overload, cut-out, low volts, a contactor that chatters"
    )
