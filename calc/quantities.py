"""What is measured and what derives from it: the names every room uses, with the kind of quantity of each.

A channel is one quantity at one place. A figure is derived from channels by calc. The primary units are those
that SenML registers (RFC 8428, section 12.1), except that temperatures inside the house are kelvin and turn
into degrees Celsius only on the wire.
"""

from collections.abc import Collection, Mapping
from enum import Enum
from types import MappingProxyType

STANDARD_PRESSURE_PA = 101_325.0
"""Of the atmosphere at sea level: ISO 2533."""


class Quantity(Enum):
    """A kind of quantity; its value is the unit used inside the house."""

    PRESSURE = "Pa absolute"
    TEMPERATURE = "K"
    TEMPERATURE_DIFFERENCE = "K difference"
    HUMIDITY = "%RH"
    CURRENT = "A"
    VOLTAGE = "V"
    CAPACITANCE = "F"
    MASS = "kg"
    RESISTANCE = "ohm"
    AIR_PRESSURE = "Pa difference"
    AIR_FLOW = "m3/s"
    CONCENTRATION = "mol/mol"
    RATIO = "1"

    @property
    def senml_unit(self) -> str:
        """The unit symbol this quantity carries on the wire (RFC 8428)."""
        return _SENML_UNITS[self]


_SENML_UNITS = {
    Quantity.PRESSURE: "Pa",
    Quantity.TEMPERATURE: "Cel",
    Quantity.TEMPERATURE_DIFFERENCE: "K",
    Quantity.HUMIDITY: "%RH",
    Quantity.CURRENT: "A",
    Quantity.VOLTAGE: "V",
    Quantity.CAPACITANCE: "F",
    Quantity.MASS: "kg",
    Quantity.RESISTANCE: "Ohm",
    Quantity.AIR_PRESSURE: "Pa",
    Quantity.AIR_FLOW: "m3/s",
    Quantity.CONCENTRATION: "/",
    Quantity.RATIO: "/",
}

CHANNELS: Mapping[str, Quantity] = MappingProxyType(
    {
        "suction_pressure": Quantity.PRESSURE,
        "liquid_pressure": Quantity.PRESSURE,
        "discharge_pressure": Quantity.PRESSURE,
        "barometric_pressure": Quantity.PRESSURE,
        "vacuum_pressure": Quantity.PRESSURE,
        "suction_line_temperature": Quantity.TEMPERATURE,
        "liquid_line_temperature": Quantity.TEMPERATURE,
        "discharge_line_temperature": Quantity.TEMPERATURE,
        "return_air_temperature": Quantity.TEMPERATURE,
        "return_air_wet_bulb": Quantity.TEMPERATURE,
        "return_air_humidity": Quantity.HUMIDITY,
        "supply_air_temperature": Quantity.TEMPERATURE,
        "supply_air_humidity": Quantity.HUMIDITY,
        "outdoor_air_temperature": Quantity.TEMPERATURE,
        "compressor_current": Quantity.CURRENT,
        "compressor_current_a": Quantity.CURRENT,
        "compressor_current_b": Quantity.CURRENT,
        "compressor_current_c": Quantity.CURRENT,
        "condenser_fan_current": Quantity.CURRENT,
        "blower_current": Quantity.CURRENT,
        "line_voltage_ab": Quantity.VOLTAGE,
        "line_voltage_bc": Quantity.VOLTAGE,
        "line_voltage_ca": Quantity.VOLTAGE,
        "capacitance_herm": Quantity.CAPACITANCE,
        "capacitance_fan": Quantity.CAPACITANCE,
        "cylinder_mass": Quantity.MASS,
        "multimeter_ac_voltage": Quantity.VOLTAGE,
        "multimeter_dc_voltage": Quantity.VOLTAGE,
        "multimeter_resistance": Quantity.RESISTANCE,
        "multimeter_capacitance": Quantity.CAPACITANCE,
        "external_static_pressure": Quantity.AIR_PRESSURE,
        "supply_air_flow": Quantity.AIR_FLOW,
        "refrigerant_in_air": Quantity.CONCENTRATION,
    }
)

FIGURES: Mapping[str, Quantity] = MappingProxyType(
    {
        "suction_dew_point": Quantity.TEMPERATURE,
        "liquid_bubble_point": Quantity.TEMPERATURE,
        "superheat": Quantity.TEMPERATURE_DIFFERENCE,
        "subcooling": Quantity.TEMPERATURE_DIFFERENCE,
        "air_split": Quantity.TEMPERATURE_DIFFERENCE,
        "condensing_over_ambient": Quantity.TEMPERATURE_DIFFERENCE,
        "compressor_load_ratio": Quantity.RATIO,
        "condenser_fan_load_ratio": Quantity.RATIO,
    }
)

_COMPRESSOR_PHASES = ("compressor_current_a", "compressor_current_b", "compressor_current_c")

FIGURE_INPUTS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "suction_dew_point": ("suction_pressure",),
        "liquid_bubble_point": ("liquid_pressure",),
        "superheat": ("suction_pressure", "suction_line_temperature"),
        "subcooling": ("liquid_pressure", "liquid_line_temperature"),
        "air_split": ("return_air_temperature", "supply_air_temperature"),
        "condensing_over_ambient": ("liquid_pressure", "outdoor_air_temperature"),
        "compressor_load_ratio": ("compressor_current", *_COMPRESSOR_PHASES),
        "condenser_fan_load_ratio": ("condenser_fan_current",),
    }
)
"""The channels that each figure comes from, in the order in which it takes them."""


def derived_from(channels: Collection[str]) -> frozenset[str]:
    """Name the figures that come from any of these channels.

    >>> sorted(derived_from(["suction_line_temperature"])), sorted(derived_from(["liquid_pressure"]))
    (['superheat'], ['condensing_over_ambient', 'liquid_bubble_point', 'subcooling'])
    """
    return frozenset(name for name, inputs in FIGURE_INPUTS.items() if not set(inputs).isdisjoint(channels))


QUANTITIES: Mapping[str, Quantity] = MappingProxyType({**CHANNELS, **FIGURES})
