"""What moving refrigerant did to the figure that shows the charge, at this visit."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from calc.estimate import Estimate
from calc.situation import Move

_NOTHING_KG = 1e-6


@dataclass(frozen=True, slots=True)
class OpenStep:
    """A step that the unit has not answered yet: the ids of its marks, its mass [kg], the figure before it [K]."""

    entries: tuple[str, ...] = ()
    moved_kg: float = 0.0
    before_dk: Estimate | None = None


class Moves:
    """Follows the visit: what the figure was when it had settled, what was moved then, and where it settled again.

    made, open_step: where it was last followed to.
    """

    def __init__(self, made: Sequence[Move] = (), open_step: OpenStep | None = None) -> None:
        open_step = open_step or OpenStep()
        self._made: list[tuple[frozenset[str], Move]] = [(frozenset(), move) for move in made]
        self._entries = set(open_step.entries)
        self._moved_kg = open_step.moved_kg
        self._before_dk = open_step.before_dk

    @property
    def open_step(self) -> OpenStep:
        """What was moved since the figure last settled."""
        return OpenStep(tuple(sorted(self._entries)), self._moved_kg, self._before_dk)

    @property
    def made(self) -> list[Move]:
        """Every step whose answer the unit has shown."""
        return [move for _, move in self._made]

    def moved(self, entry: str, change_kg: float) -> None:
        """Note that refrigerant was added (above 0) or recovered (below 0) [kg]. entry: the id of its mark."""
        self._entries.add(entry)
        self._moved_kg += change_kg

    def corrected(self, entry: str, change_kg: float) -> None:
        """Note that a move was another one, by so much [kg]: what the unit answered is then of that amount."""
        if entry in self._entries:
            self._moved_kg += change_kg
        elif any(entry in entries for entries, _ in self._made):
            steps = (
                (entries, replace(move, mass_kg=move.mass_kg + change_kg) if entry in entries else move)
                for entries, move in self._made
            )
            self._made = [(entries, move) for entries, move in steps if abs(move.mass_kg) > _NOTHING_KG]
        else:
            self._made.clear()  # it is among what was kept from before a restart, and nobody knows in which step

    def settled(self, figure_dk: Estimate) -> None:
        """Note where the figure that shows the charge has settled [K]."""
        if abs(self._moved_kg) > _NOTHING_KG and self._before_dk is not None:
            self._made.append((frozenset(self._entries), Move(self._moved_kg, self._before_dk, figure_dk)))
        self._start(figure_dk)

    def forget(self) -> None:
        """Forget where the figure stood: something else measures it now, and the two would not compare."""
        self._start(None)

    def _start(self, figure_dk: Estimate | None) -> None:
        self._entries.clear()
        self._moved_kg = 0.0
        self._before_dk = figure_dk
