"""Since when the unit runs, and what it showed while it rested."""

import math
from collections.abc import Mapping

from calc.estimate import Estimate
from ingest.advice.doubts import is_running
from ingest.wire.messages import UnitAbout

RESTED_S = 600.0
"""After so long the pressures at rest are those of the outdoor air, nearly enough: common practice, no source."""

_AT_REST = ("liquid_pressure", "suction_pressure", "outdoor_air_temperature")


class RunningUnit:
    """Follows the compressor. speed: how much faster than life the unit runs; times here are the unit's own."""

    def __init__(self, speed: float = 1.0) -> None:
        self.at_rest: Mapping[str, Estimate] = {}
        self._speed = speed
        self._runs: bool | None = None
        self._start_seen = False
        self._since_s = 0.0

    def follow(self, known: Mapping[str, Estimate], unit: UnitAbout, monotonic_s: float) -> None:
        """Take what is measured at this moment."""
        time_s = monotonic_s * self._speed
        runs = is_running(known, unit)
        if runs is None:
            return
        if runs is not self._runs:
            self._start_seen = runs and self._runs is False
            self._runs, self._since_s = runs, time_s
        if not runs and time_s - self._since_s >= RESTED_S:
            self.at_rest = {name: known[name] for name in _AT_REST if name in known}

    def running_s(self, monotonic_s: float) -> float | None:
        """Tell since when it runs, as far as was seen [s]; 0 at rest, None where nothing tells."""
        if self._runs is None:
            return None
        return monotonic_s * self._speed - self._since_s if self._runs else 0.0

    def since_start_s(self, monotonic_s: float) -> float | None:
        """Tell how long ago it started [s]: as `running_s`, but infinite where it ran before anyone looked."""
        return math.inf if self._runs and not self._start_seen else self.running_s(monotonic_s)
