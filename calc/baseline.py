"""What a sound unit shows of its own: how far each of its figures lies from the middle of all units like it.

Units of many makers differ by more than most faults move a figure. What one of them showed when it was found sound is
what is expected of it from then on, whatever the weather: only conditions are still reckoned with.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.situation import Situation
from calc.symptoms import FAHRENHEIT_DK, departures

_OF_THIS_VISIT = "rest_over_outdoor"
"""What says nothing of the next visit: air that was let in since would be taken for the unit's own."""
_LOADS = ("compressor_load", "condenser_fan_load")
_RETURNS_WITHIN_DK, _SUPERHEAT_RETURNS_WITHIN_DK = 1.0 * FAHRENHEIT_DK, 3.0 * FAHRENHEIT_DK
"""How well a sound unit comes back to a figure in other weather, beside what the instruments err. Of a split system in
a laboratory, at 16 conditions, the departures differ by 0.3 to 0.9 °F (standard deviation), that of the superheat by
1.1, one of them by 4 °F from the others (NISTIR 7350, its points without a fault)."""
_LOAD_RETURNS_WITHIN = 0.02
"""The same of amps: common practice, no source."""


def baseline(now: Situation) -> dict[str, Estimate]:
    """Give what a unit that was found sound departs by, for `Situation.found_sound` of the visits to come [K or 1].

    The figure that shows the charge is left out: of that the plate or the table says what is right, and what leaks
    away from visit to visit, each time within its tolerance, must not become what is expected.

    Args:
        now: what was known of it as it was found sound, averaged over a while and to be relied on.

    Raises:
        UnknownNameError: an unknown refrigerant or metering device.
        CalcRangeError: a pressure without saturation, a temperature that is none of air.

    """
    seen = departures(replace(now, found_sound={}))
    instruments = [math.hypot(*(it.effects[index] for it in seen.read)) for index in range(len(seen.found))]
    left_out = (_OF_THIS_VISIT, governing_figure(now.metering_device or "none"))
    return {
        it.name: Estimate(it.departure.value, math.hypot(spread, _returns_within(it.name)))
        for it, spread in zip(seen.found, instruments, strict=True)
        if it.name not in left_out
    }


def faded(departed: Mapping[str, Estimate], age_s: float) -> dict[str, Estimate]:
    """Give what a baseline of this age still tells: the longer ago, the less.

    What fouls, wears and is cleaned meanwhile moves a figure this way and that, as a walk at random does: its spread
    grows with the square root of the time. The value stays: which way it went nobody knows.

    Args:
        departed: as `baseline` gave it [K or 1].
        age_s: since then; one in the future, of a clock that was wrong, counts as today's [s].

    """
    years = max(age_s, 0.0) / _YEAR_S
    return {
        name: Estimate(it.value, math.hypot(it.standard_uncertainty, _wanders(name) * math.sqrt(years)))
        for name, it in departed.items()
    }


_YEAR_S = 365.25 * 86400.0
_WANDERS_DK: Mapping[str, float] = MappingProxyType(
    {
        "condensing_over_outdoor": 1.2 * FAHRENHEIT_DK,
        "superheat": 1.2 * FAHRENHEIT_DK,
        "discharge_superheat": 2.0 * FAHRENHEIT_DK,
    }
)
_OTHERS_WANDER_DK, _LOADS_WANDER = 0.8 * FAHRENHEIT_DK, 0.012
"""How far a figure of a sound unit goes in one year (k = 1): common practice, no source. Outdoor coils foul and are
washed from season to season, filters within months; an indoor coil takes 7.5 years to double its pressure drop
(LBNL-49757, from memory), which alone is less."""


def _wanders(name: str) -> float:
    return _LOADS_WANDER if name in _LOADS else _WANDERS_DK.get(name, _OTHERS_WANDER_DK)


def is_usual(now: Situation) -> bool:
    """Tell whether no figure lies outside what sound units show: what is right by a look alone is no baseline.

    Arguments and errors as `baseline`.
    """
    seen = departures(replace(now, found_sound={})).found
    return all(abs(it.departure.value) <= _WITHIN * it.departure.standard_uncertainty for it in seen)


_WITHIN = 2.0  # standard uncertainties: 95 of 100


def _returns_within(name: str) -> float:
    if name in _LOADS:
        return _LOAD_RETURNS_WITHIN
    return _SUPERHEAT_RETURNS_WITHIN_DK if name == "superheat" else _RETURNS_WITHIN_DK
