"""What is read off a unit of this family, in °F, with saturation by CoolProp instead of the project's curves."""

from collections.abc import Mapping

from CoolProp.CoolProp import PropsSI

from simulators.second_family.model import CorrelatedUnit
from simulators.second_family.parameters import Build, Conditions, Faults, Parameters
from tests.fahrenheit import DDEGF, kelvin

FLUIDS = {"R-410A": "R410A", "R-22": "R22"}


def built(metering: str, **changed: object) -> Build:
    """A packaged unit with room between liquid and outdoor air."""
    usual = {"kind": "packaged", "over_outdoor_f": 18.0, "metering": metering}
    usual |= {"superheat_f": 13.0, "subcooling_f": 8.6} if metering == "orifice" else {}
    return Build(**{**usual, **changed})


def in_air(outdoor_f: float, return_f: float = 80.0, humidity: float = 51.1) -> Conditions:
    return Conditions(kelvin(outdoor_f), kelvin(return_f), humidity)


def unit(build: Build, *, charge: float = 1.0, conditions: Conditions | None = None, **faults: float) -> CorrelatedUnit:
    parameters = Parameters(build, conditions or Conditions(), Faults(**faults), charge * build.right_kg)
    return CorrelatedUnit(parameters)


def figures(of: CorrelatedUnit) -> Mapping[str, float]:
    """Everything that the trade's table has a column for [°F, A, 1]."""
    state, levels, its = of.true_state(), of.levels, of.parameters
    fluid = FLUIDS[its.refrigerant]
    dew_point = PropsSI("T", "P", state["suction_pressure"], "Q", 1, fluid)
    bubble_point = PropsSI("T", "P", state["liquid_pressure"], "Q", 0, fluid)
    rejected = levels.capacity + 0.3 * levels.power  # a COP of 3.3, common practice, no source
    return {
        "suction": dew_point / DDEGF - 459.67,
        "superheat": (state["suction_line_temperature"] - dew_point) / DDEGF,
        "head": bubble_point / DDEGF - 459.67,
        "subcooling": (bubble_point - state["liquid_line_temperature"]) / DDEGF,
        "discharge": state["discharge_line_temperature"] / DDEGF - 459.67,
        "evaporator split": (state["return_air_temperature"] - state["supply_air_temperature"]) / DDEGF,
        "condenser split": 14.0 * rejected / (1.0 - its.faults.condenser_air),
        "amps": state["compressor_current"],
    }
