"""Expected amps: a compressor measured in a laboratory (NISTIR 7350), a maker's manual, and their own ±."""

import itertools
import math
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.expected_current import Conditions, current_by_nameplate, current_by_reading, judge_current
from tests.fuzzing import fuzz
from tests.printed import published

RATED = Conditions(292.594, 308.15, 230.0)


UNIT = [
    row
    for row in published("sound_split_unit_measured.csv")
    if row["dry_coil"] == "0" and float(row["T_outdoor_C"]) > 24
]


def at(row):
    return Conditions(float(row["T_return_wetbulb_C"]) + 273.15, float(row["T_outdoor_C"]) + 273.15, 230.0)


@pytest.mark.parametrize(("then", "now"), list(itertools.permutations(UNIT, 2)), ids=lambda row: row["test_condition"])
def test_a_measured_compressor_lies_within_the_plus_minus(then, now):
    """At one voltage and one power factor amps go as watts: every point from every other."""
    before, after = (float(row["W_compressor_W"]) / 230.0 for row in (then, now))
    found = current_by_reading(Estimate(before, 0.01 * before), then=at(then), now=at(now))
    assert abs(found.value - after) <= found.expanded()


@pytest.mark.parametrize(
    "row",
    [row for row in published("cooling_by_conditions.csv") if row["what"] == "service manual, compressor"],
    ids=lambda row: row["T_outdoor_C"],
)
def test_so_does_a_makers_table_of_compressor_power(row):
    if float(row["T_outdoor_C"]) > 46.2:
        return
    now = Conditions(292.594, float(row["T_outdoor_C"]) + 273.15, 230.0)
    found = current_by_reading(Estimate(10.0, 0.1), then=RATED, now=now)
    assert abs(found.value - 10.0 * float(row["power_ratio"])) <= found.expanded()


def test_by_the_plate_it_is_a_wide_guess():
    """0.6 to 0.8 of the rated load amps at rated conditions, from memory."""
    found = current_by_nameplate(18.0, now=RATED, nameplate_v=230.0)
    assert found.value == pytest.approx(12.6)
    assert found.expanded() == pytest.approx(2 * math.hypot(0.08 * 18.0, 0.02 * 12.6))
    hot = current_by_nameplate(18.0, now=Conditions(292.594, 318.15, 230.0), nameplate_v=230.0)
    assert hot.value / found.value == pytest.approx(1.236**0.85, rel=5e-3)  # 1.236: the catalogues' fit at 113 °F
    assert hot.expanded() / hot.value > found.expanded() / found.value


def test_its_doubt_grows_with_the_distance():
    here = current_by_reading(Estimate(10.0, 0.1), then=RATED, now=RATED)
    assert here.value == pytest.approx(10.0)
    assert here.standard_uncertainty == pytest.approx(math.hypot(0.1, 0.2))  # 2 % of the relation's own
    warm, hot = (
        current_by_reading(Estimate(10.0, 0.1), then=RATED, now=Conditions(292.594, outdoor_k, 230.0))
        for outdoor_k in (311.15, 318.15)
    )
    assert here.value < warm.value < hot.value
    assert here.standard_uncertainty < warm.standard_uncertainty < hot.standard_uncertainty
    spread = 0.18 * math.log(1.236)
    assert hot.standard_uncertainty / hot.value == pytest.approx(math.hypot(0.01, 0.02, spread), rel=0.02)


def test_fewer_volts_more_amps():
    low = current_by_reading(Estimate(10.0, 0.0), then=RATED, now=Conditions(292.594, 308.15, 207.0))
    assert low.value == pytest.approx(10.0 / 0.9)
    assert low.standard_uncertainty / low.value == pytest.approx(math.hypot(0.02, 0.3 * math.log(0.9)), rel=1e-2)


@pytest.mark.parametrize(
    ("measured_a", "says"),
    [(14.0, "as expected"), (17.3, "as expected"), (17.6, "more than expected"), (10.7, "as expected"),
     (10.4, "less than expected")],
)  # fmt: skip
def test_only_what_goes_beyond_both_plus_minus_is_told(measured_a, says):
    """The two standard uncertainties, 1.6 and 0.5 A, are 1.676 A together: 3.35 A either way."""
    assert judge_current(Estimate(measured_a, 0.5), Estimate(14.0, 1.6)).startswith(says)


def test_a_little_more_is_more_where_both_are_known_well():
    assert judge_current(Estimate(14.5, 0.1), Estimate(14.0, 0.1)).startswith("more than expected")
    assert judge_current(Estimate(13.5, 0.1), Estimate(14.0, 0.1)).startswith("less than expected")


@pytest.mark.parametrize("amps", [0.49, 1001.0])
def test_limits_of_amps(amps):
    with pytest.raises(CalcRangeError, match="current"):
        current_by_reading(Estimate(amps, 0.0), then=RATED, now=RATED)
    with pytest.raises(CalcRangeError, match="rated_load_a"):
        current_by_nameplate(amps, now=RATED, nameplate_v=230.0)
    for edge in (0.5, 1000.0):
        assert current_by_reading(Estimate(edge, 0.0), then=RATED, now=RATED).value == pytest.approx(edge)
        assert current_by_nameplate(edge, now=RATED, nameplate_v=230.0).value == pytest.approx(0.7 * edge)


@pytest.mark.parametrize(("then_v", "now_v"), [(49.9, 50.0), (1001.0, 1000.0), (200.0, 169.0), (200.0, 231.0)])
def test_limits_of_volts(then_v, now_v):
    def expect(then_v, now_v):
        conditions = (Conditions(292.594, 308.15, volts) for volts in (then_v, now_v))
        return current_by_reading(Estimate(10.0, 0.0), **dict(zip(("then", "now"), conditions, strict=True)))

    with pytest.raises(CalcRangeError, match="voltage_v"):
        expect(then_v, now_v)
    assert expect(50.0, 50.0).value == expect(1000.0, 1000.0).value == pytest.approx(10.0)
    assert expect(200.0, 170.0).value > 10.0 > expect(200.0, 229.9).value


NOW = {"return_air_wet_bulb": "67 degF", "outdoor_air_temperature": "105 degF", "voltage": "230 V"}
EARLIER = {"earlier_current": "12.4 A", "earlier_wet_bulb": "66 degF", "earlier_outdoor": "90 degF"}


def test_by_name():
    plate = catalogue.run("expected_amps", NOW | {"rated_load": "18 A"}).values
    reading = catalogue.run("expected_amps", NOW | EARLIER | {"rated_load": "18 A"}).values
    assert plate["expected_current_a"].value == pytest.approx(12.6 * 1.126**0.85, rel=5e-3)
    assert reading["expected_current_a"].expanded() < plate["expected_current_a"].expanded()
    assert ("plate" in plate["from"], "earlier" in reading["from"]) == (True, True)
    assert "RLA is no limit" in plate["no_limit"]
    assert "no charge" in plate["charge"]
    assert "finding" not in plate
    compared = catalogue.run("expected_amps", NOW | {"rated_load": "18 A", "measured_current": "25 A"}).values
    assert compared["finding"].startswith("more than expected")
    volts = catalogue.run("expected_amps", NOW | EARLIER | {"earlier_voltage": "240 V"}).values["expected_current_a"]
    assert volts.value == pytest.approx(reading["expected_current_a"].value * 240 / 230)
    named = catalogue.run("expected_amps", NOW | {"rated_load": "18 A", "nameplate": "208 V"}).values
    assert named["expected_current_a"].value == pytest.approx(plate["expected_current_a"].value * 208 / 230)


@pytest.mark.parametrize(
    "given_values",
    [{}, {"earlier_current": "12 A"}, EARLIER | {"rated_load": "18 A"}],
)
def test_half_an_earlier_reading_is_none(given_values):
    if "rated_load" in given_values:
        del (given_values := dict(given_values))["earlier_outdoor"]
    with pytest.raises(ArgumentError, match="expected_amps needs"):
        catalogue.run("expected_amps", NOW | given_values)


@fuzz
@given(st.tuples(*(st.floats(),) * 5))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        found = current_by_reading(Estimate(*numbers[:2]), then=RATED, now=Conditions(*numbers[2:5]))
        assert math.isfinite(found.value + found.standard_uncertainty)


def test_amps_as_expected_yet_above_the_plate_say_so():
    asked = {
        "return_air_wet_bulb": "72degF",
        "outdoor_air_temperature": "115degF",
        "voltage": "208V",
        "nameplate_volts": "230V",
        "rated_load": "16A",
    }
    asked = {key: value for key, value in asked.items() if key != "nameplate_volts"}
    above = catalogue.run("expected_amps", asked | {"measured_current": "16.5A"}).values
    assert above["finding"].startswith("as expected")
    assert "volts, head pressure and outdoor air" in above["warning"]
    assert "warning" not in catalogue.run("expected_amps", asked | {"measured_current": "16A"}).values


@pytest.mark.parametrize(("measured", "stops"), [("25.1A", False), ("25.2A", True), ("26A", True)])
def test_from_1_4_times_the_plate_on_it_says_stop_and_says_so_first(measured, stops):
    """1.4 times RLA: from memory, as the calculation itself says; 18 A is the plate's."""
    result = catalogue.run("expected_amps", NOW | {"rated_load": "18A", "measured_current": measured})
    assert result.values["warning"].startswith("STOP: ") is stops
    assert result.as_text().startswith("warning ")
    assert ("see volts, head pressure and outdoor air" in result.values["warning"]) is not stops
