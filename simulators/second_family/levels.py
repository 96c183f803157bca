"""The levels of a unit with its faults and its charge.

Faults do not simply add. Shares multiply; superheat and subcooling get their shifts together and end at nothing once,
as their sum less a charge has it: what is published as free of other faults is that sum (Li and Braun, from memory). So
a starved coil with too much refrigerant reads another superheat than the two shifts, and one without superheat can lose
none.
"""

import math

from simulators.second_family.catalogue import regressed
from simulators.second_family.charge import SUPERHEAT_WEIGHT, shared_out
from simulators.second_family.departures import Departure, departures
from simulators.second_family.parameters import Build, Conditions, Faults
from simulators.second_family.sound import Levels, device_superheat_f, sound

HEAD_BY_SUBCOOLING = 0.3
"""What condensing gains by 1 °F of subcooling that the charge makes (from memory, medium trust)."""

LEAST_APPROACH_F = 1.0
"""No liquid leaves a condenser colder than this over the outdoor air: more of it raises the head instead."""

COMPRESSOR_HEAT = 0.3
"""Power over capacity, which the condenser rejects as well: about a COP of 3.3."""

STARVED, FLOODED = 0.25, 0.15
"""What evaporating loses by 1 °F of superheat that the charge makes, and gains by 1 °F less (common practice, no
source)."""

MOST_OF_THE_WAY = 0.85
"""Vapour becomes no warmer than this part of the way to the return air, and the air no colder of the way to the coil
(common practice, no source)."""

LEAST_UNDER_WET_BULB_F = 2.0
"""A coil that cools wet air is colder than its wet bulb."""

HIGHEST_CONDENSING_F, LOWEST_EVAPORATING_F = 150.0, -5.0
"""Beyond them cut-outs act (common practice, no source); the correlations say nothing there."""


def settled(build: Build, conditions: Conditions, faults: Faults, charge: float) -> tuple[Levels, Departure]:
    """Give the levels with this charge over the right one, and all that faults do together.

    The charge's own part of the sum, capacity and power is in the levels only.
    """
    fine = sound(build, conditions)
    together = _together(departures(build, conditions, faults, fine), fine)
    shares = _charge_shares(build, conditions, charge)
    device_f = device_superheat_f(build, conditions) + together.superheat_f
    sum_f = fine.subcooling_f + together.subcooling_f - SUPERHEAT_WEIGHT * (fine.superheat_f + together.superheat_f)
    over_outdoor_f = fine.condensing_f - conditions.outdoor_f
    over_outdoor_f *= together.over_outdoor * _heat(together.capacity, together.power)

    # What faults alone push into the condenser ends at its approach; what the charge adds raises the head.
    usual_superheat_f, pushed_f = shared_out(build.metering, superheat_f=device_f, sum_f=sum_f, by_charge_f=0.0)
    kept_f = _no_more_than(pushed_f, over_outdoor_f - LEAST_APPROACH_F)
    superheat_f, subcooling_f = shared_out(
        build.metering,
        superheat_f=device_f,
        sum_f=sum_f - (pushed_f - kept_f),
        by_charge_f=build.sum_by_charge_f * charge,
    )
    over_outdoor_f = over_outdoor_f * _heat(*shares) + HEAD_BY_SUBCOOLING * (subcooling_f - kept_f)
    over_outdoor_f = _no_less_than(over_outdoor_f, subcooling_f + LEAST_APPROACH_F)

    starved_f = superheat_f - usual_superheat_f
    by_charge_f = -(STARVED if starved_f > 0.0 else FLOODED) * starved_f
    evaporating_f = max(fine.evaporating_f + together.evaporating_f + by_charge_f, LOWEST_EVAPORATING_F)
    evaporating_f = min(evaporating_f, conditions.wet_bulb_f - LEAST_UNDER_WET_BULB_F)
    to_return_f = MOST_OF_THE_WAY * (conditions.return_f - evaporating_f)
    capacity = together.capacity * shares[0]
    return (
        Levels(
            evaporating_f=evaporating_f,
            superheat_f=_no_more_than(superheat_f, to_return_f),
            condensing_f=_no_more_than(conditions.outdoor_f + over_outdoor_f, HIGHEST_CONDENSING_F),
            subcooling_f=subcooling_f,
            split_f=_no_more_than(fine.split_f * capacity / together.air, to_return_f),
            capacity=fine.capacity * capacity,
            power=fine.power * together.power * shares[1],
        ),
        together,
    )


def _together(found: list[Departure], fine: Levels) -> Departure:
    """Shifts add, shares multiply; superheat ends at nothing."""
    superheat_f = sum(each.superheat_f for each in found)
    return Departure(
        evaporating_f=sum(each.evaporating_f for each in found),
        superheat_f=max(superheat_f, -fine.superheat_f),
        subcooling_f=sum(each.subcooling_f for each in found),
        discharge_f=sum(each.discharge_f for each in found),
        over_outdoor=math.prod(each.over_outdoor for each in found),
        capacity=math.prod(each.capacity for each in found),
        power=math.prod(each.power for each in found),
        air=math.prod(each.air for each in found),
    )


def _charge_shares(build: Build, conditions: Conditions, charge: float) -> tuple[float, float]:
    """Give what a wrong charge makes of capacity and power.

    Too little: regressed. Too much: a fit to the cases of NIST TN 1848 at 26.7 °C and 35 °C, within 0.1 %
    (tests/published/power_by_charge.csv); with an orifice capacity hardly gains, for 15 % more costs it less than 2 %
    of its efficiency (Home Energy, May 2002).
    """
    if charge < 0.0:
        name = "split undercharge" if build.kind == "split" else "packaged undercharge"
        return regressed(name, -charge, conditions)
    capacity = 1.0 + 0.125 * charge - 0.11 * charge**2 if build.metering == "valve" else 1.0 + 0.03 * charge
    return capacity, 1.0 + 0.13 * charge + 0.25 * charge**2


def _heat(capacity: float, power: float) -> float:
    """Give the heat that is rejected over that of the sound unit."""
    return (capacity + COMPRESSOR_HEAT * power) / (1.0 + COMPRESSOR_HEAT)


def _no_more_than(value_f: float, most_f: float) -> float:
    """Keep a value below another, smoothly within a degree or so: the lesser of the two is never passed."""
    room_f = most_f - value_f
    if room_f > 15.0:
        return value_f
    return most_f - math.log1p(math.exp(room_f))


def _no_less_than(value_f: float, least_f: float) -> float:
    """Keep a value above another, likewise."""
    return -_no_more_than(-value_f, -least_f)
