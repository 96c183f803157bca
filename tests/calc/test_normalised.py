"""Figures brought to rated conditions: the relation as tabulated, a maker's manual, and a unit in a laboratory."""

import math
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.normalised import charge_power_ratio, cooling_ratios, normalised
from tests.fuzzing import fuzz
from tests.printed import published

CATALOGUES = published("cooling_by_conditions.csv")
UNIT = [row for row in published("sound_split_unit_measured.csv") if row["dry_coil"] == "0"]


def conditions(row):
    return f"{row['T_return_wb_C']}/{row['T_outdoor_C']}"


def kelvins(row):
    return float(row["T_return_wb_C"]) + 273.15, float(row["T_outdoor_C"]) + 273.15


@pytest.mark.parametrize("row", [row for row in CATALOGUES if row["what"] == "fit"], ids=conditions)
def test_the_relation_as_it_is_tabulated(row):
    found = cooling_ratios(*kelvins(row))
    assert found.capacity_ratio == pytest.approx(float(row["capacity_ratio"]), abs=3e-4)
    assert found.power_ratio == pytest.approx(float(row["power_ratio"]), abs=3e-4)


@pytest.mark.parametrize("row", [row for row in CATALOGUES if row["what"] == "service manual, total"], ids=conditions)
def test_a_maker_lies_within_what_is_allowed_the_relation(row):
    """Two standard uncertainties: 8 % of capacity, 4 % of power; beyond 46 °C the relation ends."""
    wet_bulb_k, outdoor_k = kelvins(row)
    if outdoor_k > 320:
        with pytest.raises(CalcRangeError, match="outdoor_k"):
            cooling_ratios(wet_bulb_k, outdoor_k)
        return
    found = cooling_ratios(wet_bulb_k, outdoor_k)
    assert found.capacity_ratio == pytest.approx(float(row["capacity_ratio"]), rel=0.08)
    assert found.power_ratio == pytest.approx(float(row["power_ratio"]), rel=0.04)


def of_unit(row):
    return normalised(
        Estimate(float(row["Q_cooling_net_W"]), 0.0), Estimate(float(row["W_total_W"]), 0.0),
        return_wet_bulb=Estimate(float(row["T_return_wetbulb_C"]) + 273.15, 0.0),
        outdoor_air=Estimate(float(row["T_outdoor_C"]) + 273.15, 0.0),
    )  # fmt: skip


def test_a_measured_unit_gives_one_answer_at_all_its_conditions():
    """NISTIR 7350, six points with a wet coil: capacities and powers at rated conditions agree within their ±."""
    points = [of_unit(row) for row in UNIT if float(row["T_outdoor_C"]) > 24]
    assert len(points) == 6
    for figure in ("capacity", "power", "coefficient_of_performance"):
        estimates = [getattr(point, figure) for point in points]
        values = [it.value for it in estimates]
        relative = estimates[0].standard_uncertainty / estimates[0].value
        assert np.std(values, ddof=1) / np.mean(values) < 1.1 * relative
        assert max(values) - min(values) < estimates[0].expanded(4)


def test_its_own_doubt_and_that_of_the_readings():
    at_rated = {"return_wet_bulb": Estimate(292.594, 0.0), "outdoor_air": Estimate(308.15, 0.0)}
    exact = normalised(Estimate(9e3, 0.0), Estimate(3e3, 0.0), **at_rated)
    assert exact.capacity.value == pytest.approx(9e3)
    assert exact.capacity.standard_uncertainty == pytest.approx(0.04 * 9e3)
    assert exact.power.standard_uncertainty == pytest.approx(0.02 * 3e3)
    performance = exact.coefficient_of_performance
    assert performance.value == pytest.approx(3.0)
    assert performance.standard_uncertainty / 3.0 == pytest.approx(math.hypot(0.04, 0.02), rel=1e-2)
    read = normalised(Estimate(9e3, 450.0), Estimate(3e3, 30.0), return_wet_bulb=Estimate(292.594, 0.5),
                      outdoor_air=Estimate(308.15, 0.5))  # fmt: skip
    assert read.capacity.standard_uncertainty / 9e3 == pytest.approx(math.hypot(0.04, 0.05, 0.5 * 0.027), rel=0.05)
    assert read.power.standard_uncertainty / 3e3 == pytest.approx(math.hypot(0.02, 0.01, 0.5 * 0.021), rel=0.05)


@pytest.mark.parametrize(
    ("wet_bulb_k", "outdoor_k", "name"),
    [(286.9, 308.0, "return_wet_bulb_k"), (295.5, 308.0, "return_wet_bulb_k"), (292.0, 296.9, "outdoor_k"),
     (292.0, 319.4, "outdoor_k")],
)  # fmt: skip
def test_beyond_the_catalogues_it_is_refused(wet_bulb_k, outdoor_k, name):
    with pytest.raises(CalcRangeError, match=f"{name}.*the catalogues behind the relation end there"):
        cooling_ratios(wet_bulb_k, outdoor_k)
    assert cooling_ratios(287.0, 297.0).power_ratio < cooling_ratios(295.4, 319.3).power_ratio


@pytest.mark.parametrize(
    ("capacity_w", "power_w", "name"),
    [(99.0, 3e3, "capacity"), (1e6 + 0.5, 3e3, "capacity"), (9e3, 9.9, "power"), (9e3, 1e6 + 0.5, "power")],
)
def test_limits_of_a_unit(capacity_w, power_w, name):
    at_rated = {"return_wet_bulb": Estimate(292.594, 0.0), "outdoor_air": Estimate(308.15, 0.0)}
    with pytest.raises(CalcRangeError, match=name):
        normalised(Estimate(capacity_w, 0.0), Estimate(power_w, 0.0), **at_rated)
    assert normalised(Estimate(100.0, 0.0), Estimate(10.0, 0.0), **at_rated).power.value == pytest.approx(10.0)
    assert normalised(Estimate(1e6, 0.0), Estimate(1e6, 0.0), **at_rated).power.value == pytest.approx(1e6)


CHARGES = published("power_by_charge.csv")


@pytest.mark.parametrize("row", CHARGES, ids=lambda row: ",".join(list(row.values())[:3]))
def test_power_by_charge_as_tabulated(row):
    deviation, indoor_k, outdoor_k = (
        float(row["charge_deviation_frac"]),
        float(row["T_indoor_db_C"]) + 273.15,
        float(row["T_outdoor_db_C"]) + 273.15,
    )  # fmt: skip
    found = charge_power_ratio(deviation, return_air_k=indoor_k, outdoor_k=outdoor_k)
    assert found == pytest.approx(float(row["power_ratio"]), abs=6e-5)


def test_the_right_charge_makes_no_difference():
    assert charge_power_ratio(0.0, return_air_k=298.0, outdoor_k=305.0) == 1.0


@pytest.mark.parametrize(
    ("which", "low", "high"),
    [("charge_deviation_ratio", -0.3, 0.3), ("return_air_k", 294.0, 300.2), ("outdoor_k", 294.0, 311.2)],
)
def test_limits_of_a_charge(which, low, high):
    usual = {"charge_deviation_ratio": -0.1, "return_air_k": 298.0, "outdoor_k": 305.0}
    for edge, beyond in ((low, low - 0.1), (high, high + 0.1)):
        assert 0.9 < charge_power_ratio(**usual | {which: edge}) < 1.2
        with pytest.raises(CalcRangeError, match=which):
            charge_power_ratio(**usual | {which: beyond})


def test_by_name_it_says_what_is_normalised_by_what():
    read = {"capacity": "33000 Btu/h", "power": "3.3 kW", "return_air_wet_bulb": "63 degF",
            "outdoor_air_temperature": "100 degF"}  # fmt: skip
    found = catalogue.run("normalised_cooling", read).values
    ratios = cooling_ratios((63 + 459.67) / 1.8, (100 + 459.67) / 1.8)
    assert found["at_rated_conditions_electric_w"].value == pytest.approx(3300 / ratios.power_ratio)
    assert found["at_rated_conditions_w"].value == pytest.approx(33000 * 1055.056 / 3600 / ratios.capacity_ratio)
    assert "NREL/TP-5500-56354" in found["normalised"]
    assert "airflow" in found["not_normalised"]
    with pytest.raises(CalcRangeError, match="outdoor_air_temperature is 60 °F, outside 74"):
        catalogue.run("normalised_cooling", read | {"outdoor_air_temperature": "60 degF"})
    charge = {"charge_deviation": "-20 %", "return_air_temperature": "80 degF", "outdoor_air_temperature": "95 degF"}
    power = catalogue.run("charge_power", charge).values["power_ratio"]
    assert power.value == pytest.approx(0.978, abs=1e-3)
    assert power.expanded() == 0.04


@fuzz
@given(st.tuples(*(st.floats(),) * 4))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert math.isfinite(charge_power_ratio(numbers[0], return_air_k=numbers[1], outdoor_k=numbers[2]))
    with suppress(CalcError):
        found = normalised(Estimate(numbers[0], 0.0), Estimate(numbers[1], 0.0), return_wet_bulb=Estimate(292.0, 0.1),
                           outdoor_air=Estimate(numbers[2], abs(numbers[3])))  # fmt: skip
        assert math.isfinite(found.coefficient_of_performance.value)
