"""Every move of a visit with its circuit and its cylinder, as corrections leave it, and the sums of each circuit.

Which circuit is meant where none is named is the one in view as the move was noted.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from ingest.visit.tally import Entry, Sums, Tally, together
from ingest.wire.events import MarkBase
from ingest.wire.messages import Added, Correction, CylinderDescribed, Moved, Recovered


@dataclass(frozen=True, slots=True)
class CylinderSums:
    """What a cylinder gave and took [kg]: in all, and since it was last weighed. first_out: the first move into it."""

    taken_kg: float
    given_kg: float
    net_since_kg: float
    first_out: Entry | None


@dataclass(slots=True)
class _Weighed:
    """What moved since a cylinder was on the scale. first: the number of the first move that counts."""

    first: int
    tally: Tally


class Ledgers:
    """The moves of a visit. entries: by the ids of their marks. unnamed: the circuit of those that name none."""

    def __init__(self) -> None:
        self.unnamed = ""
        self.entries: dict[str, Entry] = {}
        self._corrects: dict[str, str] = {}
        self._numbers: dict[str, int] = {}
        self._circuits: defaultdict[str, Tally] = defaultdict(Tally)
        self._cylinders: defaultdict[str, Tally] = defaultdict(Tally)
        self._weighed: dict[str, _Weighed] = {}

    def take(self, mark: MarkBase, in_view: str) -> None:
        """Take the next mark. in_view: the circuit that is."""
        match mark:
            case Added() | Recovered():
                self._enter(mark, in_view)
            case Correction():
                self._correct(mark)
            case CylinderDescribed() if mark.gross_kg is not None:
                self._weighed[mark.name] = _Weighed(len(self.entries), Tally())
            case CylinderDescribed():
                self._weighed.pop(mark.name, None)

    def _enter(self, mark: Moved, in_view: str) -> None:
        if mark.id in self.entries:
            return
        circuit = mark.circuit or in_view
        self._numbers[mark.id] = len(self.entries)
        where = (circuit, mark.cylinder, mark.purpose)
        known = (mark.by, mark.within_share, mark.proposal)
        self._put(Entry(mark.id, mark.sign, mark.mass_kg, mark.time_s, *where, *known))

    def _correct(self, mark: Correction) -> None:
        original = self._corrects.get(mark.of, mark.of)
        entry = self.entries.get(original)
        if entry is None or mark.id in self._corrects:
            return
        self._corrects[mark.id] = original
        for tally in self._at(entry):
            tally.drop(original)
        self._put(
            replace(
                entry,
                mass_kg=mark.mass_kg or 0.0,
                circuit=mark.circuit or entry.circuit,
                cylinder=mark.cylinder or entry.cylinder,
            )
        )

    def _put(self, entry: Entry) -> None:
        self.entries[entry.id] = entry
        for tally in self._at(entry):
            tally.put(entry, self._numbers[entry.id])

    def _at(self, entry: Entry) -> list[Tally]:
        """Give all tallies in which a move stands."""
        weighed = self._weighed.get(entry.cylinder)
        since = [weighed.tally] if weighed and self._numbers[entry.id] >= weighed.first else []
        return [self._circuits[entry.circuit], self._cylinders[entry.cylinder], *since]

    def circuits(self) -> list[str]:
        """Name the circuits of which anything was moved, in order."""
        return list(dict.fromkeys(entry.circuit or self.unnamed for entry in self.entries.values()))

    def of(self, circuit: str) -> list[Entry]:
        """Give what was moved of a circuit, without what was withdrawn, in order."""
        return [it for it in self.entries.values() if it.mass_kg > 0.0 and (it.circuit or self.unnamed) == circuit]

    def newest_first(self, circuit: str) -> Iterator[Entry]:
        """Give what was moved of a circuit, without what was withdrawn, the newest first."""
        for it in reversed(self.entries.values()):
            if it.mass_kg > 0.0 and (it.circuit or self.unnamed) == circuit:
                yield it

    def sums(self, circuit: str, *, without: str = "") -> Sums:
        """Add a circuit up. without: an entry to be left out."""
        return together(self._of(circuit), without=without)

    def has_weighed_in(self, circuit: str) -> bool:
        """Whether any of a charge by weight went into a circuit."""
        return any(tally.weighed_in for tally in self._of(circuit))

    def _of(self, circuit: str) -> list[Tally]:
        """Give the tallies of a circuit: by its name, and of moves that name none where it is the one that is meant."""
        names = ([circuit] if circuit else []) + ([""] if circuit == self.unnamed else [])
        return [self._circuits[name] for name in names if name in self._circuits]

    def cylinder(self, name: str, *, without: str = "") -> CylinderSums:
        """Add a cylinder up; where it was never weighed, since it was weighed means from the first move on."""
        tally = self._cylinders.get(name) or Tally()
        since = self._weighed[name].tally if name in self._weighed else tally
        net: Fraction = since.moved(1, without=without) - since.moved(-1, without=without)
        return CylinderSums(
            taken_kg=float(tally.moved(1, without=without)),
            given_kg=float(tally.moved(-1, without=without)),
            net_since_kg=float(net),
            first_out=tally.first_out(without=without),
        )
