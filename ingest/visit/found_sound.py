"""What each circuit of a unit showed whenever it was found sound, and what of that counts, from its visits' marks."""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from calc.baseline import faded
from calc.estimate import Estimate
from ingest.visit.charges_left import ChargesLeft
from ingest.visit.ledgers import Ledgers
from ingest.visit.looked import put_right
from ingest.visit.placing import Placing
from ingest.visit.renaming import all_named_now
from ingest.wire.baselines import Baseline, Ended
from ingest.wire.messages import BaselineWithdrawn, Checked, Corrected, Finding, FoundSound, Mark, UnitAbout

_DAY_S = 86400.0
_MOST_DK = 50.0
"""No figure of a unit that is sound lies as far from others."""

FoundSounds = Mapping[str, Sequence[FoundSound]]
"""One for each visit, oldest first, by the name of the circuit; empty: the one that is meant where none is named."""

VisitMarks = Iterable[tuple[str, Sequence[Mark]]]
"""The marks of visits, by their ids, oldest first."""


@dataclass(slots=True)
class Kept:
    """A baseline at its visit. circuit: by its name now. ended: why it counts no more, and by which mark."""

    visit: str
    mark: FoundSound
    circuit: str
    ended: Ended = ""
    by: BaselineWithdrawn | None = None

    def end(self, why: Ended) -> None:
        """Let it count no more; the first reason stands."""
        self.ended = self.ended or why

    def told(self) -> Baseline:
        """Give it for the wire."""
        by = ("", None, "") if self.by is None else (self.by.by, self.by.time_s, self.by.text)
        return Baseline(self.mark.id, self.visit, self.mark.time_s, self.circuit, self.ended, *by)


def baselines(visits: VisitMarks, unnamed: str = "") -> list[Kept]:
    """Give all that were kept, oldest first, with what ended those that count no more.

    unnamed: the circuit that is meant where none is named, by the sheet.
    """
    kept: list[Kept] = []
    for visit, marks in all_named_now(visits):
        here: list[Kept] = []
        for mark in marks:
            match mark:
                case FoundSound():
                    now = Kept(visit, mark, mark.circuit or unnamed)
                    _end((it for it in here if it.circuit == now.circuit), "newer")
                    here.append(now)
                    kept.append(now)
                case Finding() if put_right(mark):  # another unit since, and what it was before was not right
                    _end((it for it in kept if it.circuit == (mark.circuit or unnamed)), "put_right")
                case Checked() | Corrected() if is_off(mark):
                    _end(here, "instruments")
                case BaselineWithdrawn():
                    _withdraw(kept, mark)
        _end_of_moved_or_left(here, marks, unnamed)
    return kept


def is_off(mark: Mark) -> bool:
    """Tell whether a mark says that an instrument read otherwise than what is true."""
    return isinstance(mark, Corrected) or (isinstance(mark, Checked) and mark.check.verdict == "out")


def _end(kept: Iterable[Kept], why: Ended) -> None:
    for it in kept:
        it.end(why)


def _withdraw(kept: Iterable[Kept], mark: BaselineWithdrawn) -> None:
    for it in kept:
        if it.mark.id == mark.of and not it.ended:
            it.ended, it.by = "withdrawn", mark


def _end_of_moved_or_left(here: Sequence[Kept], marks: Sequence[Mark], unnamed: str) -> None:
    """End what was found before a move, by the circuits of which corrections say that it was; and of a charge left.

    A baseline knows of no move behind the mark that it names, though the disk took that first. What was left against
    advice is expected of no later visit, whatever the figures said before or since.
    """
    placing, ledgers, turns = Placing(), Ledgers(), dict[str, int]()
    ledgers.unnamed, left = unnamed, ChargesLeft(ledgers)
    for turn, mark in enumerate(marks):
        placing.take(mark)
        ledgers.take(mark, placing.circuit)
        left.take(mark)
        turns[mark.id] = turn
    for it in here:
        since = turns.get(it.mark.after, turns[it.mark.id])
        moved = (move for move in ledgers.entries.values() if move.mass_kg > 0.0 and turns[move.id] > since)
        if any((move.circuit or unnamed) == it.circuit for move in moved):
            it.end("moved")
        if any((mark.circuit or unnamed) == it.circuit for mark in left.all()):
            it.end("left")


def found_sound(visits: VisitMarks, unnamed: str = "", since: Sequence[Mark] = ()) -> FoundSounds:
    """Give what stands of each visit. since: the marks of the visit under way, whose own baselines are none for it."""
    stand: dict[str, list[FoundSound]] = {}
    under_way = "the visit under way"
    for it in baselines([*visits, (under_way, since)], unnamed):
        if not it.ended and it.visit != under_way:
            stand.setdefault(it.circuit, []).append(it.mark)
    return {**stand, "": stand.get(unnamed, [])}


def without(found: FoundSounds, ids: Collection[str]) -> FoundSounds:
    """Leave out the baselines of these ids."""
    return {circuit: [it for it in kept if it.id not in ids] for circuit, kept in found.items()}


def departures_of(found: FoundSounds, unit: UnitAbout, now_s: float) -> dict[str, Estimate]:
    """Give what the circuit in view shows when it is sound, for `Situation.found_sound`; empty where nobody knows.

    All visits count alike: what fouls by a little from year to year must not become what is expected. But the longer
    ago, the less each tells (`calc.baseline.faded`). unit: as it is now; what was found with another refrigerant or
    metering device does not count. now_s: of whole days what has passed since counts [s since 1970].
    """
    known: dict[str, list[Estimate]] = {}
    for it in found.get(unit.circuit, ()):
        if (it.refrigerant, it.metering_device) == (unit.refrigerant, unit.metering_device):
            told = {
                name: Estimate(value, spread)
                for name, (value, spread) in it.departures.items()
                if abs(value) < _MOST_DK and 0.0 < spread < _MOST_DK  # a record that was written to is no record
            }
            for name, each in faded(told, (now_s - it.time_s) // _DAY_S * _DAY_S).items():
                known.setdefault(name, []).append(each)
    return {name: _mean(each) for name, each in known.items()}


def _mean(each: Sequence[Estimate]) -> Estimate:
    """Average them; what one of them may be off by, all together may: one instrument may have read all."""
    spread = math.sqrt(fmean(it.standard_uncertainty**2 for it in each))
    return Estimate(fmean(it.value for it in each), spread)
