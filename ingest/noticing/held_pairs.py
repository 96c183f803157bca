"""Live, each pair dead, live: taken by the HOLD key of the meter in an order that is told, both hands on the leads.

Each press is the act of whoever holds the leads, of the one place that is asked for just then. One meter cannot tell on
which pair it is: where, its holder says by the order, as they would by a touch. What is live where something dead was
asked for is never taken, and ends what was taken before it; so does whatever else finds the supply live meanwhile.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from calc.estimate import Estimate
from calc.motor.supply import DEAD_V, LIVE_V
from calc.quantities import Quantity
from calc.sentences import Sentence, count, figure, text
from ingest.noticing.hold_key import HoldKey, Press
from ingest.noticing.plateau import Band
from ingest.noticing.sight import Seen, Sight
from ingest.noticing.witnesses import LONGEST_S, WITNESS_S, is_live_elsewhere, is_other_source, reads_supply
from ingest.wire.messages import ByHold, ProposedFinding
from ingest.wire.wording import worded

BEFORE, AFTER = "source_before", "source_after"
_SOURCES: Mapping[str, str] = {BEFORE: "Known live source, before", AFTER: "Known live source, again"}
_ALONE = frozenset({"control"})
"""Of the pairs those whose figure goes by its name alone."""


@dataclass(slots=True)
class _Pressed:
    """A press on the source that waits for a voltmeter of the supply to be read again."""

    found: Estimate
    from_s: float
    unit_s: float


@dataclass(slots=True)
class HeldPairs:
    """Takes one press after the other. meter: its channel; steady: what counts as standing still there."""

    meter: str
    steady: Band
    _key: HoldKey = field(init=False)
    _taken: dict[str, Estimate] = field(default_factory=dict)
    _waits: _Pressed | None = None
    _has_left_source: bool = False
    _is_on_live: bool = False
    _source_s: float = 0.0
    _from_s: float = 0.0
    _words: Mapping[str, str] = field(default_factory=dict)
    _said: Sentence | None = None
    _is_stopped: bool = False

    def __post_init__(self) -> None:
        self._key = HoldKey(self.meter, self.steady)

    @property
    def has_begun(self) -> bool:
        """Whether the source was taken so, and not all after it."""
        return bool(self._taken)

    def stands(self) -> ByHold:
        """Tell what the key takes next, what it has taken, and what came of the last press."""
        said = worded(self._said) if self._said else None
        if self._is_stopped:
            return ByHold("prove_dead", "", "", 1, len(self._order()), said)
        asks = self._asks()
        return ByHold("prove_dead", asks, self._word(asks), len(self._taken) + 1, len(self._order()), said)

    def take(self, sight: Sight, words: Mapping[str, str]) -> Seen | None:
        """Take the next sight. words: of each pair to be held, in their order."""
        if not self._taken:
            self._words = words
        self._end_where_untrue(sight)
        press = self._key.take(sight)
        self._end_where_live()
        if self._end_where_stopped(sight):
            return None
        if press is not None and self._waits is None:
            self._press(press, sight)
        return None if self._waits is None else self._confirmed(self._waits, sight)

    def _order(self) -> list[str]:
        pairs = [name if name in _ALONE else f"volts.{name}" for name in self._words]
        return [BEFORE, *pairs, AFTER]

    def _asks(self) -> str:
        return next(name for name in self._order() if name not in self._taken)

    def _word(self, name: str) -> str:
        return _SOURCES.get(name) or self._words[name.removeprefix("volts.")]

    def _end_where_untrue(self, sight: Sight) -> None:
        """Forget what was taken where there was power meanwhile, or the tester was proved too long ago."""
        has_dead = len(self._taken) > 1
        if has_dead and is_live_elsewhere(sight):
            self._begin_anew(Sentence("hold.fed"))
        elif self._taken and sight.unit_s - self._source_s > LONGEST_S:
            self._begin_anew(Sentence("hold.too_long"))

    def _end_where_live(self) -> None:
        """Forget what was taken where the meter itself, off its source, stands on something live; pressed or not."""
        stands_at = self._key.stands_at
        if stands_at is None:
            return
        if abs(stands_at) < DEAD_V:
            self._has_left_source, self._is_on_live = True, False
        elif self._has_left_source and abs(stands_at) >= LIVE_V and self._taken and self._asks() != AFTER:
            self._found_live(Estimate(abs(stands_at), 0.0))

    def _end_where_stopped(self, sight: Sight) -> bool:
        """Forget what was taken while a lead's stop stands, and tell whether one does: what is touched then is not."""
        lead, was_stopped = sight.known.stopped_by(sight.time_s), self._is_stopped
        self._is_stopped = bool(lead)
        if self._is_stopped:
            self._begin_anew(Sentence("hold.lead_stopped", (text("lead", lead),)))
        elif was_stopped:
            self._said = None
        return self._is_stopped

    def _found_live(self, found: Estimate) -> None:
        """Forget what was taken; what is live there is no known source, until the leads have left it."""
        what = text("what", self._word(self._asks()))
        self._begin_anew(Sentence("hold.live", (figure("volts", found, Quantity.VOLTAGE), what)))
        self._is_on_live = True

    def _begin_anew(self, said: Sentence | None) -> None:
        self._taken, self._waits, self._said, self._has_left_source = {}, None, said, False

    def _press(self, press: Press, sight: Sight) -> None:
        """Take what was pressed for what is asked for now, or say why not."""
        if self._is_on_live:
            return
        asks = self._asks()
        what = text("what", self._word(asks))
        if press.found is None:
            self._said = Sentence("hold.unsteady", (what,))
            return
        value, volts = abs(press.found.value), figure("volts", press.found, Quantity.VOLTAGE)
        is_source = asks in (BEFORE, AFTER)
        if is_source and value < LIVE_V:
            self._said = Sentence("hold.no_source", (volts, what))
        elif is_source and asks == AFTER:
            self._waits = _Pressed(press.found, press.from_s, sight.unit_s)
        elif is_source:
            self._source_s, self._from_s, self._has_left_source = sight.unit_s, press.from_s, False
            self._keep(asks, press.found)
        elif value >= LIVE_V:
            self._found_live(Estimate(value, press.found.standard_uncertainty))
        elif value >= DEAD_V:
            self._said = Sentence("hold.some_volts", (volts, what))
        elif is_live_elsewhere(sight):
            self._begin_anew(Sentence("hold.fed"))
        else:
            self._keep(asks, press.found)

    def _keep(self, name: str, found: Estimate) -> None:
        self._taken[name] = found
        volts = figure("volts", found, Quantity.VOLTAGE)
        self._said = Sentence("hold.taken", (text("what", self._word(name)), volts))

    def _confirmed(self, waits: _Pressed, sight: Sight) -> Seen | None:
        """Tell of all of it once no voltmeter finds the supply live where the meter was on its source again.

        One that was not read since is waited for. Where there is none, the press itself says which source it was.
        """
        is_other = is_other_source(sight, waits.from_s)
        if is_other is False:
            self._begin_anew(Sentence("hold.fed"))
        elif is_other is None and reads_supply(sight):
            if sight.unit_s - waits.unit_s >= WITNESS_S:
                self._waits, self._said = None, Sentence("hold.no_witness")
        else:
            taken = {**self._taken, AFTER: waits.found}
            self._begin_anew(Sentence("hold.all_taken"))
            return _told(taken, self._from_s, sight)
        return None


def _told(taken: Mapping[str, Estimate], from_s: float, sight: Sight) -> Seen:
    dead = [found for name, found in taken.items() if name not in _SOURCES]
    what = ProposedFinding(
        "prove_dead",
        values={name: round(found.value, 2) for name, found in taken.items()},
        standard_uncertainties={name: it.standard_uncertainty for name, it in taken.items() if it.standard_uncertainty},
        choices={"tester_kind": "meter"},
    )
    most = max(dead, key=lambda found: found.value)
    told = {"before": taken[BEFORE], "most": most, "after": taken[AFTER]}
    parts = (figure(name, found, Quantity.VOLTAGE) for name, found in told.items())
    return Seen(what, from_s, sight.time_s, Sentence("noticed.dead_held", (count("count", len(dead)), *parts)))
