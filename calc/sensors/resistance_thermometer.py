"""Platinum resistance thermometers by IEC 60751.

Older tables have other coefficients (a resistance ratio of 1.3916 or 1.3902 instead of 1.3851): a probe of that kind
reads 1 to 2 % wrong here, so its papers must say IEC 60751 or "alpha 0.00385".
"""

from calc.elementwise import Value, within

_A = 3.9083e-3
_B = -5.775e-7
_C = -4.183e-12
_LEAST_C, _GREATEST_C = -200.0, 850.0
_LEAST_OHM, _GREATEST_OHM = 18.52, 390.49
"""Those of a Pt100 at these ends, rounded outwards: the table prints 18.52."""
_ICE_POINT_K = 273.15
_NEWTON_STEPS = 4
"""From the quadratic, three settle the last digit at -200 °C; one more for safety."""


def rtd_resistance(temperature_k: Value, nominal_ohm: float = 100.0) -> Value:
    """Compute the resistance of a platinum thermometer.

    R = R0 (1 + A t + B t²), and below 0 °C + C (t - 100) t³ within the bracket, t in °C (IEC 60751).

    Args:
        temperature_k: 73.15 to 1123.15; an array gives an array [K].
        nominal_ohm: at 0 °C: 100 of a Pt100, 1000 of a Pt1000 [ohm].

    Returns:
        The resistance [ohm].

    Raises:
        CalcRangeError: beyond these limits.

    >>> round(rtd_resistance(373.15), 2)  # IEC 60751, table
    138.51
    >>> round(rtd_resistance(73.15), 2)
    18.52

    """
    within("temperature_k", temperature_k, _LEAST_C + _ICE_POINT_K, _GREATEST_C + _ICE_POINT_K, "K")
    _nominal(nominal_ohm)
    return nominal_ohm * _ratio(temperature_k - _ICE_POINT_K)


def rtd_temperature(resistance_ohm: Value, nominal_ohm: float = 100.0) -> Value:
    """Compute the temperature of a platinum thermometer: the inverse of `rtd_resistance`, within 1e-9 K.

    The leads of a two-wire probe count as its own resistance: 0.39 ohm of them read 1 K high on a Pt100.

    Args:
        resistance_ohm: of a Pt100 18.52 to 390.49; an array gives an array [ohm].
        nominal_ohm: at 0 °C [ohm].

    Returns:
        The temperature [K].

    Raises:
        CalcRangeError: no such resistance between -200 and 850 °C: an open or shorted probe.

    >>> round(rtd_temperature(138.5055) - 273.15, 3)  # IEC 60751
    100.0
    >>> round(rtd_temperature(18.5201) - 273.15, 3)
    -200.0

    """
    low_ohm, high_ohm = (end_ohm * _nominal(nominal_ohm) / 100 for end_ohm in (_LEAST_OHM, _GREATEST_OHM))
    because = "no such temperature: look for an open or shorted probe"
    within("resistance_ohm", resistance_ohm, low_ohm, high_ohm, "ohm", because)
    ratio = resistance_ohm / nominal_ohm
    celsius: Value = (-_A + (_A**2 - 4 * _B * (1 - ratio)) ** 0.5) / (2 * _B)
    for _ in range(_NEWTON_STEPS):
        celsius = celsius - (_ratio(celsius) - ratio) / _ratio_slope(celsius)
    return celsius + _ICE_POINT_K


def _nominal(nominal_ohm: float) -> float:
    return within("nominal_ohm", nominal_ohm, 10.0, 10_000.0, "ohm")


def _ratio(celsius: Value) -> Value:
    cold = _C * (celsius < 0)
    return 1 + celsius * (_A + celsius * (_B + celsius * cold * (celsius - 100)))


def _ratio_slope(celsius: Value) -> Value:
    cold = _C * (celsius < 0)
    return _A + celsius * (2 * _B + celsius * cold * (4 * celsius - 300))
