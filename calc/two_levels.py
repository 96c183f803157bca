"""What a scale stood at before something happened and after it, whatever went on between.

y = level + rate · t before, and the same plus a change after. What lies between is not modelled at all: a valve opened
by spurts, a hand on the hose and a swinging cylinder look alike there. But each point that is left out costs, so that
no more is left out than has to be. The rate is what load cells creep and the weather warms: small, and held to that.
Every beginning and every end is fitted, by sums that are made once.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.estimate import Estimate

Array = NDArray[np.float64]

OUNCE_KG = 0.028349523125
_RATE_KG_PER_S = 0.012 * OUNCE_KG / 60
"""One standard deviation of how fast a scale drifts. A load cell of 100 kg, class C3 of OIML R 60, may go by 10 g in 5
°C (one of 10,000 parts, a usual least interval), and creeps by 8 g in half an hour under 15 kg (0.7 of its maximum
permissible error): 0.01 to 0.03 oz a minute at most."""
_LEFT_OUT = 1.5
"""What a point that is left out costs: more than one that errs as points do, which costs 1."""
_NEARLY_AS_GOOD = (10.0, 0.2, 30.0)
"""Costs that differ by so little leave open when it was: the first, or such a share of what the change explains, up to
the last. Wind makes a beginning seem early, so the shortest time is told."""
_LEAST_NOISE_KG = 0.02 * OUNCE_KG
_OF_RESOLUTION = 0.15
_GUST_SHARE = 0.7
"""Of the variance within ten seconds, what is left in their mean: gusts last for some two to three seconds (common
practice, no source)."""
_CORRELATED = 1.2
"""By how much the mean of many points errs more than if each erred by itself: some gusts last longer."""
_CALM = 0.3


class Points(NamedTuple):
    """Means of some seconds each, rising in time: when [s], what [kg], how much one weighs: 1 / variance [1/kg²]."""

    times_s: Array
    masses_kg: Array
    weights: Array


class Change(NamedTuple):
    """What happened among points.

    Attributes:
        first, after: of the points that lie between the levels: the first, and the first that lies no more.
        change: of the level [kg].
        evidence: by how much it explains the points better than that nothing happened: twice a logarithm of odds.
        shortest: as first and after, of the shortest time in which it may have happened.

    """

    first: int
    after: int
    change: Estimate
    evidence: float
    shortest: tuple[int, int]


def weigh(times_s: Array, masses_kg: Array, scatters_kg: Array, resolution_kg: float) -> Points:
    """Give each point its weight: by how its readings scattered, and by how points jump about more than that lets them.

    Args:
        times_s: three or more [s].
        masses_kg: means of each [kg].
        scatters_kg: standard deviation of the readings of each about their line, NaN where they are too few [kg].
        resolution_kg: of the scale: what stands still within it is not known better [kg].

    """
    known_kg = scatters_kg[np.isfinite(scatters_kg)]
    calm_kg = float(np.quantile(known_kg, _CALM)) if known_kg.size else 0.0
    within_kg = np.maximum(np.where(np.isfinite(scatters_kg), scatters_kg, calm_kg), calm_kg)
    least_kg = max(_LEAST_NOISE_KG, _OF_RESOLUTION * resolution_kg)
    variances = least_kg**2 + _GUST_SHARE * within_kg**2
    apart_kg = np.abs(masses_kg[1:-1] - (masses_kg[:-2] + masses_kg[2:]) / 2)
    expected_kg = np.sqrt(variances[1:-1] + (variances[:-2] + variances[2:]) / 4)
    in_wind = expected_kg >= np.median(expected_kg)
    jumpy = float(np.median((apart_kg / expected_kg)[in_wind])) / _MEDIAN_DEVIATE
    return Points(times_s, masses_kg, 1 / (variances * max(jumpy, 1.0) ** 2))


_MEDIAN_DEVIATE = 0.6745
"""Half of all normal errors are below so many standard deviations."""


def find_change(points: Points, *, least_before: int, least_after: int) -> Change:
    """Find what happened, if anything did: the likeliest beginning and end.

    Args:
        points: as they came, as many as the least before and after together, or more.
        least_before: so many points before it, 1 or more.
        least_after: likewise after it.

    """
    count = points.times_s.size
    places = np.arange(least_before, count - least_after + 1)
    sums = _Sums.of(points)
    total, tie = sums.at(np.array([count])), 1 / _RATE_KG_PER_S**2
    before, after = sums.at(places).column(), total - sums.at(places)
    spread_s2 = before.spread_s2() + after.spread_s2() + tie
    together = before.together() + after.together()
    left = before.spread_kg2() + after.spread_kg2() - together**2 / spread_s2
    left_out = places - places[:, np.newaxis]
    costs = np.where(left_out >= 0, left + _LEFT_OUT * left_out, np.inf)
    row, column = np.unravel_index(int(np.argmin(costs)), costs.shape)
    alone = total.spread_kg2() - total.together() ** 2 / (total.spread_s2() + tie)
    rate = (together / spread_s2)[row, column]
    apart_s = after.mean_s()[column] - before.mean_s()[row, 0]
    change_kg = after.mean_kg()[column] - before.mean_kg()[row, 0] - rate * apart_s
    variance = 1 / before.weights[row, 0] + 1 / after.weights[column] + apart_s**2 / spread_s2[row, column]
    least, share, most = _NEARLY_AS_GOOD
    open_by = min(max(least, share * change_kg**2 / variance), most)
    near = np.where(costs <= costs[row, column] + open_by, left_out, count)
    begun, ended = np.unravel_index(int(np.argmin(near)), costs.shape)
    return Change(
        int(places[row]),
        int(places[column]),
        Estimate(float(change_kg), float(_CORRELATED * math.sqrt(variance))),
        float(alone[0] - costs[row, column]),
        (int(places[begun]), int(places[ended])),
    )


def rate_of(points: Points) -> Estimate:
    """Give how fast the level changes [kg/s], by a line through all points; two or more."""
    total = _Sums.of(points).at(np.array([points.times_s.size]))
    spread_s2 = float(total.spread_s2()[0])
    return Estimate(float(total.together()[0]) / spread_s2, _CORRELATED / math.sqrt(spread_s2))


class _Sums(NamedTuple):
    """Of points up to each, weighed: the sums of weights, times, masses, their squares and their product."""

    weights: Array
    s: Array
    kg: Array
    s2: Array
    s_kg: Array
    kg2: Array

    @classmethod
    def of(cls, points: Points) -> "_Sums":
        times_s, masses_kg = points.times_s - points.times_s[-1], points.masses_kg - points.masses_kg[-1]
        rows = [np.ones_like(times_s), times_s, masses_kg, times_s**2, times_s * masses_kg, masses_kg**2]
        return cls(*(np.concatenate([[0.0], np.cumsum(points.weights * row)]) for row in rows))

    def at(self, places: NDArray[np.intp]) -> "_Sums":
        return _Sums(*(row[places] for row in self))

    def column(self) -> "_Sums":
        return _Sums(*(row[:, np.newaxis] for row in self))

    def __sub__(self, other: "_Sums") -> "_Sums":
        return _Sums(*(mine - others for mine, others in zip(self, other, strict=True)))

    def mean_s(self) -> Array:
        return self.s / self.weights

    def mean_kg(self) -> Array:
        return self.kg / self.weights

    def spread_s2(self) -> Array:
        return self.s2 - self.s**2 / self.weights

    def spread_kg2(self) -> Array:
        return np.maximum(self.kg2 - self.kg**2 / self.weights, 0.0)

    def together(self) -> Array:
        return self.s_kg - self.s * self.kg / self.weights
