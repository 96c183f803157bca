"""The charge compensator: a small tank on the liquid line of a heat pump that takes up what heating has no room for.

The pipe from the outdoor coil passes through it. In heating it is cold, and liquid gathers in the tank; in cooling it
carries hot gas, and drives the liquid out again. The smaller indoor coil is why there is too much in heating.
"""

from dataclasses import dataclass

from simulators.unit.limits import check_limits

FILLING_LAG_S = 100.0
"""How soon it fills and empties (a guess, no source)."""


@dataclass(frozen=True, slots=True)
class Compensator:
    """Its size."""

    volume_m3: float = 0.8e-3

    def __post_init__(self) -> None:
        check_limits(self, {"volume_m3": (1e-5, 5e-3)})

    def gains_kg_s(self, held_kg: float, liquid_density: float, *, heats: bool) -> float:
        """Find what flows into it from the liquid line; out of it where it is negative."""
        wanted_kg = self.volume_m3 * liquid_density if heats else 0.0
        return (wanted_kg - held_kg) / FILLING_LAG_S
