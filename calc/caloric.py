"""Density and enthalpy of refrigerant in lines: vapour at and above its dew point, and the liquid's enthalpy.

Polynomials shipped by calc.data.build_caloric, from -55 °C to 0.7 of the critical pressure, up to 40 K of superheat.
Enthalpies count from the liquid at 0 °C.
"""

from collections.abc import Sequence

from calc.elementwise import Value, polynomial, within
from calc.molar_mass import GAS_CONSTANT, molar_mass_kg_per_mol
from calc.refrigerants import get
from calc.saturation import designation, dew_point, dew_pressure
from calc.shelf import known

_FITTED_DK = (12.0, 40.0)
"""Superheats at which calc.data.build_caloric fits, beside the dew point."""
_WETTEST_DK, _HOTTEST_DK = -1.0, 40.0
"""A little below the dew point reads what an instrument's error makes of dry gas."""


def vapour_density(refrigerant: str, pressure_pa: Value, *, temperature_k: Value) -> Value:
    """Compute the density of vapour.

    Args:
        refrigerant: one of `saturation.names()`.
        pressure_pa: absolute; its dew point from -55 °C to that of 0.7 of the critical pressure [Pa].
        temperature_k: from 1 K below the dew point, which counts as it were vapour, to 40 K above it [K].

    Returns:
        The density [kg/m³]; within 1 % of the equation of state up to a dew point of 47 °C, R-744 1.5 %.

    Raises:
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> round(vapour_density("R-134a", 293.0e3, temperature_k=273.15), 1)  # ASHRAE Handbook, from memory: 14.4
    14.4

    """
    found = _of_vapour("compressibility", refrigerant, pressure_pa, temperature_k)
    return pressure_pa * molar_mass_kg_per_mol(refrigerant) / (found * GAS_CONSTANT * temperature_k)


def vapour_enthalpy(refrigerant: str, pressure_pa: Value, *, temperature_k: Value) -> Value:
    """Compute the enthalpy of vapour, from the liquid at 0 °C [J/kg]; arguments and errors as `vapour_density`.

    Within 1.2 kJ/kg of the equation of state up to a dew point of 47 °C; R-744 2.5 kJ/kg.

    >>> round(vapour_enthalpy("R-134a", 293.0e3, temperature_k=273.15) / 1e3, 1)  # latent heat, from memory
    198.6
    """
    return _of_vapour("vapour_j_per_kg", refrigerant, pressure_pa, temperature_k)


def liquid_enthalpy(refrigerant: str, temperature_k: Value) -> Value:
    """Compute the enthalpy of liquid, from that at 0 °C; what subcooling at one temperature changes is left out.

    Args:
        refrigerant: one of `saturation.names()`.
        temperature_k: from -55 °C to where the bubble point's pressure is 0.7 of the critical one [K].

    Returns:
        The enthalpy [J/kg]; within 1 J/kg of the equation of state at the bubble point.

    Raises:
        CalcRangeError: a temperature beyond that range.
        UnknownNameError: an unknown refrigerant.

    >>> round(liquid_enthalpy("R-22", 273.15) / 1e3, 1)  # counted from there
    0.0

    """
    shipped = known("caloric")[designation(refrigerant)]
    because = f"liquid {refrigerant} is not known there"
    low_k, high_k = shipped["liquid_k"]
    within("temperature_k", temperature_k, low_k, high_k, "K", because)
    return polynomial(shipped["liquid_j_per_kg"], _y(refrigerant, temperature_k))


def _of_vapour(what: str, refrigerant: str, pressure_pa: Value, temperature_k: Value) -> Value:
    shipped = known("caloric")[designation(refrigerant)]
    because = f"vapour of {refrigerant} is not known there"
    low_pa, high_pa = (dew_pressure(refrigerant, end_k) for end_k in shipped["dew_k"])
    within("pressure_pa", pressure_pa, low_pa, high_pa, "Pa", because)
    dew_k = dew_point(refrigerant, pressure_pa)
    within("temperature_k", temperature_k, dew_k + _WETTEST_DK, dew_k + _HOTTEST_DK, "K", because)
    at = [polynomial(terms, _y(refrigerant, dew_k)) for terms in shipped[what]]
    return _through(at, temperature_k - dew_k)


def _through(at: Sequence[Value], x: Value) -> Value:
    """Give the parabola through three points (Lagrange), the first of which is at 0."""
    b, c = _FITTED_DK
    return (
        at[0] * ((x - b) * (x - c) / (b * c))
        + at[1] * (x * (x - c) / (b * (b - c)))
        + at[2] * (x * (x - b) / (c * (c - b)))
    )


def _y(refrigerant: str, temperature_k: Value) -> Value:
    found: Value = (1.0 - temperature_k / get(refrigerant).critical_temperature_k) ** (1 / 3)
    return found
