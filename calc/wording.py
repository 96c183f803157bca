"""Figures as people read them, in either system of units, no finer than they are known."""

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.units import System, difference_to_display, to_display


def percent(probability: float) -> str:
    """Word a probability; none is certain.

    >>> percent(0.724), percent(0.9999)
    ('72 %', '99 %')
    """
    return f"{min(max(round(100 * probability), 1), 99)} %"


def difference(value_dk: float, system: System) -> str:
    """Word a difference of temperature [K]."""
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{round(number, 1):g} {unit}"


def limits(value_dk: float, expanded_dk: float, system: System) -> str:
    """Word a difference of temperature with what it may be off by [K]."""
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    half_width, _ = difference_to_display(expanded_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{number:.1f} ± {half_width:.1f} {unit}"


def mass(mass_kg: float, system: System) -> str:
    """Word a mass of refrigerant [kg], without its sign.

    >>> mass(-0.17009714, "us"), mass(0.17009714, "si")
    ('6.0 oz', '170 g')
    """
    number, unit = to_display(abs(mass_kg), Quantity.MASS, system)
    return f"{number:.{0 if unit == 'g' else 2 if unit in ('kg', 'lb') else 1}f} {unit}"


def measured(value: Estimate, quantity: Quantity, system: System, barometric_pressure_pa: float) -> str:
    """Word a value with what it may be off by (k = 2); a pressure as a gauge shows it."""
    if quantity is Quantity.MASS:
        return f"{mass(value.value, system)} ± {mass(value.expanded(), system)}"
    number, unit = _shown(value.value, quantity, system, barometric_pressure_pa)
    half_width, _ = difference_to_display(value.expanded(), quantity, system)
    places = _PLACES[quantity]
    if half_width < 0.5 * 10**-places:
        return f"{_written(number, places)} {unit}".rstrip()
    return f"{_written(number, places)} ± {half_width:.{places}f} {unit}".rstrip()


def _written(number: float, places: int) -> str:
    """Write a number; what rounds to nought has no sign."""
    return f"{round(number, places) + 0.0:.{places}f}".replace("-", "−")


def limit(value: float, quantity: Quantity, system: System, barometric_pressure_pa: float) -> str:
    """Word a limit; a pressure as a gauge shows it."""
    if quantity is Quantity.MASS:
        return mass(value, system)
    number, unit = _shown(value, quantity, system, barometric_pressure_pa)
    return f"{round(number, _PLACES[quantity]) + 0.0:g} {unit}".replace("-", "−").rstrip()


_PLACES = {
    Quantity.PRESSURE: 0,
    Quantity.TEMPERATURE: 1,
    Quantity.TEMPERATURE_DIFFERENCE: 1,
    Quantity.RATIO: 2,
}


def _shown(value: float, quantity: Quantity, system: System, barometric_pressure_pa: float) -> tuple[float, str]:
    if quantity is Quantity.TEMPERATURE_DIFFERENCE:
        return difference_to_display(value, quantity, system)
    return to_display(value, quantity, system, barometric_pressure_pa=barometric_pressure_pa)
