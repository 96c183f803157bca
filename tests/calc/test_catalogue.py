"""Calculations by name: that they are wired right; what they give, the tests of each module check."""

import json
import re
import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.calculation import Assumption, Calculation, Parameter, Unknown
from calc.calculations import CALCULATIONS
from calc.catalogue import Result, _as_written
from calc.errors import ArgumentError, CalcError, CalcRangeError, UnitError, UnknownNameError
from calc.estimate import Estimate

ROOT = Path(__file__).parents[2]
TOPICS = [path for path in (ROOT / "calc" / "calculations").glob("*.py") if path.stem != "__init__"]
SUPERHEAT = {"refrigerant": "R-410A", "suction_pressure": "118 psig", "suction_line_temperature": "50 degF"}
SUBCOOLING = {"refrigerant": "R-410A", "liquid_pressure": "350psig", "liquid_line_temperature": "97degF"}


def fields(name: str, arguments: dict[str, str]) -> dict:
    return json.loads(catalogue.run(name, arguments).as_json())


def test_saturation_in_si():
    """118 psig is a dew point of 39.843 °F: computed with CoolProp 8.0.0."""
    result = fields("saturation", {"refrigerant": "r410a", "pressure": "118psig"})
    assert result["dew_k"] == pytest.approx(277.507, abs=2e-3)
    assert result["glide_dk"] == pytest.approx(result["dew_k"] - result["bubble_k"])
    assert result["pressure_pa"] == pytest.approx(118 * 6894.757 + 101325, abs=0.1)
    assert result["assumed"] == ["the barometric pressure of sea level, 101.325 kPa"]


@pytest.mark.parametrize("end", ["dew", "bubble"])
def test_pressure_and_temperature_belong_together(end):
    pressure_pa = fields(f"{end}_pressure", {"refrigerant": "R-454B", "temperature": "5 degC"})["pressure_pa"]
    there = fields("saturation", {"refrigerant": "R-454B", "pressure": f"{pressure_pa} Pa"})
    assert there[f"{end}_k"] == pytest.approx(278.15)


@pytest.mark.parametrize(
    ("name", "arguments", "instruments_ddegf"),
    [("superheat", SUPERHEAT, 1.78), ("subcooling", SUBCOOLING, 1.70)],
)
def test_without_accuracies_the_limits_of_title_24_are_taken_and_named(name, arguments, instruments_ddegf):
    result = fields(name, arguments)
    margin_ddegf = result["expanded_dk"] * 1.8
    assert margin_ddegf**2 == pytest.approx(instruments_ddegf**2 + (2 * 0.16 * 1.8) ** 2, rel=0.01)
    assert result["coverage_factor"] == 2
    assert any("California Title 24" in sentence for sentence in result["assumed"])
    assert any("no source" in sentence for sentence in result["assumed"])


def test_what_is_given_is_not_assumed():
    accuracies = {"pressure_accuracy": "1 psi", "temperature_accuracy": "1 degF"}
    result = fields("superheat", {**SUPERHEAT, **accuracies, "elevation": "1600 m"})
    assert result["assumed"] == []
    assert result["barometric_pressure_pa"] == pytest.approx(83.52e3, abs=10)
    assert result["superheat_dk"] == pytest.approx(50 / 1.8 + 255.372 - result["dew_k"], abs=1e-3)
    assert result["expanded_dk"] < fields("superheat", SUPERHEAT)["expanded_dk"]


def test_a_barometer_counts_instead_of_the_elevation():
    result = fields("subcooling", {**SUBCOOLING, "barometric_pressure": "24.66 inHg"})
    assert result["barometric_pressure_pa"] == pytest.approx(83508, abs=1)
    assert result["subcooling_dk"] == pytest.approx(result["bubble_k"] - (97 / 1.8 + 255.372), abs=1e-3)


def test_text_shows_both_systems_the_margin_and_the_assumptions():
    text = catalogue.run("superheat", SUPERHEAT).as_text()
    assert "superheat            10.16 ± 1.87 °F, k = 2  (5.64 ± 1.04 K, k = 2)" in text
    assert "dew point            39.84 °F  (4.36 °C)" in text
    assert "pressure             118.00 psig  (813.58 kPa gauge)" in text
    assert "barometric pressure  29.92 inHg  (101.33 kPa)" in text
    assert "assumed: the suction pressure within ±3.5 psi" in text


def test_a_margin_is_shown_in_the_unit_of_its_value():
    arguments = {"airflow": "400cfm", "return_air_temperature": "80degF", "return_air_humidity": "51%RH",
                 "supply_air_temperature": "58degF", "supply_air_humidity": "88%RH"}  # fmt: skip
    value, margin, unit = re.search(
        r"\(([\d.]+) ± ([\d.]+) (k?W)", catalogue.run("delivered_capacity", arguments).as_text()
    ).groups()
    fields_si = fields("delivered_capacity", arguments)
    factor = {"kW": 1000, "W": 1}[unit]
    assert float(value) * factor == pytest.approx(fields_si["total_heat_w"], rel=0.01)
    assert float(margin) * factor == pytest.approx(fields_si["expanded_total_heat_w"], rel=0.01)


def test_barometric_pressure_needs_no_site():
    assert fields("barometric_pressure", {"elevation": "0 ft"})["barometric_pressure_pa"] == 101325
    assert catalogue.run("barometric_pressure", {"elevation": "0 ft"}).as_text() == (
        "barometric pressure  29.92 inHg  (101.33 kPa)"
    )


@pytest.mark.parametrize(
    ("name", "arguments", "error", "message"),
    [
        ("saturatoin", {}, UnknownNameError, "unknown calculation 'saturatoin': did you mean saturation"),
        (
            "superheat",
            {"suction": "1 Pa"},
            UnknownNameError,
            "unknown argument of superheat 'suction': did you mean suc",
        ),
        ("superheat", {"refrigerant": "R-32"}, ArgumentError, "superheat needs suction_pressure, such as"),
        ("saturation", {"refrigerant": "R-23X", "pressure": "1 Pa"}, UnknownNameError, "unknown refrigerant"),
        (
            "saturation",
            {"refrigerant": "R-32", "pressure": "118 psi"},
            UnitError,
            "pressure: 'psi' does not say .* psig or psia",
        ),
        (
            "saturation",
            {"refrigerant": "R-32", "pressure": "1 Pa", "elevation": "1 m", "barometric_pressure": "1 Pa"},
            ArgumentError,
            "not both",
        ),
        ("saturation", {"refrigerant": "R-32", "pressure": "1 Pa"}, CalcRangeError, "R-32 has no saturation"),
        ("barometric_pressure", {"elevation": "20 psi"}, UnitError, "elevation: 'psi' is no unit of length"),
    ],
)
def test_errors_name_what_was_wrong(name, arguments, error, message):
    with pytest.raises(error, match=message):
        catalogue.run(name, arguments)


def examples(name: str) -> dict[str, str]:
    """The required arguments of a calculation, as its description writes them for a shell."""
    lines = [line for line in catalogue.describe(name).splitlines() if line.startswith("  ") and "(else" not in line]
    return dict(word.split("=") for line in lines for word in shlex.split(line.partition("  (")[0]))


def no_number(constant: str) -> None:
    pytest.fail(f"a result holds {constant}")


@pytest.mark.parametrize("name", catalogue.names())
def test_the_examples_of_a_description_run(name):
    assert catalogue.describe(name).startswith(f"{name}: ")
    result = catalogue.run(name, examples(name))
    assert result.as_text()
    assert json.loads(result.as_json(), parse_constant=no_number)["calculation"] == name


def test_a_description_lists_the_choices():
    line = (
        "  appliance=comfort_cooling  (comfort_cooling | commercial_refrigeration | industrial_process_refrigeration)"
    )
    assert line in catalogue.describe("annualized_leak_rate").splitlines()


@pytest.mark.parametrize("name", catalogue.names())
@given(data=st.data())
def test_any_number_in_any_argument_gives_a_result_or_a_calc_error(name, data):
    arguments = examples(name)
    if not arguments:
        return
    which = data.draw(st.sampled_from(sorted(arguments)))
    unit = arguments[which].lstrip("0123456789.")
    arguments[which] = f"{data.draw(st.one_of(st.floats(), st.floats(-1e4, 1e4), st.integers()))}{unit}"
    try:
        result = catalogue.run(name, arguments)
    except CalcError:
        return
    assert result.as_text()
    json.loads(result.as_json(), parse_constant=no_number)


def test_every_calculation_names_its_source_tolerance_and_test():
    for name, calculation in CALCULATIONS.items():
        assert calculation.source, name
        assert calculation.tolerance, name
        path, _, function = calculation.test.partition("::")
        assert (ROOT / path).is_file(), name
        assert not function or f"def {function}(" in (ROOT / path).read_text("utf-8"), name


def test_no_two_topics_share_a_name():
    modules = [import_module(f"calc.calculations.{path.stem}") for path in TOPICS]
    assert sorted(name for module in modules for name in module.CALCULATIONS) == sorted(CALCULATIONS)


def test_a_question_is_asked_of_every_calculation():
    assert catalogue.question("superheat") == "how far the suction line is above the dew point"
    assert all(catalogue.question(name) for name in catalogue.names())


def test_one_estimate_has_its_margin_by_unit_too_and_several_only_by_name():
    one = json.loads(Result("x", {"superheat_dk": Estimate(5.0, 0.5)}, ()).as_json())
    assert one["expanded_superheat_dk"] == one["expanded_dk"] == 1.0
    two = json.loads(Result("x", {"first_dk": Estimate(5.0, 0.5), "other_dk": Estimate(1.0, 0.1)}, ()).as_json())
    assert two["expanded_first_dk"] == 1.0
    assert two["expanded_other_dk"] == 0.2
    assert "expanded_dk" not in two


def test_every_kind_of_value_is_given_and_shown():
    values = {
        "load_ratio": 0.9,
        "load_current_a": 12,
        "leak_rate_percent": 10.0,
        "visits": 3,
        "tight": True,
        "loose": False,
        "reason": "it held",
        "target_superheat_dk": Unknown("the table is blank there"),
        "sides_v": [229.0, 231.0],
        "steps": ("first", "second"),
        "nothing": (),
        "small_kg_per_kg": 0.0093,
        "pressure_pa": 1e6,
    }
    result = Result("x", values, ())
    assert result.as_text().splitlines() == [
        "load ratio        0.900",
        "load current      12.00 A",
        "leak rate         10.00 %",
        "visits            3",
        "tight             yes",
        "loose             no",
        "reason            it held",
        "target superheat  unknown: the table is blank there",
        "sides             229.00 V",
        "                  231.00 V",
        "steps             first",
        "                  second",
        "nothing           none",
        "small             65.10 gr/lb  (9.30 g/kg)",
        "pressure          145.04 psia  (1000.00 kPa absolute)",
    ]
    fields = json.loads(result.as_json())
    assert fields["target_superheat_dk"] is None
    assert fields["target_superheat_dk_reason"] == "the table is blank there"
    assert fields["sides_v"] == [229.0, 231.0]
    assert fields["tight"] is True


def test_a_number_without_a_unit_in_its_name_is_an_error_of_ours():
    with pytest.raises(UnknownNameError, match="unknown unit at the end of the name 'weight'"):
        Result("x", {"weight": 1.5}, ()).as_text()


@pytest.mark.parametrize("text", ["814 kPa", "1.1 bar", "118 psi", "0.8 MPa"])
def test_a_pressure_from_a_person_says_gauge_or_absolute(text):
    with pytest.raises(UnitError, match=r"pressure: .* does not say what it counts from: write .* or"):
        catalogue.run("saturation", {"refrigerant": "R-32", "pressure": text})


def test_an_accuracy_from_a_person_is_not_negative():
    with pytest.raises(UnitError, match="pressure_accuracy: '-1 psi' is negative"):
        catalogue.run("superheat", {**SUPERHEAT, "pressure_accuracy": "-1 psi"})


def test_an_error_of_what_was_assumed_or_worked_out_on_the_way_is_told_as_it_is():
    """No calculation is known to do so: what one gives next must still not hide the error."""
    length = Parameter("line_length", "line_length_m", "length", "25 ft", Assumption(7.62, "25 ft of line"))
    within_reach = Calculation("how far it is", (length,), dict, "none", "exact", "none")
    assumed = CalcRangeError("line_length_m", 7.62, 0.0, 5.0, "m")
    assert str(_as_written(assumed, within_reach, {}, {"line_length_m": 7.62})) == (
        "line_length is 7.62 m, outside 0 to 5 m"
    )
    on_the_way = CalcRangeError("velocity", 9.0, 0.0, 8.0, "m/s")
    assert _as_written(on_the_way, within_reach, {"line_length": "25 ft"}, {"line_length_m": 7.62}) is on_the_way


def test_describing_what_is_not_there():
    with pytest.raises(UnknownNameError):
        catalogue.describe("superhot")


@given(st.floats(), st.sampled_from(["psig", "psia", "kPa gauge", "Pa", "psi", ""]), st.text())
def test_any_arguments_give_a_result_or_a_calc_error(number, unit, site):
    for arguments in ({}, {"elevation": site}, {"barometric_pressure": site}):
        try:
            given_pressure = {"refrigerant": "R-32", "pressure": f"{number} {unit}"}
            result = catalogue.run("saturation", {**given_pressure, **arguments})
        except CalcError:
            continue
        assert result.as_text()


def test_nothing_of_this_waits_for_an_equation_of_state():
    program = "import sys, calc.catalogue; sys.exit('CoolProp' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
