"""Metering devices: a fixed orifice, and a thermostatic expansion valve with its bulb."""

import math
from dataclasses import dataclass, replace

from simulators.unit.properties import Properties, Saturation

FLASHING_PRESSURE_RATIO = 0.75
"""A short tube chokes where its liquid flashes, somewhat below the bubble pressure of what enters it.

The form is that of Aaron and Domanski (ASHRAE Transactions 96, part 1, 1990), from memory, with one rounded
coefficient in place of their several.
"""

LIQUID_LINE_AREA_M2 = 6.0e-6
"""The effective area of a clean drier and liquid line; it counts only where some of it is blocked."""


@dataclass(frozen=True, slots=True)
class Inlet:
    """What reaches the metering device: saturation there, and the enthalpy [J/kg]."""

    at: Saturation
    enthalpy: float

    @property
    def quality(self) -> float:
        """Vapour by mass [1]; 0 for liquid."""
        return min(max((self.enthalpy - self.at.liquid_enthalpy) / self.at.latent_heat, 0.0), 1.0)

    @property
    def temperature_k(self) -> float:
        """Below the bubble point by the subcooling, or up the glide by the quality."""
        if self.quality > 0.0:
            return self.at.bubble_point_k + self.quality * (self.at.dew_point_k - self.at.bubble_point_k)
        below = (self.at.liquid_enthalpy - self.enthalpy) / self.at.liquid_heat_capacity
        return self.at.bubble_point_k - below

    @property
    def density(self) -> float:
        """Of the mixture without slip [kg/m³]."""
        return 1.0 / (self.quality / self.at.vapour_density + (1.0 - self.quality) / self.at.liquid_density)


def orifice_flow(
    properties: Properties, area_m2: float, inlet: Inlet, *, upstream_pa: float, downstream_pa: float
) -> float:
    """Find the flow through an effective area, discharge coefficient included; never backwards [kg/s]."""
    liquid_k = min(inlet.temperature_k, inlet.at.bubble_point_k)
    flashing_pa = FLASHING_PRESSURE_RATIO * properties.bubble_pressure(liquid_k)
    drop_pa = upstream_pa - max(downstream_pa, flashing_pa)
    return area_m2 * math.sqrt(2.0 * inlet.density * max(drop_pa, 0.0))


def behind_restriction(area_m2: float, blocked: float, *, line_area_m2: float = LIQUID_LINE_AREA_M2) -> float:
    """Find the one area that passes what this one does behind a liquid line of which a fraction is blocked."""
    if blocked == 0.0:
        return area_m2
    line_m2 = line_area_m2 * (1.0 - blocked)
    return area_m2 * line_m2 / math.hypot(area_m2, line_m2)


@dataclass(frozen=True, slots=True)
class FixedOrifice:
    """A piston or short tube of one effective area."""

    area_m2: float = 1.8e-6

    def open_area(self, bulb_superheat_dk: float) -> float:  # noqa: ARG002 - it has no bulb
        """Give its area, whatever the superheat [m²]."""
        return self.area_m2


@dataclass(frozen=True, slots=True)
class ThermostaticValve:
    """A valve that opens with the superheat its bulb feels, from the static superheat over a range of it."""

    full_area_m2: float = 2.1e-6
    static_superheat_dk: float = 1.0
    superheat_range_dk: float = 5.8
    least_opening: float = 0.05

    def oversized(self, times: float) -> "ThermostaticValve":
        """Give a valve so many times too large: more area, and on less travel, since it works near its seat."""
        return replace(self, full_area_m2=self.full_area_m2 * times, superheat_range_dk=self.superheat_range_dk / times)

    def open_area(self, bulb_superheat_dk: float) -> float:
        """Find how far it is open at this superheat of the bulb [m²]."""
        opening = (bulb_superheat_dk - self.static_superheat_dk) / self.superheat_range_dk
        return self.full_area_m2 * min(max(opening, self.least_opening), 1.0)


MeteringDevice = FixedOrifice | ThermostaticValve
