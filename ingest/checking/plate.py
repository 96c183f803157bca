"""Within what the figures of a nameplate lie: the same for the configuration, a sheet of the register and an import.

All [SI]; common practice, no source, but that no unit is outside of them.
"""

from dataclasses import dataclass

from ingest.checking.check import LEAST


@dataclass(frozen=True, slots=True)
class Span:
    """From the least to the most that can be so. least: `LEAST` for more than nothing."""

    least: float
    most: float


CHARGE_KG = Span(LEAST, 1000.0)
TARGET_DK = Span(LEAST, 40.0)
COMPRESSOR_RATED_A = Span(0.5, 1000.0)
FAN_RATED_A = Span(0.05, 1000.0)
"""Below any compressor's and any fan's no clamp would tell."""
LOCKED_ROTOR_A = Span(0.5, 8000.0)
HIGH_SIDE_DESIGN_PA = Span(1e6, 2e7)
LOW_SIDE_DESIGN_PA = Span(1e5, 2e7)
LINE_M = Span(LEAST, 300.0)
LIQUID_LINE_M = Span(0.003, 0.1)
SUPPLY_V = Span(100.0, 1000.0)
COIL_V = Span(5.0, 600.0)
CAPACITOR_V = Span(100.0, 1000.0)
CAPACITOR_F = Span(5e-7, 5e-4)
TOLERANCE_SHARE = Span(LEAST, 0.25)
HERTZ = Span(45.0, 65.0)
CIRCUIT_A = Span(0.5, 4000.0)
"""Of MCA and MOCP."""
POLES = Span(1.0, 4.0)
SHARE = Span(0.0, 1.0)
NORTH_DEG = Span(0.0, 360.0)
ROOF_M = Span(1.0, 2000.0)
