"""Saturation: the dew and bubble points of refrigerants, and the pressures that belong to them.

Each curve is 1/T as a Chebyshev series in ln p, fitted to an equation of state (calc.data.build_saturation)
within 1 mK from 30 kPa (R-744: 520 kPa) to 0.90 of the critical pressure. Beyond that there is no answer:
every function raises CalcRangeError, for NaN too. Pressures are absolute. A float gives a float, and a numpy
array an array.
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal, TypeVar

from calc.designations import designation_among
from calc.elementwise import exp, log, polynomial, slope, within
from calc.shelf import known

if TYPE_CHECKING:  # numpy is loaded only when an array comes: one reading needs none of it
    import numpy as np
    from numpy.typing import NDArray

Value = TypeVar("Value", float, "NDArray[np.float64]")

_NEWTON_STEPS = 5
"""From the straight line between the ends, four reach the last digits on every curve; one more for safety."""


def names() -> tuple[str, ...]:
    """Give the designations of all refrigerants with curves, such as "R-410A": those shipped, then those added."""
    return tuple(known("saturation"))


def designation(refrigerant: str) -> str:
    """Give the designation as ASHRAE 34 writes it, from how a person may: "r410a", "R 410A", "410A", "HFC-134a", "CO2".

    Raises:
        UnknownNameError: no curve is shipped for it.

    >>> designation("r410a")
    'R-410A'

    """
    return designation_among(names(), refrigerant)


def dew_point(refrigerant: str, pressure_pa: Value) -> Value:
    """Give the temperature at which the last liquid has evaporated: superheat counts from it.

    Args:
        refrigerant: one of `names()`, or a way to write it that `designation` reads.
        pressure_pa: absolute [Pa].

    Returns:
        The dew point [K].

    Raises:
        CalcRangeError: no saturation is known at this pressure.
        UnknownNameError: an unknown refrigerant.

    >>> round(dew_point("R-410A", 962.14e3) - 273.15, 2)  # 6 °C: R-410A vapour table of US DOE's EnergyPlus
    6.0

    """
    return _dew_curve(refrigerant).temperature_k(pressure_pa)


def bubble_point(refrigerant: str, pressure_pa: Value) -> Value:
    """Give the temperature at which the first bubble forms in the liquid: subcooling counts from it.

    Arguments, result and errors as `dew_point`.

    >>> round(bubble_point("R-410A", 1447.6038e3) - 273.15, 2)  # 20 °C: NIST REFPROP 10
    20.0
    """
    return _bubble_curve(refrigerant).temperature_k(pressure_pa)


def dew_pressure(refrigerant: str, temperature_k: Value) -> Value:
    """Give the absolute pressure [Pa] that has a temperature [K] as dew point: the inverse of `dew_point`.

    >>> round(dew_pressure("R-134a", 300.0) / 1e3, 1)  # Tillner-Roth & Baehr, JPCRD 23 (1994), Table 8
    702.8
    """
    return _dew_curve(refrigerant).pressure_pa(temperature_k)


def bubble_pressure(refrigerant: str, temperature_k: Value) -> Value:
    """Give the absolute pressure [Pa] that has a temperature [K] as bubble point, likewise.

    >>> round(bubble_pressure("R-32", 273.15) / 1e3, 1)  # Tillner-Roth & Yokozeki, JPCRD 26 (1997), Table 12
    813.1
    """
    return _bubble_curve(refrigerant).pressure_pa(temperature_k)


def dew_slope(refrigerant: str, pressure_pa: Value) -> Value:
    """Tell how fast the dew point moves with pressure [K/Pa]; arguments and errors as `dew_point`.

    It turns the uncertainty of a pressure into one of superheat.
    """
    return _dew_curve(refrigerant).slope_k_per_pa(pressure_pa)


def bubble_slope(refrigerant: str, pressure_pa: Value) -> Value:
    """Tell how fast the bubble point moves with pressure [K/Pa]; arguments and errors as `dew_point`."""
    return _bubble_curve(refrigerant).slope_k_per_pa(pressure_pa)


@dataclass(frozen=True, slots=True)
class _Curve:
    """1/T as a polynomial of x = (ln p - middle) / half, which runs from -1 to 1; terms by rising power."""

    refrigerant: str
    low_pa: float
    high_pa: float
    middle: float
    half: float
    terms: tuple[float, ...]
    slope_terms: tuple[float, ...]

    def temperature_k(self, pressure_pa: Value) -> Value:
        return 1.0 / polynomial(self.terms, self._x(pressure_pa))

    def slope_k_per_pa(self, pressure_pa: Value) -> Value:
        x = self._x(pressure_pa)
        temperature_k, steepness = 1.0 / polynomial(self.terms, x), polynomial(self.slope_terms, x)
        return -(temperature_k**2) * steepness / (self.half * pressure_pa)

    def pressure_pa(self, temperature_k: Value) -> Value:
        low, high = self.temperature_k(self.low_pa), self.temperature_k(self.high_pa)
        within("temperature_k", temperature_k, low, high, "K", self._unknown)
        inverse = 1.0 / temperature_k
        x = 2.0 * (1.0 / low - inverse) / (1.0 / low - 1.0 / high) - 1.0
        for _ in range(_NEWTON_STEPS):
            x = x - (polynomial(self.terms, x) - inverse) / polynomial(self.slope_terms, x)
        return _clip(exp(self.middle + self.half * x), self.low_pa, self.high_pa)

    def _x(self, pressure_pa: Value) -> Value:
        if isinstance(pressure_pa, float) and self.low_pa <= pressure_pa <= self.high_pa:
            return (math.log(pressure_pa) - self.middle) / self.half
        within("pressure_pa", pressure_pa, self.low_pa, self.high_pa, "Pa", self._unknown)
        return (log(pressure_pa) - self.middle) / self.half

    @property
    def _unknown(self) -> str:
        return f"{self.refrigerant} has no saturation known there"


def _clip(value: Value, low: float, high: float) -> Value:
    if isinstance(value, float | int):
        return min(max(value, low), high)
    return value.clip(low, high)


@cache
def _dew_curve(refrigerant: str) -> _Curve:
    return _curve(designation(refrigerant), "dew")


@cache
def _bubble_curve(refrigerant: str) -> _Curve:
    return _curve(designation(refrigerant), "bubble")


def _curve(refrigerant: str, end: Literal["dew", "bubble"]) -> _Curve:
    shipped = known("saturation")[refrigerant]
    low_pa, high_pa = shipped["low_pa"], shipped["high_pa"]
    powers = _powers(shipped[end])
    return _Curve(
        refrigerant=refrigerant,
        low_pa=low_pa,
        high_pa=high_pa,
        middle=math.log(low_pa * high_pa) / 2,
        half=math.log(high_pa / low_pa) / 2,
        terms=powers,
        slope_terms=slope(powers),
    )


def _powers(series: list[float]) -> tuple[float, ...]:
    """Turn a Chebyshev series into powers of x, lowest first: half the work to sum, within 1e-12 K."""
    previous, current = [1.0], [0.0, 1.0]
    powers = [0.0] * len(series)
    for factor in series:
        for power, term in enumerate(previous):
            powers[power] += factor * term
        following = [0.0, *(2.0 * term for term in current)]
        for power, term in enumerate(previous):
            following[power] -= term
        previous, current = current, following
    return tuple(powers)
