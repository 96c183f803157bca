"""Which unit follows the fan switch: the probability that one blower runs as a thermostat's fan was switched.

Somebody below switches a fan between auto and on by a list of times, and the amps of several blowers are recorded. A
blower that belongs to it starts some seconds after, and runs on for some time after it is switched off. The others do
as their own thermostats say, which is a chain of two states here: each is left by chance, on average after ten minutes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.elementwise import within
from calc.errors import ArgumentError, SeriesError

CAUTION = (
    "Switch the fan only, between auto and on, never the cooling call: makers of compressors ask for 5 min between "
    "starts. Set the thermostat so that it calls for nothing meanwhile, or the blower runs anyway. Hold each state 2 "
    "min or longer, of different lengths. It tells which unit, not that it is dead: lock out, tag and prove it dead."
)
LEAST_STATE_S = 120.0
"""Blowers run on after a call: common practice, no source."""
TOLD_FROM = 0.95
"""The probability that a unit must reach: common practice, no source."""
_STEP_S = 5.0
"""Between the delays that are tried: as fine as the samples that count, or one at each switching would not fit."""
_APART_S = 5.0
"""Samples closer than that are one: they do not err independently."""
_TIMING_S = 10.0
"""Around a switching nothing is counted: two people's watches differ."""
_DWELL_S = 600.0
_SLIP = 0.01
"""Samples that are wrong for whatever other reason. All of these: common practice, no source."""
_LONGEST_S = 86400.0
_GREATEST_A = 1e4

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Followed:
    """What a pattern told.

    Attributes:
        probabilities: of each blower being the one that is switched.
        none_probability: of it being none of them.
        told: which blower reaches `TOLD_FROM`, counted from 0; None if none does.

    """

    probabilities: tuple[float, ...]
    none_probability: float
    told: int | None


def fan_pattern(
    switched_s: Sequence[float],
    times_s: ArrayLike,
    currents_a: ArrayLike,
    *,
    running_a: Sequence[float],
    noise_a: float,
    run_on_s: float = 90.0,
    start_delay_s: float = 30.0,
    none_prior: float = 0.1,
) -> Followed:
    """Give the probability that each of several blowers is the one whose fan was switched, or none is (Bayes).

    A sample counts as running above half of the blower's running current, and errs as the noise lets it, or by a slip
    in a hundred. Of a blower that follows, the delay of its start and its run-on are each tried in steps of 5 s, all
    alike likely; of one that does not, all sequences of states are summed up. A blower that is held on by a call of its
    own follows nothing. Two that follow alike share the probability.

    Args:
        switched_s: when the fan was switched, on, off, on and so on; it was off before. At least two times, each state
            held for 2 min or longer [s].
        times_s: rising, of the samples, from before the first switching to 2 min after the last, at most a day [s].
        currents_a: a row of each blower, of as many [A].
        running_a: what each blower draws when it runs, 0.01 to 1e4 [A].
        noise_a: one standard deviation of a sample, 0 to 1e4 [A].
        run_on_s: the longest run-on, 0 to less than the shortest state of off [s].
        start_delay_s: the longest delay of a start, 0 to less than the shortest state of on [s].
        none_prior: how likely it is beforehand that the unit is not among these, 1e-6 to 0.99.

    Raises:
        ArgumentError: a state is too short, or a delay as long as one: never shorten it by cycling the cooling call.
        SeriesError: the samples do not fit together, or do not cover the pattern.
        CalcRangeError: beyond these limits.

    >>> minutes_s = [60.0 * minute for minute in range(11)]  # made up: on from half a minute to 3.5, and from 6.5
    >>> found = fan_pattern(
    ...     [30.0, 210.0, 390.0], minutes_s, [[0, 4, 4, 4, 0, 0, 0, 4, 4, 4, 4], [4] * 11], running_a=[4.0, 4.0],
    ...     noise_a=0.1)
    >>> found.told, round(found.probabilities[0], 3)
    (0, 1.0)

    """
    times, rows = _checked(times_s, currents_a, len(running_a))
    within("noise_a", noise_a, 0.0, _GREATEST_A, "A")
    within("none_prior", none_prior, 1e-6, 0.99, "", "it may always be another, and need not be")
    _check_pattern(switched_s, times, run_on_s, start_delay_s)
    kept = _kept(times, switched_s)
    times = times[kept]
    delays = list(product(_steps(start_delay_s), _steps(run_on_s)))
    expected = [_follows(switched_s, times, start_s, stop_s) for start_s, stop_s in delays]
    odds = [
        _log_odds(row[kept], within("running_a", amps, 0.01, _GREATEST_A, "A"), noise_a, times, expected)
        for row, amps in zip(rows, running_a, strict=True)
    ]
    each_prior = (1 - none_prior) / len(odds)
    top = max(*odds, 0.0)
    weights = [each_prior * math.exp(log_odds - top) for log_odds in odds]
    none = none_prior * math.exp(-top)
    total = sum(weights) + none
    probabilities = tuple(weight / total for weight in weights)
    told = next((index for index, probability in enumerate(probabilities) if probability >= TOLD_FROM), None)
    return Followed(probabilities, none / total, told)


def _checked(times_s: ArrayLike, currents_a: ArrayLike, blowers: int) -> tuple[Array, Array]:
    times, rows = np.asarray(times_s, np.float64), np.asarray(currents_a, np.float64)
    if times.ndim != 1 or not times.size or rows.shape != (blowers, times.size) or not blowers:
        raise SeriesError(f"each of {blowers} blowers needs a row of {times.size} currents: {rows.shape} are given")
    if not (np.abs(times) <= _LONGEST_S).all() or not (np.abs(rows) <= _GREATEST_A).all():
        raise SeriesError("a time or a current is no sound number: leave such samples out")
    if not (np.diff(times) > 0).all():
        raise SeriesError("times must rise from sample to sample")
    return times, rows


def _check_pattern(switched_s: Sequence[float], times: Array, run_on_s: float, start_delay_s: float) -> None:
    if len(switched_s) < 2:
        raise ArgumentError("switch the fan at least twice, on and off: one change is too easily chance")
    states_s = [later - earlier for earlier, later in pairwise(switched_s)]
    if not min(states_s) >= LEAST_STATE_S:
        raise ArgumentError(
            f"a state of {min(states_s):.0f} s is too short: hold each for 2 min or longer, for blowers run on. Never "
            "make it quicker by the cooling call: compressors need 5 min between starts"
        )
    if not (times[0] <= switched_s[0] and times[-1] >= switched_s[-1] + LEAST_STATE_S):
        raise SeriesError("record from before the first switching to 2 min after the last")
    on_s, off_s = min(states_s[::2]), min(states_s[1::2], default=_LONGEST_S)
    for name, delay_s, state, shortest_s in (("run-on", run_on_s, "off", off_s), ("delay", start_delay_s, "on", on_s)):
        if not 0 <= delay_s < shortest_s:
            raise ArgumentError(
                f"a {name} of {delay_s:.0f} s would hide a state of {state} of {shortest_s:.0f} s: hold each for longer"
            )


def _kept(times: Array, switched_s: Sequence[float]) -> NDArray[np.int64]:
    """Give the samples that count: some seconds apart, and away from the switchings."""
    kept: list[int] = []
    for index, time_s in enumerate(times):
        is_apart = not kept or time_s - times[kept[-1]] >= _APART_S
        if is_apart and all(abs(time_s - switching_s) > _TIMING_S for switching_s in switched_s):
            kept.append(index)
    return np.array(kept, np.int64)


def _steps(longest_s: float) -> list[float]:
    return [_STEP_S * step for step in range(int(longest_s / _STEP_S) + 1)]


def _follows(switched_s: Sequence[float], times: Array, start_s: float, stop_s: float) -> NDArray[np.bool_]:
    """Tell when a blower runs that starts and stops so long after it is switched."""
    edges = [when + (start_s if index % 2 == 0 else stop_s) for index, when in enumerate(switched_s)]
    runs: NDArray[np.bool_] = np.searchsorted(edges, times, side="right") % 2 == 1
    return runs


def _log_odds(
    row: Array, running_a: float, noise_a: float, times: Array, expected: Sequence[NDArray[np.bool_]]
) -> float:
    """Give the logarithm of how much better this row is explained by following than by chance."""
    seen = row > running_a / 2
    misread = NormalDist().cdf(-running_a / 2 / noise_a) if noise_a else 0.0
    wrong = misread * (1 - _SLIP) + _SLIP * (1 - misread)
    right_log, wrong_log = math.log(1 - wrong), math.log(wrong)
    alike = [int((seen == runs).sum()) for runs in expected]
    logs = [count * right_log + (seen.size - count) * wrong_log for count in alike]
    top = max(logs)
    following = top + math.log(sum(math.exp(each - top) for each in logs) / len(logs))
    return following - _chance_log(seen, wrong, times)


def _chance_log(seen: NDArray[np.bool_], wrong: float, times: Array) -> float:
    """Give the logarithm of the probability of a row of a blower that does as it likes: the forward recursion."""
    off, on, log = 0.5, 0.5, 0.0
    for index, runs in enumerate(seen):
        if index:
            leaves = (1 - math.exp(-2 * (times[index] - times[index - 1]) / _DWELL_S)) / 2
            off, on = off * (1 - leaves) + on * leaves, on * (1 - leaves) + off * leaves
        off, on = (off * wrong, on * (1 - wrong)) if runs else (off * (1 - wrong), on * wrong)
        total = off + on
        log += math.log(total)
        off, on = off / total, on / total
    return log
