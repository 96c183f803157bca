"""The insulation of a motor's windings to ground, by temperature, moisture and acid.

What conducts in insulation are ions that heat sets free: its resistance goes with exp(E / k T), Arrhenius. The energy
is such that it halves with every 10 K near 40 °C, as IEEE 43 has it as quoted in test guides. That water and acid in
the oil take it down is what makers and the trade print; how far is common practice, no source.
"""

import math
from dataclasses import dataclass

ACTIVATION_K = 6797.0
"""E / k: ln 2 / 10 K times (313.15 K)²."""

REFERENCE_K = 313.15
SOUND_OHM = 500e6
WATER_HALVES = 5e-4
"""So much water in the oil, by mass, leaves half."""

ACID_HALVES = 0.1
"""So much acid in the oil leaves half [mg KOH/g]."""


@dataclass(frozen=True, slots=True)
class Insulation:
    """at_40_degc: all windings to ground, dry and clean [ohm]. acid: of the oil around them [mg KOH/g]."""

    at_40_degc_ohm: float = SOUND_OHM
    acid: float = 0.0

    def resistance_ohm(self, temperature_k: float, water_share: float = 0.0) -> float:
        """Find it with the windings this warm, and so much water in their oil by mass.

        >>> [round(Insulation(40e6).resistance_ohm(t) / 1e6, 1) for t in (303.15, 313.15, 323.15)]
        [81.8, 40.0, 20.4]
        """
        warmth = math.exp(ACTIVATION_K * (1.0 / temperature_k - 1.0 / REFERENCE_K))
        return self.at_40_degc_ohm * warmth / ((1.0 + water_share / WATER_HALVES) * (1.0 + self.acid / ACID_HALVES))
