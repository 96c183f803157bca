"""Power off, and back: by the volts of the supply where a voltmeter is linked, with the amps of all motors.

Zero amps is no proof of anything dead, and the words say so. A thermostat that is satisfied stops the motors too:
without volts, power counts as off only where the blower is watched and stops in the same moment as the others.
"""

from collections.abc import Sequence
from typing import ClassVar

from calc.estimate import Estimate
from calc.motor.supply import DEAD_V, LIVE_V
from calc.quantities import Quantity
from calc.sentences import Sentence, figure, minutes
from ingest.noticing.motors import (
    COMPRESSOR,
    FANS,
    RUNNING_A,
    ZERO_A,
    compressor_a,
    line_volts,
    motor_amps,
    runs,
)
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

HOLD_S = 10.0
TOGETHER_S = 3.0
LEAST_REST_S = 300.0
"""Between stop and start: makers of compressors ask for 5 min."""
MOST_BACK_S = 900.0
"""So long after power is back a start belongs to it: common practice, no source."""


class PowerOff:
    """All that is watched goes to zero and stays there."""

    latency_s: ClassVar[float] = HOLD_S + 1.0

    def __init__(self) -> None:
        self._was_on = self._is_told = False
        self._drew_s: dict[str, float] = {}
        self._off_s: float | None = None
        self._from_s = 0.0

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        is_off = self._is_off(sight)
        if is_off is None:
            return ()
        if not is_off:
            self._was_on, self._is_told, self._off_s = True, False, None
            return ()
        if self._off_s is None:
            self._off_s, self._from_s = sight.unit_s, sight.time_s
        if not self._was_on or self._is_told or sight.unit_s - self._off_s < HOLD_S:
            return ()
        self._is_told, self._was_on = True, False
        names = {f"amps.{name.removesuffix('_current')}": name for name in (COMPRESSOR[0], *FANS)}
        values = {name: round(amps, 3) for name, channel in names.items() if (amps := sight.value(channel)) is not None}
        spreads = {name: spread for name in values if (spread := sight.spread(names[name]))}
        what = ProposedFinding("isolate", values=values, standard_uncertainties=spreads)
        kind = "noticed.power_off" if line_volts(sight) else "noticed.power_off_by_amps"
        return (Seen(what, self._from_s, sight.time_s, Sentence(kind)),)

    def _is_off(self, sight: Sight) -> bool | None:
        """Tell whether everything is at zero; None where that cannot be told from a call that ended."""
        amps, volts = motor_amps(sight), line_volts(sight)
        for name in (COMPRESSOR[0], *FANS):
            if (sight.value(name) or 0.0) > RUNNING_A / 2:
                self._drew_s[name] = sight.unit_s
        if volts:
            if max(volts) > LIVE_V:
                return False
            return max(volts) < DEAD_V and all(drawn <= ZERO_A for drawn in amps)
        if "blower_current" not in self._drew_s or len(self._drew_s) == 1 or not amps:
            return None
        if max(amps) > ZERO_A:
            return False
        return max(self._drew_s.values()) - min(self._drew_s.values()) <= TOGETHER_S


class PowerBack:
    """The supply is live again, and the compressor draws on its call."""

    latency_s: ClassVar[float] = 6.0

    def __init__(self) -> None:
        self._dead_s: float | None = None
        self._live_s: float | None = None
        self._from_s = 0.0
        self._ran_s: float | None = None
        self._draws_s: float | None = None
        self._rest_s: float | None = None

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        volts, running = line_volts(sight), runs(sight)
        if not volts or running is None:
            return ()
        self._follow(sight.unit_s, running=running)
        if max(volts) < DEAD_V:
            self._dead_s = sight.unit_s if self._dead_s is None else self._dead_s
            self._live_s = None
        elif max(volts) > LIVE_V and self._dead_s is not None and self._live_s is None:
            self._live_s, self._from_s = sight.unit_s, sight.time_s
        if self._live_s is None or self._dead_s is None:
            return ()
        if sight.unit_s - self._live_s > MOST_BACK_S:
            self._dead_s = self._live_s = None
            return ()
        if self._draws_s is None or sight.unit_s - self._draws_s < self.latency_s - 1.0:
            return ()
        rested_s = self._draws_s - self._dead_s if self._rest_s is None else self._rest_s
        self._dead_s = self._live_s = None
        values = {"since_stop": round(rested_s, 1), "compressor": round(compressor_a(sight) or 0.0, 3)}
        if rated_a := sight.known.unit.compressor_rla_a:
            values["rated"] = rated_a
        what = ProposedFinding(
            "power_back",
            values=values,
            standard_uncertainties=sight.spreads(compressor=COMPRESSOR[0]),
            choices={"call": "present", "contactor": "in"},
        )
        kind = "noticed.power_back" if rested_s >= LEAST_REST_S else "noticed.power_back_early"
        if sight.known.is_locked:  # hands may still be in the panel
            kind = "noticed.power_back_locked"
        told = figure("volts", Estimate(max(volts), sight.spread("line_voltage_ab")), Quantity.VOLTAGE)
        return (Seen(what, self._from_s, sight.time_s, Sentence(kind, (told, minutes("rest", rested_s)))),)

    def _follow(self, unit_s: float, *, running: bool) -> None:
        """Remember since when it draws, and for how long it had rested; at least since the supply was dead."""
        if not running:
            self._draws_s = None
            return
        if self._draws_s is None:
            self._draws_s = unit_s
            self._rest_s = None if self._ran_s is None else unit_s - self._ran_s
        self._ran_s = unit_s
