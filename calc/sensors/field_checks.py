"""Checks of an instrument in the field, without a laboratory: against the air, against ice, against nothing at all.

A check finds what an instrument reads too high at one point, and how well that is known. Taking it off makes the
zero better; what the instrument does elsewhere in its range stays as uncertain as its maker leaves it.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from calc.comparing import Comparison, NotMet, compare
from calc.elementwise import within
from calc.errors import SeriesError
from calc.estimate import Estimate
from calc.uncertainty import rectangular

ICE_POINT_K = Estimate(273.15, 0.05)
"""Crushed ice and clean water, stirred, in an insulated cup: 0 °C (ASTM E563; MSL Technical Guide 1, The Ice Point).
Done with care it is good to some mK; within 0.1 K for a clamp in a cup on a roof is common practice, no source."""

NO_CURRENT_A = Estimate(0.0, 0.0)
"""A jaw closed on nothing, away from every conductor."""

NO_GAUGE_PRESSURE_PA = Estimate(0.0, 0.0)
"""What a gauge probe feels while it is open to the air, whatever the barometer says."""

PIPE_CONTACT_DK = rectangular(0.3)
"""How far a clamp may be from its pipe by its contact alone, beside what it errs by itself: within ±0.3 K on a clean
pipe with the clamp insulated (common practice, no source); a rectangle (JCGM 100, 4.3.7). Ice has no such term."""

ZERO_SHARE = 0.5
"""How much of an instrument's variance is an error of its zero, the same everywhere: common practice, no source."""

_RESOLUTION_SHARE = 0.1
"""The last digit over the maker's limit: common practice, no source."""

_CORRECTABLE_LIMITS = 3.0
"""An instrument that is further off than so many of its limits is broken, not out of adjustment: no source."""

_NEAR_LIMITS = 2 * _CORRECTABLE_LIMITS
"""One that reads further off than so many of its limits is likelier somewhere else than broken: no source."""

_MOST_OFFSET_PA = 5 * 6894.757  # 5 psi; NIST SP 811, B.8

LEAST_READINGS = 3
_GREATEST = 1e12


@dataclass(frozen=True, slots=True)
class FieldCheck:
    """What a check found.

    Attributes:
        offset: how much the instrument reads too high, at this point [unit of the reading].
        verdict: whether it is within its maker's limits, or whether this check cannot tell.
        corrected_standard_uncertainty: of a reading with the offset taken off; None where taking it off does not help.

    """

    offset: Estimate
    verdict: Comparison
    corrected_standard_uncertainty: float | None


def steady_average(values: Sequence[float], accuracy: float) -> Estimate:
    """Average what an instrument read over some seconds.

    Readings within seconds share their noise, so the average is taken to be no better known than one of them: its
    standard uncertainty is their experimental standard deviation (JCGM 100, 4.2.2 and 4.2.7).

    Args:
        values: at least three readings, oldest first.
        accuracy: the maker's ± limit [unit of the values].

    Raises:
        SeriesError: too few readings, or they still move: half the limit from the first half to the second.
        CalcRangeError: a reading is no number below 1e12.

    >>> steady_average([32.1, 32.3, 32.2, 32.2], accuracy=0.9)
    Estimate(value=32.2, standard_uncertainty=0.0816...)

    """
    if len(values) < LEAST_READINGS:
        raise SeriesError(f"{len(values)} readings are too few to average: wait for {LEAST_READINGS}")
    for value in values:
        within("reading", value, -_GREATEST, _GREATEST, "")
    half = len(values) // 2
    moved = statistics.fmean(values[-half:]) - statistics.fmean(values[:half])
    if abs(moved) > accuracy / 2:
        raise SeriesError("the reading still moves: wait until it stands")
    return Estimate(statistics.fmean(values), statistics.stdev(values))


def is_near(reading: float, reference: float, accuracy: float) -> bool:
    """Whether a reading can be of the place that a check is about, before the instrument is blamed for it.

    A good probe that is still on the unit reads far from the air, from ice, or from nothing. accuracy: the maker's ±
    limit [unit of both]. A rule of thumb (no source): it decides only whether somebody is asked.

    >>> is_near(118.0, 0.0, accuracy=1.0), is_near(-4.0, 0.0, accuracy=1.0)
    (False, True)
    """
    return abs(reading - reference) <= _NEAR_LIMITS * accuracy


def is_under_pressure(reading_pa: float, reference_pa: float, accuracy_pa: float) -> bool:
    """Whether a probe that is said to be open to the air reads more than its zero can be off: it is not the probe.

    Beyond 5 psi and three of the maker's ± limits a hose is likelier full than a zero so far away: common practice, no
    source.

    >>> is_under_pressure(820e3, 0.0, 7e3), is_under_pressure(20e3, 0.0, 7e3)
    (True, False)
    """
    return reading_pa - reference_pa > _MOST_OFFSET_PA + _CORRECTABLE_LIMITS * accuracy_pa


def check(reading: Estimate, reference: Estimate, accuracy: float) -> FieldCheck:
    """Compare what an instrument reads with what is true.

    The offset is as uncertain as the reading, its last digit and the reference together (JCGM 100, 5.1.2; a last digit
    counts as a rectangle, F.2.2.1). It is worth taking off where what remains, the span's part of the maker's limit
    and the offset's own uncertainty, is less than what the maker leaves. An instrument that was out of its limits is
    trusted no further than to them even then; one that is far out is broken, and is not corrected.

    Args:
        reading: the average [any unit].
        reference: what is true, in the same unit: ICE_POINT_K, NO_CURRENT_A, NO_GAUGE_PRESSURE_PA, the barometer for
            an absolute probe, or a second instrument at the same place.
        accuracy: the maker's ± limit, taken as k = 2 [same unit].

    Raises:
        CalcRangeError: the limit is not above zero.

    >>> found = check(Estimate(273.55, 0.05), ICE_POINT_K, accuracy=0.5)
    >>> round(found.offset.value, 2), round(found.offset.standard_uncertainty, 3)
    (0.4, 0.072)
    >>> round(found.corrected_standard_uncertainty, 3)  # the maker leaves 0.25
    0.191

    """
    within("accuracy", accuracy, math.ulp(0.0), _GREATEST, "", "the maker's ± limit")
    last_digit = _RESOLUTION_SHARE * accuracy / math.sqrt(12)
    offset = Estimate(
        reading.value - reference.value,
        math.hypot(reading.standard_uncertainty, last_digit, reference.standard_uncertainty),
    )
    verdict = compare(offset, -accuracy, accuracy)
    return FieldCheck(offset, verdict, _corrected(offset, verdict, accuracy))


def _corrected(offset: Estimate, verdict: Comparison, accuracy: float) -> float | None:
    maker = accuracy / 2
    remaining = math.hypot(maker * math.sqrt(1 - ZERO_SHARE), offset.standard_uncertainty)
    if remaining >= maker or abs(offset.value) > _CORRECTABLE_LIMITS * accuracy:
        return None
    return maker if isinstance(verdict, NotMet) else remaining
