"""The ledger of a visit: what was added and recovered, with every correction, and which amounts are worth a question.

A correction replaces an amount, and stands beside it: nothing that was written is taken away.
"""

from dataclasses import dataclass
from enum import StrEnum


@dataclass(slots=True)
class _Move:
    sign: int
    mass_kg: float


class Ledger:
    """Moves of refrigerant by the id of their entry. Entries come in the order in which they were made.

    >>> ledger = Ledger()
    >>> ledger.added("a", 0.2), ledger.recovered("b", 0.05)
    (0.2, -0.05)
    >>> ledger.corrected("c", "a", 0.02), round(ledger.net_kg, 3)  # it was a slip of the decimal point
    (-0.18, -0.03)
    """

    def __init__(self) -> None:
        self._moves: dict[str, _Move] = {}
        self._corrects: dict[str, str] = {}

    def added(self, entry: str, mass_kg: float) -> float:
        """Enter refrigerant put in [kg]; returns by how much the charge changes [kg], 0 where it is known already."""
        return self._enter(entry, _Move(1, mass_kg))

    def recovered(self, entry: str, mass_kg: float) -> float:
        """Enter refrigerant taken out [kg]; returns likewise."""
        return self._enter(entry, _Move(-1, mass_kg))

    def corrected(self, entry: str, of: str, mass_kg: float | None) -> float:
        """Enter what a move really was [kg], None for nothing at all; returns by how much that changes the charge [kg].

        of: the entry of the move, or of an earlier correction of it. One of an unknown move changes nothing.
        """
        original = self.original(of)
        if original is None or entry in self._corrects:
            return 0.0
        self._corrects[entry] = original
        move = self._moves[original]
        change_kg = move.sign * ((mass_kg or 0.0) - move.mass_kg)
        move.mass_kg = mass_kg or 0.0
        return round(change_kg, 9)

    def original(self, entry: str) -> str | None:
        """Find the move that an entry made or corrected; None where there is none."""
        entry = self._corrects.get(entry, entry)
        return entry if entry in self._moves else None

    def mass_kg(self, entry: str) -> float | None:
        """Tell what a move comes to with its corrections [kg]; None for an unknown one."""
        original = self.original(entry)
        return None if original is None else self._moves[original].mass_kg

    def is_added(self, entry: str) -> bool:
        """Whether an entry is of refrigerant put in."""
        original = self.original(entry)
        return original is not None and self._moves[original].sign > 0

    @property
    def count(self) -> int:
        """How many moves there were, without those that were withdrawn."""
        return sum(move.mass_kg > 0.0 for move in self._moves.values())

    @property
    def added_kg(self) -> float:
        """All that was put in [kg]."""
        return sum(move.mass_kg for move in self._moves.values() if move.sign > 0)

    @property
    def recovered_kg(self) -> float:
        """All that was taken out [kg]."""
        return sum(move.mass_kg for move in self._moves.values() if move.sign < 0)

    @property
    def net_kg(self) -> float:
        """What was put in beyond what was taken out [kg]."""
        return self.added_kg - self.recovered_kg

    def _enter(self, entry: str, move: _Move) -> float:
        if entry in self._moves:
            return 0.0
        self._moves[entry] = move
        return move.sign * move.mass_kg


class Doubtful(StrEnum):
    """Why an amount is worth a question, or cannot be."""

    IMPOSSIBLE = "impossible"
    LARGE_STEP = "large step"
    SUM_PASSES_NAMEPLATE = "sum passes nameplate"
    MORE_THAN_NAMEPLATE_OUT = "more than the nameplate out"
    LARGE_WITHOUT_NAMEPLATE = "large, and no nameplate charge known"


LARGE_STEP = 0.25
"""Of the nameplate charge in one go, where charging goes in small steps (common practice, no source)."""
IMPOSSIBLE_STEP = 2.0
"""Of the nameplate charge: beyond any line set that a unit of this kind stands on (common practice, no source)."""
LARGE_KG = 2.0
"""In one go, where no nameplate says what the unit holds (common practice, no source)."""
HEAVIEST_KG = 50.0
"""More than any cylinder that one person connects: a slip of the decimal point (common practice, no source)."""
LIGHTEST_KG = 1e-4
"""Less than any charging scale resolves (common practice, no source)."""
_ROUNDING = 1e-6


def doubtful_amount(
    change_kg: float, net_kg: float, recovered_kg: float, *, nameplate_kg: float | None
) -> Doubtful | None:
    """Tell whether an amount is worth a question before it is written, for this unit.

    change_kg: what is to be entered [kg], below 0 for recovered. net_kg, recovered_kg: what the visit came to before
    [kg]. nameplate_kg: the charge on the nameplate; None where it says none. A cautious rule of thumb (common practice,
    no source): it asks, and the person at the scale answers; only what no unit of this size could take is refused.

    >>> doubtful_amount(14.17, 0.0, 0.0, nameplate_kg=3.4)  # 500 oz into a unit of 7.5 lb
    <Doubtful.IMPOSSIBLE: 'impossible'>
    >>> doubtful_amount(0.17, 0.0, 0.0, nameplate_kg=3.4) is None  # 6 oz
    True
    """
    size_kg = abs(change_kg)
    if size_kg > HEAVIEST_KG or (nameplate_kg is not None and size_kg > IMPOSSIBLE_STEP * nameplate_kg):
        return Doubtful.IMPOSSIBLE
    if nameplate_kg is None:
        return Doubtful.LARGE_WITHOUT_NAMEPLATE if size_kg > LARGE_KG else None
    if change_kg < 0.0:
        over = recovered_kg + size_kg > nameplate_kg * (1.0 + _ROUNDING)
        return Doubtful.MORE_THAN_NAMEPLATE_OUT if over else None
    if net_kg + size_kg > nameplate_kg * (1.0 + _ROUNDING):
        return Doubtful.SUM_PASSES_NAMEPLATE
    return Doubtful.LARGE_STEP if size_kg > LARGE_STEP * nameplate_kg * (1.0 + _ROUNDING) else None
