"""The calculations that can be run by name with values as people write them: one entry of a table each.

An entry's function takes SI values and returns SI values. The ending of each name is its unit (`_pa`, `_k`,
`_dk`), and decides how the value is shown. A result has at most one Estimate; it shows its ± with k = 2.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from calc import saturation, superheat
from calc.air import barometric_pressure
from calc.errors import ArgumentError, UnitError, UnknownNameError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.units import Kind, System, difference_to_display, parse, parse_difference, to_display

Values = Mapping[str, float | Estimate]


@dataclass(frozen=True, slots=True)
class Assumption:
    """What stands in for an argument that is not given [SI], and the sentence that says so."""

    value: float
    says: str


@dataclass(frozen=True, slots=True)
class Parameter:
    """One argument of a calculation.

    Attributes:
        name: as people write it, without unit.
        keyword: the argument of the calculation's function that takes it, in SI.
        kind: what it is; "refrigerant" for a designation.
        example: a value, as people write it.
        is_difference: it is an accuracy: its unit needs no reference.
        otherwise: what is assumed when it is not given; None if it must be given.

    """

    name: str
    keyword: str
    kind: Kind
    example: str
    is_difference: bool = False
    otherwise: Assumption | None = None


@dataclass(frozen=True, slots=True)
class Calculation:
    """One calculation: what it answers, its arguments, and the function that computes it."""

    answers: str
    parameters: tuple[Parameter, ...]
    compute: Callable[..., Values]
    needs_site: bool = True


@dataclass(frozen=True, slots=True)
class Result:
    """What a calculation gave [SI], and what it had to assume."""

    calculation: str
    values: Values
    assumed: tuple[str, ...]

    def as_json(self) -> str:
        """Give one JSON object of SI values: an Estimate as its value, with `expanded_...` beside it."""
        return json.dumps(self._fields(), indent=2)

    def as_text(self) -> str:
        """Give a line for each value, in both systems of units, and a line for each assumption."""
        rows = [(_label(key), self._both(key, value)) for key, value in self.values.items()]
        width = max(len(label) for label, _ in rows)
        lines = [f"{label:{width}}  {text}" for label, text in rows]
        return "\n".join([*lines, *(f"assumed: {sentence}" for sentence in self.assumed)])

    def _fields(self) -> dict[str, Any]:
        fields: dict[str, Any] = {"calculation": self.calculation}
        for key, value in self.values.items():
            if isinstance(value, Estimate):
                fields[key] = value.value
                fields[f"expanded_{_unit(key)}"] = value.expanded()
                fields["coverage_factor"] = 2
            else:
                fields[key] = value
        return {**fields, "assumed": self.assumed}

    def _both(self, key: str, value: float | Estimate) -> str:
        us, si = (self._shown(key, value, system) for system in _SYSTEMS)
        return f"{us}  ({si})"

    def _shown(self, key: str, value: float | Estimate, system: System) -> str:
        plain = value.value if isinstance(value, Estimate) else value
        kind = _kind(key)
        site = self.values.get("barometric_pressure_pa")
        site_pa = None if isinstance(site, Estimate) else site
        number, unit = to_display(plain, kind, system, barometric_pressure_pa=site_pa)
        if not isinstance(value, Estimate):
            return f"{number:.2f} {unit}"
        margin, _ = difference_to_display(value.expanded(), kind, system)
        return f"{number:.2f} ± {margin:.2f} {unit}, k = 2"


def names() -> tuple[str, ...]:
    """List the calculations."""
    return tuple(_CALCULATIONS)


def describe(name: str) -> str:
    """Say what a calculation answers and which arguments it takes.

    Raises:
        UnknownNameError: there is no such calculation.

    """
    calculation = _find(name)
    lines = [f"{name}: {calculation.answers}"]
    lines += [
        f"  {parameter.name}={parameter.example}"
        + (f"  (else {parameter.otherwise.says})" if parameter.otherwise else "")
        for parameter in calculation.parameters
    ]
    if calculation.needs_site:
        lines.append(f"  elevation=30m, or barometric_pressure=29.92inHg  (else {_SEA_LEVEL.says})")
    return "\n".join(lines)


def run(name: str, arguments: Mapping[str, str]) -> Result:
    """Run a calculation.

    Args:
        name: one of `names()`.
        arguments: by name, each with its unit: {"pressure": "118 psig"}.

    Raises:
        UnknownNameError: no such calculation, argument or refrigerant.
        ArgumentError: an argument is missing, or two exclude each other.
        UnitError: a value cannot be read.
        CalcRangeError: the answer is not known there.

    >>> result = run("saturation", {"refrigerant": "R-410A", "pressure": "962.14 kPa absolute"})
    >>> round(result.values["dew_k"], 2)  # 6 °C: R-410A vapour table of US DOE's EnergyPlus
    279.15

    """
    calculation = _find(name)
    known = [parameter.name for parameter in calculation.parameters]
    if calculation.needs_site:
        known += _SITE
    for given in arguments:
        if given not in known:
            raise UnknownNameError(f"argument of {name}", given, known)
    assumed: list[str] = []
    site_pa = _site_pressure_pa(arguments, assumed) if calculation.needs_site else None
    values: dict[str, Any] = {} if site_pa is None else {"barometric_pressure_pa": site_pa}
    for parameter in calculation.parameters:
        if parameter.name in arguments:
            values[parameter.keyword] = _read(parameter, arguments[parameter.name], site_pa)
        elif parameter.otherwise:
            values[parameter.keyword] = parameter.otherwise.value
            assumed.append(parameter.otherwise.says)
        else:
            example = f"{parameter.name}={parameter.example}"
            raise ArgumentError(f"{name} needs {parameter.name}, such as {example}")
    return Result(name, calculation.compute(**values), tuple(assumed))


_SYSTEMS: tuple[System, System] = ("us", "si")
_SITE = ["elevation", "barometric_pressure"]
_SEA_LEVEL = Assumption(101325.0, "the barometric pressure of sea level, 101.325 kPa")
_KINDS: Mapping[str, Kind] = {
    "pa": Quantity.PRESSURE,
    "k": Quantity.TEMPERATURE,
    "dk": Quantity.TEMPERATURE_DIFFERENCE,
}
_LABELS = {"dew": "dew point", "bubble": "bubble point"}


def _find(name: str) -> Calculation:
    if name not in _CALCULATIONS:
        raise UnknownNameError("calculation", name, names())
    return _CALCULATIONS[name]


def _site_pressure_pa(arguments: Mapping[str, str], assumed: list[str]) -> float:
    given = [name for name in _SITE if name in arguments]
    if len(given) > 1:
        raise ArgumentError("give elevation or barometric_pressure, not both: one follows from the other")
    if not given:
        assumed.append(_SEA_LEVEL.says)
        return _SEA_LEVEL.value
    if given == ["elevation"]:
        return barometric_pressure(_read(_ELEVATION, arguments["elevation"], None))
    return float(_read(_BAROMETRIC_PRESSURE, arguments["barometric_pressure"], None))


def _read(parameter: Parameter, text: str, site_pa: float | None) -> Any:
    if parameter.kind == "refrigerant":
        return saturation.designation(text)
    try:
        if parameter.is_difference:
            return parse_difference(text, parameter.kind)
        return parse(text, parameter.kind, barometric_pressure_pa=site_pa)
    except UnitError as error:
        raise UnitError(f"{parameter.name}: {error}") from error


def _unit(key: str) -> str:
    return key.rpartition("_")[2]


def _label(key: str) -> str:
    name = key.rpartition("_")[0]
    return _LABELS.get(name, name.replace("_", " "))


def _kind(key: str) -> Kind:
    return "barometric_pressure" if key == "barometric_pressure_pa" else _KINDS[_unit(key)]


# --- the calculations


def _saturation(refrigerant: str, pressure_pa: float, barometric_pressure_pa: float) -> Values:
    dew_k = saturation.dew_point(refrigerant, pressure_pa)
    bubble_k = saturation.bubble_point(refrigerant, pressure_pa)
    return {
        "dew_k": dew_k,
        "bubble_k": bubble_k,
        "glide_dk": dew_k - bubble_k,
        "pressure_pa": pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _dew_pressure(refrigerant: str, temperature_k: float, barometric_pressure_pa: float) -> Values:
    pressure_pa = saturation.dew_pressure(refrigerant, temperature_k)
    return {"pressure_pa": pressure_pa, "barometric_pressure_pa": barometric_pressure_pa}


def _bubble_pressure(refrigerant: str, temperature_k: float, barometric_pressure_pa: float) -> Values:
    pressure_pa = saturation.bubble_pressure(refrigerant, temperature_k)
    return {"pressure_pa": pressure_pa, "barometric_pressure_pa": barometric_pressure_pa}


def _superheat(
    refrigerant: str,
    pressure_pa: float,
    temperature_k: float,
    pressure_accuracy_pa: float,
    temperature_accuracy_dk: float,
    barometric_pressure_pa: float,
) -> Values:
    return {
        "superheat_dk": superheat.superheat(
            refrigerant,
            pressure_pa,
            suction_line_temperature_k=temperature_k,
            pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
            temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
        ),
        "dew_k": saturation.dew_point(refrigerant, pressure_pa),
        "pressure_pa": pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _subcooling(
    refrigerant: str,
    pressure_pa: float,
    temperature_k: float,
    pressure_accuracy_pa: float,
    temperature_accuracy_dk: float,
    barometric_pressure_pa: float,
) -> Values:
    return {
        "subcooling_dk": superheat.subcooling(
            refrigerant,
            pressure_pa,
            liquid_line_temperature_k=temperature_k,
            pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
            temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
        ),
        "bubble_k": saturation.bubble_point(refrigerant, pressure_pa),
        "pressure_pa": pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _barometric_pressure(elevation_m: float) -> Values:
    return {"barometric_pressure_pa": barometric_pressure(elevation_m)}


def _pressure_accuracy(limit: str, which: str) -> Parameter:
    says = f"the {which} pressure within ±{limit}, the instrument limit of California Title 24, RA3.2"
    limit_pa = parse_difference(limit, Quantity.PRESSURE)
    return Parameter(
        "pressure_accuracy",
        "pressure_accuracy_pa",
        Quantity.PRESSURE,
        "1psi",
        is_difference=True,
        otherwise=Assumption(limit_pa, says),
    )


_REFRIGERANT = Parameter("refrigerant", "refrigerant", "refrigerant", "R-410A")
_TEMPERATURE = Parameter("temperature", "temperature_k", Quantity.TEMPERATURE, "41degF")
_ELEVATION = Parameter("elevation", "elevation_m", "length", "30m")
_BAROMETRIC_PRESSURE = Parameter(
    "barometric_pressure", "barometric_pressure_pa", "barometric_pressure", "29.92inHg"
)
_TEMPERATURE_ACCURACY = Parameter(
    "temperature_accuracy",
    "temperature_accuracy_dk",
    Quantity.TEMPERATURE,
    "0.5degC",
    is_difference=True,
    otherwise=Assumption(0.5, "the line temperature within ±0.5 °C (common practice, no source)"),
)

_CALCULATIONS: Mapping[str, Calculation] = {
    "saturation": Calculation(
        "dew point, bubble point and glide of a refrigerant at a pressure",
        (_REFRIGERANT, Parameter("pressure", "pressure_pa", Quantity.PRESSURE, "118psig")),
        _saturation,
    ),
    "dew_pressure": Calculation(
        "the pressure at which a temperature is the dew point", (_REFRIGERANT, _TEMPERATURE), _dew_pressure
    ),
    "bubble_pressure": Calculation(
        "the pressure at which a temperature is the bubble point",
        (_REFRIGERANT, _TEMPERATURE),
        _bubble_pressure,
    ),
    "superheat": Calculation(
        "how far the suction line is above the dew point",
        (
            _REFRIGERANT,
            Parameter("suction_pressure", "pressure_pa", Quantity.PRESSURE, "118psig"),
            Parameter("suction_line_temperature", "temperature_k", Quantity.TEMPERATURE, "50degF"),
            _pressure_accuracy("3.5 psi", "suction"),
            _TEMPERATURE_ACCURACY,
        ),
        _superheat,
    ),
    "subcooling": Calculation(
        "how far the liquid line is below the bubble point",
        (
            _REFRIGERANT,
            Parameter("liquid_pressure", "pressure_pa", Quantity.PRESSURE, "350psig"),
            Parameter("liquid_line_temperature", "temperature_k", Quantity.TEMPERATURE, "97degF"),
            _pressure_accuracy("7 psi", "liquid"),
            _TEMPERATURE_ACCURACY,
        ),
        _subcooling,
    ),
    "barometric_pressure": Calculation(
        "the pressure of the standard atmosphere at an elevation",
        (_ELEVATION,),
        _barometric_pressure,
        needs_site=False,
    ),
}
