"""Wild values in every calculation: the answer is possible in nature, or an error names the argument as it was written.

What is possible: nothing below absolute zero (by definition of the kelvin) or below no pressure, no share of what there
is beyond it, no negative mass, energy, time or resistance.
"""

import math
import re
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import catalogue
from calc.arguments import Accuracy, Choice, Count, Difference, ListOf, Measure, Number, argument
from calc.calculation import Parameter, unit_of
from calc.calculations import CALCULATIONS
from calc.errors import CalcError, CalcRangeError, UnitError, UnknownNameError
from calc.estimate import Estimate
from tests.cases import case

WILD = st.one_of(
    st.sampled_from([0.0, -1.0, -500.0, 1e-9, 0.01, 0.5, 1.0, 3.0, 12.0, 77.0, 100.0, 460.0, 1e3, 1e4, 1e6, 1e9, 1e15]),
    st.floats(-1e6, 1e6),
    st.floats(-1e100, 1e100),
)
LEAST = {"k": 0.0, "pa": 0.0, "kg": 0.0, "j": 0.0, "s": 0.0, "ohm": 0.0, "f": 0.0, "m": 0.0, "m2": 0.0, "a": 0.0}
LEAST |= {"kg_per_m": 0.0, "kg_per_m3": 0.0, "kg_per_kg": 0.0, "v": 0.0, "probability": 0.0, "n_m": 0.0}
GREATEST = {"k": 2273.15, "probability": 1.0, "kg_per_kg": 1.0, "kg": 2e5, "dk": 500.0}
NO_SUCH_MASS = {"co2_equivalent_kg"}  # thousands of times the refrigerant's
MAY_BE_NEGATIVE = {"thermocouple_voltage_v"}  # of a thermocouple below its cold junction


def as_numbers(value: object) -> Iterator[float]:
    if isinstance(value, Estimate):
        yield from (value.value, value.standard_uncertainty)
    elif isinstance(value, tuple | list):
        for item in value:
            yield from as_numbers(item)
    elif isinstance(value, float | int):
        yield float(value)


def number_and_rest(text: str) -> tuple[str, str]:
    found = re.match(r"[\d./]+", text)
    return (found[0], text[found.end() :]) if found else ("", text)


def has_number(parameter: Parameter) -> bool:
    kind = argument(parameter.kind)
    return not isinstance(kind, Choice) and bool(number_and_rest(parameter.example)[0]) and "-" not in parameter.example


def examples(name: str) -> dict[str, str]:
    calculation = CALCULATIONS[name]
    given_arguments = {it.name: it.example for it in calculation.parameters if it.otherwise is None}
    return given_arguments | dict(calculation.example)


def outcome(name: str, arguments: dict[str, str]) -> tuple[catalogue.Result | None, CalcError]:
    try:
        return catalogue.run(name, arguments), CalcError()
    except CalcError as error:
        return None, error


def check_error(error: CalcError, name: str, which: str, arguments: dict[str, str], wild: float, rest: str) -> None:
    """A range error names an argument, and the wild one in the unit in which it was written."""
    if isinstance(error, UnitError):
        assert str(error).startswith(f"{which}: ")
    if not isinstance(error, CalcRangeError):
        assert not isinstance(error, UnknownNameError) or "gauge" in str(error), str(error)
        return
    assert error.name in {*arguments, *(it.name for it in CALCULATIONS[name].parameters)}, str(error)
    kind = next((it.kind for it in CALCULATIONS[name].parameters if it.name == which), "length")
    if error.name == which and not isinstance(argument(kind), Count | Number):
        assert error.value == pytest.approx(wild, rel=1e-6, abs=1e-9) or "," in rest, str(error)
        unit = rest.partition(",")[0].strip()
        assert error.unit == {
            "degF": "°F",
            "degC": "°C",
            "uF": "µF",
            "kohm": "kΩ",
            "Mohm": "MΩ",
            "ohm": "Ω",
            "ft2": "ft²",
        }.get(unit, unit), str(error)


CASES = [
    (name, it.name) for name, calculation in CALCULATIONS.items() for it in calculation.parameters if has_number(it)
]
CASES += [(name, site) for name, calculation in CALCULATIONS.items() if calculation.needs_site
          for site in ("elevation", "barometric_pressure")]  # fmt: skip


@pytest.mark.parametrize(("name", "which"), CASES)
@settings(max_examples=5)
@given(WILD)
def test_a_wild_value_gives_what_can_be_or_an_error_that_names_it(name: str, which: str, wild: float) -> None:
    example = {"elevation": "30m", "barometric_pressure": "29.92inHg"}.get(which) or next(
        it.example for it in CALCULATIONS[name].parameters if it.name == which
    )
    rest = number_and_rest(example)[1]
    arguments = examples(name)
    if name == "line_set_charge" and which == "bore":
        del arguments["tube"]
    arguments[which] = f"{wild!r}{rest}"
    result, error = outcome(name, arguments)
    if result is None:
        check_error(error, name, which, arguments, wild, rest)
        return
    for key, value in result.values.items():
        for number in as_numbers(value):
            assert math.isfinite(number), key
        if isinstance(value, float | Estimate) and not isinstance(value, bool):
            plain, unit = (value.value if isinstance(value, Estimate) else value), unit_of(key)
            if key not in MAY_BE_NEGATIVE | NO_SUCH_MASS:
                assert LEAST.get(unit, -math.inf) <= plain <= GREATEST.get(unit, math.inf), (key, plain)
    assert "inf" not in result.as_text().split()


@pytest.mark.parametrize(("name", "arguments", "message"), [
    ("moist_air", {"dry_bulb": "-500degF", "humidity": "50%"}, "dry_bulb is -500 °F, outside -40 to 140 °F"),
    ("saturation", {"refrigerant": "410A", "pressure": "2000psig"}, "pressure is 2000 psig, outside -10.3.* to 625"),
    ("saturation", {"refrigerant": "R-410A", "pressure": "-20psig"}, r"pressure is -20 psig, outside -14\.6.* psig"),
    ("liquid_density", {"refrigerant": "R-22", "temperature": "400degF"}, "temperature is 400 °F, outside -.* °F"),
    ("ampacity", {"gauge": "10", "column": "60", "ambient_temperature": "150degF"},
     "ambient_temperature is 150 °F, outside -40 to 131 °F"),
    ("load_ratio", {"current": "900A", "rated_current": "12A"}, "current is 900 A, outside 0 to 240 A"),
    ("annualized_leak_rate", {"added": "200lb", "full_charge": "50lb", "days_since_last_addition": "30",
                              "appliance": "comfort_cooling"}, "added is 200 lb, outside 0 to 100 lb"),
    ("sensible_heat", {"airflow": "1200cfm", "air_split": "500degF"}, "air_split is 500 °F, outside -108 to 108 °F"),
    ("delivered_capacity", {"airflow": "1200cfm", "return_air_temperature": "80F", "return_air_humidity": "51%",
                            "supply_air_temperature": "58F", "supply_air_humidity": "88%", "power": "100W"},
     "power is 100 W, outside 3.* W: no machine"),
    ("saturation", {"refrigerant": "R-22", "pressure": "68psig", "elevation": "30000ft"}, "elevation is 30000 ft"),
])  # fmt: skip
def test_a_range_error_speaks_the_writers_units(name: str, arguments: dict[str, str], message: str) -> None:
    with pytest.raises(CalcRangeError, match=message):
        catalogue.run(name, arguments)


def test_help_tells_limits_and_shows_what_comes_out() -> None:
    for name in catalogue.names():
        with case(name):
            said = catalogue.help_on(name)
            assert said.startswith(catalogue.describe(name))
            assert f"for example: dewline calc {name}" in said
            result = catalogue.run(name, examples(name))
            assert result.as_text() in said
            for parameter in CALCULATIONS[name].parameters:
                kind = argument(parameter.kind)
                item = argument(kind.item) if isinstance(kind, ListOf) else kind
                if isinstance(item, Measure | Difference | Accuracy):
                    line = next(line for line in said.splitlines() if line.startswith(f"  {parameter.name}="))
                    assert re.search(r"[\d.]+ to [\d,.e+]+ ", line), line


def test_searching_finds_by_name_question_and_argument() -> None:
    assert catalogue.search("wetbulb")[0] == "wet_bulb"
    assert "cylinder_fill" in catalogue.search("recovery cylinder")
    assert "mca" in catalogue.search("electric heat")
    assert catalogue.search("zzz") == catalogue.search("") == ()


@pytest.mark.parametrize(("name", "as_in_the_catalogue", "as_typed"), [
    ("ampacity", {"gauge": "10", "column": "75"}, {"gauge": "#10", "column": "75 °C"}),
    ("ampacity", {"gauge": "4/0", "column": "60"}, {"gauge": "4/0 AWG", "column": "60C"}),
    ("charge_verification", {"metering_device": "fixed_orifice", "figure": "10degF", "figure_accuracy": "2degF"},
     {"metering_device": "piston", "figure": "10 F", "figure_accuracy": "2 °F"}),
    ("chronic_leak", {"additions": "2026-01-20 2lb", "full_charge": "50lb", "year": "2026"},
     {"additions": "2026-01-20 2 pounds", "full_charge": "50 LBS", "year": "2026"}),
    ("superheat", {"refrigerant": "R-22", "suction_pressure": "68psig", "suction_line_temperature": "50degF"},
     {"refrigerant": "22", "suction_pressure": "68 PSIG", "suction_line_temperature": "50 deg F"}),
    ("leak_rules", {"refrigerant": "R-410A", "full_charge": "20lb",
                    "residential_or_light_commercial_comfort_cooling": "yes"},
     {"refrigerant": "r 410a", "full_charge": "20 lb", "residential_or_light_commercial_comfort_cooling": "Y"}),
])  # fmt: skip
def test_what_a_technician_would_type(name: str, as_in_the_catalogue: dict[str, str], as_typed: dict[str, str]) -> None:
    assert catalogue.run(name, as_typed).as_json() == catalogue.run(name, as_in_the_catalogue).as_json()


def test_names_are_read_as_people_write_them() -> None:
    assert catalogue.run("Wet-Bulb", {"dry_bulb": "80F", "humidity": "51.1%"}).calculation == "wet_bulb"
