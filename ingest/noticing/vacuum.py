"""The rise test after evacuation: how the vacuum goes on from when it left its lowest, as after the pump was isolated.

No gauge tells whether the pump is: a vacuum that stays at its lowest may be held by it, and the words ask.
"""

from collections.abc import Mapping, Sequence
from typing import ClassVar

from calc.sentences import Sentence, minutes, text
from calc.vacuum import HOLD_S, LIMIT_PA, Finding, rise_test
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

GAUGE = "vacuum_pressure"
PA_PER_MICRON = 0.1333224
EVERY_S = 5.0
SOONEST_S, LOOK_EVERY_S, LONGEST_S = 300.0, 30.0, 2400.0
FALLS_SHARE, FALLS_PA = 0.2, 3.0
"""What falls by more is pumped still: common practice, no source."""
STAYS_PA = 1.0
"""Within this, or its own noise, it is at its lowest still."""
_KINDS: Mapping[Finding, str] = {
    Finding.TIGHT: "noticed.vacuum_tight",
    Finding.MOISTURE: "noticed.vacuum_moisture",
    Finding.LEAK: "noticed.vacuum_leak",
}
_COURSES: Mapping[Finding, str] = {Finding.TIGHT: "holds", Finding.MOISTURE: "levels_off", Finding.LEAK: "climbs"}


class VacuumSeen:
    """Follows the gauge from each new lowest reading."""

    latency_s: ClassVar[float] = HOLD_S + LOOK_EVERY_S

    def __init__(self) -> None:
        self._times_s: list[float] = []
        self._pressures_pa: list[float] = []
        self._from_s = 0.0
        self._looked_s = 0.0
        self._is_told = False
        self._left = self._last_low = 0
        self._last_low_s = 0.0

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        pressure_pa = sight.value(GAUGE)
        if pressure_pa is None or pressure_pa > 100 * LIMIT_PA:
            self._times_s, self._pressures_pa, self._is_told = [], [], False
            return ()
        if not self._times_s or self._is_pumped(pressure_pa, sight.spread(GAUGE)):
            self._begin(pressure_pa, sight)
            return ()
        is_over = sight.unit_s - self._times_s[self._left] > LONGEST_S
        if is_over or sight.unit_s - self._times_s[-1] < EVERY_S:
            return ()
        self._times_s.append(sight.unit_s)
        self._pressures_pa.append(pressure_pa)
        if pressure_pa <= self._pressures_pa[0] + max(STAYS_PA, 2 * sight.spread(GAUGE)):
            self._last_low, self._last_low_s = len(self._times_s) - 1, sight.time_s
        elif not self._left:
            self._left, self._from_s = self._last_low, self._last_low_s
        return self._look(sight, pressure_pa)

    def _look(self, sight: Sight, pressure_pa: float) -> Sequence[Seen]:
        """Judge the rise from when it left its lowest."""
        times_s, pressures_pa = self._times_s[self._left :], self._pressures_pa[self._left :]
        stood_s = sight.unit_s - times_s[0]
        is_due = stood_s >= SOONEST_S and sight.unit_s - self._looked_s >= LOOK_EVERY_S
        if self._is_told or not is_due or pressures_pa[0] > LIMIT_PA:
            return ()
        self._looked_s = sight.unit_s
        found = rise_test([time_s - times_s[0] for time_s in times_s], pressures_pa)
        if found.finding is Finding.UNCLEAR:
            return ()
        self._is_told = True
        what = ProposedFinding(
            "opened",
            values={"vacuum": round(pressure_pa, 3), "isolated_for": round(stood_s, 1)},
            standard_uncertainties=sight.spreads(vacuum=GAUGE),
            choices={"vacuum_course": _COURSES[found.finding]},
            circuit=sight.known.circuit,
        )
        parts = (
            text("lowest", _micron(pressures_pa[0])),
            text("now", _micron(pressure_pa)),
            minutes("stood", stood_s),
        )
        return (Seen(what, self._from_s, sight.time_s, Sentence(_KINDS[found.finding], parts)),)

    def _is_pumped(self, pressure_pa: float, spread_pa: float) -> bool:
        """Tell whether it falls to a new lowest, or falls back from where it had risen to."""
        lowest_pa, highest_pa = self._pressures_pa[0], max(self._pressures_pa)
        by_pa = max(FALLS_PA, 2 * spread_pa)
        return pressure_pa < lowest_pa - by_pa / 2 or (
            pressure_pa < (1 - FALLS_SHARE) * highest_pa and highest_pa - pressure_pa > by_pa
        )

    def _begin(self, pressure_pa: float, sight: Sight) -> None:
        self._times_s, self._pressures_pa = [sight.unit_s], [pressure_pa]
        self._from_s, self._looked_s, self._is_told = sight.time_s, sight.unit_s, False
        self._left, self._last_low, self._last_low_s = 0, 0, sight.time_s


def _micron(pressure_pa: float) -> str:
    """Write it in microns, as every vacuum gauge shows it."""
    return f"{pressure_pa / PA_PER_MICRON:.0f} micron"
