"""What an instrument seems to measure: from what it says of its values, their names, and their size.

Only Bluetooth and multimeters say the unit. A line of text gives a name at best, a register of a Modbus device not even
that.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from types import MappingProxyType

from calc.quantities import CHANNELS, Quantity
from calc.unit_tables import KINDS
from ingest.decode.modbus import plausible_orders
from ingest.decode.register_map import Table
from ingest.frames import Unreadable, Value
from ingest.kinds.registers import RegisterConfig


@dataclass(frozen=True, slots=True)
class Output:
    """One value that an instrument sends. unit: where it says so itself. quantity: None for one that no channel has."""

    field: str
    value: Value
    quantity: Quantity | None
    unit: str = ""


_GATT_UNITS: Mapping[str, str] = MappingProxyType(
    {"2a6e": "degC", "2a6f": "%RH", "2a6d": "Pa", "2aee": "A", "2b18": "V", "2be0": "V"}
)
"""By assigned number, as decode_gatt gives the values."""

_BTHOME_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "temperature": "degC",
        "humidity": "%RH",
        "pressure": "hPa",
        "voltage": "V",
        "current": "A",
        "mass kg": "kg",
        "mass lb": "lb",
    }
)
_HIGHEST_TEMPERATURE = 60.0
"""Of a line or of air, in degC; common practice, no source."""

_NAMED: Sequence[tuple[str, Quantity]] = (
    ("press", Quantity.PRESSURE),
    ("temp", Quantity.TEMPERATURE),
    ("hum", Quantity.HUMIDITY),
    ("curr", Quantity.CURRENT),
    ("amp", Quantity.CURRENT),
    ("volt", Quantity.VOLTAGE),
    ("capac", Quantity.CAPACITANCE),
    ("resist", Quantity.RESISTANCE),
    ("ohm", Quantity.RESISTANCE),
    ("static", Quantity.AIR_PRESSURE),
    ("flow", Quantity.AIR_FLOW),
    ("mass", Quantity.MASS),
    ("weight", Quantity.MASS),
)
"""How a name begins a word that says what it is of; temp before amp."""


def described_output(source: str, field: str, value: Value) -> Output:
    """Tell an output of a Bluetooth device. source: of the frame, with the assigned number of the characteristic."""
    in_brackets = re.fullmatch(r".*\[(.+)\]", field)
    return _with_unit(field, value, in_brackets[1] if in_brackets else _GATT_UNITS.get(source.partition(":")[0], ""))


def advertised_output(field: str, value: Value) -> Output:
    """Tell an output of a BTHome advert; several of one kind are numbered."""
    return _with_unit(field, value, _BTHOME_UNITS.get(re.sub(r" \d+$", "", field), ""))


def displayed_outputs(values: Mapping[str, Value], units: Mapping[str, str]) -> tuple[Output, ...]:
    """Tell what a multimeter shows: only what its dial is set to. units: by field."""
    return tuple(
        _with_unit(field, value, units.get(field, ""))
        for field, value in values.items()
        if value is not Unreadable.OTHER_FUNCTION
    )


def named_output(field: str, value: Value) -> Output:
    """Tell an output of which only the name is known, such as `pressure` or `suction_temp_degf`.

    >>> named_output("suction_temp_degf", 50.0)
    Output(field='suction_temp_degf', value=50.0, quantity=<Quantity.TEMPERATURE: 'K'>, unit='degF')
    """
    words = re.split(r"[^a-z0-9%]+", field.casefold())
    quantity = next((quantity for start, quantity in _NAMED for word in words if word.startswith(start)), None)
    if quantity is None:
        return Output(field, value, None)
    units = {unit.casefold(): unit for unit in KINDS[quantity].units}
    return Output(field, value, quantity, units.get(words[-1], "") if len(words) > 1 else "")


def unnamed_output(field: str, value: Value) -> Output:
    """Tell an output of which nothing is known but its size: what is more than any temperature may be a pressure."""
    is_large = isinstance(value, float) and value > _HIGHEST_TEMPERATURE
    return Output(field, value, Quantity.PRESSURE if is_large else Quantity.TEMPERATURE)


def _with_unit(field: str, value: Value, unit: str) -> Output:
    quantity = next((quantity for quantity in set(CHANNELS.values()) if unit in KINDS[quantity].units), None)
    return Output(field, value, quantity, unit if quantity else "")


_SENSIBLE = 0.01, 10_000.0
"""Magnitudes of what is measured in this trade, in any of its units; common practice, no source."""


def guess_registers(table: Table, address: int, words: Sequence[int]) -> dict[str, RegisterConfig]:
    """Guess what one or two registers hold: an f32 in some order, or else i16 in tenths. Zeros say nothing.

    >>> guess_registers("input", 0, [0xE979, 0x42F6])["input 0"].order
    'CDAB'
    """
    low, high = _SENSIBLE
    if len(words) == 2 and (orders := plausible_orders(words, low, high) + plausible_orders(words, -high, -low)):
        order = None if orders[0] == "ABCD" else orders[0]
        return {f"{table} {address}": RegisterConfig(address=address, type="f32", table=table, order=order)}
    return {
        f"{table} {address + place}": RegisterConfig(address=address + place, type="i16", table=table, scale=0.1)
        for place, word in enumerate(words)
        if word
    }


def unit_of_size(quantity: Quantity, value: Value) -> str:
    """Guess a unit from the size of a value, as far as that can tell."""
    number = value if isinstance(value, float) else 0.0
    match quantity:
        case Quantity.PRESSURE:
            return "psi" if number <= 700 else "kPa" if number <= 7000 else "Pa"
        case Quantity.TEMPERATURE:
            return "degC" if number <= 45 else "degF"
        case Quantity.CAPACITANCE:
            return "uF"
        case Quantity.MASS:
            return "lb"
    return next(iter(KINDS[quantity].units))


_INTERVALS_S = (0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0)
_LATENESS = 0.9


def interval_s(arrivals_s: Sequence[float]) -> float:
    """Tell how often something comes, rounded up to a round number [s].

    >>> interval_s([0.0, 0.49, 1.02, 1.5])
    0.5
    """
    gaps = [later - earlier for earlier, later in pairwise(arrivals_s)]
    typical_s = median(gaps) if gaps else 1.0
    return next((step_s for step_s in _INTERVALS_S if step_s >= _LATENESS * typical_s), _INTERVALS_S[-1])
