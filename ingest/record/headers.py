"""What the columns of a record are called where it goes out: the name, with the unit behind it."""

from calc.quantities import QUANTITIES, Quantity

_UNITS = {
    Quantity.PRESSURE: "pa_absolute",
    Quantity.TEMPERATURE: "degc",
    Quantity.TEMPERATURE_DIFFERENCE: "k",
    Quantity.HUMIDITY: "percent_rh",
    Quantity.CURRENT: "a",
    Quantity.VOLTAGE: "v",
    Quantity.CAPACITANCE: "f",
    Quantity.MASS: "kg",
    Quantity.RESISTANCE: "ohm",
    Quantity.AIR_PRESSURE: "pa",
    Quantity.AIR_FLOW: "m3_per_s",
    Quantity.CONCENTRATION: "mol_per_mol",
    Quantity.RATIO: "ratio",
}
"""As the wire has them: temperatures in degrees Celsius, a difference of them in kelvin."""
_SPREADS = {Quantity.PRESSURE: "pa", Quantity.TEMPERATURE: "k"}
"""Of an uncertainty, which counts from no zero, where that is another one."""


def unit_of(name: str) -> str:
    """Give the unit in which a channel or figure goes out."""
    return _UNITS[QUANTITIES[name]]


def heads(name: str) -> tuple[str, str, str]:
    """Name the three columns of a channel or figure: its value, its quality, its standard uncertainty.

    >>> heads("suction_line_temperature")[0], heads("suction_line_temperature")[2]
    ('suction_line_temperature_degc', 'suction_line_temperature_standard_uncertainty_k')
    """
    unit = unit_of(name)
    spread = _SPREADS.get(QUANTITIES[name], unit)
    return f"{name}_{unit}", f"{name}_quality", f"{name}_standard_uncertainty_{spread}"
