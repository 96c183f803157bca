"""The speed of the saturation curves beside CoolProp's in the same run, and how far they are from it."""

import timeit
from collections.abc import Iterator

import numpy as np
from CoolProp.CoolProp import PropsSI

from calc.data.build_saturation import equilibrium_temperatures, pressure_range_pa
from calc.refrigerants import get
from calc.saturation import bubble_point, dew_point, names
from tests.figures import Figure

_PRESSURE_PA = 1e6
_ROUNDS = 20
_POINTS = 100_000


def measure() -> Iterator[Figure]:
    """Measure scalars as ratios, arrays per point, and the worst error of all curves."""
    yield _ratio("R-32", ">= 60x")
    yield _ratio("R-454B", ">= 500x")
    yield Figure("saturation, array of 100,000 points", f"{_array_ns_per_point():.0f} ns/point", "<= 30 ns/point")
    worst_k, where = _worst_error()
    yield Figure("saturation, worst error of 21 refrigerants", f"{worst_k * 1e3:.2f} mK ({where})", "<= 1 mK")


def _ratio(refrigerant: str, target: str) -> Figure:
    """Compare the best of several rounds, taken in turns so that a busy machine hits both alike."""
    equation_of_state = get(refrigerant).equation_of_state
    ours, theirs = [], []
    for _ in range(_ROUNDS):
        scope = {"point": dew_point, "name": refrigerant, "pressure": _PRESSURE_PA}
        ours.append(timeit.timeit("point(name, pressure)", globals=scope, number=5000) / 5000)
        scope = {"point": PropsSI, "name": equation_of_state, "pressure": _PRESSURE_PA}
        statement = "point('T', 'P', pressure, 'Q', 1, name)"
        theirs.append(timeit.timeit(statement, globals=scope, number=50) / 50)
    us, them = min(ours), min(theirs)
    measured = f"{them / us:.0f}x ({us * 1e6:.2f} us against {them * 1e6:.0f} us)"
    return Figure(f"saturation, one value, {refrigerant}, against PropsSI", measured, target)


def _array_ns_per_point() -> float:
    pressures_pa = np.geomspace(100e3, 4e6, _POINTS)
    best_s = min(timeit.repeat(lambda: dew_point("R-410A", pressures_pa), number=1, repeat=_ROUNDS))
    return best_s / _POINTS * 1e9


def _worst_error() -> tuple[float, str]:
    worst_k, where = 0.0, ""
    for name in names():
        facts = get(name)
        low, high = np.log(pressure_range_pa(name, facts.critical_pressure_pa))
        x = np.cos(np.pi * (np.arange(501)[::-1] + 0.5) / 501)
        pressures_pa = np.exp((low + high) / 2 + x * (high - low) / 2)
        for quality, point in ((0.0, bubble_point), (1.0, dew_point)):
            exact_k = equilibrium_temperatures(
                facts.equation_of_state, quality, pressures_pa, facts.critical_temperature_k
            )
            error_k = float(np.abs(point(name, pressures_pa) - exact_k).max())
            if error_k > worst_k:
                worst_k, where = error_k, f"{name} {point.__name__.replace('_', ' ')}"
    return worst_k, where
