"""The families of units that the judge is tried on: designs of the physical model, and units of correlations.

What a trial asks of a family stands here: a design, a fault of moderate size, what a settled unit reads while it runs
and at rest, and how it is mended.
"""

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from calc.saturation import bubble_point
from simulators.second_family import readings as correlated
from simulators.second_family.makers import draw_build
from simulators.second_family.model import CorrelatedUnit
from simulators.second_family.parameters import Conditions, Faults, Parameters
from simulators.unit import parameters as physical
from simulators.unit.model import Unit
from tests.fahrenheit import DDEGF, kelvin
from tests.judge import cases
from tests.judge.cases import FAULTS, NO_FAULT, OWN, WIDE, Case, Design, draw_conditions, measure


@dataclass(frozen=True)
class Correlated:
    """Units by correlations in print, of many makers; a design among the others."""


CORRELATED = Correlated()

AnyFamily = cases.Family | Correlated
AnyParameters = physical.UnitParameters | Parameters

NAMES: Mapping[AnyFamily, str] = {OWN: "one family", WIDE: "wider designs", CORRELATED: "other physics"}

_TRIPS_AT = kelvin(146.0)
"""Bubble point at which a high cut-out opens: with more, nobody reads a running unit (common practice, no source)."""

_SIZES: Mapping[str, tuple[str, float, float]] = {
    "low evaporator airflow": ("evaporator_air", 0.30, 0.55),
    "condenser fouling": ("condenser_air", 0.30, 0.60),
    "liquid-line restriction": ("restriction", 0.12, 0.28),
    "compressor valve leakage": ("valve_leakage", 0.15, 0.40),
    "non-condensables": ("non_condensables", 0.30, 0.90),
}


def draw_design(chance: random.Random, family: AnyFamily) -> Design:
    """Draw a unit as its maker meant it."""
    if isinstance(family, cases.Family):
        return cases.draw_design(chance, family=family)
    is_valve = chance.random() < 0.5
    build = draw_build(chance, "valve" if is_valve else "orifice")
    rated = CorrelatedUnit(Parameters(build)).true_state()
    subcooling_dk = bubble_point(build.refrigerant, rated["liquid_pressure"]) - rated["liquid_line_temperature"]
    return Design(
        parameters=Parameters(build),
        metering_device=chance.choice(("txv", "eev")) if is_valve else "fixed_orifice",
        target_subcooling_dk=round(subcooling_dk / DDEGF) * DDEGF if is_valve else None,
        compressor_rla_a=round(build.rated_current_a / chance.uniform(0.6, 0.8), 1),  # from memory, low trust
    )


def draw_unit(chance: random.Random, design: Design, fault: str) -> tuple[float, AnyParameters]:
    """Show a design with a fault of moderate size in random weather: the size, and how the unit is."""
    if isinstance(design.parameters, physical.UnitParameters):
        size, charge, faults = cases.draw_fault(chance, fault)
        conditions = draw_conditions(chance)
        charge_kg = design.parameters.charge_kg * charge
        return size, replace(design.parameters, conditions=conditions, charge_kg=charge_kg, faults=faults)
    while True:
        size, parameters = _draw_correlated(chance, design.parameters, fault)
        if bubble_point(parameters.refrigerant, running(parameters)["liquid_pressure"]) < _TRIPS_AT:
            return size, parameters


def _draw_correlated(chance: random.Random, right: Parameters, fault: str) -> tuple[float, Parameters]:
    size, charge, faults = 0.0, 1.0, Faults()
    if fault in ("undercharge", "overcharge"):
        size = chance.uniform(0.15, 0.30)
        charge = 1.0 - size if fault == "undercharge" else 1.0 + size
    elif fault != NO_FAULT:
        name, low, high = _SIZES[fault]
        size = chance.uniform(low, high)
        faults = Faults(**{name: size})
    weather = draw_conditions(chance)
    conditions = Conditions(weather.outdoor_air_k, weather.return_air_k, weather.return_air_humidity)
    return size, replace(right, conditions=conditions, charge_kg=right.charge_kg * charge, faults=faults)


def running(parameters: AnyParameters) -> Mapping[str, float]:
    """Read a unit that has run for long, exactly."""
    unit = Unit(parameters) if isinstance(parameters, physical.UnitParameters) else CorrelatedUnit(parameters)
    return unit.true_state()


def at_rest(parameters: AnyParameters, off_dk: float) -> Mapping[str, float]:
    """Find what gauge and thermometers show with the unit off for long, its coils off their air by this."""
    if isinstance(parameters, physical.UnitParameters):
        return cases.at_rest(parameters, off_dk)
    conditions, build = parameters.conditions, parameters.build
    coldest_k = min(conditions.outdoor_air_k, conditions.return_air_k) + off_dk
    charge = parameters.charge_kg / build.right_kg - 1.0
    rested = correlated.resting(build, conditions, parameters.faults, charge, coldest_k)
    return {
        "liquid_pressure": rested["liquid_pressure"],
        "outdoor_air_temperature": conditions.outdoor_air_k,
        "return_air_temperature": conditions.return_air_k,
    }


def mended(parameters: AnyParameters) -> AnyParameters:
    """Give the unit with its charge, and nothing else wrong."""
    if isinstance(parameters, physical.UnitParameters):
        return replace(parameters, faults=physical.Faults())
    return replace(parameters, faults=Faults())


def draw_cases(seed: int, family: AnyFamily = OWN) -> Iterator[Case]:
    """Draw a unit, and show it with each fault and twice without, in other weather each time.

    The same seed gives the same cases.
    """
    chance = random.Random(seed)
    design = draw_design(chance, family)
    for truth in (*FAULTS, NO_FAULT, NO_FAULT):
        size, parameters = draw_unit(chance, design, truth)
        yield Case(
            truth=truth,
            size=size,
            design=design,
            parameters=parameters,
            readings=measure(running(parameters), chance),
            readings_at_rest=measure(at_rest(parameters, chance.gauss(0.0, 1.0)), chance),
        )
