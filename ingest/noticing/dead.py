"""Live, dead, live: a meter that was seen on a live source before and after, and below 3 V in between.

One multimeter is put on pair after pair, and cannot tell on which: it is counted how often it was seen below 3 V
between two live readings. Leads in the air read zero as well, so that nothing is seen while a motor draws or a
voltmeter finds the supply live.

Power that goes and comes back shows live, dead, live, too, to leads that stay where they are, and nobody has proved
anything. So a voltmeter of the supply must still find it dead while the meter is on its source again: without one
nothing is seen. Such voltmeters stay on their pairs, and prove nothing themselves. What was dead before there was power
counts no more, also where it was proved and not told yet.

Whose meter sends that its HOLD key was pressed names each pair by pressing it there, in the order that is asked for
(`held_pairs`): then nothing is counted, and each pair has its own figure.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from calc.estimate import Estimate
from calc.motor.supply import DEAD_V, LIVE_V
from calc.quantities import Quantity
from calc.sentences import Sentence, count, figure
from ingest.noticing.held_pairs import HeldPairs
from ingest.noticing.hold_key import SOONEST_S
from ingest.noticing.motors import line_volts
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Seen, Sight
from ingest.noticing.witnesses import LONGEST_S, WITNESS_S, is_dead_elsewhere, is_live_elsewhere, is_other_source
from ingest.wire.messages import ByHold, ProposedFinding

METER = "multimeter_ac_voltage"
STEADY = Band(share=0.05, least=1.5, hold_s=1.0)
ANOTHER_S = 30.0
"""So long after the last proof on a live source no other pair is to come: common practice, no source."""

_WORDS = {
    "a_b": "L1 to L2",
    "b_c": "L2 to L3",
    "c_a": "L3 to L1",
    "a_earth": "L1 to ground (earth)",
    "b_earth": "L2 to ground (earth)",
    "c_earth": "L3 to ground (earth)",
    "control": "Control circuit",
}
_WORDS_OF_ONE = {name: word for name, word in _WORDS.items() if "L3" not in word}
_BESIDES = {"load_side": "Load side of the contactor, the highest of its pairs"}
"""Where the meter may have been, too: no pair that is asked for by the HOLD key."""


@dataclass(frozen=True, slots=True)
class _Live:
    """A source as it was seen last: volts, and when, in the unit's own time and by the wall clock [s]."""

    volts: float
    unit_s: float
    time_s: float


@dataclass(slots=True)
class _Proved:
    """What was proved: dead_v holds the most of each place where the meter was seen below 3 V."""

    before: _Live
    after: _Live
    dead_v: list[float] = field(default_factory=list)


class LiveDeadLive:
    """Watches the meter, and tells once no other pair follows."""

    latency_s: ClassVar[float] = ANOTHER_S + 2.0

    def __init__(self) -> None:
        self._plateau = Plateau(STEADY)
        self._sampled_s: float | None = None
        self._live: _Live | None = None
        self._dead_v: list[float] = []
        self._is_dead = False
        self._proved: _Proved | None = None
        self._held = HeldPairs(METER, STEADY)

    def by_hold(self) -> ByHold:
        """Tell what the HOLD key takes next."""
        return self._held.stands()

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        had_begun = self._held.has_begun
        seen = self._held.take(sight, _words(sight))
        if had_begun or self._held.has_begun:  # each pair is named by a press: none is counted beside it
            self._live, self._dead_v, self._is_dead, self._proved = None, [], False, None
            return () if seen is None else (seen,)
        volts = sight.value(METER)
        if is_live_elsewhere(sight):
            self._dead_v, self._proved, self._is_dead = [], None, False
        if volts is not None and volts >= DEAD_V:
            self._is_dead = False
        if self._stands(sight) and volts is not None:
            if volts < DEAD_V:
                self._take_dead(volts, sight)
            elif volts >= LIVE_V:
                self._take_live(sight)
        proved = self._proved
        if proved is None or self._is_dead or sight.unit_s - proved.after.unit_s < ANOTHER_S:
            return ()
        self._proved = None
        return (_told(proved, sight),)

    def _stands(self, sight: Sight) -> bool:
        """Tell whether the meter, heard anew and just now, stands still.

        A link that falls silent shows the last sample again and again, and where the leads lie by then nobody knows.
        """
        reading = sight.reading(METER)
        if reading is None:
            self._plateau.clear()
            return False
        if reading.time_s == self._sampled_s:
            return False
        self._sampled_s = reading.time_s
        stands = self._plateau.take(reading.value, sight.unit_s, sight.time_s)
        return stands and sight.time_s - reading.time_s <= SOONEST_S

    def _take_dead(self, volts: float, sight: Sight) -> None:
        if self._live is None:
            return
        if not is_dead_elsewhere(sight):
            self._dead_v, self._is_dead = [], False
        elif self._is_dead:
            self._dead_v[-1] = max(self._dead_v[-1], volts)
        else:
            self._is_dead = True
            self._dead_v.append(volts)

    def _take_live(self, sight: Sight) -> None:
        now = _Live(self._plateau.mean, sight.unit_s, sight.time_s)
        before = self._live
        if before is not None and self._dead_v and sight.unit_s - before.unit_s <= LONGEST_S:
            is_source = is_other_source(sight, self._plateau.from_s)
            if is_source is None and self._plateau.held_s < WITNESS_S:
                return
            if is_source:
                proved = self._proved or _Proved(before, now)
                self._proved = _Proved(proved.before, now, [*proved.dead_v, *self._dead_v])
        self._live, self._dead_v, self._is_dead = now, [], False


def _told(proved: _Proved, sight: Sight) -> Seen:
    spread = sight.spread(METER)
    before, after = Estimate(proved.before.volts, spread), Estimate(proved.after.volts, spread)
    values = {
        "source_before": round(before.value, 2),
        "source_after": round(after.value, 2),
        "volts.?": round(max(proved.dead_v), 2),
    }
    what = ProposedFinding(
        "prove_dead",
        values=values,
        per={**_words(sight), **_BESIDES},
        places=len(proved.dead_v),
        standard_uncertainties=dict.fromkeys(values, spread) if spread else {},
        choices={"tester_kind": "meter"},
    )
    parts = (
        figure("before", before, Quantity.VOLTAGE),
        figure("after", after, Quantity.VOLTAGE),
        count("places", len(proved.dead_v)),
    )
    return Seen(what, proved.before.time_s, proved.after.time_s, Sentence("noticed.dead_unnamed", parts))


def _words(sight: Sight) -> Mapping[str, str]:
    """Name each pair that is to be proved dead, in their order."""
    return _WORDS if _phases(sight) > 1 else _WORDS_OF_ONE


def _phases(sight: Sight) -> int:
    """Tell of how many phases the unit is: by its sheet, else three where more than one pair is measured."""
    sheet = sight.known.sheet
    if sheet is not None and sheet.phases is not None:
        return sheet.phases
    return 3 if len(line_volts(sight)) > 1 else 1
