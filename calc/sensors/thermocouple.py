"""Type K thermocouples by the reference function of ITS-90 (NIST Monograph 175)."""

import json
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from calc.elementwise import Value, exp, polynomial, slope, within

_ICE_POINT_K = 273.15
_LOW_K, _HIGH_K = -200 + _ICE_POINT_K, 1372 + _ICE_POINT_K
_NEWTON_STEPS = 3
"""The inverse polynomials of NIST lie within 0.06 K; two steps take that below 1e-9 K, and one more is for safety."""


def thermocouple_voltage(temperature_k: Value, cold_junction_k: float = _ICE_POINT_K) -> Value:
    """Compute the voltage of a type K thermocouple.

    Args:
        temperature_k: of the measuring junction, 73.15 to 1645.15; an array gives an array [K].
        cold_junction_k: of the terminals at the instrument, the same range [K].

    Returns:
        The voltage [V].

    Raises:
        CalcRangeError: beyond -200 to 1372 °C.

    >>> round(thermocouple_voltage(373.15) * 1e3, 3)  # NIST Monograph 175, table of type K
    4.096

    """
    within("temperature_k", temperature_k, _LOW_K, _HIGH_K, "K")
    return _emf_mv(temperature_k - _ICE_POINT_K) / 1e3 - _cold_junction_mv(cold_junction_k) / 1e3


def thermocouple_temperature(voltage_v: Value, cold_junction_k: float) -> Value:
    """Compute the temperature of a type K thermocouple's measuring junction: the inverse of `thermocouple_voltage`.

    The inverse polynomials of ITS-90 give it within 0.06 K, and Newton's method on the reference function the rest.
    The wire itself is allowed ±2.2 K (class of ordinary limits, ASTM E230, from memory).

    Args:
        voltage_v: at the instrument's terminals; an array gives an array [V].
        cold_junction_k: the temperature of those terminals [K].

    Returns:
        The temperature [K].

    Raises:
        CalcRangeError: the voltage belongs to no temperature from -200 to 1372 °C, or the cold junction lies outside.

    >>> round(thermocouple_temperature(3.096e-3, 298.15) - 273.15, 1)  # 100 °C: 4.096 mV less the 1.000 mV of 25 °C
    100.0

    """
    cold_mv = _cold_junction_mv(cold_junction_k)
    low_v, high_v = ((_emf_mv(end_k - _ICE_POINT_K) - cold_mv) / 1e3 for end_k in (_LOW_K, _HIGH_K))
    because = "with its cold junction, no type K thermocouple gives that: look for an open or reversed lead"
    total_mv = 1e3 * within("voltage_v", voltage_v, low_v, high_v, "V", because) + cold_mv
    celsius = _roughly_c(total_mv)
    for _ in range(_NEWTON_STEPS):
        celsius = celsius - (_emf_mv(celsius) - total_mv) / _seebeck_mv_per_k(celsius)
    return celsius + _ICE_POINT_K


@dataclass(frozen=True, slots=True)
class _Coefficients:
    below_0: tuple[float, ...]
    above_0: tuple[float, ...]
    bump: tuple[float, float, float]
    inverse: tuple[tuple[float, float, tuple[float, ...]], ...]


@cache
def _coefficients() -> _Coefficients:
    shipped = json.loads(files("calc.data").joinpath("thermocouple_k.json").read_text("utf-8"))
    reference = shipped["reference"]
    pieces = [(piece["low_mv"], piece["high_mv"], tuple(piece["terms"])) for piece in shipped["inverse"]]
    pieces[0] = (-math.inf, *pieces[0][1:])  # the reference function ends a little beyond the rounded ends in print
    pieces[-1] = (pieces[-1][0], math.inf, pieces[-1][2])
    return _Coefficients(
        tuple(reference["below_0"]), tuple(reference["above_0"]), tuple(reference["bump"]), tuple(pieces)
    )


def _emf_mv(celsius: Value) -> Value:
    of = _coefficients()
    height, width, middle = of.bump
    warm = polynomial(of.above_0, celsius) + height * exp(width * (celsius - middle) ** 2)
    return (celsius < 0) * polynomial(of.below_0, celsius) + (celsius >= 0) * warm


def _seebeck_mv_per_k(celsius: Value) -> Value:
    of = _coefficients()
    height, width, middle = of.bump
    away = celsius - middle
    warm = polynomial(slope(of.above_0), celsius) + 2 * height * width * away * exp(width * away**2)
    return (celsius < 0) * polynomial(slope(of.below_0), celsius) + (celsius >= 0) * warm


def _roughly_c(total_mv: Value) -> Value:
    celsius = 0.0 * total_mv
    for low_mv, high_mv, terms in _coefficients().inverse:
        celsius = celsius + (low_mv < total_mv) * (total_mv <= high_mv) * polynomial(terms, total_mv)
    return celsius


def _cold_junction_mv(cold_junction_k: float) -> float:
    return _emf_mv(within("cold_junction_k", cold_junction_k, _LOW_K, _HIGH_K, "K") - _ICE_POINT_K)
