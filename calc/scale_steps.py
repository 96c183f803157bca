"""Where a scale's reading begins anew: another load, the key that zeroes it, a long silence.

None of these is refrigerant that moved. A blow that is over within two seconds is none of them, and is left out.
"""

import math
from typing import NamedTuple

import numpy as np

from calc.two_levels import OUNCE_KG


class Sample(NamedTuple):
    """One reading of a scale: when [s], what [kg]."""

    time_s: float
    mass_kg: float


class Taken(NamedTuple):
    """What a reading came to: whether the course begins anew, and the readings that may be counted from here."""

    is_anew: bool
    samples: tuple[Sample, ...]


FASTEST_KG_PER_S = 0.3
"""No hose of a quarter inch passes more liquid for a second (common practice, no source): so a step is another load."""
LONGEST_SILENCE_S = 300.0
"""As for every figure that settles, `calc.settling.LONGEST_GAP_S`: what went on meanwhile is not known."""
_BLOW_S = 2.0
_BACK_KG = 0.1
_SWINGS_S = 10.0  # after another load: it swings, and the scale's own filter follows
_ZEROED_S = 3.0
_ZEROED_AT_ONCE_S = 2.5
_NEAR_ZERO_KG = 0.1 * OUNCE_KG
_LEAST_ZEROED_KG = 0.25 * OUNCE_KG
_MOST_FLICKER_KG = 0.5 * OUNCE_KG
_FLICKER_SHARE = 0.1
_NOTHING: Taken = Taken(is_anew=False, samples=())


class ScaleSteps:
    """Takes readings as they come, and gives on those that belong to one load."""

    def __init__(self) -> None:
        self._last: Sample | None = None
        self._held: list[Sample] = []
        self._is_zeroed = False
        self._swings_until_s = -math.inf
        self._flicker_kg = _NEAR_ZERO_KG

    def take(self, sample: Sample) -> Taken:
        """Take the next reading; one of the same moment as the last is left out."""
        last = self._held[-1] if self._held else self._last
        if last is None or not 0 <= sample.time_s - last.time_s <= LONGEST_SILENCE_S:
            return self._anew(sample)
        if sample.time_s == last.time_s:
            return _NOTHING
        if self._held:
            return self._hold(sample)
        if sample.time_s < self._swings_until_s:
            if _is_another_load(last, sample):
                self._swings_until_s = sample.time_s + _SWINGS_S
            self._last = sample
            return _NOTHING
        self._is_zeroed = self._looks_zeroed(last, sample)
        if self._is_zeroed or _is_another_load(last, sample):
            self._held = [sample]
            return _NOTHING
        return self._on(sample)

    def _anew(self, *samples: Sample) -> Taken:
        self._held = []
        self._last = samples[-1]
        return Taken(is_anew=True, samples=samples)

    def _on(self, *samples: Sample) -> Taken:
        for sample in samples:
            apart_kg = abs(sample.mass_kg - (self._last or sample).mass_kg)
            self._flicker_kg += _FLICKER_SHARE * (min(apart_kg, _MOST_FLICKER_KG) - self._flicker_kg)
            self._last = sample
        self._held = []
        return Taken(is_anew=False, samples=samples)

    def _looks_zeroed(self, last: Sample, sample: Sample) -> bool:
        """Tell whether it went to zero from one reading to the next: nothing else ends just there."""
        is_at_once = sample.time_s - last.time_s <= _ZEROED_AT_ONCE_S
        step_kg = abs(sample.mass_kg - last.mass_kg)
        is_near = abs(sample.mass_kg) <= _NEAR_ZERO_KG + 3 * self._flicker_kg
        return is_at_once and is_near and step_kg >= _LEAST_ZEROED_KG + 6 * self._flicker_kg

    def _hold(self, sample: Sample) -> Taken:
        self._held.append(sample)
        lasted_s = sample.time_s - self._held[0].time_s
        if self._is_zeroed:
            if lasted_s < _ZEROED_S:
                return _NOTHING
            later = self._held[len(self._held) // 2 :]
            middle_kg = float(np.median([abs(held.mass_kg) for held in later]))
            stayed = middle_kg <= _LEAST_ZEROED_KG + 3 * self._flicker_kg
            return self._anew(*self._held) if stayed else self._on(*self._held)
        if self._last is not None and abs(sample.mass_kg - self._last.mass_kg) <= _BACK_KG:
            return self._on(sample)
        if lasted_s < _BLOW_S:
            return _NOTHING
        self._swings_until_s = sample.time_s + _SWINGS_S
        self._anew(sample)
        return Taken(is_anew=True, samples=())


def _is_another_load(last: Sample, sample: Sample) -> bool:
    apart_s = max(sample.time_s - last.time_s, 1.0)
    return abs(sample.mass_kg - last.mass_kg) > FASTEST_KG_PER_S * apart_s
