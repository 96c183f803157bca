"""The columns of a table of units: what each is called, and how a cell of it is read and written.

A figure has its unit in the name of its column: `charge_kg`. What is given out is in SI; brought in may be what a plate
says, under the same name with another unit, such as `charge_lb`. A pressure in pa is absolute, one in psig or
bar_gauge counts from the air outside, as plates have it.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, cast

from calc.charging_chart import BETWEEN_POINTS, parse_chart
from calc.quantities import STANDARD_PRESSURE_PA, Quantity
from calc.units import Kind, parse, parse_difference
from ingest.record.guarded import guarded, unguarded

Value = str | float | int | bool | list[str] | list[list[float]]
NO_PORTS = "none"
"""Written for a circuit without ports: an empty cell is one of which nothing is said."""

_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")


class CellError(ValueError):
    """A cell that cannot be read: says what was expected."""


def _number(text: str) -> float:
    if not _NUMBER.fullmatch(text):
        comma = ", with a point and not a comma" if "," in text else ""
        raise CellError(f"a number was expected{comma}")
    return float(text)


def _whole(text: str) -> int:
    if not text.isascii() or not text.isdigit():
        raise CellError("a whole number was expected")
    return int(text[:18])


def _ids(text: str) -> list[str]:
    return unguarded(text).split()


def _ports(text: str) -> list[str]:
    return [] if text.lower() == NO_PORTS else text.lower().split()


def _yes_or_no(text: str) -> bool:
    known = {"yes": True, "no": False}
    if text.lower() not in known:
        raise CellError("yes or no was expected")
    return known[text.lower()]


def _chart(temperature: str, difference: str) -> Callable[[str], list[list[float]]]:
    """Read a charging chart: `63/85 14 | 67/85 19`, wet bulb and outdoor air, and the superheat there."""
    return lambda text: [list(point) for point in parse_chart(text, temperature, difference)]


def _small(text: str) -> str:
    return text.lower()


def _capitals(text: str) -> str:
    if not text.isascii():
        raise CellError("letters of A to Z were expected")  # the capitals of others may be two: ß becomes SS
    return text.upper()


@dataclass(frozen=True, slots=True)
class Column:
    """A column. field: of the struct that it fills. read: a cell that is not empty; raises CellError, CalcError."""

    field: str
    read: Callable[[str], Value]


def _as(unit: str, quantity: Kind) -> Callable[[str], float]:
    return lambda text: parse(f"{text} {unit}", quantity)


def _as_plate(unit: str) -> Callable[[str], float]:
    """Read a pressure that counts from the air outside."""
    return lambda text: parse(f"{text} {unit}", Quantity.PRESSURE, barometric_pressure_pa=STANDARD_PRESSURE_PA)


_UNITS: Mapping[str, Mapping[str, Callable[[str], float]]] = {
    "kg": {"g": _as("g", Quantity.MASS), "lb": _as("lb", Quantity.MASS), "oz": _as("oz", Quantity.MASS)},
    "dk": {"df": lambda text: parse_difference(f"{text} degF")},
    "pa": {
        "psig": _as_plate("psig"),
        "kpa_gauge": _as_plate("kPa gauge"),
        "bar_gauge": _as_plate("bar gauge"),
        "mpa_gauge": _as_plate("MPa gauge"),
    },
    "m": {"ft": _as("ft", "length"), "in": _as("in", "length"), "mm": _as("mm", "length")},
    "f": {"uf": _as("uF", Quantity.CAPACITANCE)},
    "share": {"percent": lambda text: _number(text) / 100},
}
"""What may stand in the place of the unit at the end of a column's name."""


def _column(field: str, read: Callable[[str], Value]) -> dict[str, Column]:
    return {field: Column(field, read)}


def _figure(field: str) -> dict[str, Column]:
    """Name a figure in SI, and in every other unit that it may come in."""
    stem, _, unit = field.rpartition("_")
    others = {f"{stem}_{other}": Column(field, read) for other, read in _UNITS.get(unit, {}).items()}
    return _column(field, _number) | others


def _chart_columns() -> dict[str, Column]:
    """Name a charging chart in SI, and in degrees."""
    field = "superheat_chart_k"
    return {
        field: Column(field, _chart("K", "K")),
        "superheat_chart_degf": Column(field, _chart("degF", "degF")),
        "superheat_chart_degc": Column(field, _chart("degC", "K")),
    }


UNIT_COLUMNS: Mapping[str, Column] = (
    _column("place", unguarded)
    | _column("country", _capitals)
    | _column("access", unguarded)
    | _figure("at_x_share")
    | _figure("at_y_share")
    | _column("roof_name", unguarded)
    | _figure("roof_north_deg")
    | _figure("hatch_x_share")
    | _figure("hatch_y_share")
    | _figure("roof_width_m")
    | _figure("roof_depth_m")
    | _column("sketch", unguarded)
    | _column("mode", _small)
    | _column("model", unguarded)
    | _column("serial", unguarded)
    | _figure("volts")
    | _column("phases", _whole)
    | _figure("hertz")
    | _figure("mca_a")
    | _figure("mocp_a")
    | _column("photographs", _ids)
)
"""Of the unit: in any of its rows, or the same in several."""

CIRCUIT_COLUMNS: Mapping[str, Column] = (
    {"circuit": Column("name", unguarded)}
    | _column("refrigerant", unguarded)
    | _column("metering_device", _small)
    | _figure("charge_kg")
    | _column("charge_known_by", _small)
    | _figure("target_superheat_dk")
    | _figure("target_subcooling_dk")
    | _chart_columns()
    | _figure("high_side_design_pressure_pa")
    | _figure("low_side_design_pressure_pa")
    | _figure("included_line_m")
    | _figure("line_m")
    | _figure("liquid_line_m")
    | _column("ports", _ports)
    | _column("appliance", _small)
    | _column("is_light_commercial", _yes_or_no)
    | _column("is_sealed", _yes_or_no)
    | _column("has_leak_detection", _yes_or_no)
)

PART_COLUMNS: Mapping[str, Column] = (
    _column("kind", _small)
    | _column("name", unguarded)
    | _column("drives", _small)
    | _column("circuit", unguarded)
    | _figure("rated_current_a")
    | _figure("locked_rotor_a")
    | _figure("volts")
    | _column("phases", _whole)
    | _figure("hertz")
    | _figure("herm_f")
    | _figure("fan_f")
    | _figure("tolerance_share")
    | _column("date_code", unguarded)
    | _figure("coil_volts")
    | _column("poles", _whole)
    | _column("photographs", _ids)
)
"""Of a part, each behind `part_1_`, `part_2_` and so on; like those of the unit."""

_PART = re.compile(r"part_([1-9]\d{0,2})_(\w+)")


@dataclass(frozen=True, slots=True)
class Header:
    """What a column of a file is of. part: its number; 0 for none."""

    of: Literal["tag", "unit", "circuit", "part"]
    column: Column
    part: int = 0


def header(name: str) -> Header | None:
    """Tell what a column of this name is of; None for a name that no column has."""
    if name == "tag":
        return Header("tag", Column("tag", unguarded))
    if name in UNIT_COLUMNS:
        return Header("unit", UNIT_COLUMNS[name])
    if name in CIRCUIT_COLUMNS:
        return Header("circuit", CIRCUIT_COLUMNS[name])
    found = _PART.fullmatch(name)
    if found and found[2] in PART_COLUMNS:
        return Header("part", PART_COLUMNS[found[2]], int(found[1]))
    return None


def known_names() -> list[str]:
    """Name every column that there is; of parts those of the first."""
    return ["tag", *UNIT_COLUMNS, *CIRCUIT_COLUMNS, *(f"part_1_{name}" for name in PART_COLUMNS)]


def cell(value: object) -> str:
    """Write a value as a cell; what is unknown or not said is empty.

    >>> cell(4e-05), cell(None), cell(["p1", "p2"]), cell("=A1"), cell(value=True)
    ('4e-05', '', 'p1 p2', "'=A1", 'yes')
    """
    match value:
        case None:
            return ""
        case str():
            return guarded(value)
        case bool():
            return "yes" if value else "no"
        case float() | int():
            return repr(value)
        case [[_, _, _], *_]:
            return f" {BETWEEN_POINTS} ".join(map(_written_point, cast("Sequence[Sequence[float]]", value)))
        case list() | tuple():
            return guarded(" ".join(map(str, value)))
    raise TypeError(type(value))


def _written_point(point: Sequence[float]) -> str:
    wet_bulb_k, outdoor_k, superheat_dk = point
    return f"{wet_bulb_k!r}/{outdoor_k!r} {superheat_dk!r}"
