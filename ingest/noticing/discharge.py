"""A capacitor that empties through a resistor: direct volts that fall along a curve, and stay down.

Leads that are lifted off let the reading fall as well, but at once: without readings on the way down nothing is seen.
"""

from collections.abc import Sequence
from typing import ClassVar

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.sentences import Sentence, figure, seconds
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Known, Seen, Sight
from ingest.wire.messages import ProposedFinding
from ingest.wire.sheet import Capacitor

METER = "multimeter_dc_voltage"
CHARGED_V = 50.0
GONE_V = 5.0
"""Below it a capacitor counts as discharged: common practice, no source."""
PAIRS = {"herm_common": "Herm to common", "fan_common": "Fan to common", "herm_fan": "Herm to fan"}
LONGEST_S = 120.0
LEAST_ON_THE_WAY = 2
EMPTY = Band(share=0.0, least=GONE_V, hold_s=2.0)


class Discharge:
    """Follows direct volts down."""

    latency_s: ClassVar[float] = EMPTY.hold_s + 1.0

    def __init__(self) -> None:
        self._from_v = self._from_s = self._from_unit_s = 0.0
        self._on_the_way: list[float] = []
        self._down = Plateau(EMPTY)

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        signed_v = sight.value(METER)
        volts = None if signed_v is None else abs(signed_v)
        if volts is None:
            self._forget()
            return ()
        if volts >= max(CHARGED_V, self._from_v * 0.98):
            self._from_v, self._from_s, self._from_unit_s = volts, sight.time_s, sight.unit_s
            self._on_the_way = []
        elif self._from_v and volts >= GONE_V:
            self._follow(volts)
        is_down = self._down.take(volts if volts < GONE_V else None, sight.unit_s, sight.time_s)
        if not is_down or not self._from_v:
            return ()
        took_s = sight.unit_s - self._down.held_s - self._from_unit_s
        from_v, from_s, steps = self._from_v, self._from_s, len(self._on_the_way)
        self._forget()
        if steps < LEAST_ON_THE_WAY or took_s > LONGEST_S:
            return ()
        spread = sight.spread(METER)
        pairs = _pairs(sight.known)
        name = f"volts.{next(iter(pairs)) if len(pairs) == 1 else '?'}"
        what = ProposedFinding(
            "discharge",
            values={name: round(volts, 2)},
            per=pairs if len(pairs) > 1 else {},
            standard_uncertainties={name: spread} if spread else {},
        )
        parts = (
            figure("before", Estimate(from_v, spread), Quantity.VOLTAGE),
            figure("left", Estimate(volts, spread), Quantity.VOLTAGE),
            seconds("for", took_s),
        )
        return (Seen(what, from_s, sight.time_s, Sentence("noticed.discharge", parts)),)

    def _follow(self, volts: float) -> None:
        """Take a reading on the way down; one that rises again is another charge."""
        if self._on_the_way and volts > self._on_the_way[-1] * 1.02:
            self._from_v = 0.0
            self._on_the_way = []
        elif not self._on_the_way or volts < self._on_the_way[-1] * 0.98:
            self._on_the_way.append(volts)

    def _forget(self) -> None:
        self._from_v = 0.0
        self._on_the_way = []
        self._down.clear()


def _pairs(known: Known) -> dict[str, str]:
    """Name the pairs that the meter may be on: those of the sections that the sheet has, else all that there are."""
    cans = [part for part in known.sheet.parts if isinstance(part, Capacitor)] if known.sheet else []
    has = {"herm": any(can.herm_f for can in cans), "fan": any(can.fan_f for can in cans)}
    if cans and sum(has.values()) == 1:
        section = "herm" if has["herm"] else "fan"
        return {f"{section}_common": PAIRS[f"{section}_common"]}
    return dict(PAIRS)
