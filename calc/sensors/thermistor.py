"""Thermistors: temperature from resistance, by the three coefficients or the beta of the maker's sheet."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.elementwise import Value, log, within
from calc.errors import ArgumentError, CalcRangeError

_LEAST_OHM, _GREATEST_OHM = 1e-3, 1e9
_LOW_K, _HIGH_K = 173.15, 573.15
_HALVINGS = 60


@dataclass(frozen=True, slots=True)
class SteinhartHart:
    """1/T = a + b ln R + c (ln R)³, in kelvin and ohms (Steinhart & Hart, Deep-Sea Research 15, 1968)."""

    a: float
    b: float
    c: float

    @classmethod
    def through(cls, resistances_ohm: Sequence[float], temperatures_k: Sequence[float]) -> "SteinhartHart":
        """Fit the coefficients to three rows of the maker's table: its resistances [ohm] and temperatures [K].

        Raises:
            ArgumentError: there are not three rows of different resistance.
            CalcRangeError: one lies beyond 1 mΩ to 1 GΩ or -100 to 300 °C.

        """
        logs = [log(within("resistance_ohm", ohm, _LEAST_OHM, _GREATEST_OHM, "ohm")) for ohm in resistances_ohm]
        inverses = [1 / within("temperature_k", kelvin, _LOW_K, _HIGH_K, "K") for kelvin in temperatures_k]
        if not len(set(logs)) == len(logs) == len(inverses) == 3 or not sum(logs):
            raise ArgumentError("a thermistor's curve needs three rows of different resistance")
        (first, second, third), (start, middle, end) = logs, inverses
        near = (middle - start) / (second - first)
        far = (end - start) / (third - first)
        c = (far - near) / (third - second) / sum(logs)
        b = near - c * (first**2 + first * second + second**2)
        return cls(start - first * (b + c * first**2), b, c)

    def inverse_k(self, log_ohm: Value) -> Value:
        """Give 1/T from ln R."""
        return self.a + log_ohm * (self.b + self.c * log_ohm**2)


@dataclass(frozen=True, slots=True)
class Beta:
    """1/T = 1/T0 + ln(R/R0)/beta: good to about 1 K within 50 K of T0, worse beyond (common practice, no source)."""

    beta_k: float
    nominal_ohm: float
    nominal_k: float = 298.15

    def __post_init__(self) -> None:
        within("beta_k", self.beta_k, 500.0, 10_000.0, "K")
        within("nominal_ohm", self.nominal_ohm, _LEAST_OHM, _GREATEST_OHM, "ohm")
        within("nominal_k", self.nominal_k, _LOW_K, _HIGH_K, "K")

    def inverse_k(self, log_ohm: Value) -> Value:
        """Give 1/T from ln R."""
        return 1 / self.nominal_k + (log_ohm - log(self.nominal_ohm)) / self.beta_k


def thermistor_temperature(resistance_ohm: Value, curve: SteinhartHart | Beta) -> Value:
    """Compute the temperature of a thermistor.

    Args:
        resistance_ohm: above zero; an array gives an array [ohm].
        curve: that of the maker's sheet.

    Returns:
        The temperature [K].

    Raises:
        CalcRangeError: the curve gives no temperature from -100 to 300 °C there.
        ArgumentError: nor between resistances at which it does, so it is no curve of a thermistor.

    >>> table = SteinhartHart.through((32650.0, 10000.0, 3603.0), (273.15, 298.15, 323.15))
    >>> round(thermistor_temperature(12490.0, table) - 273.15, 1)  # the same table in print, at 20 °C (from memory)
    20.0

    """
    within("resistance_ohm", resistance_ohm, _LEAST_OHM, _GREATEST_OHM, "ohm")
    inverse = curve.inverse_k(log(resistance_ohm))
    try:
        return 1 / within("inverse_k", inverse, 1 / _HIGH_K, 1 / _LOW_K, "1/K")
    except CalcRangeError as error:
        because = f"the curve gives no temperature from {_LOW_K} to {_HIGH_K} K there: an open or shorted probe"
        within("resistance_ohm", resistance_ohm, *_ends_ohm(curve), "ohm", because)
        raise ArgumentError(
            "the thermistor's curve turns back on itself: look whether its rows or coefficients are mixed up"
        ) from error


def _ends_ohm(curve: SteinhartHart | Beta) -> tuple[float, float]:
    """Find between which resistances the curve gives a temperature, halving."""
    ends = []
    for kelvin in (_HIGH_K, _LOW_K):
        low, high = log(_LEAST_OHM), log(_GREATEST_OHM)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if curve.inverse_k(middle) < 1 / kelvin else (low, middle)
        ends.append(math.exp(high if kelvin == _HIGH_K else low))
    return ends[0], ends[1]
