"""Volts across a joint, from leads that were put on it while it was dead: they rise as the motor begins to draw.

Leads in the air show some millivolts too, but do not rise and stay with the compressor's start.
"""

from collections.abc import Sequence
from typing import ClassVar

from calc.sentences import Sentence, text
from ingest.noticing.motors import COMPRESSOR, compressor_a, runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

METER = "multimeter_ac_voltage"
MOST_V = 10.0
"""No joint that still carries a motor drops more: common practice, no source."""
RISES_V = 0.001
STEADY_V, STEADY_A = Band(0.05, 0.001, 5.0), Band(0.05, 0.2, 5.0)
RUNS_S = 30.0


class JointSeen:
    """Keeps what the meter shows at rest, and tells what it shows more of while the compressor runs."""

    latency_s: ClassVar[float] = RUNS_S + STEADY_V.hold_s + 1.0

    def __init__(self) -> None:
        self._volts, self._amps = Plateau(STEADY_V), Plateau(STEADY_A)
        self._rest_v: float | None = None
        self._runs_s: float | None = None

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        volts, running = sight.value(METER), runs(sight)
        if volts is None or running is None:
            self._rest_v = self._runs_s = None
            self._volts.clear()
            return ()
        if running and self._runs_s is None:
            self._runs_s = sight.unit_s
            self._volts.clear()
        elif not running:
            self._runs_s = None
        if volts > MOST_V:
            self._volts.clear()
            if self._runs_s is None or sight.unit_s - self._runs_s >= RUNS_S:  # no inrush: the leads are elsewhere
                self._rest_v = None
            return ()
        is_steady = self._volts.take(volts, sight.unit_s, sight.time_s)
        flows = self._amps.take(compressor_a(sight) if running else None, sight.unit_s, sight.time_s)
        if not running:
            self._rest_v = self._volts.mean if is_steady else self._rest_v
            return ()
        if self._rest_v is None or not (is_steady and flows) or sight.unit_s - (self._runs_s or 0.0) < RUNS_S:
            return ()
        drop_v, amps, rest_v = self._volts.mean, self._amps.mean, self._rest_v
        self._rest_v = None
        if drop_v - rest_v < RISES_V:
            return ()
        what = ProposedFinding(
            "joint_drop",
            values={"drop.a": round(drop_v, 5), "amps": round(amps, 3)},
            standard_uncertainties=sight.spreads(drop__a=METER, amps=COMPRESSOR[0]),
        )
        parts = (
            text("drop", f"{1000 * drop_v:.0f} mV"),
            text("amps", f"{amps:.1f} A"),
            text("ohms", f"{1000 * drop_v / amps:.1f} mΩ"),
            text("heat", f"{drop_v * amps:.1f} W"),
        )
        return (Seen(what, self._volts.from_s, sight.time_s, Sentence("noticed.joint", parts)),)
