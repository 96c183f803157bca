"""Line sets: what they hold, what a rise costs the liquid, and whether the gas carries its oil up.

The maker's tables and limits for long lines come first: they know the compressor, its oil and the valves.
"""

import math
from dataclasses import dataclass

from calc.caloric import liquid_enthalpy, vapour_density, vapour_enthalpy
from calc.comparing import Met, NotMet, compare
from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError, CalcRangeError
from calc.estimate import Estimate
from calc.liquid import liquid_density
from calc.saturation import bubble_point, bubble_slope
from calc.superheat import model_uncertainty_k
from calc.tubes import WALL_LIMIT_M
from calc.uncertainty import propagate, rectangular

_GRAVITY_M_PER_S2 = 9.80665
_BORE_M = (1e-3, 0.11)
_LONGEST_M = 300.0
LEAST_RISER_M_PER_S = 1000 * 0.3048 / 60
"""1000 ft/min, below which gas may not carry its oil up: the trade press; makers print 8 m/s too."""
GREATEST_M_PER_S = 4000 * 0.3048 / 60
"""4000 ft/min, above which it is heard: the trade press."""


@dataclass(frozen=True, slots=True)
class LineSetCharge:
    """What the length beyond the maker's [m] takes [kg]: liquid, vapour, together; the vapour's share [1]."""

    beyond_m: float
    liquid: Estimate
    vapour: Estimate
    total: Estimate
    vapour_share_ratio: float


@dataclass(frozen=True, slots=True)
class Riser:
    """What a rise takes off the liquid's pressure [Pa], and the subcooling below and above it [K]."""

    head: Estimate
    subcooling_below: Estimate
    subcooling_above: Estimate
    finding: str


@dataclass(frozen=True, slots=True)
class RiserVelocity:
    """How fast the gas goes [m/s], how much of it [kg/s], and whether that carries its oil up."""

    velocity: Estimate
    mass_flow_kg_per_s: float
    finding: str


@takes_arrays
def line_set_charge(
    refrigerant: str,
    length: Estimate,
    *,
    included_length_m: float,
    liquid_bore_m: float,
    vapour_bore_m: float,
    liquid_temperature_k: float,
    suction_pressure_pa: float,
    suction_temperature_k: float,
) -> LineSetCharge:
    """Compute what a line set takes beyond the length that the nameplate's charge allows for, in cooling.

    Args:
        refrigerant: one of `saturation.names()`.
        length: of each line, as it runs, 0 to 300 m [m].
        included_length_m: that the maker filled for, from the nameplate or the manual, 0 to 300 m [m].
        liquid_bore_m: inner diameter, `tubes.acr_bore_m` of the outer one, 1 to 110 mm [m].
        vapour_bore_m: likewise, of the suction line [m].
        liquid_temperature_k: of the liquid line [K].
        suction_pressure_pa: absolute [Pa].
        suction_temperature_k: of the suction line [K].

    Returns:
        Masses, below zero where the lines are shorter than the maker's; walls count within their tolerance.

    Raises:
        CalcRangeError: beyond these limits, or no liquid, or no vapour there.
        UnknownNameError: an unknown refrigerant.

    >>> found = line_set_charge(
    ...     "R-22", Estimate(15.24 + 4.572, 0.0), included_length_m=4.572, liquid_bore_m=0.311 * 0.0254,
    ...     vapour_bore_m=0.785 * 0.0254, liquid_temperature_k=310.928, suction_pressure_pa=584e3,
    ...     suction_temperature_k=283.15)  # 50 ft beyond 15 ft
    >>> round(found.liquid.value / 0.028349523 / 50, 2)  # 0.6 oz per foot of 3/8 in line: the trade's figure for R-22
    0.6

    """
    within("length", length.value, 0.0, _LONGEST_M, "m", "as line sets have it")
    within("included_length_m", included_length_m, 0.0, _LONGEST_M, "m", "as line sets have it")
    within("liquid_bore_m", liquid_bore_m, *_BORE_M, "m", "as tubes have it")
    within("vapour_bore_m", vapour_bore_m, *_BORE_M, "m", "as tubes have it")
    liquid_kg_per_m3 = liquid_density(refrigerant, liquid_temperature_k)
    vapour_kg_per_m3 = vapour_density(refrigerant, suction_pressure_pa, temperature_k=suction_temperature_k)

    inputs = {
        "liquid_bore": Estimate(liquid_bore_m, 2 * rectangular(WALL_LIMIT_M)),
        "vapour_bore": Estimate(vapour_bore_m, 2 * rectangular(WALL_LIMIT_M)),
        "length": length,
    }

    def mass(*, liquid: bool, vapour: bool) -> Estimate:
        def model(*, liquid_bore: float, vapour_bore: float, length: float) -> float:
            per_m = liquid * liquid_bore**2 * liquid_kg_per_m3 + vapour * vapour_bore**2 * vapour_kg_per_m3
            return math.pi / 4 * per_m * (length - included_length_m)

        return propagate(model, inputs).estimate

    in_vapour = vapour_bore_m**2 * vapour_kg_per_m3
    return LineSetCharge(
        beyond_m=length.value - included_length_m,
        liquid=mass(liquid=True, vapour=False),
        vapour=mass(liquid=False, vapour=True),
        total=mass(liquid=True, vapour=True),
        vapour_share_ratio=in_vapour / (liquid_bore_m**2 * liquid_kg_per_m3 + in_vapour),
    )


@takes_arrays
def liquid_riser(
    refrigerant: str,
    liquid_pressure: Estimate,
    *,
    liquid_temperature: Estimate,
    rise: Estimate,
    other_loss: Estimate,
) -> Riser:
    """Compute what a rise takes off the pressure of liquid, and the subcooling that is left above it.

    Above the point where none is left gas boils off in the line, and the valve above starves. Heat that the line takes
    up on its way is left out, and so is what cools it.

    Args:
        refrigerant: one of `saturation.names()`.
        liquid_pressure: absolute, below the rise [Pa].
        liquid_temperature: there [K].
        rise: from where these are read to the valve; below zero where it falls, -60 to 60 m [m].
        other_loss: of friction, bends, drier and valves on the way, 0 to 500 kPa [Pa].

    Raises:
        ArgumentError: the rise and the losses take off more than there is.
        CalcRangeError: beyond these limits, or no liquid known there.
        UnknownNameError: an unknown refrigerant.

    >>> psi, warm_k = 6894.757, 316.483  # 110 °F
    >>> found = liquid_riser("R-22", Estimate(18e5, 0.0), liquid_temperature=Estimate(warm_k, 0.0),
    ...     rise=Estimate(100 * 0.3048, 0.0), other_loss=Estimate(0.0, 0.0))
    >>> round(found.head.value / psi, 1)  # 48.4 psi in 100 ft at 110 °F: a table in a manual
    48.3

    """
    density_kg_per_m3 = liquid_density(refrigerant, liquid_temperature.value)
    within("rise", rise.value, -60.0, 60.0, "m")
    within("other_loss", other_loss.value, 0.0, 500e3, "Pa")
    per_m = density_kg_per_m3 * _GRAVITY_M_PER_S2
    head = Estimate(per_m * rise.value, per_m * rise.standard_uncertainty)

    bubble_point(refrigerant, liquid_pressure.value)
    top_pa = liquid_pressure.value - head.value - other_loss.value
    try:
        bubble_point(refrigerant, top_pa)
    except CalcRangeError:
        raise ArgumentError(f"rise and losses leave {top_pa:.3g} Pa absolute: no liquid {refrigerant} there") from None

    def above(*, pressure: float, temperature: float, rise: float, loss: float) -> float:
        return bubble_point(refrigerant, pressure - per_m * rise - loss) - temperature

    measured = {"pressure": liquid_pressure, "temperature": liquid_temperature, "rise": rise, "loss": other_loss}
    nothing = {"rise": Estimate(0.0, 0.0), "loss": Estimate(0.0, 0.0)}
    pressure_pa = liquid_pressure.value
    model_dk = model_uncertainty_k(refrigerant, pressure_pa, bubble_slope(refrigerant, pressure_pa))
    below, left = (
        Estimate(found.value, math.hypot(found.standard_uncertainty, model_dk))
        for found in (propagate(above, inputs).estimate for inputs in (measured | nothing, measured))
    )
    return Riser(head, below, left, _boils(left))


def _boils(left: Estimate) -> str:
    match compare(left, 0.0, math.inf):
        case Met():
            return "liquid arrives: subcooling is left above the rise"
        case NotMet():
            return "it boils on its way: the valve above gets gas with its liquid"
        case _:
            return "cannot tell: what is left is within its ±"


@takes_arrays
def riser_velocity(
    refrigerant: str,
    capacity_w: Estimate,
    *,
    bore_m: float,
    suction_pressure: Estimate,
    suction_temperature: Estimate,
    liquid_temperature_k: float,
) -> RiserVelocity:
    """Compute how fast suction gas goes up a riser, and whether that carries its oil.

    Mass flow is the capacity over what a kilogram takes up from the liquid line to where the gas is read. At part load,
    of stages or of an inverter, it is the least capacity that counts.

    Args:
        refrigerant: one of `saturation.names()`.
        capacity_w: of the evaporator, 100 W to 1 MW [W].
        bore_m: inner diameter of the riser, 1 to 110 mm [m].
        suction_pressure: absolute [Pa].
        suction_temperature: of the suction line [K].
        liquid_temperature_k: of the liquid before the valve [K].

    Raises:
        CalcRangeError: beyond these limits, or no vapour or liquid known there.
        UnknownNameError: an unknown refrigerant.

    >>> found = riser_velocity("R-410A", Estimate(10550.0, 0.0), bore_m=0.785 * 0.0254, liquid_temperature_k=308.0,
    ...     suction_pressure=Estimate(9.0e5, 0.0), suction_temperature=Estimate(284.0, 0.0))  # 3 tons, 7/8 in
    >>> round(found.velocity.value * 60 / 0.3048, -2)
    1200.0

    """
    within("capacity_w", capacity_w.value, 100.0, 1e6, "W")
    within("bore_m", bore_m, *_BORE_M, "m", "as tubes have it")
    liquid_j_per_kg = liquid_enthalpy(refrigerant, liquid_temperature_k)

    def mass_flow(*, capacity: float, pressure: float, temperature: float) -> float:
        return capacity / (vapour_enthalpy(refrigerant, pressure, temperature_k=temperature) - liquid_j_per_kg)

    def velocity(*, capacity: float, pressure: float, temperature: float, bore: float) -> float:
        per_s = mass_flow(capacity=capacity, pressure=pressure, temperature=temperature)
        return per_s / (vapour_density(refrigerant, pressure, temperature_k=temperature) * math.pi / 4 * bore**2)

    measured = {"capacity": capacity_w, "pressure": suction_pressure, "temperature": suction_temperature}
    bore = Estimate(bore_m, 2 * rectangular(WALL_LIMIT_M))
    found = propagate(velocity, {**measured, "bore": bore}).estimate
    flow = mass_flow(**{name: it.value for name, it in measured.items()})
    return RiserVelocity(found, flow, _carries_oil(found))


def _carries_oil(velocity: Estimate) -> str:
    match compare(velocity, LEAST_RISER_M_PER_S, GREATEST_M_PER_S):
        case Met():
            return "within what the trade press has for a riser: 1,000 to 4,000 ft/min"
        case NotMet(side="low"):
            return "slow: below 1,000 ft/min oil may stay in the riser"
        case NotMet():
            return "fast: above 4,000 ft/min it is heard, and loses pressure"
        case _:
            return "cannot tell: a limit lies within the ±"
