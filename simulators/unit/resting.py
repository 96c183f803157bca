"""A unit at rest: two vessels that equalise through the metering device, each as warm as its coil's metal.

Where a vessel holds liquid, its pressure is that of saturation; where none is left, it is less in proportion. The
condenser's metal goes to the outdoor air and the evaporator's to the air that stands in it. What boils off in one
coil cools it, and warms the other where it condenses: liquid ends in the coldest coil, as fast as heat allows.
"""

import math
from functools import lru_cache
from typing import NamedTuple

from simulators.unit.condenser import CondenserState
from simulators.unit.evaporator import EvaporatorState
from simulators.unit.metering import Inlet, orifice_flow
from simulators.unit.properties import Properties, Saturation
from simulators.unit.roots import solve_rising
from simulators.unit.stores import Compressed, Moment, Stores

METAL_LAG_S = 150.0
"""How soon an empty coil without its fan takes the temperature around it (common practice, no source)."""

SMOOTH_PA = 1e4
"""Below some such difference the flow goes with the difference itself, so that no step carries it past its end."""

CHOKED_DROP = 0.45
"""A gas passes no faster once the pressure behind an opening is near 0.55 of that before it."""

_MOST_PART = 0.3
_LEAST_K, _MOST_K = 150.0, 420.0


class Side(NamedTuple):
    """A coil with its line. metal_heat_capacity: of the coil [J/K]."""

    volume_m3: float
    metal_heat_capacity: float

    @property
    def loss_conductance(self) -> float:
        """Of the coil to the air around it, with its fan off [W/K]."""
        return self.metal_heat_capacity / METAL_LAG_S


class Around(NamedTuple):
    """What a coil at rest exchanges heat with: air this warm [K], by this conductance [W/K]."""

    temperature_k: float
    conductance: float


class Vessel(NamedTuple):
    """One side at rest. Its saturation is at the refrigerant's own pressure. energy: metal and refrigerant [J]."""

    at: Saturation
    has_liquid: bool
    vapour_enthalpy: float
    energy_j: float

    @property
    def enthalpy(self) -> float:
        """Of what leaves it: liquid as long as there is some [J/kg]."""
        return self.at.liquid_enthalpy if self.has_liquid else self.vapour_enthalpy


@lru_cache(maxsize=16)
def vessel(properties: Properties, side: Side, *, held_kg: float, metal_k: float) -> Vessel:
    """Find the pressure and the energy of what a side holds at its metal's temperature.

    It is asked for once more at the next step's beginning, as it stood at the end of the last.
    """
    return _vessel(properties, side, held_kg, metal_k)


def _vessel(properties: Properties, side: Side, held_kg: float, metal_k: float) -> Vessel:
    at = properties.saturation(properties.bubble_pressure(metal_k))
    filled = held_kg / side.volume_m3 / at.vapour_density
    metal_j = side.metal_heat_capacity * metal_k
    if filled >= 1.0:
        liquid_kg = (held_kg - at.vapour_density * side.volume_m3) / (1.0 - at.vapour_density / at.liquid_density)
        enthalpy_j = liquid_kg * at.liquid_enthalpy + (held_kg - liquid_kg) * at.vapour_enthalpy
        energy_j = metal_j + enthalpy_j - at.pressure_pa * side.volume_m3
        return Vessel(at, has_liquid=True, vapour_enthalpy=at.vapour_enthalpy, energy_j=energy_j)
    thin = properties.thin_vapour(at.pressure_pa * filled)
    enthalpy = properties.vapour_enthalpy(thin, metal_k - thin.dew_point_k)
    energy_j = metal_j + held_kg * enthalpy - thin.pressure_pa * side.volume_m3
    return Vessel(thin, has_liquid=False, vapour_enthalpy=enthalpy, energy_j=energy_j)


def metal_temperature(properties: Properties, side: Side, *, held_kg: float, energy_j: float, guess_k: float) -> float:
    """Find how warm metal and refrigerant together are when they hold this energy [K]."""
    return solve_rising(
        lambda metal_k: _vessel(properties, side, held_kg, metal_k).energy_j - energy_j,
        guess_k, step=0.01, low=_LEAST_K, high=_MOST_K, tolerance=1e-7,
    )  # fmt: skip


def equalising_flow(
    properties: Properties, area_m2: float, high: Vessel, low: Vessel, *, high_air_pa: float, low_air_pa: float
) -> float:
    """Find what passes from the high side to the low one; vapour where it is negative and goes back [kg/s]."""
    high_pa, low_pa = high.at.pressure_pa + high_air_pa, low.at.pressure_pa + low_air_pa
    smooth = math.sqrt(abs(high_pa - low_pa) / (abs(high_pa - low_pa) + SMOOTH_PA))
    if high_pa < low_pa:
        return -smooth * _vapour_flow(area_m2, low.at, upstream_pa=low_pa, downstream_pa=high_pa)
    if not high.has_liquid:
        return smooth * _vapour_flow(area_m2, high.at, upstream_pa=high_pa, downstream_pa=low_pa)
    inlet = Inlet(high.at, high.enthalpy)
    return smooth * orifice_flow(properties, area_m2, inlet, upstream_pa=high_pa, downstream_pa=low_pa)


def _vapour_flow(area_m2: float, at: Saturation, *, upstream_pa: float, downstream_pa: float) -> float:
    drop_pa = min(upstream_pa - downstream_pa, CHOKED_DROP * upstream_pa)
    return area_m2 * math.sqrt(2.0 * at.vapour_density * drop_pa)


def stopped(now: Moment) -> Moment:
    """Take away what only a turning compressor brings about: the first step of a rest starts from a moment of it."""
    compressed = now.compressed
    if now.condenser_flow_kg_s == now.accumulating_kg_s == compressed.flow_kg_s == compressed.power_w == 0.0:
        return now  # it has stood already
    return now._replace(
        compressed=compressed._replace(flow_kg_s=0.0, power_w=0.0, gas_to_shell_w=0.0),
        condenser_flow_kg_s=0.0,
        accumulating_kg_s=0.0,
    )


def within_reach(now: Moment, stores: Stores, step_s: float) -> Moment:
    """Let no more pass in this time than a part of what there is, where a side is all but empty."""
    high_kg_s, low_kg_s = (_MOST_PART * kg / step_s for kg in (stores.high_side_kg, stores.low_side_kg))
    if -low_kg_s <= now.metered_kg_s <= high_kg_s and now.boiling_off_kg_s >= -low_kg_s:
        return now
    return now._replace(
        metered_kg_s=min(max(now.metered_kg_s, -low_kg_s), high_kg_s),
        boiling_off_kg_s=max(now.boiling_off_kg_s, -low_kg_s),
    )


def moment(high: Vessel, low: Vessel, *, low_metal_k: float, boiling_off_kg_s: float, flow_kg_s: float) -> Moment:
    """Say in the words of a running unit how one at rest stands. The outlet is where what passes comes from."""
    superheat = max(low_metal_k - low.at.dew_point_k, 0.0)
    passing = high.enthalpy if flow_kg_s >= 0.0 else low.vapour_enthalpy
    return Moment(
        suction=low.at,
        evaporator=EvaporatorState(0.0, 1.0, superheat, 0.0, math.nan),
        boiling_off_kg_s=boiling_off_kg_s,
        compressed=Compressed(0.0, 0.0, low.vapour_enthalpy, high.at.vapour_enthalpy, 0.0),
        condensing=high.at,
        condenser=CondenserState(0.0, passing, math.nan),
        condenser_flow_kg_s=0.0,
        metered_kg_s=flow_kg_s,
    )
