"""Refrigerant on its way in or out: what was recorded, moved as fast as a hose and a careful hand do."""

from collections import deque
from dataclasses import dataclass
from typing import Literal, Protocol

OUNCE_KG = 0.028349523125
RATE_KG_S = OUNCE_KG / 10.0
"""One ounce in ten seconds, in or out (common practice, no source)."""


@dataclass(slots=True)
class _Transfer:
    remaining_kg: float
    direction: Literal["in", "out"]
    phase: Literal["liquid", "vapour"]


class Charged(Protocol):
    """What refrigerant is moved into and out of."""

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in."""

    def recover(self, mass_kg: float) -> None:
        """Take it out."""


class Transfers:
    """What is still to be moved, in the order in which it was asked for."""

    def __init__(self) -> None:
        self._waiting: deque[_Transfer] = deque()

    @property
    def waiting_kg(self) -> float:
        """All that is still to be moved, in or out."""
        return sum(transfer.remaining_kg for transfer in self._waiting)

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Put this much into the unit, from now on."""
        self._waiting.append(_Transfer(mass_kg, "in", phase))

    def recover(self, mass_kg: float) -> None:
        """Take this much out of the unit, from now on."""
        self._waiting.append(_Transfer(mass_kg, "out", "liquid"))

    def move(self, unit: Charged, duration_s: float) -> None:
        """Move what passes in this time.

        Raises:
            SimulatorError: the unit has not that much to give; the rest of this transfer is given up.

        """
        room_kg = RATE_KG_S * duration_s
        while self._waiting and room_kg > 0.0:
            transfer = self._waiting.popleft()
            portion_kg = min(transfer.remaining_kg, room_kg)
            if transfer.direction == "in":
                unit.add(portion_kg, transfer.phase)
            else:
                unit.recover(portion_kg)
            room_kg -= portion_kg
            transfer.remaining_kg -= portion_kg
            if transfer.remaining_kg > 0.0:
                self._waiting.appendleft(transfer)
