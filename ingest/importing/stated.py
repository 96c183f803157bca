"""The unit that a column's name states: "Suction pressure [psig]", or as ours end, "..._psig"."""

import re

from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from calc.units import Reference, conversion
from ingest.importing.log_map import ColumnMap

_IN_BRACKETS = re.compile(r"\s*[\[(](?P<unit>[^\[\]()]*(\([^\[\]()]*\))?)[\])]\s*")


def parted(name: str) -> tuple[str, str]:
    """Part a column's name into what it is and its unit; empty where it states none.

    >>> parted("Suction [bar(g)]"), parted("suction_degF"), parted("Zone 1")
    (('Suction', 'bar(g)'), ('suction', 'degF'), ('Zone 1', ''))
    """
    brackets = list(_IN_BRACKETS.finditer(name))
    of_a_unit = [it for it in brackets if kinds(it["unit"].strip())]
    at_the_end = [it for it in brackets if it.end() == len(name)]
    for found in [*of_a_unit[-1:], *at_the_end]:
        return f"{name[: found.start()]} {name[found.end() :]}".strip(), found["unit"].strip()
    words = name.replace(",", " ").replace("_", " ").split()
    for count in (2, 1):
        stem, unit = " ".join(words[:-count]), " ".join(words[-count:])
        if stem and kinds(unit):
            return stem, unit
    return name, ""


def kinds(unit: str) -> set[Quantity]:
    """Tell what may be measured in a unit."""
    found = set()
    for quantity in set(CHANNELS.values()):
        try:
            conversion(unit, quantity, reference=None, barometric_pressure_pa=0.0)
        except CalcError as error:
            if quantity is not Quantity.PRESSURE or "does not say what it counts from" not in str(error):
                continue
        found.add(quantity)
    return found


def other_unit(name: str, column: ColumnMap) -> str:
    """Give the unit that a column's name states where its map says another; empty where they agree, or it is none.

    A single letter without brackets may stand for anything, such as a phase.
    """
    _, stated = parted(name)
    quantity = CHANNELS.get(column.channel)
    in_brackets = stated in [it["unit"].strip() for it in _IN_BRACKETS.finditer(name)]
    if quantity is None or quantity not in kinds(stated) or (len(stated) == 1 and not in_brackets):
        return ""
    try:
        same = _read(stated, quantity, column.reference) == _read(column.unit, quantity, column.reference)
    except CalcError:  # one says gauge, the other absolute
        same = False
    return "" if same else stated


def _read(unit: str, quantity: Quantity, reference: Reference | None) -> tuple[float, float]:
    conversion_ = conversion(unit, quantity, reference=reference, barometric_pressure_pa=0.0)
    return conversion_.to_si(0.0), conversion_.to_si(1.0)
