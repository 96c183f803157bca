"""What a sound unit reads once it has settled, by correlations in outdoor air and return air [°F, shares]."""

import math
from dataclasses import dataclass, replace

from simulators.second_family import catalogue
from simulators.second_family.charge import SUPERHEAT_WEIGHT, at_least_nothing
from simulators.second_family.parameters import RATING, Build, Conditions

AIR_F = 15.0
"""What evaporating gains by the logarithm of the air: 1 to 2 °F for a tenth more (coil tables, from memory)."""

AIR_CAPACITY = 0.22
"""With which power of its air capacity goes: 1.5 to 3 % for a tenth (coil tables, from memory)."""


@dataclass(frozen=True, slots=True)
class Levels:
    """What a settled unit is at. Dew and bubble points are those of the refrigerant alone, without gas.

    split: of the air over the evaporator. capacity, power: over the rated ones.
    """

    evaporating_f: float
    superheat_f: float
    condensing_f: float
    subcooling_f: float
    split_f: float
    capacity: float
    power: float


def sound(build: Build, conditions: Conditions) -> Levels:
    """Give the levels of a sound unit with its right charge."""
    outdoor, indoor = conditions.outdoor_f - 95.0, conditions.wet_bulb_f - 67.0
    superheat_f = at_least_nothing(device_superheat_f(build, conditions))
    sum_f = build.subcooling_f - SUPERHEAT_WEIGHT * build.superheat_f
    if (
        build.metering == "valve"
    ):  # with an orifice it follows superheat: -0.2 for 1 °F; eight sizes print -0.09 to -0.25
        sum_f += build.subcooling_by_outdoor * outdoor
    over_outdoor_f = (
        build.over_outdoor_f + build.over_outdoor_by_outdoor * outdoor + build.over_outdoor_by_wet_bulb * indoor
    )
    with_air = build.air**AIR_CAPACITY
    capacity = catalogue.capacity(conditions)
    as_rated = catalogue.capacity(replace(conditions, outdoor_air_k=RATING.outdoor_air_k))
    return Levels(
        evaporating_f=build.evaporating_f
        + build.evaporating_by_outdoor * outdoor
        + build.evaporating_by_wet_bulb * indoor
        + AIR_F * math.log(build.air),
        superheat_f=superheat_f,
        condensing_f=conditions.outdoor_f + over_outdoor_f,
        subcooling_f=at_least_nothing(sum_f + SUPERHEAT_WEIGHT * superheat_f),
        split_f=(table_split_f(conditions) + build.split_f) * with_air / build.air * capacity / as_rated,
        capacity=capacity * with_air,
        power=catalogue.power(conditions),
    )


def device_superheat_f(build: Build, conditions: Conditions) -> float:
    """Give the superheat that the metering device would let; below nothing where an orifice floods."""
    if build.metering == "valve":
        return build.superheat_f
    by_outdoor = build.superheat_by_outdoor * (conditions.outdoor_f - 95.0)
    return build.superheat_f + by_outdoor + build.superheat_by_wet_bulb * (conditions.wet_bulb_f - 67.0)


def table_split_f(conditions: Conditions) -> float:
    """Give the split that California's table has for the return air (from memory; its cells obey this within 0.06).

    It ends at wet bulbs of 50 and 76 °F. It knows no outdoor air; by that the split goes as capacity does.
    """
    dry, wet = conditions.return_f - 75.0, min(max(conditions.wet_bulb_f, 50.0), 76.0) - 63.0
    return 18.611 + 0.5449 * dry - 0.6783 * wet - 0.0228 * wet**2
