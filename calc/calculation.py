"""What an entry of the catalogue is made of.

An entry's function takes SI values and returns SI values by name. The ending of each name of a number is its unit and
decides how it is shown: `KINDS_BY_UNIT`. What is not known is `Unknown` with a reason, never zero and never NaN.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from calc.arguments import Argument
from calc.errors import UnknownNameError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.units import Kind


@dataclass(frozen=True, slots=True)
class Unknown:
    """A value that cannot be given, and why."""

    reason: str


Value = float | str | Estimate | Unknown | list[float] | list[str] | tuple[float, ...] | tuple[str, ...]
"""A bool counts as a yes or no, a whole number without a unit in its name as a count; a list is short."""
Values = Mapping[str, Value]

KINDS_BY_UNIT: Mapping[str, Kind] = MappingProxyType(
    {
        "pa": Quantity.PRESSURE,
        "dpa": "pressure_difference",
        "k": Quantity.TEMPERATURE,
        "dk": Quantity.TEMPERATURE_DIFFERENCE,
        "a": Quantity.CURRENT,
        "v": Quantity.VOLTAGE,
        "f": Quantity.CAPACITANCE,
        "ohm": "resistance",
        "hz": "frequency",
        "w": "power",
        "electric_w": "electric_power",
        "va": "apparent_power",
        "var": "reactive_power",
        "j": "energy",
        "n_m": "torque",
        "m": "length",
        "m2": "area",
        "m3": "volume",
        "m3_per_s": "air_flow",
        "m_per_s": "velocity",
        "kg": Quantity.MASS,
        "kg_per_m": "mass_per_length",
        "kg_per_s": "mass_flow",
        "pa_m3_per_s": "leak_flow",
        "kg_per_m3": "density",
        "kg_per_kg": "humidity_ratio",
        "j_per_kg": "enthalpy",
        "s": "time",
        "rh_percent": Quantity.HUMIDITY,
        "percent": "percentage",
        "ratio": Quantity.RATIO,
        "factor": Quantity.RATIO,
        "probability": Quantity.RATIO,
        "gwp": Quantity.RATIO,
    }
)
_NAMED_AFTER_THEIR_KIND: Mapping[str, Kind] = MappingProxyType(
    {
        "barometric_pressure_pa": "barometric_pressure",
        "vacuum_pressure_pa": "vacuum_pressure",
        "enthalpy_j_per_kg": "moist_air_enthalpy",
        "speed_hz": "rotational_speed",
        "room_area_m2": "floor_area",
        "leak_kg_per_s": "leak_mass_flow",
        "shaft_power_w": "shaft_power",
        "thermocouple_voltage_v": "thermocouple_voltage",
        "lost_dpa": "pressure_swing",
        "swing_dpa": "pressure_swing",
    }
)
"""By how a name ends, its unit included: what is lost of a charge [%] is no pressure."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """What stands in for an argument that is not given [SI], and the sentence that says so; none if it needs none."""

    value: Any
    says: str


@dataclass(frozen=True, slots=True)
class Parameter:
    """One argument of a calculation.

    Attributes:
        name: as people write it, without unit.
        keyword: the argument of the calculation's function that takes it, in SI.
        kind: what it is: a Quantity or a kind of calc.units for a value with its unit, else one of calc.arguments.
        example: a value, as people write it.
        otherwise: what is assumed when it is not given; None if it must be given.
        says: what it is, where its name leaves that open.
        also: other names by which it may be given.
        called: what calc's functions call it in an error, if that is not the keyword.

    """

    name: str
    keyword: str
    kind: Argument | Kind
    example: str
    otherwise: Assumption | None = None
    says: str = ""
    also: tuple[str, ...] = ()
    called: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculation:
    """One calculation.

    Attributes:
        answers: the question it answers.
        parameters: its arguments.
        compute: the function that takes them by keyword.
        source: the standard, table or rule that it follows, in print; or "common practice, no source".
        tolerance: how far from its source it may be, or "exact".
        test: what holds it to the source, as pytest names it.
        example: further arguments to show it with, where all that it can give needs some that may be left out.
        needs_site: gauge pressures occur, so the elevation or the barometric pressure is asked for too, and given to
            `compute` as barometric_pressure_pa [Pa].

    """

    answers: str
    parameters: tuple[Parameter, ...]
    compute: Callable[..., Values]
    source: str
    tolerance: str
    test: str
    needs_site: bool = False
    example: tuple[tuple[str, str], ...] = ()


def has_unit(name: str) -> bool:
    """Tell whether a name ends in one of `KINDS_BY_UNIT`.

    >>> has_unit("suction_line_temperature_k"), has_unit("visits_counted")
    (True, False)
    """
    return any(f"_{name}".endswith(f"_{unit}") for unit in KINDS_BY_UNIT)


def unit_of(name: str) -> str:
    """Give the ending of a number's name that is its unit: the longest of `KINDS_BY_UNIT`.

    Raises:
        UnknownNameError: no ending is a unit.

    >>> unit_of("line_set_charge_kg_per_m")
    'kg_per_m'

    """
    ending = name
    while ending not in KINDS_BY_UNIT:
        _, found, ending = ending.partition("_")
        if not found:
            raise UnknownNameError("unit at the end of the name", name, KINDS_BY_UNIT)
    return ending


def kind_of(name: str) -> Kind:
    """Give the kind of value that a number's name stands for.

    >>> kind_of("superheat_dk")
    <Quantity.TEMPERATURE_DIFFERENCE: 'K difference'>

    """
    named = (kind for ending, kind in _NAMED_AFTER_THEIR_KIND.items() if name.endswith(ending))
    return next(named, KINDS_BY_UNIT[unit_of(name)])
