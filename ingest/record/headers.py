"""What the columns of a record are called where it goes out: the name, with the unit behind it."""

from typing import NamedTuple

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


OF_A_PACK = ("time", "sequence", "session", "epoch", "monotonic_s", "unsaved_packs")
"""The columns before those of channels and figures."""


class Heads(NamedTuple):
    """What the columns of a channel or figure are called.

    age: how long before the time of its row it was measured. reason: why there is no value.
    """

    value: str
    quality: str
    standard_uncertainty: str
    age: str
    reason: str


def heads(name: str) -> Heads:
    """Name the columns of a channel or figure.

    >>> heads("suction_line_temperature").value, heads("suction_line_temperature").standard_uncertainty
    ('suction_line_temperature_degc', 'suction_line_temperature_standard_uncertainty_k')
    """
    unit = unit_of(name)
    spread = _SPREADS.get(QUANTITIES[name], unit)
    return Heads(
        f"{name}_{unit}",
        f"{name}_quality",
        f"{name}_standard_uncertainty_{spread}",
        f"{name}_age_s",
        f"{name}_reason",
    )
