"""Figures as people read them, in either system of units, no finer than they are known."""

import math

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.unit_tables import KINDS
from calc.units import System, difference_to_display, display_unit, to_display


def percent(probability: float) -> str:
    """Word a probability, no finer than it deserves, so that it stands still while readings flicker.

    >>> percent(0.723), percent(0.981), percent(0.02)
    ('70 %', 'over 95 %', 'under 5 %')
    """
    if probability > 0.95:
        return "over 95 %"
    if probability < 0.05:
        return "under 5 %"
    return f"{5 * round(20 * probability)} %"


def difference(value_dk: float, system: System) -> str:
    """Word a difference of temperature [K]."""
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{round(number, 1):g} {unit}"


def limits(value_dk: float, expanded_dk: float, system: System) -> str:
    """Word a difference of temperature with what it may be off by [K]."""
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    half_width, _ = difference_to_display(expanded_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{number:.1f} ± {half_width:.1f} {unit}"


def mass(mass_kg: float, system: System, *, weighed: bool = False) -> str:
    """Word a mass of refrigerant [kg], without its sign, as the trade writes it: in pounds and ounces.

    From a pound on the ounces are whole, as on a nameplate; tenths are told below, and of what a scale gave.

    >>> mass(-0.17009714, "us"), mass(3.4, "us"), mass(3.4, "us", weighed=True), mass(0.17009714, "si")
    ('6 oz', '7 lb 8 oz', '7 lb 7.9 oz', '170 g')
    """
    if system == "us":
        tenths = _pounds_and_ounces(abs(mass_kg), 0.1)
        return tenths if weighed or " lb" not in tenths else _pounds_and_ounces(abs(mass_kg), 1.0)
    number, unit = to_display(abs(mass_kg), Quantity.MASS, system)
    return f"{number:.{_KILOGRAM_PLACES[unit]}f} {unit}"


_KILOGRAM_PLACES = {"kg": 2, "g": 0}
_OUNCES_IN_A_POUND = 16


def _pounds_and_ounces(mass_kg: float, step_oz: float) -> str:
    """Write a mass in pounds and ounces, in steps of so many ounces; what rounds up to a pound is one."""
    pounds, ounces = divmod(round(_in_steps(mass_kg, "oz", step_oz), 1), _OUNCES_IN_A_POUND)
    if not pounds:
        return f"{ounces:g} oz"
    return f"{pounds:.0f} lb {ounces:.3g} oz" if round(ounces, 1) else f"{pounds:.0f} lb"


def mass_to_move(mass_kg: float, system: System) -> str:
    """Word a mass to weigh out [kg], without its sign, no finer than is worth weighing: it stands still when it should.

    >>> mass_to_move(0.119, "us"), mass_to_move(-0.119, "si"), mass_to_move(0.021, "us"), mass_to_move(0.7, "us")
    ('4 oz', '120 g', '0.5 oz', '1 lb 9 oz')
    """
    if system == "us":
        step_oz = _ounces_step(mass_kg)
        return _pounds_and_ounces(max(abs(mass_kg), step_oz * KINDS[Quantity.MASS].units["oz"].factor), step_oz)
    unit, step, places = _weighed_in(mass_kg)
    return f"{max(_in_steps(mass_kg, unit, step), step):.{places}f} {unit}"


def mass_between(least_kg: float, most_kg: float, system: System) -> str:
    """Word between which masses something lies [kg], without their signs, both as fine as the larger.

    >>> mass_between(0.164, 0.866, "us"), mass_between(0.164, 0.3, "us"), mass_between(0.164, 1.2, "si")
    ('6 oz to 1 lb 15 oz', '6 to 11 oz', '0.16 to 1.20 kg')
    """
    if system == "us":
        step_oz = _ounces_step(most_kg)
        low, high = (_pounds_and_ounces(abs(mass_kg), step_oz) for mass_kg in (least_kg, most_kg))
        return f"{low if ' lb' in high else low.removesuffix(' oz')} to {high}"
    unit, step, places = _weighed_in(most_kg)
    least, most = (f"{_in_steps(mass_kg, unit, step):.{places}f}" for mass_kg in (least_kg, most_kg))
    return f"{least} to {most} {unit}"


def weighing_step_kg(mass_kg: float) -> float:
    """Give the larger of the steps in which a mass is worded in either system [kg].

    >>> round(weighing_step_kg(0.2), 4)  # an ounce; in SI it would be 10 g
    0.0283
    """
    unit, step, _ = _weighed_in(mass_kg)
    steps = {unit: step, "oz": _ounces_step(mass_kg)}
    return max(step * KINDS[Quantity.MASS].units[unit].factor for unit, step in steps.items())


def time_ahead(duration_s: float) -> tuple[str, int]:
    """Say how long a wait is, no finer than a forecast deserves: the unit, and how many of it.

    >>> time_ahead(25.0), time_ahead(225.0), time_ahead(3.0)
    (('seconds', 30), ('minutes', 4), ('now', 0))
    """
    if duration_s < _NOW_S:
        return "now", 0
    if duration_s < _IN_SECONDS_S:
        return "seconds", 10 * math.ceil(duration_s / 10)
    return "minutes", math.ceil(duration_s / 60)


_NOW_S, _IN_SECONDS_S = 5.0, 90.0


def _in_steps(mass_kg: float, unit: str, step: float) -> float:
    return step * round(KINDS[Quantity.MASS].units[unit].from_si(abs(mass_kg)) / step)


def _weighed_in(mass_kg: float) -> tuple[str, float, int]:
    """Choose the metric unit for a mass of refrigerant, its smallest step and its decimals."""
    return ("g", 5.0 if abs(mass_kg) < 0.1 else 10.0, 0) if abs(mass_kg) < 1.0 else ("kg", 0.01, 2)


def _ounces_step(mass_kg: float) -> float:
    """Choose the smallest step in which a mass of refrigerant is worth weighing [oz]."""
    ounces = KINDS[Quantity.MASS].units["oz"].from_si(abs(mass_kg))
    if ounces < 2.5:
        return 0.5
    return 1.0 if ounces < 40 else 2.0


def measured(value: Estimate, quantity: Quantity, system: System, barometric_pressure_pa: float) -> str:
    """Word a value with what it may be off by (k = 2); a pressure as a gauge shows it."""
    if quantity is Quantity.MASS:
        if system == "us":
            return f"{mass(value.value, system, weighed=True)} ± {mass(value.expanded(), system, weighed=True)}"
        unit = display_unit(value.value, quantity, system)
        half_width, _ = difference_to_display(value.expanded(), quantity, system, unit=unit)
        return f"{mass(value.value, system)} ± {half_width:.{_KILOGRAM_PLACES[unit]}f} {unit}"
    number, unit = _shown(value.value, quantity, system, barometric_pressure_pa)
    half_width, _ = difference_to_display(value.expanded(), quantity, system)
    places = _PLACES[quantity]
    if half_width < 0.5 * 10**-places:
        return f"{_written(number, places)} {unit}".rstrip()
    return f"{_written(number, places)} ± {half_width:.{places}f} {unit}".rstrip()


def _written(number: float, places: int) -> str:
    """Write a number; what rounds to zero has no sign."""
    return f"{round(number, places) + 0.0:.{places}f}".replace("-", "−")


def limit(value: float, quantity: Quantity, system: System, barometric_pressure_pa: float) -> str:
    """Word a limit; a pressure as a gauge shows it."""
    if quantity is Quantity.MASS:
        return mass(value, system)
    number, unit = _shown(value, quantity, system, barometric_pressure_pa)
    return f"{round(number, _PLACES[quantity]) + 0.0:g} {unit}".replace("-", "−").rstrip()


def as_fine_as_known(
    value: float, expanded: float | None, kind: str, system: System, barometric_pressure_pa: float
) -> str:
    """Word a value of any kind of unit to the second figure of what it may be off by, or to four figures [SI].

    A plain number where there is no kind; a pressure as a gauge shows it.

    >>> as_fine_as_known(45.2e-6, 0.9e-6, "capacitance", "us", 101325.0)
    '45.2 ± 0.9 µF'
    >>> as_fine_as_known(0.0043, 0.0021, "voltage", "si", 101325.0), as_fine_as_known(3.0, None, "", "us", 101325.0)
    ('0.0043 ± 0.0021 V', '3')

    """
    number, unit = (value, "") if not kind else to_display(
        value, kind, system, barometric_pressure_pa=barometric_pressure_pa
    )  # fmt: skip
    if not expanded:
        return f"{number:.4g} {unit}".replace("-", "−").rstrip()
    half_width = abs(number - _displayed(value - expanded, value, kind, system, barometric_pressure_pa))
    figures, _, exponent = f"{half_width:.1e}".partition("e")
    places = max(0, (0 if figures.endswith("0") else 1) - int(exponent))
    return f"{_written(number, places)} ± {half_width:.{places}f} {unit}".rstrip()


def _displayed(value: float, beside: float, kind: str, system: System, barometric_pressure_pa: float) -> float:
    """Give a value in the unit in which another one is shown."""
    if not kind:
        return value
    unit = display_unit(beside, kind, system)
    return to_display(value, kind, system, barometric_pressure_pa=barometric_pressure_pa, unit=unit)[0]


_PLACES = {
    Quantity.PRESSURE: 0,
    Quantity.TEMPERATURE: 1,
    Quantity.TEMPERATURE_DIFFERENCE: 1,
    Quantity.RATIO: 2,
    Quantity.CURRENT: 1,
    Quantity.VOLTAGE: 0,
    Quantity.HUMIDITY: 0,
    Quantity.CONCENTRATION: 0,
}


def _shown(value: float, quantity: Quantity, system: System, barometric_pressure_pa: float) -> tuple[float, str]:
    if quantity is Quantity.TEMPERATURE_DIFFERENCE:
        return difference_to_display(value, quantity, system)
    return to_display(value, quantity, system, barometric_pressure_pa=barometric_pressure_pa)
