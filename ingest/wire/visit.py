"""How the visit stands, as the daemon knows it from the record; no page works it out from what it happens to hold."""

from collections.abc import Sequence
from typing import Literal

import msgspec


class PendingNote(msgspec.Struct, frozen=True):
    """A lead's note that no technician has acknowledged. id: by which to acknowledge it."""

    id: str
    by: str
    time_s: float
    text: str


class SettledSince(msgspec.Struct, frozen=True):
    """The figure that shows the charge has settled, by the judge's rules, and since when [s since 1970]."""

    figure: Literal["superheat", "subcooling"]
    since_s: float


class Visit(msgspec.Struct, frozen=True, omit_defaults=True):
    """The state of a visit. added_kg, recovered_kg: what the moves come to, with every correction.

    moves: how many there were. last_move_s: when the last was, None before the first. notes: pending, oldest first.
    settled: None while the judge does not say so; a move, a correction of the readings and a new start end it.
    """

    visit: str
    added_kg: float
    recovered_kg: float
    moves: int
    last_move_s: float | None = None
    notes: Sequence[PendingNote] = ()
    settled: SettledSince | None = None
