"""What a person wrote in the trade's notation, read and put where it belongs in an ask."""

import re
from collections.abc import Mapping
from copy import deepcopy
from typing import Any, cast

from calc.charging_chart import ChartPoint, parse_chart
from calc.errors import CalcError
from calc.quantities import Quantity
from calc.units import Kind, kinds, parse, parse_difference, written_unit
from dashboard.errors import AskError

Written = Mapping[str, tuple[str, str]]
"""By its path in the ask, such as `values/herm`: the text, and its kind of quantity; empty for a plain number."""

_SHARE = Quantity.RATIO.name.lower()
_PLAIN = re.compile(r"\s*[+-]?\d{1,12}(?:\.\d{1,12})?\s*")

DEEPEST = 6
"""Parts of a path: more than any ask has."""

CHART = "charging_chart"
_CHART_UNITS = {"degF": "degF", "degC": "K"}
"""In what a chart is printed: its temperatures, and its superheat."""


def entered(fields: Mapping[str, Any], written: Written, *, barometric_pressure_pa: float | None) -> dict[str, Any]:
    """Put what was written beside what stands in the fields already, in SI.

    Raises:
        AskError: a text cannot be read, or its path leads nowhere.

    >>> entered({"check": "capacitor"}, {"values/herm": ("44.1 uF", "capacitance")}, barometric_pressure_pa=None)
    {'check': 'capacitor', 'values': {'herm': 4.41e-05}}

    """
    whole = deepcopy(dict(fields))
    for path, (text, kind) in written.items():
        *way, name = path.split("/")
        if len(way) >= DEEPEST:
            raise AskError(400, f"{path!r} leads deeper than any ask.")
        _part(whole, way, path)[name] = _read(text, kind, barometric_pressure_pa)
    return whole


def _part(whole: dict[str, Any], way: list[str], path: str) -> dict[str, Any]:
    part: Any = whole
    for step in way:
        if isinstance(part, list) and step.isdecimal() and int(step) < len(part):
            part = part[int(step)]
        elif isinstance(part, dict):
            part = part.setdefault(step, {})
        else:
            raise AskError(400, f"{path!r} leads nowhere in this ask.")
    if not isinstance(part, dict):
        raise AskError(400, f"{path!r} leads nowhere in this ask.")
    return part


def _read(text: str, kind: str, barometric_pressure_pa: float | None) -> float | list[ChartPoint]:
    if kind == CHART:
        return _read_chart(text)
    if kind and kind not in kinds():
        raise AskError(400, f"There is no quantity {kind!r}.")
    try:
        if kind == "temperature_difference":
            return parse_difference(text)
        if kind:
            value = parse(
                text, cast("Kind", kind), barometric_pressure_pa=barometric_pressure_pa, bare_is_absolute=False
            )
            return _share(value, text) if kind == _SHARE and not written_unit(text, Quantity.RATIO)[1] else value
    except CalcError as error:
        raise AskError(400, f"The value cannot be read: {error}") from error
    if not _PLAIN.fullmatch(text):
        raise AskError(400, f"{text!r} is no number.")
    return float(text)


def _read_chart(text: str) -> list[ChartPoint]:
    """Read a charging chart in one unit, which stands behind it.

    >>> _read_chart("67/95 13 degF")[0].outdoor_dry_bulb_k
    308.15
    """
    printed, _, unit = text.rpartition(" ")
    if unit not in _CHART_UNITS:
        raise AskError(400, f"The chart's unit is {unit!r}: degF or degC was expected.")
    try:
        return parse_chart(printed, unit, _CHART_UNITS[unit])
    except CalcError as error:
        raise AskError(400, f"The chart cannot be read: {error}.") from error


def _share(bare: float, text: str) -> float:
    """Take a bare number for a share below 1, and for percent above it, as labels have it: no share asked for is more.

    >>> _share(6.0, "6"), _share(0.06, "0.06")
    (0.06, 0.06)
    """
    if bare == 1.0:
        raise AskError(400, f"{text.strip()} may be 1 % or 100 %: write which.")
    return bare / 100.0 if bare > 1.0 else bare
