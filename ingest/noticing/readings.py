"""Readings before and after a move: the figure that shows the charge has settled, by the judge's rules.

Only of a compressor that runs: one that hums without turning, or turns and pumps nothing, has readings that stand
still.
"""

from collections.abc import Sequence
from typing import ClassVar

from calc.heating import mode_of
from calc.judge.alarms import MOST_OVER_RLA
from calc.judge.alike import apart
from calc.judge.running import is_running
from calc.lift import has_no_lift
from calc.mode import Mode
from calc.quantities import Quantity
from calc.sentences import Sentence, figure, minutes, term
from calc.settling import LEAST_SPAN_S
from calc.situation import Situation
from ingest.noticing.motors import COMPRESSOR
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

HOLD_S = 10.0
_PRESSURES = ("suction_pressure", "liquid_pressure")
_AIRS = ("return_air_temperature", "supply_air_temperature", "outdoor_air_temperature", "condenser_fan_current")
"""What tells whether it heats, besides."""
_FIGURES = {
    "superheat": "superheat",
    "subcooling": "subcooling",
    "outdoor": "outdoor_air_temperature",
    "return_air": "return_air_temperature",
}


class SettledSeen:
    """Takes the readings once they have settled, once before the first move and once after each, of each circuit.

    What stood before a move says nothing of after it: each move is waited for anew, for as long as somebody asks for,
    and never for less than the judge needs to see anything settle: until it looks again, it still says what was so
    before, and where a bench runs fast that lasts long.
    """

    latency_s: ClassVar[float] = HOLD_S + 3.0

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._from_s = 0.0
        self._moved_s: float | None = None
        self._told_after: set[tuple[str, float | None]] = set()

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        name, moved_s = sight.known.settled, sight.known.moved_s
        found = sight.estimate(name) if name else None
        is_moved, self._moved_s = moved_s != self._moved_s, moved_s
        told = sight.known.circuit, moved_s
        if is_moved or found is None or told in self._told_after or not _works(sight):
            self._since_s = None
            return ()
        if self._since_s is None:
            self._since_s, self._from_s = sight.unit_s, sight.time_s
        since_s = 0.0 if moved_s is None else (sight.time_s - moved_s) * sight.known.speed
        is_waited = moved_s is None or since_s >= max(sight.known.least_wait_s, LEAST_SPAN_S)
        if sight.unit_s - self._since_s < HOLD_S or not is_waited:
            return ()
        self._told_after.add(told)
        values = {it: round(value, 4) for it, of in _FIGURES.items() if (value := sight.value(of)) is not None}
        spreads = {it: spread for it in values if (spread := sight.spread(_FIGURES[it]))}
        if moved_s is not None:
            values["since_move"] = round(since_s, 1)
        parts = [term("figure", name), figure("value", found, Quantity.TEMPERATURE_DIFFERENCE)]
        if moved_s is not None:
            parts.append(minutes("since", since_s))
        alike = moved_s is not None and apart(sight.known.was, values) == []
        what = ProposedFinding(
            "readings_before" if moved_s is None else "readings_after",
            values=values,
            standard_uncertainties=spreads,
            choices={"settled": "yes"} | ({"conditions": "same"} if alike else {}),
            circuit=sight.known.circuit,
        )
        kind = "before" if moved_s is None else "after_alike" if alike else "after"
        return (Seen(what, self._from_s, sight.time_s, Sentence(f"noticed.settled_{kind}", tuple(parts))),)


def _works(sight: Sight) -> bool:
    """Tell whether the compressor runs, by amps or pressures, and pumps: it does not turn near locked-rotor current.

    Nor does it heat, or defrost: the figures are those of a unit that cools.
    """
    seen = {name: found for name in (*COMPRESSOR, *_PRESSURES, *_AIRS) if (found := sight.estimate(name)) is not None}
    rated_a = sight.known.unit.compressor_rla_a
    now = Situation(measured=seen, compressor_rla_a=rated_a)
    most_a = max((seen[name].value for name in COMPRESSOR if name in seen), default=0.0)
    stalls = rated_a is not None and most_a > MOST_OVER_RLA * rated_a
    heats = mode_of(now) in (Mode.HEATING, Mode.DEFROST)
    return is_running(now) is True and not (stalls or heats or has_no_lift(now))
