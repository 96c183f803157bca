"""Calculations by name: that they are wired right; what they give, the tests of each module check."""

import json
import math
import re
import shlex
import subprocess
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import catalogue
from calc.arguments import argument
from calc.calculation import Assumption, Calculation, Parameter, Unknown
from calc.calculations import CALCULATIONS
from calc.catalogue import Result, _as_written
from calc.errors import ArgumentError, CalcError, CalcRangeError, SeriesError, UnitError, UnknownNameError
from calc.estimate import Estimate
from calc.motor.windings import WindingState
from calc.sensors import LoopState
from calc.wiring.terminal import Fit
from tests.cases import case

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
        ("superheat", {"pressure": "1 Pa"}, UnknownNameError, "'pressure': did you mean suction_pressure"),
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
        (
            "chronic_leak",
            {"additions": "2026-01-20 2lb, 2026-04-02 3000lb", "full_charge": "50lb", "year": "2026"},
            CalcRangeError,
            "additions is 3000 lb, outside 0 to 100 lb: no appliance takes so much at one visit",
        ),
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


def test_the_examples_of_a_description_run():
    for name in catalogue.names():
        with case(name):
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
@settings(max_examples=20)
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
        "pressure          145.04 psia  (1000 kPa absolute)",
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


@pytest.mark.parametrize(
    ("name", "side", "line", "says"),
    [
        ("superheat", "suction", "35degF", "colder than its dew point"),
        ("subcooling", "liquid", "115degF", "warmer than its bubble point"),
    ],
)
def test_a_figure_below_nought_beyond_its_margin_is_warned_of(name, side, line, says):
    """118 psig of R-410A is a dew point of 40 °F, 350 psig a bubble point of 107 °F: pressure-temperature charts."""
    pressure = {"suction": "118psig", "liquid": "350psig"}[side]
    arguments = {"refrigerant": "R-410A", f"{side}_pressure": pressure, f"{side}_line_temperature": line}
    found = catalogue.run(name, arguments)
    assert says in found.values["warning"]
    assert f"warning              {found.values['warning']}" in found.as_text()
    assert json.loads(found.as_json())["warning"] == found.values["warning"]
    near = {"suction": "39degF", "liquid": "107.5degF"}[side]  # below nought, but within the margin
    assert "warning" not in catalogue.run(name, {**arguments, f"{side}_line_temperature": near}).values


TRADED = {"R-12", "R-502", "R-401A", "R-410B", "R-143a", "R-23"}
"""By CoolProp, which has each of them."""


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("R-999", ()),
        ("R-12", ()),  # of another series than R-22 and R-32: nobody means one of these
        ("R-502", ()),
        ("R-410C", ("R-410A",)),
        ("R-401A", ()),  # refrigerants of their own, one letter or two exchanged from another
        ("R-410B", ()),
        ("R-143a", ()),
        ("R-23", ()),
        ("R-41A", ("R-410A", "R-417A", "R-421A")),
        ("R-407", ("R-407A", "R-407C", "R-407F")),
        ("R-1234", ("R-1234yf", "R-1234ze(E)")),
    ],
)
def test_a_refrigerant_is_suggested_only_where_it_is_near_in_the_trade(name, meant):
    with pytest.raises(UnknownNameError) as caught:
        catalogue.run("saturation", {"refrigerant": name, "pressure": "118psig"})
    assert caught.value.near == meant
    assert ("did you mean" in str(caught.value)) is bool(meant)
    assert ("a refrigerant of its own" in str(caught.value)) is (name in TRADED)
    assert "R-454B" in str(caught.value)  # all there are


def test_an_argument_that_begins_alike_is_suggested():
    with pytest.raises(UnknownNameError, match="did you mean outdoor_temperature"):
        catalogue.run("target_superheat", {"return_wet_bulb": "67degF", "outdoor_dry_bulb": "95degF"})


def test_what_is_assumed_may_be_given():
    """Whatever stands in for an argument lies within the limits of that argument."""
    for name in catalogue.names():
        with case(name):
            for parameter in CALCULATIONS[name].parameters:
                kind = argument(parameter.kind)
                if parameter.otherwise is not None and isinstance(parameter.otherwise.value, float | int):
                    low, high = getattr(kind, "limits", (-math.inf, math.inf))
                    assert low <= parameter.otherwise.value <= high, parameter.name


@pytest.mark.parametrize(
    ("coldest", "warmest"), [("-60degC", "60degC"), ("-76degF", "140degF"), ("213.15K", "333.15K")]
)
def test_the_ends_of_a_range_belong_to_it(coldest, warmest):
    arguments = {"refrigerant": "R-410A", "water_capacity": "26.2lb", "tare": "17lb"}
    for temperature in (coldest, warmest):
        found = catalogue.run("cylinder_fill", {**arguments, "temperature": temperature})
        assert found.values["safe_fill_kg"] > 0


_ELECTRIC_WORK = ("load_ratio", "three_phase_power", "power_factor", "motor_start", "short_cycling")


@pytest.mark.parametrize("name", _ELECTRIC_WORK)
def test_what_is_measured_on_live_parts_says_so(name):
    given = {each.name: each.example for each in CALCULATIONS[name].parameters}
    assert "live parts" in catalogue.run(name, given).values["caution"]


def test_traces_without_a_start_are_warned_of_too():
    for currents in ("0 A, 0 A, 0 A, 0 A", "0 A" + ", 60 A" * 50):
        found = catalogue.run("motor_start", {"interval": "100ms", "currents": currents, "rated_current": "12A"})
        assert "live parts" in found.values["caution"]


def test_a_rise_test_warns_of_the_compressor_and_of_breaking_the_vacuum():
    given = {each.name: each.example for each in CALCULATIONS["rise_test"].parameters}
    caution = catalogue.run("rise_test", given).values["caution"]
    assert "Never run the compressor" in caution
    assert "break the vacuum with the refrigerant" in caution


def test_a_makers_figure_wins_over_the_charge_of_a_line_set():
    found = catalogue.run("line_set_charge", {"refrigerant": "R-410A", "tube": "3/8in", "length": "20ft"}).values
    assert "maker's charge per length wins" in found["makers_figure"]


def test_the_breaker_of_the_nameplate_needs_a_conductor_that_carries_the_unit():
    """NEC 440.32: the conductor carries the minimum circuit ampacity, whatever the breaker may be."""
    general = {"gauge": "10AWG", "column": "75"}
    assert "look_again" not in catalogue.run("overcurrent_limit", general).values
    found = catalogue.run("overcurrent_limit", {**general, "mocp": "50A"}).values
    assert "minimum circuit ampacity" in found["look_again"]


def test_no_word_of_a_program_is_shown():
    """What a person reads has no_such_words, except names of calculations and arguments to be written so."""
    for name in catalogue.names():
        with case(name):
            given = {each.name: each.example for each in CALCULATIONS[name].parameters if each.otherwise is None}
            given |= dict(CALCULATIONS[name].example)
            shown = catalogue.run(name, given).as_text()
            assert set(re.findall(r"[a-z]+(?:_[a-z]+)+", shown)) <= {*catalogue.names()}


@pytest.mark.parametrize("words", [Fit, LoopState, WindingState])
def test_what_is_found_is_said_in_words(words):
    assert not any("_" in it.value for it in words)


def test_efficiency_is_named_as_the_trade_does():
    given = {each.name: each.example for each in CALCULATIONS["delivered_capacity"].parameters}
    shown = catalogue.run("delivered_capacity", given).as_text()
    assert "\nEER, Btu/(W h) " in shown
    assert "\nCOP " in shown


@pytest.mark.parametrize(("rate", "shown"), [("5lb/min", "96.00 ±"), ("0.5lb/min", "16.00 ±")])
def test_a_time_over_two_minutes_is_told_in_minutes(rate, shown):
    """8 lb at that rate, by division."""
    said = catalogue.run("recovery_time", {"mass": "8lb", "vapour_rate": rate, "mass_accuracy": "0.001kg"}).as_text()
    line = next(line for line in said.splitlines() if line.startswith("time"))
    assert shown.split()[0].split(".")[0] in line
    assert (" min, k = 2" in line) is (rate == "0.5lb/min")
    assert (" s, k = 2" in line) is (rate == "5lb/min")


_SHOWN_IN = {
    "pa": {"psig", "psia", "kPa gauge", "kPa absolute", "inHg", "kPa", "micron", "Pa"},
    "dpa": {"psi", "kPa", "inH2O", "Pa"},
    "k": {"°F", "°C"},
    "dk": {"°F", "K"},
    "a": {"A"},
    "v": {"V", "mV"},
    "f": {"µF"},
    "ohm": {"Ω", "kΩ", "MΩ"},
    "hz": {"Hz"},
    "w": {"Btu/h", "kW", "W", "hp"},
    "va": {"VA", "kVA"},
    "var": {"var", "kvar"},
    "j": {"J"},
    "n_m": {"lbf in", "N·m"},
    "m": {"ft", "in", "m", "mm"},
    "m2": {"cmil", "mm²", "ft²", "m²"},
    "m3_per_s": {"cfm", "L/s"},
    "m_per_s": {"fpm", "m/s"},
    "kg": {"lb", "oz", "kg", "g"},
    "kg_per_m": {"oz/ft", "g/m"},
    "kg_per_s": {"lb/min", "kg/h", "oz/yr", "g/a"},
    "pa_m3_per_s": {"Pa·m³/s"},
    "kg_per_m3": {"lb/ft³", "kg/m³"},
    "kg_per_kg": {"gr/lb", "g/kg"},
    "j_per_kg": {"Btu/lb", "kJ/kg"},
    "s": {"s", "min"},
    "percent": {"%"},
    **{number: {""} for number in ("ratio", "factor", "probability", "gwp")},
}
"""What a value may be shown in, by how its name ends."""


def _units_shown(text: str) -> set[str]:
    us, _, si = text.partition("  (")
    return {
        re.sub(r"^-?[\d.]+( ± [\d.]+)?", "", each).removesuffix(", k = 2").strip() for each in (us, si[:-1]) if each
    }


def test_every_number_is_shown_in_a_unit_that_fits_the_end_of_its_name():
    for name in catalogue.names():
        with case(name):
            calculation = CALCULATIONS[name]
            least = {each.name: each.example for each in calculation.parameters if each.otherwise is None}
            everything = {each.name: each.example for each in calculation.parameters}
            for arguments in (least | dict(calculation.example), everything):
                with suppress(ArgumentError):  # two of its arguments exclude each other
                    result = catalogue.run(name, arguments)
                    for key, value in result.values.items():
                        items = value if isinstance(value, list | tuple) else (value,)
                        numbers = [it for it in items if isinstance(it, float | Estimate)]
                        ending = next((it for it in sorted(_SHOWN_IN, key=len)[::-1] if key.endswith(f"_{it}")), None)
                        for number in numbers:
                            shown = result._text(key, number)
                            assert _units_shown(shown) <= _SHOWN_IN[ending], f"{key}: {shown}"


def test_what_is_lost_of_a_charge_is_no_pressure():
    """70 lb of 50 lb in a year are 140 %, by division: 40 CFR 82.157(j)."""
    lost = {"additions": "2026-01-20 40lb, 2026-04-02 30lb", "full_charge": "50lb", "year": "2026"}
    assert "140.00 %" in catalogue.run("chronic_leak", lost).as_text().splitlines()[0]


READ = {"measured": "40uF", "bulged_or_leaking": "no", "accuracy": "0.2uF"}


@pytest.mark.parametrize(
    ("name", "said", "meant"),
    [
        ("capacitor_verdict", {"rated": "45uF", **READ}, {"label": "45uF", **READ}),
        ("ampacity", {"awg": "10AWG", "column": "75"}, {"gauge": "10AWG", "column": "75"}),
    ],
)
def test_an_argument_may_be_called_as_the_trade_calls_it(
    name: str, said: dict[str, str], meant: dict[str, str]
) -> None:
    assert catalogue.run(name, said).values == catalogue.run(name, meant).values


def test_a_value_of_a_thousand_or_more_has_no_decimals() -> None:
    """36 180 Btu/h are 10.60 kW (1 W = 3.412 142 Btu/h: NIST SP 811, B.8)."""
    shown = Result("x", {"capacity_w": 36_180 / 3.412142}, ()).as_text()
    assert "36180 Btu/h  (10.60 kW)" in shown


def test_the_limits_in_the_help_are_those_that_hold():
    """At either end of what the help says it answers, or it gives the reason why it does not."""
    for name in catalogue.names():
        with case(name):
            calculation = CALCULATIONS[name]
            given_values = {each.name: each.example for each in calculation.parameters if each.otherwise is None}
            given_values |= dict(calculation.example)
            usual = {each.keyword: each.otherwise.value for each in calculation.parameters if each.otherwise}
            for each in calculation.parameters:
                if each.name in given_values:
                    usual[each.keyword] = argument(each.kind).read(given_values[each.name], 101325.0)
            usual |= {"barometric_pressure_pa": 101325.0} if calculation.needs_site else {}
            for each in calculation.parameters:
                for limit in getattr(argument(each.kind), "limits", ()):
                    refused = _refused(calculation, usual | {each.keyword: limit})
                    if refused is not None and refused.name in (each.keyword, each.name, *each.called):
                        assert refused.because, refused


def _refused(calculation: Calculation, values: dict) -> CalcRangeError | None:
    with suppress(ArgumentError, SeriesError):
        try:
            calculation.compute(**values)
        except CalcRangeError as error:
            return error
    return None


def test_the_help_on_a_nitrogen_test_says_from_where_to_where():
    """As calc.nitrogen has it: 100 kPa to 5 MPa absolute, -40 to 80 °C."""
    help_text = catalogue.describe("nitrogen_test")
    assert "start_pressure=150psig  (-0.192 to 710 psig)" in help_text
    assert "end_pressure=147psig  (-14.7 to 1,440 psig)" in help_text
    assert "(of the pipes; -40 to 176 °F)" in help_text


def test_a_large_figure_is_shown_no_finer_than_it_is_known():
    result = catalogue.run("total_heat", {"airflow": "1200cfm", "enthalpy_fall": "6.7Btu/lb"})
    assert "36180 Btu/h  (10.60 kW)" in result.as_text()
    margin = Result("x", {"velocity_m_per_s": Estimate(5.896, 0.453)}, ()).as_text()
    assert margin == "velocity  1161 ± 178 fpm, k = 2  (5.896 ± 0.906 m/s, k = 2)"
    assert "±" not in Result("x", {"mass_kg": Estimate(5.0, 0.0)}, ()).as_text()


def test_a_label_is_in_the_words_of_the_trade():
    within = {"figure": "subcooling", "measured": "12degF", "target": "10degF", "accuracy": "1.7degF"}
    assert "probability of being within" in catalogue.run("within_tolerance", within).as_text()


def test_a_shaft_is_told_in_horsepower_and_a_thermocouple_in_millivolts():
    """Fan laws: 0.5 hp x (1000 / 900)^3; type K at 100 °C against 25 °C: 4.096 - 1.000 mV, NIST Monograph 175."""
    fan = {"airflow": "1200cfm", "static": "0.5inWC", "shaft_power": "0.5hp", "speed": "900rpm"}
    assert "0.686 hp" in catalogue.run("fan_laws", fan | {"other_speed": "1000rpm"}).as_text()
    read = catalogue.run("thermocouple_voltage", {"temperature": "100degC", "cold_junction": "25degC"})
    assert read.as_text() == "thermocouple voltage  3.10 mV"


@pytest.mark.parametrize("name", ["load_ratio", "three_phase_power", "power_factor", "motor_start"])
def test_an_open_panel_is_warned_of(name):
    given_values = {each.name: each.example for each in CALCULATIONS[name].parameters}
    caution = catalogue.run(name, given_values).values["caution"]
    assert "open panel" in caution
    assert "locked out" in caution
    assert "may start by itself" in caution


def test_a_limit_is_told_with_what_it_is_of():
    conditions = {"return_air_wet_bulb": "67degF", "outdoor_air_temperature": "120degF", "voltage": "230V"}
    with pytest.raises(CalcRangeError, match=r"outside 74.93 to 115.07 °F: what the catalogues behind it cover"):
        catalogue.run("expected_amps", conditions | {"rated_load": "18A"})
