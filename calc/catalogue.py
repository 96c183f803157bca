"""The calculations, run by name with values as people write them; the entries are in calc.calculations."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from calc.air import barometric_pressure
from calc.arguments import Accuracy, Choice, Count, Difference, ListOf, Measure, Number, argument, unit_of
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Value, Values, has_unit, kind_of
from calc.calculation import unit_of as unit_of_name
from calc.calculations import CALCULATIONS
from calc.errors import ArgumentError, CalcRangeError, UnitError, UnknownNameError
from calc.estimate import Estimate
from calc.quantities import STANDARD_PRESSURE_PA, Quantity
from calc.units import Reference, System, difference_to_display, display_unit, to_display


@dataclass(frozen=True, slots=True)
class Result:
    """What a calculation gave [SI], and what it had to assume."""

    calculation: str
    values: Values
    assumed: tuple[str, ...]

    def as_json(self) -> str:
        """Give one JSON object of SI values.

        An Estimate is given as its value, with its ± for k = 2 beside it as `expanded_...`; the only one of a result
        also as `expanded_` and its unit. What is unknown is null, with `..._reason` beside it.
        """
        fields: dict[str, Any] = {"calculation": self.calculation}
        for name, value in self.values.items():
            fields.update(_fields(name, value))
        margins = {name: value for name, value in self.values.items() if isinstance(value, Estimate)}
        if margins:
            fields["coverage_factor"] = 2
        if len(margins) == 1:
            ((name, estimate),) = margins.items()
            fields[f"expanded_{unit_of_name(name)}"] = estimate.expanded()
        return json.dumps({**fields, "assumed": self.assumed}, indent=2, ensure_ascii=False)

    def as_text(self) -> str:
        """Give a line for each value, in both systems of units, and a line for each assumption."""
        rows = [row for name, value in self.values.items() for row in self._rows(name, value)]
        width = max(len(label) for label, _ in rows)
        lines = [f"{label:{width}}  {text}" for label, text in rows]
        return "\n".join([*lines, *(f"assumed: {sentence}" for sentence in self.assumed)])

    def _rows(self, name: str, value: Value) -> Iterator[tuple[str, str]]:
        """Give what to write before and after the gap; of a list, a row for each item."""
        items: list[Any] = (list(value) if isinstance(value, list | tuple) else [value]) or ["none"]
        label = _label(name, items[0])
        for item in items:
            yield label, self._text(name, item)
            label = ""

    def _text(self, name: str, value: float | str | Estimate | Unknown) -> str:
        if isinstance(value, str):
            return value
        if isinstance(value, Unknown):
            return f"unknown: {value.reason}"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, int) and not has_unit(name):
            return str(value)
        us, si = (self._shown(name, value, system) for system in _SYSTEMS)
        return us if us == si else f"{us}  ({si})"

    def _shown(self, name: str, value: float | Estimate, system: System) -> str:
        kind = kind_of(name)
        site_pa = self.values.get("barometric_pressure_pa")
        site_pa = site_pa if isinstance(site_pa, float) else None
        reference: Reference = "absolute" if site_pa is None else "gauge"
        plain = value.value if isinstance(value, Estimate) else value
        beside = "min" if kind == "time" and abs(plain) > _LONGEST_IN_SECONDS_S else display_unit(plain, kind, system)
        number, unit = to_display(plain, kind, system, reference=reference, barometric_pressure_pa=site_pa, unit=beside)
        if not isinstance(value, Estimate) or value.standard_uncertainty == 0:
            return f"{number:.{_decimals(number)}f} {unit}".rstrip()
        margin, _ = difference_to_display(value.expanded(), kind, system, unit=beside)
        decimals = _decimals_of_three_digits(margin)
        return f"{number:.{decimals}f} ± {margin:.{decimals}f} {unit}".rstrip() + ", k = 2"


def names() -> tuple[str, ...]:
    """List the calculations."""
    return tuple(CALCULATIONS)


def question(name: str) -> str:
    """Say what a calculation answers, in a few words."""
    return _find(name).answers


def search(text: str) -> tuple[str, ...]:
    """Find the calculations in whose name, question, arguments or results all of the words occur.

    >>> search("wetbulb")[0], search("wet bulb")[0]
    ('wet_bulb', 'wet_bulb')
    """
    words = [_squeezed(word) for word in text.replace("_", " ").split() if not _ASKING.fullmatch(word)]

    def holds(text: str) -> bool:
        squeezed = _squeezed(text)
        return bool(words) and all(word in squeezed for word in words)

    by_name = [name for name in CALCULATIONS if holds(name)]
    by_question = [name for name, calculation in CALCULATIONS.items() if holds(calculation.answers)]
    by_argument = [name for name, calculation in CALCULATIONS.items() if holds(_said(calculation))]
    return tuple(dict.fromkeys([*by_name, *by_question, *by_argument]))


def describe(name: str) -> str:
    """Say what a calculation answers, which arguments it takes within which limits, and where it comes from.

    Raises:
        UnknownNameError: there is no such calculation.

    """
    calculation = _find(name)
    lines = [f"{_written(name)}: {calculation.answers}"]
    lines += [_line(parameter) for parameter in calculation.parameters]
    if calculation.needs_site:
        lines.append(f"  elevation=30m, or barometric_pressure=29.92inHg  (else {_SEA_LEVEL.says})")
    return "\n".join([*lines, f"source: {calculation.source}"])


def help_on(name: str) -> str:
    """Describe a calculation, and show with the values of its description what it gives.

    Raises:
        UnknownNameError: there is no such calculation.

    """
    calculation = _find(name)
    given = {
        parameter.name: parameter.example for parameter in calculation.parameters if parameter.otherwise is None
    } | dict(calculation.example)
    pairs = " ".join(f"'{key}={value}'" if set(value) & set(" ,") else f"{key}={value}" for key, value in given.items())
    gives = run(name, given).as_text()
    return f"{describe(name)}\n\nfor example: dewline calc {_written(name)} {pairs}\n\n{gives}"


def run(name: str, arguments: Mapping[str, str]) -> Result:
    """Run a calculation.

    Args:
        name: one of `names()`.
        arguments: by name, each with its unit: {"pressure": "118 psig"}.

    Raises:
        UnknownNameError: no such calculation, argument or refrigerant.
        ArgumentError: an argument is missing, given by two names, or two exclude each other.
        UnitError: a value cannot be read.
        CalcRangeError: the answer is not known there; it names the argument, in the unit in which it was written.

    >>> result = run("saturation", {"refrigerant": "R-410A", "pressure": "962.14 kPa absolute"})
    >>> round(result.values["dew_k"], 2)  # 6 °C: R-410A vapour table of US DOE's EnergyPlus
    279.15

    """
    calculation = _find(name)
    given = _by_name(_written(name), calculation, arguments)
    assumed: list[str] = []
    site_pa = _site_pressure_pa(given, assumed) if calculation.needs_site else None
    values: dict[str, Any] = {} if site_pa is None else {"barometric_pressure_pa": site_pa}
    for parameter in calculation.parameters:
        if parameter.name in given:
            values[parameter.keyword] = _read(parameter, given[parameter.name], site_pa)
        elif parameter.otherwise:
            values[parameter.keyword] = parameter.otherwise.value
            assumed += [parameter.otherwise.says] if parameter.otherwise.says else []
        else:
            example = f"{parameter.name}={parameter.example}"
            raise ArgumentError(f"{_written(name)} needs {parameter.name}, such as {example}")
    try:
        found = calculation.compute(**values)
    except CalcRangeError as error:
        raise _as_written(error, calculation, given, values) from error
    return Result(_written(name), found, tuple(assumed))


_ASKING = re.compile("an?|and|are|can|do|does|for|how|i|in|is|it|many|me|much|my|of|the|to|what|which", re.IGNORECASE)
"""Words of a question that name nothing to look for."""
_LONGEST_IN_SECONDS_S = 120.0
_SYSTEMS: tuple[System, System] = ("us", "si")
_SITE = ["elevation", "barometric_pressure"]
_ELEVATION = Parameter("elevation", "elevation_m", Measure("length", -5000.0, 7000.0), "30m")
_BAROMETRIC_PRESSURE = Parameter("barometric_pressure", "barometric_pressure_pa", "barometric_pressure", "29.92inHg")
_SEA_LEVEL = Assumption(STANDARD_PRESSURE_PA, "the barometric pressure of sea level, 101.325 kPa")
_LABELS = {
    "dew_k": "dew point",
    "bubble_k": "bubble point",
    "coefficient_of_performance_ratio": "COP",
    "air_dew_k": "dew point of the air",
    "critical_k": "critical temperature",
    "at_rated_conditions_w": "capacity at rated conditions",
    "at_rated_conditions_electric_w": "power at rated conditions",
    "correlation_ratio": "correlation of the two",
    "probability_within_probability": "probability of being within",
    "less_target_dk": "figure less target",
    "for_the_difference_kg": "charge for the difference",
    "vapour_share_ratio": "share of vapour",
    "area_comes_to_kg": "charge for this area",
    "of_the_flammable_limit_ratio": "share of the flammable limit, spread evenly",
    "co2_equivalent_kg": "CO2 equivalent",
    "per_mass_ratio": "GWP",
    "static_dpa": "static pressure",
    "external_static_dpa": "external static pressure",
    "lost_percent": "lost in the year, of the full charge",
    "lost_dpa": "pressure lost",
    "swing_dpa": "change of pressure",
    "riser_head_swing_dpa": "pressure lost to the rise",
    "into_the_resistor_j": "energy into the resistor",
    "from_peak_v": "from a peak voltage of",
    "end_v": "to an end voltage of",
    "peak_a": "peak current",
    "running_a": "running current",
    "real_electric_w": "real power",
    "apparent_va": "apparent power",
    "reactive_var": "reactive power",
    "rating_a": "greatest fuse or breaker",
    "limit_a": "greatest fuse or breaker",
    "aluminium_a": "ampacity of aluminium",
    "copper_a": "ampacity of copper",
    "none_probability": "probability of none of these",
    "corrected_to_40_degc_ohm": "corrected to 40 °C",
    "least_ohm": "least resistance",
    "secondary_a": "secondary current",
    "primary_a": "primary current",
    "secondary_v": "secondary voltage",
    "load_a": "load current",
    "coil_least_v": "least voltage of a coil",
    "coil_greatest_v": "greatest voltage of a coil",
    "eer_btu_per_watt_hour_ratio": "EER, Btu/(W h)",
    **{f"{report.lower()}_gwp": f"GWP, 100 years, {report}" for report in ("AR4", "AR5", "AR6")},
}


def _written(name: str) -> str:
    """Write a name as the catalogue does: "Wet-bulb" is "wet_bulb"."""
    return "_".join(name.casefold().replace("-", " ").replace("_", " ").split())


def _squeezed(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def _said(calculation: Calculation) -> str:
    names = (name for given in calculation.parameters for name in (given.name, *given.also, given.says))
    return " ".join([calculation.answers, *names])


def _find(name: str) -> Calculation:
    if _written(name) not in CALCULATIONS:
        raise UnknownNameError("calculation", name, names())
    return CALCULATIONS[_written(name)]


def _line(parameter: Parameter) -> str:
    example = f"'{parameter.example}'" if " " in parameter.example else parameter.example
    options = f"  ({' | '.join(parameter.kind.options)})" if isinstance(parameter.kind, Choice) else ""
    otherwise = f"  (else {parameter.otherwise.says})" if parameter.otherwise and parameter.otherwise.says else ""
    says = "; ".join(part for part in (parameter.says, _limits(parameter)) if part)
    return f"  {parameter.name}={example}{options}{otherwise}{f'  ({says})' if says else ''}"


def _limits(parameter: Parameter) -> str:
    """Say from where to where an argument may lie, in the unit of its example."""
    kind = argument(parameter.kind)
    if isinstance(kind, Number | Count):
        return f"{kind.low:g} to {kind.high:g}" if math.isfinite(kind.low) and kind.high < _ENDLESS else ""
    item = argument(kind.item) if isinstance(kind, ListOf) else kind
    if not isinstance(item, Measure | Difference | Accuracy):
        return ""
    conversion, label = unit_of(item, parameter.example.split(",")[0], _SEA_LEVEL.value)
    low, high = sorted(map(conversion.from_si, item.limits))
    return f"{_short(low)} to {_short(high)} {label}" if math.isfinite(low) and math.isfinite(high) else ""


_ENDLESS = 1e9


def _short(number: float) -> str:
    return f"{number:.3g}" if abs(number) < 1000 else f"{float(f'{number:.3g}'):,.0f}"


def _by_name(name: str, calculation: Calculation, arguments: Mapping[str, str]) -> dict[str, str]:
    """Bring the arguments under the names of the parameters."""
    known = {other: each.name for each in calculation.parameters for other in (each.name, *each.also)}
    if calculation.needs_site:
        known |= {site: site for site in _SITE}
    given: dict[str, str] = {}
    for key, text in arguments.items():
        if key not in known:
            near = [each.name for each in calculation.parameters if key.lower() in _words_about(each)]
            raise UnknownNameError(f"argument of {name}", key, known, near or None)
        if known[key] in given:
            raise ArgumentError(f"{key} and {known[key]} are one argument of {name}: give it once")
        given[known[key]] = text
    return given


def _words_about(parameter: Parameter) -> list[str]:
    """List the words by which a person may mean an argument: those of its name, of its example and of what it is."""
    return re.findall(r"[a-z0-9]+", f"{parameter.name} {parameter.example} {parameter.says}".lower().replace("_", " "))


def _as_written(
    error: CalcRangeError, calculation: Calculation, given: Mapping[str, str], values: Mapping[str, Any]
) -> CalcRangeError:
    """Tell an error by the argument that it is of: by its name, and where that is not clear by its value."""
    site_pa = values.get("barometric_pressure_pa")
    called = [it for it in calculation.parameters if error.name in (it.keyword, it.name, *it.called)]
    same = [it for it in called or calculation.parameters if _holds(values[it.keyword], error.value)]
    parameter = called[0] if len(called) == 1 else next(iter(same or called), None)
    if parameter is None:
        return error
    if parameter.name not in given:
        return error.named(parameter.name)
    conversion, label = unit_of(parameter.kind, given[parameter.name], site_pa)
    return error.in_unit(conversion, label or error.unit).named(parameter.name)


def _holds(value: Any, wanted: float) -> bool:
    if isinstance(value, tuple):
        return any(_holds(item, wanted) for item in value)
    return isinstance(value, float | int) and math.isclose(value, wanted, rel_tol=1e-9)


def _site_pressure_pa(arguments: Mapping[str, str], assumed: list[str]) -> float:
    given = [name for name in _SITE if name in arguments]
    if len(given) > 1:
        raise ArgumentError("give elevation or barometric_pressure, not both: one follows from the other")
    if not given:
        assumed.append(_SEA_LEVEL.says)
        return float(_SEA_LEVEL.value)
    if given == ["elevation"]:
        return barometric_pressure(_read(_ELEVATION, arguments["elevation"], None))
    return float(_read(_BAROMETRIC_PRESSURE, arguments["barometric_pressure"], None))


def _read(parameter: Parameter, text: str, site_pa: float | None) -> Any:
    try:
        return argument(parameter.kind).read(text, site_pa)
    except UnitError as error:
        raise UnitError(f"{parameter.name}: {error}") from error
    except CalcRangeError as error:
        raise error.named(parameter.name, parameter.says) from None


def _fields(name: str, value: Value) -> dict[str, Any]:
    if isinstance(value, Estimate):
        return {name: value.value, f"expanded_{name}": value.expanded()}
    if isinstance(value, Unknown):
        return {name: None, f"{name}_reason": value.reason}
    return {name: value}


def _label(name: str, value: object) -> str:
    """Give the words of a name, without the unit that follows the number anyway."""
    if name in _LABELS:
        return _LABELS[name]
    if isinstance(value, int | float | Estimate | Unknown) and has_unit(name) and kind_of(name) is not Quantity.RATIO:
        name = name.removesuffix(f"_{unit_of_name(name)}")
    return name.replace("_", " ")


def _decimals(number: float) -> int:
    """Show two decimals; of a small number three digits, and of a thousand or more none: nothing is known so finely."""
    if abs(number) >= 1000:
        return 0
    return 2 if number == 0 or abs(number) >= 1 else _decimals_of_three_digits(number)


def _decimals_of_three_digits(number: float) -> int:
    return max(2 - math.floor(math.log10(abs(number))), 0)
