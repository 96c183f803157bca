"""Moist air, for the two coils. Humidity ratio and enthalpy are per kilogram of dry air.

Saturation pressure over water, and over ice below freezing: Alduchov and Eskridge 1996 (J. Appl. Meteorol. 35, 601),
within 0.4 % from -40 to +50 °C. The rest is the ideal-gas mixture of the ASHRAE Handbook, Fundamentals, chapter on
psychrometrics.
"""

import math

from simulators.unit.roots import solve_rising

ZERO_CELSIUS_K = 273.15
DRY_AIR_HEAT_CAPACITY = 1006.0
VAPOUR_HEAT_CAPACITY = 1860.0
HEAT_OF_VAPORISATION = 2.501e6
DRY_AIR_GAS_CONSTANT = 287.05


def saturation_pressure(temperature_k: float) -> float:
    """Find the pressure of water vapour over water, or over ice below freezing [Pa]."""
    celsius = temperature_k - ZERO_CELSIUS_K
    if celsius < 0.0:
        return 611.21 * math.exp(22.587 * celsius / (celsius + 273.86))
    return 610.94 * math.exp(17.625 * celsius / (celsius + 243.04))


def humidity_ratio(temperature_k: float, relative_humidity_percent: float, barometric_pressure_pa: float) -> float:
    """Find the water in air at this relative humidity [kg/kg]."""
    vapour_pressure = relative_humidity_percent / 100.0 * saturation_pressure(temperature_k)
    return 0.621945 * vapour_pressure / (barometric_pressure_pa - vapour_pressure)


def relative_humidity(temperature_k: float, ratio: float, barometric_pressure_pa: float) -> float:
    """Find the relative humidity of air with this humidity ratio [%RH], at most 100."""
    vapour_pressure = barometric_pressure_pa * ratio / (0.621945 + ratio)
    return min(100.0, 100.0 * vapour_pressure / saturation_pressure(temperature_k))


def enthalpy(temperature_k: float, ratio: float) -> float:
    """Find the enthalpy above dry air and water at 0 °C [J/kg]."""
    celsius = temperature_k - ZERO_CELSIUS_K
    return DRY_AIR_HEAT_CAPACITY * celsius + ratio * (HEAT_OF_VAPORISATION + VAPOUR_HEAT_CAPACITY * celsius)


def density(temperature_k: float, barometric_pressure_pa: float) -> float:
    """Find the density of dry air [kg/m³]."""
    return barometric_pressure_pa / (DRY_AIR_GAS_CONSTANT * temperature_k)


def wet_bulb(temperature_k: float, ratio: float, barometric_pressure_pa: float) -> float:
    """Find the thermodynamic wet bulb of air above freezing: adiabatic saturation with water [K]."""

    def excess(wet_bulb_k: float) -> float:
        saturated = humidity_ratio(wet_bulb_k, 100.0, barometric_pressure_pa)
        water = 4186.0 * (wet_bulb_k - ZERO_CELSIUS_K) * (saturated - ratio)
        return enthalpy(wet_bulb_k, saturated) - water - enthalpy(temperature_k, ratio)

    return solve_rising(excess, temperature_k, step=1.0, low=temperature_k - 40.0, high=temperature_k, tolerance=1e-6)
