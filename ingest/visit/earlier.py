"""What the record knows of a unit's earlier visits: moves, leaks that stay open, and locks that hang there."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ingest.visit.leaks import Leaks
from ingest.visit.ledgers import Ledgers
from ingest.visit.locking import locks_by
from ingest.visit.placing import Placing
from ingest.visit.renaming import all_named_now
from ingest.visit.tally import Entry
from ingest.wire.messages import Mark


@dataclass(frozen=True, slots=True)
class EarlierVisit:
    """A visit to the unit before this one. entries: its moves, as corrections left them."""

    visit: str
    entries: Sequence[Entry]

    def of(self, circuit: str, *, or_unnamed: bool = False) -> list[Entry]:
        """Give what was moved of a circuit, in order. or_unnamed: of one that nobody named as well."""
        return [it for it in self.entries if it.circuit == circuit or (or_unnamed and not it.circuit)]


@dataclass(frozen=True, slots=True)
class History:
    """The visits before this one, oldest first. open_leaks: when one was found that nobody repaired, by circuit [s].

    is_first: the record knows of no visit before. locks: whose hang at the unit, wherever the rig has been since;
    empty: of somebody not known.
    """

    visits: Sequence[EarlierVisit] = ()
    open_leaks: Mapping[str, float] = field(default_factory=dict)
    is_first: bool = True
    locks: tuple[str, ...] = ()

    def of(self, circuit: str, *, unnamed: bool = False) -> list[list[Entry]]:
        """Give what was moved of a circuit at each visit at which anything was, oldest first.

        unnamed: it is the one that is meant where nobody names one.
        """
        moved = [visit.of(circuit, or_unnamed=unnamed) for visit in self.visits]
        return [entries for entries in moved if entries]

    def renamed(self, names: Mapping[str, str]) -> "History":
        """Give it with circuits named so; by the names that they had."""
        visits = tuple(
            EarlierVisit(
                it.visit, tuple(replace(entry, circuit=names.get(entry.circuit, entry.circuit)) for entry in it.entries)
            )
            for it in self.visits
        )
        leaks = {names.get(circuit, circuit): at_s for circuit, at_s in self.open_leaks.items()}
        return replace(self, visits=visits, open_leaks=leaks)


NONE_BEFORE = History()
"""Of a unit at which nobody was before, as far as the record knows."""


def history(marks: Iterable[tuple[str, Sequence[Mark]]]) -> History:
    """Work out what earlier visits come to, by circuits as they are named now. marks: of each visit, oldest first."""
    visits, leaks, is_first, locks = [], Leaks(), True, tuple[str, ...]()
    for visit, known in all_named_now(marks):
        placing, ledgers, is_first = Placing(), Ledgers(), False
        for mark in known:
            placing.take(mark)
            ledgers.take(mark, placing.circuit)
            leaks.take(mark, placing.circuit)
            locks = locks_by(mark, locks)
        entries = tuple(entry for entry in ledgers.entries.values() if entry.mass_kg > 0.0)
        if entries:
            visits.append(EarlierVisit(visit, entries))
    return History(tuple(visits), leaks.open, is_first, locks)
