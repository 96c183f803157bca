"""Units: from what a person writes or an instrument sends to SI, and from SI to what a person reads.

Inside the house every value is SI and every pressure absolute. A pressure that says neither gauge nor
absolute is refused: that mix-up moves superheat by several degrees without looking wrong. The units are in
calc.unit_tables; wire gauges follow ASTM B258.
"""

import math
import re
from difflib import get_close_matches
from itertools import pairwise
from typing import Literal

from calc.errors import UnitError, UnknownNameError
from calc.quantities import Quantity
from calc.unit_tables import KINDS, LABELS, PRESSURES, SPELLINGS, WORDS, Conversion, Kind
from calc.wire_gauge import awg_area_m2

__all__ = ["Conversion", "Kind", "Reference", "System", "conversion", "difference_to_display", "display_unit", "kinds"]
__all__ += ["parse", "parse_accuracy", "parse_difference", "to_display", "to_si", "written_unit"]

Reference = Literal["gauge", "absolute"]
System = Literal["us", "si"]
_Written = Literal["gauge", "absolute", "vacuum"]

_PRESSURE_NAMES = ["psig", "psia", *(f"{unit} {ref}" for unit in PRESSURES for ref in ("gauge", "absolute"))]
_PRESSURES_IN_WORDS = f"psig, psia, or {', '.join(list(PRESSURES)[1:])} with gauge or absolute"
_REFERENCED = re.compile(r"(.+?)[ .]?\(?(g|gauge|gage|a|abs|absolute|vac|vacuum)\)?\.?", re.IGNORECASE)
_ABSOLUTE_BY_NATURE = {"Pa", "micron", "mTorr", "Torr"}
"""Pa is the house's own unit, and a vacuum gauge in microns or Torr counts from nothing: none is read as gauge."""
_ABSOLUTE_IN_PRINT = {"bar", "kPa", "MPa", "hPa", "mbar", "Pa"}
_ABSOLUTE_KINDS = {"barometric_pressure", "vacuum_pressure"}

_UNSIGNED = r"(?:\d+[ -])?\d+/[1-9]\d*|(?:\d+(?:[.,]\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
"""A decimal number, or a fraction as on a rule: 3/8, 1 1/8, 1-1/8."""
_VALUE = re.compile(rf"\s*([+-]?)({_UNSIGNED})\s*(.*?)\s*")
_THOUSANDS = re.compile(r"\d{1,3},\d{3}")
_ADDITIVE: set[Kind] = {Quantity.MASS, "length", "time", "waiting_time"}
_PART = rf"(?:{_UNSIGNED})\s*[^\d\s.,+/-]+(?:[ .]+[^\d\s.,+/-]+)*"
_SUM = re.compile(rf"\s*{_PART}(?:[\s.,]*{_PART})+[\s.]*")
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
    counts_from = _reference(unit, base, kind, written, reference)
    if counts_from == "absolute":
        return found
    if barometric_pressure_pa is None:
        fix = "give the barometric pressure, or the elevation for it"
        raise UnitError(f"{unit!r} is a gauge pressure: {fix}")
    return Conversion(-found.factor if counts_from == "vacuum" else found.factor, barometric_pressure_pa)


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
        text: "118 psig", "25 inHg vac", "41 degF", "45 MFD", "14 AWG" (an area), "3/8 in", "7 lb 8 oz".
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
    total = 0.0
    for value, unit in _parts(text, kind):
        base, written = _split_reference(unit) if KINDS[kind].units is PRESSURES else (unit, None)
        if written == "vacuum" and value < 0:
            raise UnitError(f"{text!r} counts down twice: write {text.strip(' -')!r}")
        in_print = bare_is_absolute and base in _ABSOLUTE_IN_PRINT and written is None
        known = reference or ("absolute" if in_print else None)
        total += to_si(value, unit, kind, reference=known, barometric_pressure_pa=barometric_pressure_pa)
    return total


def _parts(text: str, kind: Kind) -> list[tuple[float, str]]:
    """Part "7 lb 4 oz" into its values and units; a single one comes alone."""
    if kind not in _ADDITIVE or not _SUM.fullmatch(text):
        return [_value_and_unit(text, kind)]
    parts = [_value_and_unit(part, kind) for part in re.findall(_PART, text)]
    found = [_find(unit, kind) for _, unit in parts]
    if any(later.factor >= earlier.factor for earlier, later in pairwise(found)):
        raise UnitError(
            f"{text!r} is no sum of one value: write the larger unit first and each once, such as 7 lb 4 oz"
        )
    for place, (larger, smaller) in enumerate(pairwise(found), 1):
        _check_carry(text, parts, place, round(larger.factor / smaller.factor, 6))
    return parts


_MANY = {"oz": "ounces", "in": "inches", "g": "grams"}


def _check_carry(text: str, parts: list[tuple[float, str]], place: int, ratio: float) -> None:
    """Refuse what would make one more of the larger unit: 20 oz after a pound are a slip of the pen."""
    (larger, unit_of_larger), (smaller, unit) = parts[place - 1 : place + 1]
    if smaller < ratio:
        return
    label = SPELLINGS.get(unit, unit)
    carried, left = divmod(smaller, ratio)
    right = f"{larger + carried:g} {unit_of_larger}" + (f" {left:g} {unit}" if left else "")
    raise UnitError(f"{text!r}: {_MANY.get(label, label)} run from 0 to {ratio - 0.01:g}; write {right}")


def written_unit(
    text: str, quantity: Kind, *, difference: bool = False, barometric_pressure_pa: float | None = None
) -> tuple[Conversion, str]:
    """Give the conversion and the label of the unit that a text is written in: what its writer should be answered in.

    Args:
        text: as `parse` reads it; of a sum the larger unit counts.
        quantity: likewise.
        difference: it is read by `parse_difference`.
        barometric_pressure_pa: needed for gauge pressures [Pa].

    >>> written_unit("7 lb 4 oz", "mass")[1]
    'lb'

    """
    kind = _kind(quantity)
    if kind == "area" and _WIRE_GAUGE.fullmatch(text):
        return KINDS["area"].units["cmil"], "cmil"
    _, unit = _parts(text, kind)[0]
    label = LABELS.get(SPELLINGS.get(unit, unit), unit)
    if difference:
        base = _split_reference(unit)[0] if KINDS[kind].units is PRESSURES else unit
        return Conversion(_find(base, kind).factor), label
    counts_from: Reference | None = "absolute" if _split_reference(unit)[1] is None else None
    return conversion(unit, kind, reference=counts_from, barometric_pressure_pa=barometric_pressure_pa), label


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
    unit: str | None = None,
) -> tuple[float, str]:
    """Convert an SI value to the number and unit that a person reads.

    Args:
        value: the value, or an array of them, which gets one unit [SI].
        quantity: what it is.
        system: "us" or "si".
        reference: how a pressure is shown.
        barometric_pressure_pa: needed to show a gauge pressure [Pa].
        unit: of `display_unit`, where several values stand together; else that of the value.

    Raises:
        UnitError: a gauge pressure without the barometric pressure.

    >>> number, unit = to_display(373.15, Quantity.TEMPERATURE, "us")
    >>> f"{number:.2f} {unit}"
    '212.00 °F'

    """
    kind = _kind(quantity)
    unit = unit or display_unit(value, kind, system)
    if kind is not Quantity.PRESSURE:
        return KINDS[kind].units[unit].from_si(value), LABELS.get(unit, unit)
    found = conversion(unit, kind, reference=reference, barometric_pressure_pa=barometric_pressure_pa)
    label = f"psi{reference[0]}" if unit == "psi" else f"{unit} {reference}"
    return found.from_si(value), label


def difference_to_display(
    value: float, quantity: Kind, system: System, *, unit: str | None = None
) -> tuple[float, str]:
    """Convert a difference or an uncertainty [SI] to the number and unit that a person reads.

    Beside a value it is told in the unit of that value: unit, of `display_unit`.

    >>> difference_to_display(5.0, Quantity.TEMPERATURE, "us")
    (9.0, '°F')
    """
    kind = _kind(quantity)
    if kind is Quantity.TEMPERATURE:
        kind, unit = Quantity.TEMPERATURE_DIFFERENCE, None
    unit = unit or display_unit(value, kind, system)
    return value / KINDS[kind].units[unit].factor, LABELS.get(unit, unit)


def display_unit(value: float, quantity: Kind, system: System) -> str:
    """Choose the unit in which a value, or an array of them, is shown: once, for all that stands beside it.

    >>> display_unit(0.1, "mass", "us"), display_unit(10.0, "mass", "us")
    ('oz', 'lb')
    """
    facts = KINDS[_kind(quantity)]
    *larger, smallest = facts.us if system == "us" else facts.si
    size = abs(value) if isinstance(value, float | int) else abs(value[value == value]).max(initial=0.0)
    return next((unit for unit in larger if size >= facts.units[unit].factor), smallest)


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
    word = WORDS.get(_plain(unit), unit)
    for name in (unit, SPELLINGS.get(unit, unit), word, SPELLINGS.get(word, word)):
        if name in units:
            return units[name]
    for name in units:
        if name.casefold() == unit.casefold() and not _differs_in_prefix(name, unit):
            return units[name]
    if kind == "pressure_difference" and _split_reference(unit)[1]:
        return _find(_split_reference(unit)[0], kind)
    names = _PRESSURE_NAMES if kind is Quantity.PRESSURE else list(units)
    close = ["uF"] if kind is Quantity.CAPACITANCE and unit else get_close_matches(unit, names, n=1)
    given = f"{unit!r} is no unit of {_kind_name(kind)}" if unit else f"a {_kind_name(kind)} needs a unit"
    hint = f": did you mean {close[0]}? It" if close else f"{_belongs_to(unit)}: it"
    known = _PRESSURES_IN_WORDS if kind is Quantity.PRESSURE else ", ".join(name or "a bare number" for name in names)
    raise UnitError(f"{given}{hint} may be {known}")


def _plain(unit: str) -> str:
    """Write a unit without what people write differently: "in. W.C." is "inwc"."""
    return re.sub(r"[\s.·-]", "", unit).casefold()


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


def _split_reference(unit: str) -> tuple[str, _Written | None]:
    """Part "psig" into "psi" and "gauge"; a unit that says neither comes back with None."""
    match = _REFERENCED.fullmatch(unit)
    base = _pressure_name(match[1]) if match else None
    if match is None or base is None:
        return _pressure_name(unit) or unit, None
    written = match[2].casefold()[0]
    if written == "v":
        return base, "absolute" if base in _ABSOLUTE_BY_NATURE else "vacuum"
    return base, "gauge" if written == "g" else "absolute"


def _pressure_name(unit: str) -> str | None:
    plain = _plain(unit)
    names = (name for name in PRESSURES if name.casefold() == plain and not _differs_in_prefix(name, unit))
    return unit if unit in PRESSURES else WORDS.get(plain) if WORDS.get(plain) in PRESSURES else next(names, None)


def _reference(unit: str, base: str, kind: Kind, written: _Written | None, stated: Reference | None) -> _Written:
    """Settle what a pressure counts from, and refuse to guess."""
    if written and stated and written != stated:
        raise UnitError(f"{unit!r} says {written}, but the reference is stated as {stated}: make them agree")
    known = written or stated
    if known:
        return known
    if kind in _ABSOLUTE_KINDS or base in _ABSOLUTE_BY_NATURE:
        return "absolute"
    fix = "psig or psia" if base == "psi" else f"{base} gauge or {base} absolute"
    below = ", or inHg vac below the air" if base == "inHg" else ""
    raise UnitError(f"{unit!r} does not say what it counts from: write {fix}{below}")


def _value_and_unit(text: str, kind: Kind) -> tuple[float, str]:
    match = _VALUE.fullmatch(text.replace("−", "-"))
    if match is None:
        example = KINDS[kind].example
        raise UnitError(f"{text!r} is no {_kind_name(kind)}: write a number and a unit, such as {example!r}")
    sign, number, unit = match.groups()
    if _THOUSANDS.fullmatch(number):
        whole, thousandths = number.replace(",", ""), number.replace(",", ".")
        raise UnitError(f"{text!r} may be {whole} or {thousandths}: write it without the comma")
    if "/" in number and not _is_of_a_rule(number):
        both = ", ".join(f"{each} {unit}" for each in number.split("/"))
        raise UnitError(f"{text!r} holds two values, as plates do: write the one that is meant, or {both} for both")
    value = _number(number)
    if math.isinf(value):
        raise UnitError(f"{text!r} is beyond any {_kind_name(kind)}")
    return -value if sign == "-" else value, unit


def _is_of_a_rule(number: str) -> bool:
    """Tell a fraction as on a rule, 3/8, from two values with a slash between them: 45/5 uF, 208/230 V, 18/17 A."""
    above, below = map(int, re.split(r"[ -]", number)[-1].split("/"))
    return above < below and below in {2, 4, 8, 16, 32, 64}


def _number(text: str) -> float:
    """Read a decimal number, or a fraction: "1 1/8" and "1-1/8" are 1.125."""
    if "/" not in text:
        return float(text.replace(",", "."))
    *whole, fraction = re.split(r"[ -]", text)
    above, below = fraction.split("/")
    return sum(map(float, whole)) + float(above) / float(below)
