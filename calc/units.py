"""Units: from what a person writes or an instrument sends to SI, and from SI to what a person reads.

Inside the house every value is SI and every pressure absolute. A pressure that says neither gauge nor
absolute is refused: that mix-up moves superheat by several degrees without looking wrong. The units are in
calc.unit_tables; wire gauges follow ASTM B258.
"""

import math
import re
from difflib import get_close_matches
from typing import Literal

from calc.errors import UnitError, UnknownNameError
from calc.quantities import Quantity
from calc.unit_tables import KINDS, LABELS, PRESSURES, SPELLINGS, Conversion, Kind
from calc.wiring.conductor import awg_area_m2

__all__ = ["Conversion", "Kind", "Reference", "System", "conversion", "difference_to_display", "kinds", "parse"]
__all__ += ["parse_accuracy", "parse_difference", "to_display", "to_si"]

Reference = Literal["gauge", "absolute"]
System = Literal["us", "si"]

_PRESSURE_NAMES = ["psig", "psia", *(f"{unit} {ref}" for unit in PRESSURES for ref in ("gauge", "absolute"))]
_PRESSURES_IN_WORDS = f"psig, psia, or {', '.join(list(PRESSURES)[1:])} with gauge or absolute"
_REFERENCED = re.compile(rf"({'|'.join(PRESSURES)}) ?\(?(g|gauge|a|abs|absolute)\)?", re.IGNORECASE)
_ABSOLUTE_BY_NATURE = {"Pa", "micron"}
"""Pa is the house's own unit, and a vacuum gauge in microns counts from nothing: neither is read as gauge."""
_ABSOLUTE_IN_PRINT = {"bar", "kPa", "MPa", "hPa", "mbar", "Pa"}
_ABSOLUTE_KINDS = {"barometric_pressure", "vacuum_pressure"}

_VALUE = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*")
_ADDITIVE: set[Kind] = {Quantity.MASS, "length", "time"}
_PART = re.compile(r"[\d.]+ ?[a-zA-Z]+")
_SUM = re.compile(rf"{_PART.pattern}(?: {_PART.pattern})+")
_WIRE_GAUGE = re.compile(r"\s*(\d{1,2}|[1-4]/0)\s*AWG\s*", re.IGNORECASE)


def kinds() -> tuple[str, ...]:
    """List the kinds of value that can be read: quantities by their name in lower case, and further kinds."""
    return tuple(kind.name.lower() if isinstance(kind, Quantity) else kind for kind in KINDS)


def conversion(
    unit: str,
    quantity: Kind,
    *,
    reference: Reference | None = None,
    barometric_pressure_pa: float | None = None,
) -> Conversion:
    """Find how a unit converts to SI: look it up once per instrument, apply it to every reading.

    Args:
        unit: as the instrument's papers write it: "psi", "psig", "kPa gauge", "degF", "uF".
        quantity: what is measured.
        reference: of a pressure whose unit does not say it.
        barometric_pressure_pa: needed for gauge pressures [Pa].

    Raises:
        UnitError: the unit does not fit the quantity, or a pressure lacks its reference.

    >>> conversion("degF", Quantity.TEMPERATURE).to_si(212.0)  # steam point, by definition of the scale
    373.15

    """
    kind = _kind(quantity)
    if KINDS[kind].units is not PRESSURES:
        return _find(unit, kind)
    base, written = _split_reference(unit)
    found = _find(base, kind)
    if _reference(unit, kind, written, reference) == "absolute":
        return found
    if barometric_pressure_pa is None:
        fix = "give the barometric pressure, or the elevation for it"
        raise UnitError(f"{unit!r} is a gauge pressure: {fix}")
    return Conversion(found.factor, barometric_pressure_pa)


def to_si(
    value: float,
    unit: str,
    quantity: Kind,
    *,
    reference: Reference | None = None,
    barometric_pressure_pa: float | None = None,
) -> float:
    """Convert an instrument's value to SI; arguments and errors as `conversion`.

    >>> round(to_si(14.7, "psi", Quantity.PRESSURE, reference="absolute"), 1)  # NIST SP 811
    101352.9
    """
    return conversion(unit, quantity, reference=reference, barometric_pressure_pa=barometric_pressure_pa).to_si(value)


def parse(
    text: str,
    quantity: Kind,
    *,
    reference: Reference | None = None,
    barometric_pressure_pa: float | None = None,
    bare_is_absolute: bool = True,
) -> float:
    """Read a value with its unit; arguments and errors as `conversion`.

    Args:
        text: "118 psig", "41 degF", "45 uF", "14 AWG" (an area), "30 m", "7 lb 8 oz".
        quantity: a Quantity, or one of `kinds()`.
        reference: of a pressure whose unit does not say it.
        barometric_pressure_pa: needed for gauge pressures [Pa].
        bare_is_absolute: a pressure in bar or (k, M, h) Pa that does not say what it counts from is absolute, as in
            print; False for what a technician reads off a gauge. A bare psi is always refused.

    Returns:
        The value [SI].

    >>> parse("41 degF", Quantity.TEMPERATURE)
    278.15
    >>> round(parse("118psig", Quantity.PRESSURE, barometric_pressure_pa=101325.0))
    914906
    >>> round(parse("1.1 bar", "pressure"))
    110000

    """
    kind = _kind(quantity)
    gauge = _WIRE_GAUGE.fullmatch(text) if kind == "area" else None
    if gauge:
        return awg_area_m2(gauge[1])
    parts = _PART.findall(text) if kind in _ADDITIVE and _SUM.fullmatch(text) else [text]
    total = 0.0
    for part in parts:
        value, unit = _value_and_unit(part, kind)
        known = reference or ("absolute" if bare_is_absolute and unit in _ABSOLUTE_IN_PRINT else None)
        total += to_si(value, unit, kind, reference=known, barometric_pressure_pa=barometric_pressure_pa)
    return total


def parse_difference(text: str, quantity: Kind = Quantity.TEMPERATURE) -> float:
    """Read a difference, such as an accuracy: no zero of a scale and no reference of a pressure counts.

    Returns:
        The difference [SI; K for temperatures].

    >>> parse_difference("9 degF")
    5.0
    >>> round(parse_difference("1 psi", Quantity.PRESSURE), 3)  # NIST SP 811
    6894.757

    """
    kind = _kind(quantity)
    value, unit = _value_and_unit(text, kind)
    base = _split_reference(unit)[0] if KINDS[kind].units is PRESSURES else unit
    return value * _find(base, kind).factor


def parse_accuracy(text: str, quantity: Kind) -> float:
    """Read the ± limit of an instrument [SI]: a difference that is not negative.

    >>> parse_accuracy("0.5 degC", "temperature")
    0.5
    """
    limit = parse_difference(text, quantity)
    if limit < 0:
        raise UnitError(f"{text!r} is negative: an accuracy is a limit on both sides, such as {text.strip(' -')!r}")
    return limit


def to_display(
    value: float,
    quantity: Kind,
    system: System,
    *,
    reference: Reference = "gauge",
    barometric_pressure_pa: float | None = None,
) -> tuple[float, str]:
    """Convert an SI value to the number and unit that a person reads.

    Args:
        value: the value [SI].
        quantity: what it is.
        system: "us" or "si".
        reference: how a pressure is shown.
        barometric_pressure_pa: needed to show a gauge pressure [Pa].

    Raises:
        UnitError: a gauge pressure without the barometric pressure.

    >>> number, unit = to_display(373.15, Quantity.TEMPERATURE, "us")
    >>> f"{number:.2f} {unit}"
    '212.00 °F'

    """
    kind = _kind(quantity)
    unit = _display_unit(value, kind, system)
    if kind is not Quantity.PRESSURE:
        return KINDS[kind].units[unit].from_si(value), LABELS.get(unit, unit)
    found = conversion(unit, kind, reference=reference, barometric_pressure_pa=barometric_pressure_pa)
    label = f"psi{reference[0]}" if unit == "psi" else f"{unit} {reference}"
    return found.from_si(value), label


def difference_to_display(value: float, quantity: Kind, system: System) -> tuple[float, str]:
    """Convert a difference or an uncertainty [SI] to the number and unit that a person reads.

    >>> difference_to_display(5.0, Quantity.TEMPERATURE, "us")
    (9.0, '°F')
    """
    kind = _kind(quantity)
    if kind is Quantity.TEMPERATURE:
        kind = Quantity.TEMPERATURE_DIFFERENCE
    unit = _display_unit(value, kind, system)
    return value / KINDS[kind].units[unit].factor, LABELS.get(unit, unit)


def _kind(quantity: Kind) -> Kind:
    if isinstance(quantity, Quantity) or quantity in KINDS:
        return quantity
    name = quantity.upper()
    if name not in Quantity.__members__:
        raise UnknownNameError("kind of value", quantity, kinds())
    return Quantity[name]


def _kind_name(kind: Kind) -> str:
    return (kind.name.lower() if isinstance(kind, Quantity) else kind).replace("_", " ")


def _find(unit: str, kind: Kind) -> Conversion:
    units = KINDS[kind].units
    for name in (unit, SPELLINGS.get(unit, unit)):
        if name in units:
            return units[name]
    for name in units:
        if name.casefold() == unit.casefold() and not _differs_in_prefix(name, unit):
            return units[name]
    names = _PRESSURE_NAMES if kind is Quantity.PRESSURE else list(units)
    close = get_close_matches(unit, names, n=1)
    given = f"{unit!r} is no unit of {_kind_name(kind)}" if unit else f"a {_kind_name(kind)} needs a unit"
    hint = f": did you mean {close[0]}? It" if close else f"{_belongs_to(unit)}: it"
    known = _PRESSURES_IN_WORDS if kind is Quantity.PRESSURE else ", ".join(names)
    raise UnitError(f"{given}{hint} may be {known}")


def _belongs_to(unit: str) -> str:
    """Say which kind of value a unit is for, if any."""
    base, _ = _split_reference(unit)
    for kind, facts in KINDS.items():
        if unit and base in facts.units:
            return f" (it is one of {_kind_name(kind)})"
    return ""


def _differs_in_prefix(name: str, unit: str) -> bool:
    """Tell whether one says milli and the other mega, which ignoring the case would confuse."""
    return name[:1] != unit[:1] and unit[:1] in "mM"


def _split_reference(unit: str) -> tuple[str, Reference | None]:
    """Part "psig" into "psi" and "gauge"; a unit that says neither comes back whole."""
    match = _REFERENCED.fullmatch(unit)
    if match is None:
        return unit, None
    return match[1], "gauge" if match[2].casefold().startswith("g") else "absolute"


def _reference(unit: str, kind: Kind, written: Reference | None, stated: Reference | None) -> Reference:
    """Settle what a pressure counts from, and refuse to guess."""
    if written and stated and written != stated:
        raise UnitError(f"{unit!r} says {written}, but the reference is stated as {stated}: make them agree")
    known = written or stated
    if known:
        return known
    if kind in _ABSOLUTE_KINDS or unit in _ABSOLUTE_BY_NATURE:
        return "absolute"
    fix = "psig or psia" if unit.casefold() == "psi" else f"{unit} gauge or {unit} absolute"
    raise UnitError(f"{unit!r} does not say what it counts from: write {fix}")


def _value_and_unit(text: str, kind: Kind) -> tuple[float, str]:
    match = _VALUE.fullmatch(text)
    if match is None:
        example = KINDS[kind].example
        raise UnitError(f"{text!r} is no {_kind_name(kind)}: write a number and a unit, such as {example!r}")
    value = float(match[1])
    if math.isinf(value):
        raise UnitError(f"{text!r} is beyond any {_kind_name(kind)}")
    return value, match[2]


def _display_unit(value: float, kind: Kind, system: System) -> str:
    facts = KINDS[kind]
    units = facts.units
    *larger, smallest = facts.us if system == "us" else facts.si
    return next((unit for unit in larger if abs(value) >= units[unit].factor), smallest)
