"""A unit at rest: two vessels that equalise through the metering device, each at its metal's temperature.

Where a vessel holds liquid, its pressure is that of saturation; where none is left, it is less in proportion. The
condenser's metal goes to the outdoor air and the evaporator's to the air that stands in it.
"""

import math
from typing import NamedTuple

from simulators.unit.condenser import CondenserState
from simulators.unit.evaporator import EvaporatorState
from simulators.unit.metering import Inlet, orifice_flow
from simulators.unit.properties import Properties, Saturation
from simulators.unit.stores import Compressed, Moment

METAL_LAG_S = 150.0
"""How soon a coil without its fan takes the temperature around it (common practice, no source)."""


class Vessel(NamedTuple):
    """One side at rest. pressure: as a gauge finds it, less non-condensables. has_liquid: whether some is left."""

    at: Saturation
    has_liquid: bool

    @property
    def enthalpy(self) -> float:
        """Of what leaves it: liquid as long as there is some [J/kg]."""
        return self.at.liquid_enthalpy if self.has_liquid else self.at.vapour_enthalpy


def vessel(properties: Properties, *, held_kg: float, volume_m3: float, metal_k: float) -> Vessel:
    """Find the pressure of what a side holds at its metal's temperature."""
    saturated = properties.saturation(properties.bubble_pressure(metal_k))
    filled = held_kg / volume_m3 / saturated.vapour_density
    if filled >= 1.0:
        return Vessel(saturated, has_liquid=True)
    thin_pa = max(saturated.pressure_pa * filled, properties.lowest_pressure_pa)
    return Vessel(properties.saturation(thin_pa), has_liquid=False)


def equalising_flow(
    properties: Properties, area_m2: float, high: Vessel, low: Vessel, *, non_condensables_pa: float
) -> float:
    """Find what passes from the high side to the low one; vapour where it is negative and goes back [kg/s]."""
    high_pa, low_pa = high.at.pressure_pa + non_condensables_pa, low.at.pressure_pa
    if high_pa >= low_pa:
        inlet = Inlet(high.at, high.enthalpy)
        return orifice_flow(properties, area_m2, inlet, upstream_pa=high_pa, downstream_pa=low_pa)
    inlet = Inlet(low.at, low.at.vapour_enthalpy)
    return -orifice_flow(properties, area_m2, inlet, upstream_pa=low_pa, downstream_pa=high_pa)


def moment(high: Vessel, low: Vessel, *, low_metal_k: float, boiling_off_kg_s: float, flow_kg_s: float) -> Moment:
    """Say in the words of a running unit how one at rest stands."""
    superheat = max(low_metal_k - low.at.dew_point_k, 0.0)
    return Moment(
        suction=low.at,
        evaporator=EvaporatorState(0.0, 1.0, superheat, 0.0, math.nan),
        boiling_off_kg_s=boiling_off_kg_s,
        compressed=Compressed(0.0, 0.0, high.at.vapour_enthalpy, 0.0),
        condensing=high.at,
        condenser=CondenserState(0.0, high.enthalpy, math.nan),
        condenser_flow_kg_s=0.0,
        metered_kg_s=flow_kg_s,
    )
