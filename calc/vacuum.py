"""The rise test after evacuation: what the vacuum says of moisture and leaks once the pump is isolated.

Installation manuals ask for 500 micron or less, held for 20 min with the pump isolated; a rise that levels off is
moisture boiling, a steady climb is air coming in. How much a climb must slow down to count as levelling off is common
practice without a source: a leak far from filling the system climbs at a constant rate, and evaporating moisture
slows by the same share in equal times.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from calc.errors import SeriesError

LIMIT_PA = 500 * 0.1333224
HOLD_S = 1200.0
NO_VOLTAGE = "Never run the compressor, nor put voltage to its terminals, while the system is in a vacuum."
"""What is said at every step that leads into a vacuum, or out of one by a start (common practice, no source)."""
_NITROGEN = (
    "Break the vacuum with dry nitrogen through a pressure regulator set below the lowest test pressure on the "
    "nameplate, never with air or oxygen."
)
_REFRIGERANT = (
    "Tight: break the vacuum with the refrigerant, weighed in as liquid with the compressor off, not with air."
)
_HOLD_IT = "Hold the vacuum until it is clear; what breaks it then is never air nor oxygen."
_FEWEST_READINGS = 2
_ATMOSPHERE_PA = 110e3
_LEAST_STEP_S = 1e-3
_LONGEST_S = 7 * 86400.0
_STANDSTILL_PA_PER_S = 1e-6
_LEVELS_OFF_BELOW = 1 / 3
_CLIMBS_ABOVE = 2 / 3
_ROUNDING = 1e-6
_LEAST_PA = 0.1333224  # 1 micron
_FALL_SHARE, _FALL_PA = 0.2, 20 * 0.1333224
"""What a gauge's noise and the system's temperature may do to it: common practice, no source."""


class Finding(StrEnum):
    """What a rise test found."""

    TIGHT = "tight"
    MOISTURE = "moisture"
    LEAK = "leak"
    UNCLEAR = "unclear"


CAUTIONS: Mapping[Finding, str] = {
    Finding.TIGHT: f"{NO_VOLTAGE} {_REFRIGERANT}",
    Finding.MOISTURE: f"{NO_VOLTAGE} {_NITROGEN}",
    Finding.LEAK: f"{NO_VOLTAGE} {_NITROGEN}",
    Finding.UNCLEAR: f"{NO_VOLTAGE} {_HOLD_IT}",
}
"""What to beware of by what was found: only moisture and a leak are met with nitrogen (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class RiseTest:
    """A finding, why, and how the pressure rose.

    Attributes:
        finding: what it is.
        reason: why, and what to do.
        slowing_factor: the rate of rise in the last third of the test over that in the first; None where it did not
            rise at first.

    """

    finding: Finding
    reason: str
    slowing_factor: float | None


def rise_test(
    times_s: Sequence[float],
    vacuum_pressures_pa: Sequence[float],
    *,
    limit_pa: float = LIMIT_PA,
    hold_s: float = HOLD_S,
) -> RiseTest:
    """Judge how the pressure rose after the pump was isolated.

    Args:
        times_s: rising, from when the pump was isolated [s].
        vacuum_pressures_pa: absolute, one for each time [Pa].
        limit_pa: what must be held: 500 micron, unless the maker says otherwise [Pa].
        hold_s: for how long: 20 min, unless the maker says otherwise [s].

    Returns:
        Tight, if the limit was held throughout that time and, at the rate of the last third, would be for as long
        again (common practice, no source). Moisture, if the limit was passed and the rise slowed to less than a third;
        a leak, if it kept more than two thirds of its rate, or does so below the limit and is about to pass it. Else
        unclear, with what to do: also where the pressure fell, which in an isolated system it does not.

    Raises:
        SeriesError: too few readings, times that do not rise, or a reading that is no vacuum.

    >>> five_minutes_s = [0.0, 60.0, 120.0, 180.0, 240.0, 300.0]
    >>> rise_test(five_minutes_s, [40.0, 60.0, 80.0, 100.0, 120.0, 140.0]).finding.value
    'leak'

    """
    _check(times_s, vacuum_pressures_pa)
    readings = list(zip(times_s, vacuum_pressures_pa, strict=True))
    third_s = (times_s[-1] - times_s[0]) / 3
    first = _rate([reading for reading in readings if reading[0] <= times_s[0] + third_s])
    last = _rate([reading for reading in readings if reading[0] >= times_s[-1] - third_s])
    slowing = last / first if first > _STANDSTILL_PA_PER_S else None
    faulty = _cannot_be(vacuum_pressures_pa, last)
    if faulty:
        return RiseTest(Finding.UNCLEAR, faulty, slowing)
    if max(vacuum_pressures_pa) > limit_pa:
        return RiseTest(*_judge_rise(vacuum_pressures_pa[0] > limit_pa, slowing), slowing)
    left_s = hold_s - (times_s[-1] - times_s[0])
    if left_s > 0:
        return RiseTest(Finding.UNCLEAR, f"held so far: watch it for {left_s / 60:.0f} min more", slowing)
    if vacuum_pressures_pa[-1] + last * hold_s > limit_pa * (1 + _ROUNDING):
        return RiseTest(*_judge_climb(vacuum_pressures_pa[-1], last, limit_pa, slowing), slowing)
    return RiseTest(Finding.TIGHT, "the limit was held: tight and dry, as far as this test can tell", slowing)


def _cannot_be(vacuum_pressures_pa: Sequence[float], last_pa_per_s: float) -> str:
    """Say why these are no readings of a system that stands isolated; nothing if they may be."""
    if min(vacuum_pressures_pa) < _LEAST_PA:
        return "it read nothing at all, which no pump reaches: look at the gauge and its connection, and test again"
    fell_pa = max(vacuum_pressures_pa) - vacuum_pressures_pa[-1]
    if last_pa_per_s <= 0 and fell_pa > max(_FALL_SHARE * max(vacuum_pressures_pa), _FALL_PA):
        return "it fell, which an isolated system does not: see that the valve to the pump is shut, and test again"
    return ""


def _judge_climb(last_pa: float, rate_pa_per_s: float, limit_pa: float, slowing: float | None) -> tuple[Finding, str]:
    minutes = (limit_pa - last_pa) / rate_pa_per_s / 60
    soon = f"the limit was held, but at its last rate it passes it within {minutes:.0f} min"
    if slowing is not None and slowing > _CLIMBS_ABOVE:
        return Finding.LEAK, f"{soon}: a steady climb, so air comes in; check hoses and gauge first, then find the leak"
    return Finding.UNCLEAR, f"{soon}: watch it longer"


def _judge_rise(begins_above: bool, slowing: float | None) -> tuple[Finding, str]:  # noqa: FBT001 - private
    if begins_above:
        return Finding.UNCLEAR, "it was above the limit as the pump was isolated: evacuate further, then test again"
    if slowing is None:
        return Finding.UNCLEAR, "it rose only later: check that the valve to the pump is shut, and test again"
    if slowing < _LEVELS_OFF_BELOW:
        return Finding.MOISTURE, "the rise levels off: moisture boils; break with dry nitrogen, evacuate, test again"
    if slowing > _CLIMBS_ABOVE:
        return (
            Finding.LEAK,
            "a steady climb: air comes in; check hoses and gauge first, then find the leak with nitrogen",
        )
    return Finding.UNCLEAR, "the rise slows down but has not levelled off: watch it longer"


def _rate(readings: Sequence[tuple[float, float]]) -> float:
    """Fit a straight line by least squares; its slope [Pa/s]."""
    if len(readings) < _FEWEST_READINGS:
        raise SeriesError(
            "the first and the last third of a rise test need two readings each: five or more in all, such as one "
            "every 5 min over 20 min"
        )
    mean_s = math.fsum(time_s for time_s, _ in readings) / len(readings)
    mean_pa = math.fsum(pressure_pa for _, pressure_pa in readings) / len(readings)
    moment = math.fsum((time_s - mean_s) * (pressure_pa - mean_pa) for time_s, pressure_pa in readings)
    return moment / math.fsum((time_s - mean_s) ** 2 for time_s, _ in readings)


def _check(times_s: Sequence[float], vacuum_pressures_pa: Sequence[float]) -> None:
    if not times_s or len(times_s) != len(vacuum_pressures_pa):
        raise SeriesError(f"{len(times_s)} times and {len(vacuum_pressures_pa)} pressures do not make a series")
    rising = all(earlier + _LEAST_STEP_S <= later for earlier, later in pairwise(times_s))
    if not (rising and times_s[0] >= 0 and times_s[-1] <= _LONGEST_S):
        raise SeriesError("the times of a rise test have to rise, from 0 to at most a week")
    wrong = [pressure_pa for pressure_pa in vacuum_pressures_pa if not 0 <= pressure_pa < _ATMOSPHERE_PA]
    if wrong:
        raise SeriesError(f"{wrong[0]:g} Pa is no vacuum: absolute pressures below 110 kPa are expected")
