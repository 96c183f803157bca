"""Metering devices: a fixed orifice, and a thermostatic expansion valve with its bulb."""

import math
from dataclasses import dataclass

from simulators.properties import Properties, Saturation

FLASHING_PRESSURE_RATIO = 0.75
"""A short tube chokes where its liquid flashes, somewhat below the bubble pressure of the liquid that enters it
(the form of Aaron and Domanski, ASHRAE Transactions 96 (1), 1990, with one rounded coefficient)."""


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
    def subcooling_dk(self) -> float:
        """Below the bubble point [K]; 0 where there is vapour."""
        return max((self.at.liquid_enthalpy - self.enthalpy) / self.at.liquid_heat_capacity, 0.0)

    @property
    def density(self) -> float:
        """Of the mixture without slip [kg/m³]."""
        return 1.0 / (self.quality / self.at.vapour_density + (1.0 - self.quality) / self.at.liquid_density)


def orifice_flow(
    properties: Properties,
    area_m2: float,
    inlet: Inlet,
    upstream_pressure_pa: float,
    downstream_pressure_pa: float,
) -> float:
    """Through an effective area (discharge coefficient included), never backwards [kg/s]."""
    flashing_at_pa = FLASHING_PRESSURE_RATIO * properties.bubble_pressure(
        inlet.at.bubble_point_k - inlet.subcooling_dk
    )
    drop_pa = upstream_pressure_pa - max(downstream_pressure_pa, flashing_at_pa)
    return area_m2 * math.sqrt(2.0 * inlet.density * max(drop_pa, 0.0))


def in_series(area_m2: float, other_m2: float) -> float:
    """The one area that passes what two in a row do [m²]."""
    return area_m2 * other_m2 / math.hypot(area_m2, other_m2)


@dataclass(frozen=True, slots=True)
class FixedOrifice:
    """A piston or short tube of one effective area."""

    area_m2: float

    def open_area(self, bulb_superheat_dk: float) -> float:  # noqa: ARG002 - it has no bulb
        """What it lets pass, whatever the superheat [m²]."""
        return self.area_m2


@dataclass(frozen=True, slots=True)
class ThermostaticValve:
    """A valve that opens with the superheat its bulb feels, from the static superheat over a range of it."""

    full_area_m2: float
    static_superheat_dk: float = 2.0
    superheat_range_dk: float = 4.5
    least_opening: float = 0.05

    def open_area(self, bulb_superheat_dk: float) -> float:
        """What it lets pass at this superheat of the bulb [m²]."""
        opening = (bulb_superheat_dk - self.static_superheat_dk) / self.superheat_range_dk
        return self.full_area_m2 * min(max(opening, self.least_opening), 1.0)


MeteringDevice = FixedOrifice | ThermostaticValve
