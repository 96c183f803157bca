"""How refrigerant is moved: as liquid or vapour, how much a cylinder may hold, how much a line set takes.

Whether the charge is right, and how much to move next, comes from `calc.judge`.
"""

import math

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.judge.next_step import next_addition
from calc.judge.verification import judge
from calc.liquid import liquid_density
from calc.refrigerants import get

__all__ = [
    "judge",
    "line_set_charge",
    "line_set_charge_per_length",
    "liquid_feed_required",
    "next_addition",
    "refrigerant_in_cylinder",
    "safe_fill_mass",
]

LARGEST_LIQUID_SHARE = 0.8
LARGEST_FLAMMABLE_LIQUID_SHARE = 0.7
"""AHRI Guideline K, and its 80 %, are for refrigerants that do not burn. For those that do less is taken here: common
practice, no source."""
FILL_TEMPERATURE_K = 298.15
"""77 °F, at which AHRI Guideline K has the 80 %."""
_WATER_DENSITY_KG_PER_M3 = 999.0  # at 60 °F, where a water capacity is stated; the CRC Handbook's, from memory
_WARMEST_CYLINDER_K = 328.15  # 55 °C
_CYLINDER_K = (-60.0 + 273.15, 60.0 + 273.15)  # as a caller reckons it, to the last digit


def liquid_feed_required(refrigerant: str) -> bool:
    """Tell whether a refrigerant must leave its cylinder as liquid.

    The vapour over a zeotropic blend, numbered R-4xx in ANSI/ASHRAE 34, has another composition than the liquid.

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> liquid_feed_required("R-410A"), liquid_feed_required("R-32")
    (True, False)

    """
    return get(refrigerant).charge_as_liquid


@takes_arrays
def safe_fill_mass(refrigerant: str, *, water_capacity_kg: float, liquid_temperature_k: float) -> float:
    """Compute how much refrigerant a cylinder may hold at most.

    Liquid fills 80 % of its volume at 77 °F, as AHRI Guideline K has it for refrigerants that do not burn; 70 % of one
    that does, for which that guideline does not hold. Never more than all of it at 55 °C, as a cold cylinder warms (49
    CFR 173.304, from memory). Colder liquid allows no more, warmer liquid less. The cylinder's own label, its date and
    the maker come first.

    Args:
        refrigerant: one of `saturation.names()`, alone in the cylinder.
        water_capacity_kg: stamped "WC" on the cylinder: the water it holds when full [kg].
        liquid_temperature_k: of the liquid, -60 to 60 °C; below 77 °F it makes no difference [K].

    Returns:
        The mass of refrigerant without the cylinder [kg].

    Raises:
        CalcRangeError: a capacity that no cylinder has, or a temperature without liquid: R-744 has none at 55 °C.
        UnknownNameError: an unknown refrigerant.

    >>> round(safe_fill_mass("R-22", water_capacity_kg=1000.0, liquid_temperature_k=298.15))  # in print: 957.6
    954

    """
    within("water_capacity_kg", water_capacity_kg, 0.1, 1e5, "kg", "as cylinders and tanks have it")
    within("liquid_temperature_k", liquid_temperature_k, *_CYLINDER_K, "K", "as cylinders may be")
    volume_m3 = water_capacity_kg / _WATER_DENSITY_KG_PER_M3
    share = LARGEST_FLAMMABLE_LIQUID_SHARE if get(refrigerant).is_flammable else LARGEST_LIQUID_SHARE
    at_rest = share * liquid_density(refrigerant, max(liquid_temperature_k, FILL_TEMPERATURE_K))
    return volume_m3 * min(at_rest, liquid_density(refrigerant, _WARMEST_CYLINDER_K))


def refrigerant_in_cylinder(gross_kg: Estimate, *, tare_kg: float) -> Estimate:
    """Take the tare off what a scale shows under a cylinder [kg].

    >>> refrigerant_in_cylinder(Estimate(20.0, 0.01), tare_kg=12.5).value
    7.5
    """
    return Estimate(gross_kg.value - tare_kg, gross_kg.standard_uncertainty)


def line_set_charge_per_length(refrigerant: str, *, bore_m: float, liquid_temperature_k: float) -> float:
    """Compute the mass of liquid in a length of liquid line: its density times the area of its bore.

    The vapour in the suction line, some 2 % of it, is left out. The maker's figure comes first.

    Args:
        refrigerant: one of `saturation.names()`.
        bore_m: inner diameter, not the outer one by which tube is sold [m].
        liquid_temperature_k: of the liquid line [K].

    Returns:
        Mass per length [kg/m].

    Raises:
        CalcRangeError: a bore that no tube has, or a temperature without liquid.
        UnknownNameError: an unknown refrigerant.

    >>> per_length = line_set_charge_per_length("R-22", bore_m=0.311 * 0.0254, liquid_temperature_k=310.928)
    >>> round(per_length / 0.028349523 * 0.3048, 2)  # 0.6 oz per foot of 3/8 in line: the trade's figure for R-22
    0.6

    """
    within("bore_m", bore_m, 1e-4, 1.0, "m", "as tubes have it")
    return math.pi / 4 * bore_m**2 * liquid_density(refrigerant, liquid_temperature_k)


def line_set_charge(refrigerant: str, *, bore_m: float, length_m: float, liquid_temperature_k: float) -> float:
    """Compute the mass of liquid in a liquid line [kg]; the rest as `line_set_charge_per_length`.

    Args:
        refrigerant: one of `saturation.names()`.
        bore_m: inner diameter [m].
        length_m: of line beyond what the nameplate's charge allows for [m].
        liquid_temperature_k: of the liquid line [K].

    """
    within("length_m", length_m, 0.0, 1e4, "m", "as line sets have it")
    per_length = line_set_charge_per_length(refrigerant, bore_m=bore_m, liquid_temperature_k=liquid_temperature_k)
    return length_m * per_length
