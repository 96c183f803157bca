"""What a sound unit reads in these conditions, and how far sound units differ from each other: a small model of one.

Two coils by effectiveness, a compressor by the shape of its map, and the heat that goes through them, all for each watt
of rated capacity. What nobody knows of a unit that is seen for the first time (its coils, its air, how it was built)
differs from unit to unit as published, and moves several figures at once: a large condenser lowers head and amps
together. So the figures get a covariance, not a spread each.
"""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.elementwise import within
from calc.estimate import Estimate
from calc.quantities import STANDARD_PRESSURE_PA

FAHRENHEIT_DK = 5 / 9

Array = NDArray[np.float64]

CONDITIONS = ("outdoor_air_temperature", "return_air_temperature", "return_air_wet_bulb")
MODELLED = ("suction_dew_point", "condensing_over_outdoor", "air_split", "compressor_load")
"""What the model gives: the evaporator's and the condenser's temperature [K], the split [K], amps over rated ones."""

UNKNOWNS = ("indoor air", "indoor coil", "outdoor coil and air", "compressor's size", "compressor's power")
"""What nobody knows of a unit that is seen for the first time; of each the logarithm is normal."""


class Build(NamedTuple):
    """A way in which units are built, at 95 °F outdoors, 80 °F and 67 °F wet bulb indoors (AHRI 210/240, condition A).

    share: of the units that are met. evaporating, over_outdoor [°F]: dew point in the suction, and how far over the
    outdoor air it condenses. power: of the compressor, over the capacity. spreads: of each of `UNKNOWNS`, as a part.
    head_bends: how much more the head goes with outdoor air and wet bulb than by the model [K/K].
    """

    share: float
    evaporating_f: float
    over_outdoor_f: float
    power: float
    spreads: tuple[float, ...]
    head_bends: tuple[float, float] = (0.0, 0.0)


BUILDS: Mapping[str, Build] = MappingProxyType(
    {
        # As the trade's rules have it: a coil 35 °F below the return air, a condenser 20 °F over the outdoor air.
        "ordinary": Build(0.40, 45.7, 20.0, 0.31, (0.06, 0.07, 0.06, 0.04, 0.04)),
        # About the same, as far apart as units are: 130 to 510 ft³/min a ton (FSEC-PF-321-97), 15 to 25 °F and more.
        "any": Build(0.28, 46.0, 21.0, 0.31, (0.22, 0.20, 0.20, 0.08, 0.08)),
        # Printed normal pressures of R-410A splits and packaged units of 13 and 14 SEER: 51 °F, deviation 1.3; 15.3 and
        # 17.9 °F over the outdoor air, deviations 0.5 and 2.4 (tests/published/normal_pressures_by_makers.csv).
        "recent": Build(0.24, 50.8, 16.5, 0.27, (0.13, 0.15, 0.13, 0.05, 0.06)),
        # Wall-mounted packaged units, read at the discharge port: 30.5 to 31 °F over the outdoor air, less by 0.10 to
        # 0.17 for each °F outdoors, more by 0.40 to 0.55 for each °F of wet bulb (likewise).
        "compact": Build(0.08, 48.5, 31.0, 0.34, (0.20, 0.22, 0.14, 0.06, 0.06), (-0.11, 0.12)),
    }
)
"""Shares are common practice, no source; tests/judge says on what they were set."""

_AIR_KG_PER_J = 390 * 0.3048**3 / 60 * 1.2 / 3516.85
"""390 ft³/min a ton: the mean of those over 300, of which 320 is the mean of all (FSEC-PF-321-97)."""

_CONTACT = 0.78
"""The part of the air that meets the coil: the split is then 20 °F as tested (common practice, no source)."""

_CAPACITY_PER_DK, _POWER_PER_DK = (0.030, -0.012), (-0.003, 0.022)
"""How a compressor's map goes with evaporating and condensing temperature: the first as vapour gets denser; the others
from memory. With them capacity falls by 1 % and power rises by 2 % for each kelvin outdoors (NREL/TP-5500-56354)."""

_PORT_DROP_DK = 1.0  # from the coil to the port, as tested, and with the square of the flow: from memory
_RATED_LOAD, _AMPS_EXPONENT = 0.76, 0.85  # 0.6 to 0.9 of the rated amps as tested: common practice, no source
_AIR_J_PER_KG_K = 1015.0

_TESTED = tuple((degf + 459.67) * FAHRENHEIT_DK for degf in (95.0, 80.0, 67.0))


class Conditions(NamedTuple):
    """What a unit stands in, in the order of `CONDITIONS` [K], and how far what was not measured may be off [K]."""

    values: tuple[float, ...]
    spreads: tuple[float, ...]


class Population(NamedTuple):
    """Sound units of one build in some conditions; figures in the order of `MODELLED` [K or 1].

    values: of the one in the middle. by_condition: how they go with each of `CONDITIONS`. by_unknown: how far each of
    `UNKNOWNS` moves them, and after those each condition that was not measured, for one standard deviation of it.
    """

    share: float
    values: Array
    by_condition: Array
    by_unknown: Array


def known_conditions(measured: Mapping[str, Estimate]) -> Conditions:
    """Take what is measured, and for what is not what it usually is where a unit cools (common practice, no source).

    Raises:
        CalcRangeError: a temperature that is none of air.

    """
    known = {name: within(name, measured[name].value, *_OF_AIR_K, "K") for name in CONDITIONS if name in measured}
    outdoor_k = known.get(CONDITIONS[0], 305.0)
    dry_k, wet_k = known.get(CONDITIONS[1]), known.get(CONDITIONS[2])
    spreads = [0.0 if name in known else spread for name, spread in zip(CONDITIONS, (6.0, 2.0, 1.7), strict=True)]
    if dry_k is None:
        dry_k = 297.0 if wet_k is None else wet_k + 7.0
    if wet_k is None:
        wet_k = dry_k - 6.5 - 0.25 * (dry_k - 297.0)
    return Conditions((outdoor_k, dry_k, min(wet_k, dry_k)), tuple(spreads))


_OF_AIR_K = (230.0, 340.0)


def held_up_dk(outdoor_k: float) -> float:
    """Give how far a control of the condenser's fan may hold the head up in cold air, as a spread [K].

    Below some 16 °C (61 °F) a sound unit with such a control was measured to condense 22 K over the outdoor air.
    """
    return _HELD_UP_DK * min(max((_HOLDS_FROM_K - outdoor_k) / 3.0, 0.0), 1.0)


_HOLDS_FROM_K, _HELD_UP_DK = 292.15, 9.0


def sound_units(conditions: Conditions, pressure_pa: float = STANDARD_PRESSURE_PA) -> tuple[Population, ...]:
    """Work out what sound units of each build read in these conditions."""
    outdoor_k, return_k, wet_bulb_k = (
        min(max(value, low), high) for value, (low, high) in zip(conditions.values, _COOLS_K, strict=True)
    )
    near = (float(round(outdoor_k)), float(round(return_k)), float(round(min(wet_bulb_k, return_k))))
    away = np.array((outdoor_k, return_k, wet_bulb_k)) - near
    assumed = np.array(conditions.spreads)
    return tuple(
        population._replace(
            values=population.values + population.by_condition @ away,
            by_unknown=np.hstack((population.by_unknown, population.by_condition * assumed)),
        )
        for population in _near(*near, round(pressure_pa, -3))
    )


_COOLS_K = ((265.0, 330.0), (283.0, 313.0), (275.0, 305.0))
"""Beyond it the model goes on as at its edge: no unit cools a room from there in earnest."""


@lru_cache(maxsize=256)
def _near(outdoor_k: float, return_k: float, wet_bulb_k: float, pressure_pa: float) -> tuple[Population, ...]:
    """Work it out at the nearest whole kelvin: from there it is straight."""
    at = np.array((outdoor_k, return_k, wet_bulb_k))
    return tuple(_population(build, at, pressure_pa) for build in BUILDS.values())


_STEP_DK = 0.5

_FOLLOWS_LESS = -0.12
"""How much less the evaporator follows the wet bulb than the model has it: makers' tables print 0.67 for each kelvin, a
measured unit shows 0.95, and the model says 0.99; between them it is not known."""


def _population(build: Build, at: Array, pressure_pa: float) -> Population:
    spreads = np.array(build.spreads)
    unknowns, conditions = len(UNKNOWNS), len(CONDITIONS)
    given = np.repeat(at[:, np.newaxis], 1 + 2 * (unknowns + conditions), axis=1)
    logarithms = np.zeros((unknowns, given.shape[1]))
    for index in range(unknowns):
        logarithms[index, 1 + 2 * index : 3 + 2 * index] = spreads[index], -spreads[index]
    for index in range(conditions):
        first = 1 + 2 * (unknowns + index)
        given[index, first : first + 2] += _STEP_DK, -_STEP_DK
    figures = _solve(build, given, np.exp(logarithms), pressure_pa)
    halves = (figures[:, 1::2] - figures[:, 2::2]) / 2
    by_condition = halves[:, unknowns:] / _STEP_DK
    bends = np.zeros_like(by_condition)
    bends[0, 2] = _FOLLOWS_LESS
    bends[1, [0, 2]] = build.head_bends
    away = at - np.array(_TESTED)
    follows = np.array((_FOLLOWS_LESS * away[2], 0.0, 0.0, 0.0))[:, np.newaxis]
    return Population(
        build.share, figures[:, 0] + bends @ away, by_condition + bends, np.hstack((halves[:, :unknowns], follows))
    )


def _solve(build: Build, given: Array, units: Array, pressure_pa: float) -> Array:
    """Find where capacity of coil and compressor are one, and so are the heat to reject and what the condenser can."""
    outdoor, indoor, wet_bulb = given
    air, coil, condenser, size, power = units
    density = pressure_pa / STANDARD_PRESSURE_PA
    tested = _TESTED
    evaporating_0 = (build.evaporating_f + 459.67) * FAHRENHEIT_DK + _PORT_DROP_DK
    over_0 = build.over_outdoor_f * FAHRENHEIT_DK
    units_0 = -np.log(1 - _CONTACT)
    surface_0 = _saturated_at(_saturated(tested[2], STANDARD_PRESSURE_PA) - 1 / (_AIR_KG_PER_J * _CONTACT))
    resistance = (surface_0 - evaporating_0) / coil
    flow = air * density
    contact = 1 - np.exp(-units_0 * coil / np.sqrt(flow))
    enthalpy = _saturated(wet_bulb, pressure_pa)

    def cooled(surface: Array) -> Array:
        wet, dry = enthalpy - _saturated(surface, pressure_pa), _AIR_J_PER_KG_K * (indoor - surface)
        result: Array = _AIR_KG_PER_J * flow * contact * np.maximum(wet, dry)
        return result

    def rests(surface: Array, over: Array) -> tuple[Array, Array]:
        capacity = cooled(surface)
        evaporating = surface - resistance * capacity - evaporating_0
        condensing = over + outdoor - tested[0] - over_0
        pumped = size * np.exp(_CAPACITY_PER_DK[0] * evaporating + _CAPACITY_PER_DK[1] * condensing)
        taken = _power(build, size * power, evaporating, condensing)
        rejected = over / over_0 * (1 + build.power) * condenser * np.sqrt(density)
        return pumped - capacity, rejected - pumped - taken

    surface = np.full_like(outdoor, surface_0) + 0.8 * (wet_bulb - tested[2])
    over = np.full_like(outdoor, over_0)
    for _ in range(_ROUNDS):
        first, second = rests(surface, over)
        by_surface, by_over = rests(surface + 0.01, over), rests(surface, over + 0.01)
        a, c = (by_surface[0] - first) / 0.01, (by_surface[1] - second) / 0.01
        b, d = (by_over[0] - first) / 0.01, (by_over[1] - second) / 0.01
        scale = a * d - b * c
        surface = surface - np.clip((d * first - b * second) / scale, -_FARTHEST_DK, _FARTHEST_DK)
        over = over - np.clip((a * second - c * first) / scale, -_FARTHEST_DK, _FARTHEST_DK)
    capacity = cooled(surface)
    evaporating = surface - resistance * capacity
    taken = _power(build, size * power, evaporating - evaporating_0, over + outdoor - tested[0] - over_0)
    return np.array(
        (
            evaporating - _PORT_DROP_DK * capacity**2,
            over,
            contact * (indoor - surface),
            _RATED_LOAD * (taken / build.power) ** _AMPS_EXPONENT,
        )
    )


_ROUNDS, _FARTHEST_DK = 6, 6.0


def _power(build: Build, size: Array, evaporating: Array, condensing: Array) -> Array:
    result: Array = build.power * size * np.exp(_POWER_PER_DK[0] * evaporating + _POWER_PER_DK[1] * condensing)
    return result


def _saturated(temperature_k: Array | float, pressure_pa: float) -> Array:
    """Compute the enthalpy of saturated air [J/kg]: Magnus' formula for the vapour (from memory)."""
    celsius = np.asarray(temperature_k, dtype=float) - 273.15
    vapour_pa = 610.94 * np.exp(17.625 * celsius / (celsius + 243.04))
    moisture = 0.622 * vapour_pa / (pressure_pa - vapour_pa)
    result: Array = 1006.0 * celsius + moisture * (2.501e6 + 1860.0 * celsius)
    return result


def _saturated_at(enthalpy: Array | float) -> float:
    """Find the temperature of saturated air of some enthalpy, at sea level [K]."""
    low, high = 263.15, 303.15
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if _saturated(middle, STANDARD_PRESSURE_PA) < enthalpy else (low, middle)
    return (low + high) / 2
