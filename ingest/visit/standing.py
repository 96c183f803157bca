"""How a visit stands: a fold over its marks. The same marks give the same state, from the record or as they come.

Beside it stands what the judge says of this moment, which no mark holds: since when it has settled.
"""

from collections.abc import Iterable
from typing import Literal

from calc.ledger import Ledger
from ingest.wire.messages import (
    Acknowledged,
    Added,
    Correction,
    Mark,
    Note,
    PendingNote,
    Recovered,
    SettledSince,
    Visit,
    encode,
)

NOTES_SENT = 40
"""How many pending notes travel, the oldest first; the rest follow as these are acknowledged."""


class Standing:
    """The state of one visit. visit: its id."""

    def __init__(self, visit: str, marks: Iterable[Mark] = ()) -> None:
        self.visit = visit
        self.ledger = Ledger()
        self._last_move_s: float | None = None
        self._settled: SettledSince | None = None
        self._pending: dict[str, PendingNote] = {}
        for mark in marks:
            self.take(mark)

    def take(self, mark: Mark) -> float:
        """Take the next mark; returns by how much it changes the charge of the unit [kg]."""
        change_kg = 0.0
        match mark:
            case Added():
                change_kg = self.ledger.added(mark.id, mark.mass_kg)
            case Recovered():
                change_kg = self.ledger.recovered(mark.id, mark.mass_kg)
            case Correction():
                change_kg = self.ledger.corrected(mark.id, mark.of, mark.mass_kg)
            case Note() if mark.role == "lead":
                self._pending.setdefault(mark.id, PendingNote(mark.id, mark.by, mark.time_s, mark.text))
            case Acknowledged():
                self._pending.pop(mark.of, None)
        if isinstance(mark, Added | Recovered):
            self._last_move_s = mark.time_s
            self._settled = None
        return change_kg

    def judged(self, settled: Literal["superheat", "subcooling", ""], time_s: float) -> None:
        """Take what the judge says now: the figure that has settled, or none."""
        if not settled:
            self._settled = None
        elif self._settled is None or self._settled.figure != settled:
            self._settled = SettledSince(settled, round(time_s, 3))

    def message(self) -> Visit:
        """Say it for the wire."""
        return Visit(
            visit=self.visit,
            added_kg=round(self.ledger.added_kg, 6),
            recovered_kg=round(self.ledger.recovered_kg, 6),
            moves=self.ledger.count,
            last_move_s=self._last_move_s,
            notes=list(self._pending.values())[:NOTES_SENT],
            settled=self._settled,
        )

    def encoded(self) -> bytes:
        """Say it as bytes."""
        return encode(self.message())
