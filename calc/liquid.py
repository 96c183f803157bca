"""The density of liquid refrigerant at its bubble point: what a cylinder may hold, and a line set takes.

A polynomial in (1 - T / critical T)^(1/3), shipped by calc.data.build_liquid_density. The slight compression of
subcooled liquid, some 0.5 % in a liquid line, is left out.
"""

from calc.elementwise import Value, polynomial, within
from calc.refrigerants import get
from calc.saturation import designation
from calc.shelf import known


def liquid_density(refrigerant: str, temperature_k: Value) -> Value:
    """Compute the density of the liquid at its bubble point.

    Args:
        refrigerant: one of `saturation.names()`.
        temperature_k: from where the bubble point's pressure is 30 kPa (R-744: 520 kPa) to where it is 0.90 of the
            critical one; a float or an array [K].

    Returns:
        The density [kg/m³]; within 0.01 % of the equation of state.

    Raises:
        CalcRangeError: a temperature beyond that range.
        UnknownNameError: an unknown refrigerant.

    >>> round(liquid_density("R-134a", 273.15), 1)  # ASHRAE Handbook of Fundamentals, chapter 30, from memory: 1294.8
    1294.8

    """
    shipped = known("liquid_density")[designation(refrigerant)]
    because = f"the density of liquid {refrigerant} is not known there"
    within("temperature_k", temperature_k, shipped["low_k"], shipped["high_k"], "K", because)
    y: Value = (1.0 - temperature_k / get(refrigerant).critical_temperature_k) ** (1 / 3)
    return polynomial(shipped["terms"], y)
