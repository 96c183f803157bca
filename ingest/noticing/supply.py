"""The supply: each pair at rest and while the compressor runs, how much it gives way, and the balance of three."""

from collections.abc import Sequence
from typing import ClassVar

from calc.estimate import Estimate
from calc.motor.supply import LIVE_V, unbalance
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, figure, text
from ingest.noticing.motors import LINES, runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

STEADY = Band(share=0.01, least=1.0, hold_s=5.0)
RUNS_S = 30.0
"""After a start, until the volts are those of a motor at work: common practice, no source."""


class SupplySeen:
    """Keeps the volts at rest, and tells them with those while it runs."""

    latency_s: ClassVar[float] = RUNS_S + STEADY.hold_s + 1.0

    def __init__(self) -> None:
        self._plateaus = {name: Plateau(STEADY) for name in LINES}
        self._rest_v: dict[str, float] = {}
        self._rest_s = 0.0
        self._runs_s: float | None = None
        self._is_told = False

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        running = runs(sight)
        if running is None:
            self._runs_s = None
            return ()
        if not running or self._runs_s is None:
            self._is_told = False
            if running:
                for plateau in self._plateaus.values():
                    plateau.clear()
            self._runs_s = sight.unit_s if running else None
        steady = {}
        for name, plateau in self._plateaus.items():
            volts = sight.value(name)
            if plateau.take(volts if volts and volts >= LIVE_V else None, sight.unit_s, sight.time_s):
                steady[name] = plateau.mean
        if not running:
            self._rest_v |= steady
            self._rest_s = sight.time_s if steady else self._rest_s
            return ()
        pairs = [name for name in LINES if name in steady and name in self._rest_v]
        told_of = [name for name in LINES if sight.value(name) is not None]
        if self._is_told or not pairs or pairs != told_of or sight.unit_s - (self._runs_s or 0.0) < RUNS_S:
            return ()
        self._is_told = True
        seen = self._told(pairs, steady, sight)
        self._rest_v = {}
        return (seen,)

    def _told(self, pairs: Sequence[str], steady: dict[str, float], sight: Sight) -> Seen:
        values = {f"rest.{_pair(name)}": round(self._rest_v[name], 2) for name in pairs}
        values |= {f"running.{_pair(name)}": round(steady[name], 2) for name in pairs}
        spreads = {f"{when}.{_pair(name)}": sight.spread(name) for name in pairs for when in ("rest", "running")}
        if sight.known.sheet and sight.known.sheet.volts:
            values["nameplate.low"] = sight.known.sheet.volts
        worst = max(pairs, key=lambda name: 1 - steady[name] / self._rest_v[name])
        drop_ratio = max(0.0, 1 - steady[worst] / self._rest_v[worst])
        parts: list[Part] = [
            figure("rest", Estimate(self._rest_v[worst], sight.spread(worst)), Quantity.VOLTAGE),
            figure("running", Estimate(steady[worst], sight.spread(worst)), Quantity.VOLTAGE),
            text("drop", f"{100 * drop_ratio:.1f} %"),
        ]
        kind = "noticed.supply"
        if len(pairs) == len(LINES):
            kind = "noticed.supply_of_three"
            parts.append(text("unbalance", f"{100 * unbalance(*(steady[name] for name in LINES)):.1f} %"))
        what = ProposedFinding("supply", values=values, standard_uncertainties={k: v for k, v in spreads.items() if v})
        return Seen(what, self._rest_s, sight.time_s, Sentence(kind, tuple(parts)))


def _pair(name: str) -> str:
    """Name a pair as the checks do: line_voltage_ab is a_b."""
    return f"{name[-2]}_{name[-1]}"
