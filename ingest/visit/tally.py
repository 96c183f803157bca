"""What moved at one place, a circuit or a cylinder, added up as it comes: of ten thousand moves each is looked at once.

Sums are kept as fractions, in which nothing is rounded: whatever is taken out again leaves nothing behind, and the sum
is that of the moves in any order.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from heapq import heappop, heappush
from math import fsum

from ingest.wire.messages import Purpose


@dataclass(frozen=True, slots=True)
class Entry:
    """A move as it stands. sign: above 0 for added; mass_kg: 0 where nothing was moved after all.

    by: who noted it. within_share: of a guess, by which share of it it may be off. proposal: that it was kept of.
    """

    id: str
    sign: int
    mass_kg: float
    time_s: float
    circuit: str = ""
    cylinder: str = ""
    purpose: Purpose = ""
    by: str = ""
    within_share: float | None = None
    proposal: str = ""


@dataclass(frozen=True, slots=True)
class Sums:
    """What a circuit has taken and given [kg], in how many moves, and when the last was [s since 1970]."""

    added_kg: float
    recovered_kg: float
    moves: int
    last_move_s: float | None

    @property
    def net_kg(self) -> float:
        """What went in beyond what came out [kg]."""
        return self.added_kg - self.recovered_kg


@dataclass(slots=True)
class _First:
    """The first of those that still stand, by a key; what no longer stands is forgotten as it is met."""

    heap: list[tuple[float, str]] = field(default_factory=list)

    def push(self, key: float, name: str) -> None:
        heappush(self.heap, (key, name))

    def first(self, standing: dict[str, Entry], without: str) -> Entry | None:
        aside = []
        while self.heap and (self.heap[0][1] not in standing or self.heap[0][1] == without):
            was = heappop(self.heap)
            if was[1] == without and was not in aside:
                aside.append(was)
        found = standing[self.heap[0][1]] if self.heap else None
        for was in aside:
            heappush(self.heap, was)
        return found


class Tally:
    """The moves at one place. entries: by their ids, without what was withdrawn or was of another place after all."""

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self._kg = {1: Fraction(), -1: Fraction()}
        self._newest = _First()
        self._first_out = _First()
        self.weighed_in = 0

    def put(self, entry: Entry, number: int) -> None:
        """Add a move. number: its place among all of them."""
        if entry.mass_kg <= 0.0:
            return
        self.entries[entry.id] = entry
        self._count(entry, 1)
        self._newest.push(-entry.time_s, entry.id)
        if entry.sign < 0:
            self._first_out.push(number, entry.id)

    def drop(self, name: str) -> None:
        """Take a move out again, if it is here."""
        entry = self.entries.pop(name, None)
        if entry is not None:
            self._count(entry, -1)

    def _count(self, entry: Entry, times: int) -> None:
        self._kg[entry.sign] += times * Fraction(entry.mass_kg)
        self.weighed_in += times * (entry.sign > 0 and entry.purpose == "weigh_in")

    def moved(self, sign: int, *, without: str = "") -> Fraction:
        """Add up what went in or came out [kg]. without: a move that is not to be counted."""
        left_out = self.entries.get(without)
        is_of_it = left_out is not None and left_out.sign == sign
        return self._kg[sign] - (Fraction(left_out.mass_kg) if left_out is not None and is_of_it else 0)

    def last_move_s(self, *, without: str = "") -> float | None:
        """Tell when the last move was [s since 1970]."""
        newest = self._newest.first(self.entries, without)
        return None if newest is None else newest.time_s

    def first_out(self, *, without: str = "") -> Entry | None:
        """Give the first move out of a circuit."""
        return self._first_out.first(self.entries, without)


def together(tallies: Iterable[Tally], *, without: str = "") -> Sums:
    """Add several up."""
    known = list(tallies)
    last = [it for each in known if (it := each.last_move_s(without=without)) is not None]
    return Sums(
        added_kg=float(sum((each.moved(1, without=without) for each in known), Fraction())),
        recovered_kg=float(sum((each.moved(-1, without=without) for each in known), Fraction())),
        moves=sum(len(each.entries) - (without in each.entries) for each in known),
        last_move_s=max(last, default=None),
    )


def summed(entries: Iterable[Entry]) -> Sums:
    """Add entries up."""
    known = list(entries)
    return Sums(
        added_kg=fsum(entry.mass_kg for entry in known if entry.sign > 0),
        recovered_kg=fsum(entry.mass_kg for entry in known if entry.sign < 0),
        moves=len(known),
        last_move_s=max((entry.time_s for entry in known), default=None),
    )
