"""Whether the compressor runs, since when, and what the unit showed while it rested."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from calc.estimate import Estimate
from calc.lift import has_no_lift
from calc.motor.supply import LIVE_V
from calc.situation import Situation

_RUNNING_SHARE = 0.15
_RUNNING_A = 1.0
"""Of its rated amps, or where the plate is silent: a crankcase heater takes less, any compressor more; no source."""

_WORKING_RATIO = 1.5
"""Liquid over suction pressure of a compressor that works: common practice, no source."""

RESTED_S = 600.0
"""After so long the pressures at rest are those of the outdoor air, nearly enough: common practice, no source."""

BEFORE_START_S = 30.0
"""A reading at rest is kept once so much later the pressures still stand and are one: a start that shows in them before
it shows in the amps does not get into it. Common practice, no source."""

_MARGIN = 2.0
"""Standard uncertainties within which two pressures are one (k = 2)."""

_ARRIVING_S = 10.0
"""What is first seen with its pressures still one has only just begun to turn; they are read a little later than amps,
and come apart within seconds: common practice, no source."""

_JUST_SEEN_S = 0.25
"""One tick: what was seen to run for the first time does not rest."""

_COMPRESSOR = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")
_LINES = ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca")
_PRESSURES = ("liquid_pressure", "suction_pressure")
_AT_REST = (*_PRESSURES, "outdoor_air_temperature", "return_air_temperature")
READ_AT_REST = frozenset({*_AT_REST, "barometric_pressure"})
"""Channels on which it hangs: a gauge counts from the air."""


def is_running(now: Situation) -> bool | None:
    """Tell whether the compressor runs: by its amps, else by what it does to the pressures; None if neither tells."""
    by_amps = draws_current(now)
    if by_amps is not None:
        return by_amps
    suction_pa, liquid_pa = now.value("suction_pressure"), now.value("liquid_pressure")
    if suction_pa is None or liquid_pa is None:
        return None
    if liquid_pa > _WORKING_RATIO * suction_pa:
        return True
    return False if has_no_lift(now) else None


def compressor_amps(now: Situation) -> Estimate | None:
    """Give what the compressor draws, of three phases the one that draws most [A]; None where it is not measured."""
    amps = [found for name in _COMPRESSOR if (found := now.measured.get(name))]
    return max(amps, key=lambda found: found.value, default=None)


def draws_current(now: Situation) -> bool | None:
    """Tell whether the compressor draws more than a crankcase heater does; None where it is not measured."""
    amps = compressor_amps(now)
    if amps is None:
        return None
    return amps.value > (_RUNNING_SHARE * now.compressor_rla_a if now.compressor_rla_a else _RUNNING_A)


def has_power(now: Situation) -> bool:
    """Tell whether a pair of its supply reads live; not where no voltmeter tells."""
    return max(_volts(now), default=0.0) >= LIVE_V


def _volts(now: Situation) -> list[float]:
    return [found.value for name in _LINES if (found := now.measured.get(name))]


def _are_one(now: Situation, before: Mapping[str, Estimate]) -> bool:
    """Tell whether both pressures stand as they did before, and are the same; of one alone, whether it stands."""
    pressures = [name for name in _PRESSURES if name in now.measured]
    return all(name in before and _is_same(now.measured[name], before[name]) for name in pressures) and (
        len(pressures) < 2 or _is_same(*(now.measured[name] for name in pressures))
    )


def _is_same(one: Estimate, other: Estimate) -> bool:
    margin = _MARGIN * math.hypot(one.standard_uncertainty, other.standard_uncertainty)
    return abs(one.value - other.value) <= margin


@dataclass(frozen=True, slots=True)
class Compressor:
    """How the compressor stands: whether it runs, whether it was seen to start, since when it does so [s].

    at_rest: what was measured when it had last rested long enough. candidate, candidate_at_s: what becomes of that once
    it has stood for a while, and when it was measured [s]. held_from_s: when it was last seen to stop, or its power to
    come back while it rests; None where neither was seen, and where it runs or is without power. is_dead: it was.
    """

    runs: bool | None = None
    start_seen: bool = False
    since_s: float = 0.0
    at_rest: Mapping[str, Estimate] = field(default_factory=dict)
    candidate: Mapping[str, Estimate] = field(default_factory=dict)
    candidate_at_s: float = 0.0
    held_from_s: float | None = None
    is_dead: bool = False


class RunningUnit:
    """Follows the compressor. Times are the unit's own [s]. before: how it stood when it was last followed."""

    def __init__(self, before: Compressor | None = None) -> None:
        before = before or Compressor()
        self.at_rest = before.at_rest
        self._runs = before.runs
        self._start_seen = before.start_seen
        self._since_s = before.since_s
        self._candidate, self._candidate_at_s = before.candidate, before.candidate_at_s
        self._held_from_s, self._is_dead = before.held_from_s, before.is_dead

    @property
    def compressor(self) -> Compressor:
        """How it stands now."""
        return Compressor(
            self._runs,
            self._start_seen,
            self._since_s,
            self.at_rest,
            self._candidate,
            self._candidate_at_s,
            self._held_from_s,
            self._is_dead,
        )

    @property
    def ran_on_arrival(self) -> bool:
        """Whether it runs, and already did when it was first seen."""
        return self._runs is True and not self._start_seen

    def follow(self, now: Situation, time_s: float) -> None:
        """Take what is measured at this moment."""
        self._follow_power(now, time_s)
        runs = is_running(now)
        if runs is None:
            return
        if runs:
            self._held_from_s = None
        elif self._runs and not self._is_dead:
            self._held_from_s = time_s
        if runs is not self._runs:
            self._start_seen = runs and self._runs is False
            self._runs, self._since_s = runs, time_s
            self._candidate = {}
        if self.ran_on_arrival and time_s - self._since_s <= _ARRIVING_S and has_no_lift(now):
            self._start_seen = True
        if not runs and (not self._candidate or time_s - self._candidate_at_s >= BEFORE_START_S):
            if self._candidate and time_s - self._since_s >= RESTED_S and _are_one(now, self._candidate):
                self.at_rest = self._candidate
            self._candidate = {name: now.measured[name] for name in _AT_REST if name in now.measured}
            self._candidate_at_s = time_s

    def forget_rest(self, channels: Collection[str] = READ_AT_REST) -> None:
        """Forget what it showed at rest where that was read by one of these, which read otherwise now.

        A gauge that reads low makes air look like none; once it is put right, only another rest tells.
        """
        if not READ_AT_REST.isdisjoint(channels):
            self.at_rest, self._candidate = {}, {}

    def _follow_power(self, now: Situation, time_s: float) -> None:
        """Take whether its supply is dead, where a voltmeter tells: a delay timer counts from when it comes back."""
        volts = _volts(now)
        if not volts:
            return
        was_dead, self._is_dead = self._is_dead, not has_power(now)
        if self._is_dead:
            self._held_from_s = None
        elif was_dead:
            self._held_from_s = time_s

    def held_s(self, time_s: float) -> float | None:
        """Tell since when a delay timer may hold it [s]; None where nobody saw it stop, or its power come back."""
        return None if self._held_from_s is None else time_s - self._held_from_s

    def running_s(self, time_s: float) -> float | None:
        """Tell since when it runs, as far as was seen [s]; 0 at rest and only there, None where nothing tells."""
        if self._runs is None:
            return None
        return max(time_s - self._since_s, _JUST_SEEN_S) if self._runs else 0.0

    def rested_s(self, time_s: float) -> float | None:
        """Tell for how long it has been at rest, as far as was seen [s]; None where it runs, or nothing tells."""
        return time_s - self._since_s if self._runs is False else None

    def since_start_s(self, time_s: float) -> float | None:
        """Tell how long ago it started [s]: as `running_s`, but infinite where it ran before anyone looked."""
        return math.inf if self.ran_on_arrival else self.running_s(time_s)
