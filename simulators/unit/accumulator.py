"""The suction accumulator: liquid that the evaporator lets go by lies in it, and goes on bit by bit.

The vapour passes. A hole in the bottom of its pipe returns oil, and with it some liquid, the more the fuller it is.
"""

from dataclasses import dataclass

from simulators.unit.limits import check_limits

FULL = 0.7
"""How far it may fill before liquid passes as it comes (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Accumulator:
    """Its size. returned: by the hole when full [kg/s] (common practice, no source)."""

    volume_m3: float = 3.0e-3
    returned_full_kg_s: float = 4.0e-3

    def __post_init__(self) -> None:
        check_limits(self, {"volume_m3": (1e-4, 2e-2), "returned_full_kg_s": (1e-4, 2e-2)})

    def gains_kg_s(self, held_kg: float, liquid_kg_s: float, liquid_density: float) -> float:
        """Find what it gains of this liquid that comes with the vapour; negative where it gives more back."""
        full = held_kg / (FULL * self.volume_m3 * liquid_density)
        return liquid_kg_s * min(max(5.0 * (1.0 - full), 0.0), 1.0) - self.returned_full_kg_s * min(full, 1.0)
