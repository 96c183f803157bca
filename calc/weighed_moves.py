"""What left a cylinder, or came into it, told from the scale that it stands on.

A move is a level before, a level after, and something between: whether it flowed by spurts, was metered over minutes,
or a hand was on the hose, is all one. So what comes back to its level is no move, and what creeps with the weather is
none: see `calc.two_levels`. Another load, the key that zeroes the scale, and a long silence begin anew.

A pause of a minute ends a move, so that several additions with shorter pauses are one. In wind it takes up to three
minutes to see that nothing flows any more. What came at once, from one reading to the next, may be a tool laid on the
scale or a hose hung over it: that is told after three minutes, if it has not gone by then. All of these: common
practice, no source. Nothing below 0.3 oz is told, nor below what the scale resolves.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from calc.estimate import Estimate
from calc.scale_steps import Sample, ScaleSteps
from calc.sentences import Sentence, weighed
from calc.two_levels import OUNCE_KG, Array, Change, Points, find_change, rate_of, weigh

POINT_S = 10.0
"""Readings of so long are averaged: gusts take seconds."""
PAUSE_S = 60.0
LONGEST_PAUSE_S = 180.0
LEAST_KG = 0.3 * OUNCE_KG
_SURE = 4.5  # standard deviations
_DRIFT_KG_PER_S = 0.02 * OUNCE_KG / 60  # what took longer must be more: a scale drifts by so much, `calc.two_levels`
_CERTAIN = 16.0  # twice a logarithm of odds
_SLOWEST_KG_PER_S = 0.03 * OUNCE_KG / 60  # what still flows must be seen in the pause
_RESOLUTIONS = 1.2
_AT_ONCE_SHARE = 0.55  # the scale's own filter lets no more through from one reading to the next
_AT_ONCE_S = 1.5
_MOST_POINTS = 72
_BEFORE_POINTS = 30
_LEAST_POINTS, _LEAST_BEFORE = 4, 3
_LEAST_IN_A_LINE = 4
_LATEST_S = 3.0
_ROUNDING_KG = 1e-6


@dataclass(frozen=True, slots=True)
class Weighed:
    """A mass that left the cylinder, above 0, or came into it, below 0 [kg].

    Attributes:
        began_s, ended_s: within ten seconds [s].
        mass: by the course of the readings alone: the uncertainty of the scale comes on top [kg].
        was_cut_short: the load was changed or the scale zeroed before a pause had shown that nothing flows.

    """

    began_s: float
    ended_s: float
    mass: Estimate
    was_cut_short: bool


@dataclass(frozen=True, slots=True)
class UnderWay:
    """What has left so far, above 0, or come into it, below 0 [kg], since when [s]."""

    began_s: float
    mass: Estimate


@dataclass(frozen=True, slots=True)
class _Point:
    """Readings of some seconds: the middle, their scatter about their line, the greatest step from one to the next."""

    time_s: float
    mass_kg: float
    scatter_kg: float
    at_once_kg: float


def question(mass_kg: float, hose_kg: float = 0.0) -> Sentence:
    """Ask whether a mass that left the cylinder, above 0, or came into it is to be kept [kg].

    hose_kg: what of it is in the hose now, where somebody has given it; none of it for what came in [kg].

    >>> str(question(0.1757671)), str(question(-0.1757671))
    ('6.2 oz left the cylinder. Keep?', '6.2 oz came into the cylinder. Keep?')
    >>> str(question(0.1757671, 0.0113398))
    '6.2 oz left the cylinder, and 0.4 oz of it is in the hose. Keep 5.8 oz?'
    """
    if mass_kg < 0.0:
        return Sentence("weighed.came", (weighed("mass", mass_kg),))
    if hose_kg <= 0.0:
        return Sentence("weighed.left", (weighed("mass", mass_kg),))
    parts = (weighed("mass", mass_kg), weighed("hose", hose_kg), weighed("net", max(mass_kg - hose_kg, 0.0)))
    return Sentence("weighed.left_hose", parts)


def so_far(under_way: UnderWay) -> Sentence:
    """Say what is under way."""
    kind = "weighed.so_far" if under_way.mass.value >= 0.0 else "weighed.so_far_came"
    return Sentence(kind, (weighed("mass", under_way.mass.value),))


class WeighedMoves:
    """Takes the readings of a scale as they come, irregular or missing, and tells each move once it has ended.

    >>> moves = WeighedMoves()
    >>> found = [moves.take(float(time_s), 10.0 if time_s < 300 else 9.8) for time_s in range(600)]  # made up
    >>> [(round(move.mass.value, 3), move.began_s) for move in found if move]
    [(0.2, 299.5)]
    """

    def __init__(self) -> None:
        self._steps = ScaleSteps()
        self._points: list[_Point] = []
        self._open: list[Sample] = []
        self._finest_kg = math.inf
        self._change: Change | None = None
        self._began_s: float | None = None

    @property
    def under_way(self) -> UnderWay | None:
        """What is under way, if anything is; as of the last three seconds. Its beginning stays as it was first told."""
        if self._change is None or self._began_s is None:
            return None
        after, change = self._points[self._change.after :], self._change.change
        level_kg = sum(it.mass_kg for it in after) / len(after)
        latest = [it.mass_kg for it in self._open if it.time_s > self._open[-1].time_s - _LATEST_S]
        since_kg = level_kg - sum(latest) / len(latest) if latest else 0.0
        mass = Estimate(since_kg - change.value, change.standard_uncertainty)
        return UnderWay(self._began_s, mass)

    def take(self, time_s: float, mass_kg: float | None) -> Weighed | None:
        """Take a reading [s, of one clock; kg], None where it is missing; gives the move that has ended by it."""
        if mass_kg is None or not math.isfinite(mass_kg):
            return None
        taken = self._steps.take(Sample(time_s, mass_kg))
        told = self._begin_anew() if taken.is_anew else None
        for sample in taken.samples:
            if self._open and sample.time_s - self._open[0].time_s >= POINT_S:
                self._points.append(_point(self._open, sample))
                self._open = []
                told = self._judge() or told
            if self._open:
                self._notice_resolution(sample.mass_kg - self._open[-1].mass_kg)
            self._open.append(sample)
        return told

    def _notice_resolution(self, step_kg: float) -> None:
        if abs(step_kg) > _ROUNDING_KG:
            self._finest_kg = min(self._finest_kg, abs(step_kg))

    @property
    def _resolution_kg(self) -> float:
        return self._finest_kg if math.isfinite(self._finest_kg) else 0.0

    def _begin_anew(self) -> Weighed | None:
        """Give what was under way until here, by what there is after it, less the last seconds: hands were on it."""
        was_under_way = self._change is not None
        if self._open:
            untouched = [it for it in self._open if it.time_s <= self._open[-1].time_s - _LATEST_S]
            self._points += [_point(untouched)] if untouched else []
        found = self._find()
        told = self._weighed(found, was_cut_short=True) if was_under_way and found and self._is_move(found) else None
        self._points, self._open = [], []
        self._goes_on(None)
        return told

    def _goes_on(self, change: Change | None) -> None:
        """Take what is under way now; its beginning stays as told, whatever is forgotten or found anew."""
        self._change = change
        if change is None:
            self._began_s = None
        elif self._began_s is None:
            self._began_s = self._between_s(change.shortest[0])

    def _judge(self) -> Weighed | None:
        found = self._find()
        if found is None:
            return None
        is_move = self._is_move(found)
        self._goes_on(found if is_move else None)
        if not self._has_ended(found):
            self._trim()
            return None
        told = self._weighed(found, was_cut_short=False) if is_move else None
        if is_move:
            self._points = self._points[found.after :]
            self._goes_on(None)
        elif found.evidence > _CERTAIN and abs(found.change.value) < 2 * found.change.standard_uncertainty:
            del self._points[found.first : found.after]  # it came back: a hand, or a hose that was moved
        self._trim()
        return told

    def _find(self) -> Change | None:
        if len(self._points) < _LEAST_POINTS:
            return None
        return find_change(self._weighed_points(), least_before=_LEAST_BEFORE, least_after=1)

    def _weighed_points(self) -> Points:
        points = self._points
        times_s, masses_kg = np.array([it.time_s for it in points]), np.array([it.mass_kg for it in points])
        return weigh(times_s, masses_kg, np.array([it.scatter_kg for it in points]), self._resolution_kg)

    def _is_move(self, found: Change) -> bool:
        size_kg, error_kg = abs(found.change.value), found.change.standard_uncertainty
        lasted_s = self._points[found.after].time_s - self._points[found.first - 1].time_s
        least_kg = max(LEAST_KG + _DRIFT_KG_PER_S * lasted_s, _RESOLUTIONS * self._resolution_kg)
        return size_kg > least_kg and size_kg > _SURE * error_kg and found.evidence > _CERTAIN

    def _has_ended(self, found: Change) -> bool:
        """Tell whether so long a pause has followed that what still flowed would be seen."""
        paused = len(self._points) - found.after
        if paused * POINT_S >= LONGEST_PAUSE_S:
            return True
        if paused * POINT_S < PAUSE_S or self._came_at_once(found):
            return False
        rate = rate_of(Points(*(row[found.after :] for row in self._weighed_points())))
        if rate.standard_uncertainty > _SLOWEST_KG_PER_S:
            return False
        onwards = math.copysign(1.0, found.change.value) * rate.value
        return onwards < max(2.5 * rate.standard_uncertainty, _SLOWEST_KG_PER_S)

    def _came_at_once(self, found: Change) -> bool:
        around = self._points[max(found.first - 1, 0) : found.after + 1]
        change_kg = found.change.value
        return any(it.at_once_kg * change_kg > _AT_ONCE_SHARE * change_kg**2 for it in around)

    def _between_s(self, place: int) -> float:
        """Give the moment between a point and the one before [s]."""
        return (self._points[place - 1].time_s + self._points[place].time_s) / 2

    def _weighed(self, found: Change, *, was_cut_short: bool) -> Weighed:
        error_kg = math.hypot(found.change.standard_uncertainty, self._resolution_kg / math.sqrt(6))
        mass = Estimate(-found.change.value, error_kg)
        began_s, ended_s = (self._between_s(place) for place in found.shortest)
        return Weighed(began_s, ended_s, mass, was_cut_short=was_cut_short)

    def _trim(self) -> None:
        """Forget the oldest; while something is under way, of what lies between the levels, but its ends."""
        while len(self._points) > _MOST_POINTS:
            move = self._change
            oldest = 0 if move is None or move.first > _BEFORE_POINTS or move.after - move.first < 3 else move.first + 1
            del self._points[oldest]
            if move is not None:
                shift = int(oldest == 0)
                first, last = move.shortest
                shortest = (first - shift, last - 1)
                self._change = move._replace(first=move.first - shift, after=move.after - 1, shortest=shortest)


def _point(samples: list[Sample], onwards: Sample | None = None) -> _Point:
    """Put readings of some seconds together: the mean of the middle half of them. onwards: the reading after."""
    masses, times = np.array([it.mass_kg for it in samples]), np.array([it.time_s for it in samples])
    aside = masses.size // 4
    steps = [
        later.mass_kg - earlier.mass_kg
        for earlier, later in pairwise([*samples, onwards] if onwards else samples)
        if later.time_s - earlier.time_s <= _AT_ONCE_S
    ]
    return _Point(
        float(times.mean()),
        float(np.sort(masses)[aside : masses.size - aside].mean()),
        _scatter(times - times.mean(), masses - masses.mean()),
        max(steps, key=abs, default=0.0),
    )


def _scatter(times_s: Array, masses_kg: Array) -> float:
    """Give the standard deviation about a line, both counted from their means; NaN of fewer than four."""
    if times_s.size < _LEAST_IN_A_LINE:
        return math.nan
    slope = float(times_s @ masses_kg) / float(times_s @ times_s)
    return math.sqrt(float(((masses_kg - slope * times_s) ** 2).sum()) / (times_s.size - 2))
