"""Whether the blower on the clamp follows the pattern of the fan that somebody at the thermostat switches by.

The unit may be another one: of that, half is thought beforehand, for nobody has yet told which it is.
"""

from collections.abc import Sequence
from statistics import median
from typing import ClassVar

from calc.pattern import LEAST_STATE_S, TOLD_FROM, fan_pattern
from calc.sentences import Sentence, chance, text
from ingest.noticing.motors import RUNNING_A, ZERO_A
from ingest.noticing.sight import Seen, Sight
from ingest.visit.pattern import BLOWER
from ingest.wire.messages import ProposedUnit

BEFORE_S = 60.0
"""Samples count from so long before the first switching."""
APART_S = 5.0
NONE_PRIOR = 0.5
START_DELAY_S, RUN_ON_S = 45.0, 105.0
"""At most, with 15 s for two people's watches. All of these: common practice, no source."""


class PatternSeen:
    """Keeps the blower's amps over a pattern, by the clock that people switch by, and tells once it has ended."""

    latency_s: ClassVar[float] = LEAST_STATE_S + 1.0

    def __init__(self) -> None:
        self._times_s: Sequence[float] = ()
        self._samples: list[tuple[float, float]] = []
        self._spread_a = 0.0
        self._is_told = False

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        times_s = sight.known.pattern_s
        if times_s != self._times_s:
            self._times_s, self._samples, self._spread_a, self._is_told = times_s, [], 0.0, False
        if not times_s or self._is_told or sight.time_s < times_s[0] - BEFORE_S:
            return ()
        self._sample(sight)
        if sight.time_s < times_s[-1] + LEAST_STATE_S or not self._samples:
            return ()
        self._is_told = True
        covers = self._samples[0][0] <= times_s[0] and self._samples[-1][0] >= times_s[-1] + LEAST_STATE_S - APART_S
        return (self._told(sight),) if covers else ()

    def _sample(self, sight: Sight) -> None:
        amps = sight.value(BLOWER)
        if amps is None or (self._samples and sight.time_s - self._samples[-1][0] < APART_S):
            return
        self._samples.append((sight.time_s, amps))
        self._spread_a = max(self._spread_a, sight.spread(BLOWER))

    def _told(self, sight: Sight) -> Seen:
        from_s, to_s = self._times_s[0], self._times_s[-1] + LEAST_STATE_S
        amps = [drawn for _, drawn in self._samples]
        found = fan_pattern(
            [each - from_s for each in self._times_s],
            [min(each, to_s) - from_s for each, _ in self._samples[:-1]] + [to_s - from_s],
            [amps],
            running_a=[median([drawn for drawn in amps if drawn > ZERO_A] or [RUNNING_A])],
            noise_a=max(self._spread_a, ZERO_A / 2),
            start_delay_s=START_DELAY_S,
            run_on_s=RUN_ON_S,
            none_prior=NONE_PRIOR,
        )
        tag, (probability,) = sight.known.unit.tag, found.probabilities
        parts = (
            text("tag", tag),
            chance("probability", probability),
            chance("none", found.none_probability),
        )
        if found.told is not None:
            what, kind = ProposedUnit(tag, round(probability, 6)), "noticed.pattern_unit"
        else:
            what = ProposedUnit("", round(found.none_probability, 6))
            kind = "noticed.pattern_none" if what.probability >= TOLD_FROM else "noticed.pattern_cannot_tell"
        return Seen(what, from_s, to_s, Sentence(kind, parts))
