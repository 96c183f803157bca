"""What each fault does to a sound unit that keeps its charge: shifts [°F] and shares, each with its source.

Directions are those of the trade's table (tests/published/fault_signs.csv). Where a size has no source, it says so.
"""

import math
from dataclasses import dataclass

from simulators.second_family.catalogue import regressed
from simulators.second_family.charge import SUPERHEAT_WEIGHT
from simulators.second_family.parameters import Build, Conditions, Faults
from simulators.second_family.sound import AIR_CAPACITY, AIR_F, Levels


@dataclass(frozen=True, slots=True)
class Departure:
    """What one fault does. superheat: what the device would let; it ends at nothing. discharge: beyond its correlation.

    over_outdoor: what condensing over outdoor air is multiplied by, besides what less or more heat does to it.
    air: the part of the evaporator's air that is left.
    """

    evaporating_f: float = 0.0
    superheat_f: float = 0.0
    subcooling_f: float = 0.0
    discharge_f: float = 0.0
    over_outdoor: float = 1.0
    capacity: float = 1.0
    power: float = 1.0
    air: float = 1.0


def departures(build: Build, conditions: Conditions, faults: Faults, sound: Levels) -> list[Departure]:
    """Give what each fault that is there does."""
    found = []
    if faults.evaporator_air > 0.0:
        found.append(_evaporator_air(build, faults.evaporator_air))
    if faults.condenser_air > 0.0:
        found.append(_condenser_air(build, faults.condenser_air, conditions, sound))
    if faults.restriction > 0.0:
        found.append(_restriction(faults.restriction, conditions))
    if faults.valve_leakage > 0.0:
        found.append(_valve_leakage(build, faults.valve_leakage))
    if faults.non_condensables > 0.0:
        capacity, power = regressed("non-condensables", faults.non_condensables, conditions)
        found.append(Departure(capacity=capacity, power=power))
    if faults.overfeeding > 0.0 and build.metering == "valve":
        found.append(_overfeeding(faults.overfeeding, sound))
    return found


def _evaporator_air(build: Build, size: float) -> Departure:
    """Evaporating and capacity as with more air, the other way; the rest: the table's direction, sizes without source.

    An orifice feeds on: 2 to 4 °F less of superheat for a tenth less air (from memory). A valve nearly holds it.
    """
    air = math.log(1.0 - size)
    return Departure(
        evaporating_f=AIR_F * air,
        superheat_f=(12.0 if build.metering == "valve" else 30.0) * air,
        subcooling_f=-1.5 * air,
        capacity=math.exp(AIR_CAPACITY * air),
        power=math.exp(0.1 * air),
        air=1.0 - size,
    )


def _condenser_air(build: Build, size: float, conditions: Conditions, sound: Levels) -> Departure:
    """As if it were hotter outdoors: condensing over outdoor air by heat balance, +35 to 45 % for 30 % less air.

    Capacity and power are regressed. Subcooling hardly moves (measured on a research rooftop unit, sizes not in print).
    """
    over_outdoor = (1.0 - size) ** -0.9
    warmer_f = (over_outdoor - 1.0) * (sound.condensing_f - conditions.outdoor_f)
    name = "split condenser air" if build.kind == "split" else "packaged condenser air"
    capacity, power = regressed(name, size, conditions)
    return Departure(
        evaporating_f=build.evaporating_by_outdoor * warmer_f,
        superheat_f=build.superheat_by_outdoor * warmer_f if build.metering == "orifice" else 0.0,
        subcooling_f=-0.05 * warmer_f,
        over_outdoor=over_outdoor,
        capacity=capacity,
        power=power,
    )


def _restriction(size: float, conditions: Conditions) -> Departure:
    """Superheat 25 to 30 °F and subcooling 15 to 20 °F of a plugged valve (a ground-source manual), linear in the size.

    The two keep their sum. Capacity is regressed; power falls in the trade's table and rises by 0.6 % in the
    regression: this goes with the table. Evaporating by superheat: no source.
    """
    superheat_f = 62.0 * size
    return Departure(
        evaporating_f=-0.5 * superheat_f,
        superheat_f=superheat_f,
        subcooling_f=SUPERHEAT_WEIGHT * superheat_f,
        capacity=regressed("restriction", size, conditions)[0],
        power=1.0 - 0.25 * size,
    )


def _valve_leakage(build: Build, size: float) -> Departure:
    """Take what leaks back for not pumped; hotter discharge is from memory; all sizes: no source."""
    return Departure(
        evaporating_f=22.0 * size,
        superheat_f=(-8.0 if build.metering == "valve" else -25.0) * size,
        subcooling_f=6.0 * size,
        discharge_f=100.0 * size,
        capacity=1.0 - size,
        power=1.0 - 0.6 * size,
    )


def _overfeeding(size: float, sound: Levels) -> Departure:
    """Superheat is given up for evaporating; what lies in the evaporator is missing as subcooling (the sum is kept).

    Common practice, no source.
    """
    lost_f = size * sound.superheat_f
    return Departure(
        evaporating_f=0.25 * lost_f,
        superheat_f=-lost_f,
        subcooling_f=-SUPERHEAT_WEIGHT * lost_f,
        capacity=1.0 - 0.05 * size,
        power=1.0 + 0.02 * size,
    )
